"""The codes of the tread room in words: each has some, its numbers are rounded once, and signs name the right side."""

import pytest

from tirelife.codes import Note
from tirelife.sheet.tread_words import CHECKS, WEAK, evidence_words, step_words
from tirelife.tread import CAUSE_NAMES, Seen, Sign, Step, Weak, Why
from tirelife.tread.checks import _TELLS, OWN

N32 = 0.79375
CAUSE, OTHER = list(CAUSE_NAMES)[:2]
EVERY = {
    "component": "edges", "apart_mm": 0.9, "bound_mm": 0.3, "toe_mm": 3.0, "camber_deg": -1.0, "ratio": 0.85, "roads": "crowned",
    "spots": 6, "single": True, "low_mm": 3.0, "high_mm": 4.0, "spot": "3", "below_mm": 1.0, "axle": "front", "kind": "heel_and_toe",
    "direction": "", "first": "toe", "position": "LF", "across_mm": 1.6, "one": CAUSE, "other": OTHER, "angles": False,
}  # fmt: skip


def note(code, **values):
    return Note(code, values=tuple(values.items()))


def seen(code, units="us", **values):
    return evidence_words([note(code, **values)], units)


@pytest.mark.parametrize("code", list(Seen))
def test_every_sign_in_the_readings_can_be_said(code):
    said = seen(code, **EVERY)
    assert said
    assert "{" not in said
    assert "_" not in said


@pytest.mark.parametrize("code", [*Sign, *Why])
def test_every_step_is_a_sentence(code):
    said = step_words(note(code, **(EVERY | {"kind": "cut"})), "us")
    assert said[0].isupper()
    assert said.endswith(".")
    assert "{" not in said


def test_every_check_of_a_cause_and_weak_history_has_its_words():
    assert {*OWN.values(), *_TELLS, Step.READ_MORE} == set(CHECKS)
    assert set(WEAK) == set(Weak)


@pytest.mark.parametrize(
    ("component", "apart", "words"),
    [
        ("edges", 0.5, "the inner edge lost 0.5 mm (± 0.2 mm) more than the outer"),
        ("edges", -0.5, "the outer edge lost 0.5 mm (± 0.2 mm) more than the inner"),
        ("crown", 0.5, "the edges lost 0.5 mm (± 0.2 mm) more than the center"),
        ("crown", -0.5, "the center lost 0.5 mm (± 0.2 mm) more than the edges"),
        ("dip", 0.5, "the grooves next to the edges lost 0.5 mm (± 0.2 mm) more"),
        ("dip", -0.5, "the grooves next to the edges lost 0.5 mm (± 0.2 mm) less"),
    ],
)
def test_a_difference_is_said_of_the_side_that_lost_more(component, apart, words):
    assert seen(Seen.DIFFERENT, "metric", component=component, apart_mm=apart, bound_mm=0.2) == words


def test_a_difference_names_its_wheel_and_several_signs_are_joined():
    one = note(Seen.DIFFERENT, component="edges", apart_mm=2 * N32, bound_mm=N32, position="LF")
    assert evidence_words([one, note(Seen.NO_TURNS)], "us") == (
        "LF: the inner edge lost 2/32 inch (± 1/32 inch) more than the outer; no driving was recorded"
    )
    assert evidence_words([], "us") == ""


def test_the_largest_difference_is_within_the_gauge_or_what_even_wear_shows_or_beyond():
    held = {"apart_mm": -0.5, "bound_mm": 0.6}
    assert seen(Seen.INSIDE_GAUGE, "metric", **held).endswith(
        "0.5 mm, is inside the ± 0.6 mm that readings leave open"
    )
    assert seen(Seen.INSIDE_EVEN, "metric", **held).endswith("is no more than treads that wear evenly show")
    assert "is more than treads that wear evenly show" in seen(Seen.BEYOND_EVEN, "metric", **held)


def test_angles_have_their_sign_shares_are_percents_and_turns_times():
    assert seen(Seen.TOE, toe_mm=3.04) == "toe last measured +3.0 mm, in positive"
    assert seen(Seen.TOE, toe_mm=-3.04).startswith("toe last measured -3.0 mm")
    assert seen(Seen.CAMBER, camber_deg=0.5) == "camber last measured +0.5°"
    assert seen(Seen.PRESSURE, ratio=0.853) == "cold pressure ran at 85% of the placard"
    assert seen(Seen.LOAD, ratio=1.104) == "the load is 110% of what the load index allows"
    assert seen(Seen.TURNS, ratio=2.36).endswith("2.4 times the usual driver's")


def test_depths_around_the_tire_say_whether_groove_by_groove():
    held = {"low_mm": 3.0, "high_mm": 4.0, "bound_mm": 0.2, "spots": 6}
    assert seen(Seen.ROUND, "metric", **held, single=False) == (
        "depth runs from 3.0 mm to 4.0 mm over 6 spots around the tread (each ± 0.2 mm)"
    )
    assert ", groove by groove (each" in seen(Seen.ROUND, "metric", **held, single=True)


def test_toe_as_last_measured_goes_with_the_steps_that_ask_for_it():
    assert "Have camber, then toe measured" in step_words(note(Why.ANGLES, first="camber"), "us")
    toe = step_words(note(Why.ANGLES, first="toe", toe_mm=-2.04), "us")
    assert "Have toe, then camber measured" in toe
    assert toe.endswith("Toe was last measured at -2.0 mm: compare that with the specification.")
    assert "last measured" not in step_words(note(Why.DIAGONAL), "us")
    assert "differ by 2/32 inch or more" in step_words(
        note(Why.ACROSS, position="LF", across_mm=2 * N32), "us"
    )


def test_cups_even_out_after_the_angles_where_these_are_asked_for():
    assert step_words(note(Why.CUPS_EVEN_OUT, angles=True), "us").startswith("Measure the angles first")
    assert "once balance and dampers are in order" in step_words(note(Why.CUPS_EVEN_OUT, angles=False), "us")
    assert step_words(note(Why.TELLS_APART, one=CAUSE, other=OTHER), "us") == (
        f"The gauge cannot tell {CAUSE_NAMES[CAUSE]} from {CAUSE_NAMES[OTHER]}; this can."
    )

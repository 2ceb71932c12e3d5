"""Decisions in words: every action of every hand-made car can be said, in each language."""

import itertools
import re

import pandas as pd
import pytest

from tests.advice.cars import CARS
from tests.sheet.reading import grade
from tirelife.advice import Action, Decision, Kind, Reason, Scope, Soon, WouldChange, decide
from tirelife.codes import Note, Severity
from tirelife.language import LANGUAGES
from tirelife.sheet.language import say, texts
from tirelife.sheet.language.decisions import (
    action_words,
    change_words,
    decision_words,
    first_words,
    lead_words,
    place_words,
    said_of,
)


def all_said(language, units="us"):
    return [s for car in CARS for s in decision_words(decide(car.facts()), units, language)]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_action_is_a_sentence_in_one_unit_system(language, units):
    for said in all_said(language, units):
        assert re.fullmatch(r"[A-ZÁÉÍÓÚ].*\.", said), said
        assert not re.search(r"[{}]|nan|_", said), said
        assert not re.search(r"\b(mm|km|kPa)\b" if units == "us" else r"/32|\bmiles\b|\bpsi\b", said), said


def test_no_sentence_promises_or_advises_to_bleed_a_hot_tire():
    text = " ".join(all_said("en"))
    assert not re.search(r"\b(will|guarantee|surely|certainly)\b", text)
    assert "Never let air out of a hot tire" in text
    assert grade(text) <= 8


def test_what_cannot_wait_says_what_was_read_and_the_limit():
    car = next(c for c in CARS if c.name == "one tire at the bars")
    assert decision_words(decide(car.facts()), "us")[0] == (
        "Have a qualified person look at the tread now, before the car is driven far: read left front 2/32 inch, "
        "at or under the 2/32 inch at which it comes off."
    )


def test_a_pair_joined_for_its_mate_says_why():
    car = next(c for c in CARS if c.name == "one tire at the bars")
    assert decision_words(decide(car.facts()), "us")[1].startswith(
        "Replace both front tires now. The right front goes with it: a new tire beside it would be 5/32 inch deeper."
    )


def test_a_window_within_a_month_is_said_once():
    day = pd.Timestamp("2027-03-02")
    why = Note(Reason.DUE_IN_WINDOW, Severity.NOTE, (("position", "LF"),))
    plan = Action(
        Kind.REPLACE,
        Severity.NOTE,
        ("LF",),
        reasons=(why,),
        window=(day, day),
        as_of=day - pd.Timedelta(days=90),
    )
    assert action_words(plan, "us") == "Plan to replace the left front tire around early March 2027."


def test_a_tie_is_said_as_one():
    car = CARS[0]
    assert first_words(decide(car.facts())) == "About equally likely to be first: both front tires."


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(LANGUAGES, 2)) or [("en", "en")])
def test_no_text_is_missing_in_either_language(one, other):
    assert set(texts(one)) == set(texts(other))
    for code, text in texts(one).items():
        assert set(re.findall(r"{(\w+)}", text)) == set(re.findall(r"{(\w+)}", texts(other)[code])), code


@pytest.mark.parametrize(
    ("least", "words"), [(15_900.0, "now just under that"), (11_265.4, "now 7,000 miles")]
)
def test_what_all_but_reaches_the_distance_that_would_change_it_is_not_said_to_be_that_distance(least, words):
    values = (("position", "LF"), ("over_km", 16_093.44), ("least_km", least), ("spread_km", 20_000.0))
    said = say(Note(WouldChange.SURELY_FURTHER, values=values), "us")
    assert said == f"9 chances in 10 that the left front goes over 10,000 miles more ({words})"


NOW = pd.Timestamp("2026-09-30")
N32, MI, PSI = 0.79375, 1.609344, 6.894757293168  # [mm], [km], [kPa]


def why(code, **values):
    return Note(code, Severity.NOTE, tuple(values.items()))


def todo(kind, *reasons, places=("LF",), severity=Severity.NOTE, **more):
    return Action(kind, severity, tuple(places), reasons=reasons, **more)


def said(kind, *reasons, units="us", **more):
    return action_words(todo(kind, *reasons, **more), units)


def test_a_reading_is_said_as_read_and_less_its_gauge_s_bias_where_that_shows():
    def read(raw):
        note = why(Reason.AT_LIMIT, position="LF", read_raw_mm=raw, read_mm=1.6, limit_mm=1.6)
        return said(Kind.INSPECT, note, units="metric")

    assert "read left front 1.6 mm, at or under the 1.6 mm" in read(1.6)
    assert "read left front 1.6 mm, at" in read(1.619)
    assert "read left front 1.7 mm (1.6 mm less the gauge's bias), at" in read(1.7)
    assert "read left front 1.5 mm (1.6 mm less the gauge's bias), at" in read(1.5)
    assert "(1.6 mm less" in read(1.62 + 1e-9)


def test_several_readings_at_their_limit_are_joined_and_an_estimate_asks_for_a_reading():
    notes = [
        why(Reason.AT_LIMIT, position=p, read_raw_mm=mm, read_mm=mm, limit_mm=1.6)
        for p, mm in (("LF", 1.5), ("RR", 1.2))
    ]
    both = said(Kind.INSPECT, *notes, places=("LF", "RR"), units="metric")
    assert "read left front 1.5 mm and right rear 1.2 mm, at" in both
    assert said(Kind.INSPECT, why(Reason.MAY_BE_DOWN)).startswith("Have the tread read now")
    assert said(Kind.INSPECT).startswith("Have a qualified person look at the left front now")


def test_the_worst_leak_and_a_reading_to_repeat_are_said_of_their_wheels():
    leaks = [why(Reason.LOSES_AIR, loss_kpa_per_month=loss * PSI) for loss in (3.0, 5.5, 4.0)]
    assert said(Kind.LEAK, *leaks, places=("LF", "RF")) == (
        "Check for a leak now: both front tires, lost about 5.5 psi a month."
    )
    assert "(right rear)" in said(Kind.READ_AGAIN, places=("RR",))


@pytest.mark.parametrize(
    ("places", "more", "words"),
    [
        (("LF", "RF"), {}, "Plan to replace both front tires."),
        (("RR", "LR"), {"soon": Soon.NOW}, "Replace both rear tires now."),
        (
            ("LF", "RR"),
            {"soon": Soon.BEFORE_NEXT_LOOK},
            "Replace the left front and right rear tire before the",
        ),
        (("LF", "RF", "LR"), {"scope": Scope.SET}, "Plan to replace all four tires."),
    ],
)
def test_what_is_replaced_is_an_axle_a_set_or_some_and_by_when(places, more, words):
    assert said(Kind.REPLACE, places=places, **more).startswith(words)


def test_a_window_is_told_only_with_the_day_it_is_seen_from():
    window = (pd.Timestamp("2027-03-02"), pd.Timestamp("2027-05-25"))
    assert said(Kind.REPLACE, window=window, as_of=NOW) == (
        "Plan to replace the left front tire between early March and late May 2027."
    )
    assert said(Kind.REPLACE, window=window) == "Plan to replace the left front tire."
    assert said(Kind.REPLACE, as_of=NOW) == "Plan to replace the left front tire."


def test_why_others_go_along_is_said_once_and_not_in_brief():
    notes = (
        why(Reason.MATCH_AXLE, position="RF", apart_mm=5 * N32), why(Reason.MATCH_DRIVE, position="LR", apart_mm=4 * N32),
        why(Reason.ALL_DUE), why(Reason.ALL_DUE), why(Reason.DEEPER_TO_REAR), why(Reason.AGE), why(Reason.DUE),
    )  # fmt: skip
    one = todo(Kind.REPLACE, *notes)
    assert action_words(one, "us") == (
        "Plan to replace the left front tire. The right front goes with it: a new tire beside it would be 5/32 inch "
        "deeper. All-wheel drive: beside new tires the left rear would differ by 4/32 inch. The others would be due "
        "soon after. The new pair belongs on the rear axle, unless the maker says otherwise. Their age comes first: "
        "ten years from when they were made is the usual limit; the maker's rule goes before it."
    )
    assert action_words(one, "us", brief=True) == "Plan to replace the left front tire."
    turn = todo(Kind.ROTATE, why(Reason.AS_USUAL, since_km=6000 * MI, every_km=5000 * MI), places=())
    assert action_words(turn, "us", brief=True) == action_words(turn, "us")


def test_what_comes_first_is_the_step_and_tells_how_far_driven_wheels_differ():
    apart = why(Reason.DRIVE_APART, step="match drive", apart_mm=4 * N32)
    assert "the tires differ by 4/32 inch" in said(Kind.CORRECT, apart)
    angles = why(Reason.PATTERN, step="measure angles")
    assert said(Kind.CORRECT, angles, places=("LF", "RF")).startswith(
        "Have the alignment measured before tires are"
    )


@pytest.mark.parametrize(
    ("stated", "assumed", "words"),
    [
        (True, False, "to the placard: they ran about 3 psi low."),
        (False, False, "which the log does not state: they ran about 3 psi under what is assumed"),
        (True, True, "here they would run about 3 psi low"),
        (False, True, "here they would run about 3 psi low"),
    ],
)
def test_pressures_are_low_against_a_placard_that_is_stated_or_not(stated, assumed, words):
    note = why(Reason.BELOW_PLACARD, placard_stated=stated, assumed=assumed, low_kpa=3 * PSI)
    assert words in said(Kind.PRESSURE, note)


def test_of_pressures_that_are_not_known_nothing_is_said_but_to_set_them():
    assert said(Kind.PRESSURE, why(Reason.NOT_KNOWN)) == (
        "Set the pressures cold, to the placard. Never let air out of a hot tire."
    )


def test_a_rotation_says_what_it_buys_or_since_when_and_what_comes_before_it():
    gain = why(Reason.LENGTHENS, rotate_km=9000 * MI, stay_km=7000 * MI)
    assert (
        said(Kind.ROTATE, gain) == "Rotate the tires now: the set should then go about 2,000 miles further."
    )
    assumed = why(Reason.AS_ASSUMED, every_km=5000 * MI)
    assert said(Kind.ROTATE, assumed) == "Rotate the tires now, and then every 5,000 miles, as assumed here."
    usual = why(Reason.AS_USUAL, since_km=float("nan"), every_km=5000 * MI)
    assert said(Kind.ROTATE, usual) == "Rotate the tires, unless that was done lately: ask."
    after = said(Kind.ROTATE, why(Reason.CORRECT_FIRST), gain)
    assert after.startswith("Once that is put right, rotate the tires now: the set")


def test_tires_are_left_for_what_stands_against_moving_them():
    near = [why(Reason.NEAR_LIMIT, position=p) for p in ("LF", "RF")]
    assert said(Kind.LEAVE, *near) == "Do not rotate: both front tires at or near the limit."
    short = why(Reason.SHORTENS, stay_km=9000 * MI, rotate_km=7000 * MI)
    assert "due after about 9,000 miles, if rotated after about 7,000 miles" in said(Kind.LEAVE, short)
    due = why(Reason.NOT_DUE, since_km=2000 * MI, every_km=5000 * MI)
    assert (
        said(Kind.LEAVE, due) == "No rotation yet: 2,000 miles of the usual 5,000 miles since the last one."
    )
    assert said(Kind.LEAVE, why(Reason.REPLACE_FIRST)) == "Do not rotate: tires are to be replaced first."


@pytest.mark.parametrize(
    ("rotate", "words"),
    [(9000, "about 2,000 miles further"), (7000, "go no further"), (6000, "go no further")],
)
def test_no_rotation_as_assumed_says_what_it_costs_if_it_does(rotate, words):
    note = why(Reason.AS_ASSUMED, rotate_km=rotate * MI, stay_km=7000 * MI)
    assert words in said(Kind.LEAVE, note)


@pytest.mark.parametrize(
    ("days", "span"),
    [
        (1, "a few days"), (3.9, "a few days"), (4, "a week"), (12, "a week"), (12.3, "2 weeks"), (22.8, "3 weeks"),
        (22.9, "a month"), (53, "a month"), (53.3, "2 months"), (90, "3 months"), (180, "6 months"),
    ],
)  # fmt: skip
def test_the_next_look_is_in_days_weeks_or_months_counted_up_from_three_quarters(days, span):
    # 0.75 of a month of 30.4375 days is 22.83 days; 1.75 of a week is 12.25 days, of a month 53.27.
    assert f"within {span}" in said(Kind.LOOK, why(Reason.SERVICE, days=days))


def test_what_is_urgent_is_said_apart_each_with_what_would_change_it():
    sound = Note(WouldChange.FOUND_SOUND)
    look = todo(Kind.LOOK, why(Reason.SERVICE, days=90.0))
    doubt = todo(Kind.READ_AGAIN, severity=Severity.WARNING)
    urgent = todo(Kind.INSPECT, severity=Severity.URGENT, change=(sound, sound))
    told = said_of(Decision("V", NOW, (urgent, doubt, look)), "us")
    assert [text.split()[0] for text in told.urgent] == ["Have"]
    assert [text.split()[0] for text in told.steps] == ["Read", "Have"]
    assert told.urgent_change[0].count(say(sound)) == 1
    assert told.urgent_change[0] != ""
    assert told.steps_change == ("", "")
    both = change_words(todo(Kind.LOOK, change=(sound, Note(WouldChange.DEPTHS_READ))), "us")
    assert "; " in both


def test_one_tire_is_likeliest_first_or_several_are_or_it_is_not_known():
    def first(*places):
        return first_words(Decision("V", NOW, first=places))

    assert first("LR") == "Most likely to be first: left rear."
    assert first("LR", "RF") == "About equally likely to be first: left rear and right front."
    assert first() == ""


DATES = (pd.Timestamp("2027-03-02"), pd.Timestamp("2027-05-25"))


def test_the_answer_in_one_breath_names_the_window_the_distance_and_the_first():
    decision = Decision("V", NOW, first=("LR",))
    assert lead_words(decision, DATES, (8000 * MI, 13_000 * MI), "us") == (
        "Plan for new tires between early March and late May 2027, after 8,000 to 13,000 more miles. "
        "Most likely to be first: left rear."
    )
    unnamed = Decision("V", NOW)
    assert lead_words(unnamed, DATES, (8000.0, 13_000.0), "metric").endswith("after 8,000 to 13,000 more km.")


@pytest.mark.parametrize("dates", [(pd.NaT, DATES[1]), (DATES[0], pd.NaT)])
def test_a_window_without_an_end_is_no_date(dates):
    assert lead_words(Decision("V", NOW), dates, (1.0, 2.0), "us") == texts()["lead-unknown"]


def test_due_now_are_the_tires_that_are_down_and_none_that_go_along():
    notes = (
        why(Reason.AT_LIMIT, position="LF"), why(Reason.NEAR_LIMIT, position="RF", km_p50=0.0),
        why(Reason.DUE, position="LR", km_p50=5.0), why(Reason.DUE, position="RR", km_p50=-1.0),
        why(Reason.MATCH_AXLE, position="LR", apart_mm=4.0),
    )  # fmt: skip
    now = todo(Kind.REPLACE, *notes, soon=Soon.NOW)
    assert lead_words(Decision("V", NOW, (now,)), DATES, (0.0, 1.0), "us").startswith(
        "Due now: left front, right front and right rear. Plan"
    )
    later = todo(Kind.REPLACE, *notes, soon=Soon.BEFORE_NEXT_LOOK)
    assert lead_words(Decision("V", NOW, (later,)), DATES, (5000.0, 9000.0), "us").startswith(
        "Plan for new tires"
    )


def test_wheels_are_named_as_a_pair_or_all_four_in_any_order():
    table = texts()
    assert place_words(("RF", "LF"), table) == "both front tires"
    assert place_words(("LR", "RR"), table) == "both rear tires"
    assert place_words(("RR", "LF", "LR", "RF"), table) == "all four tires"
    assert place_words(("LF", "LR", "SP"), table) == "left front, left rear and spare"
    assert place_words((), table) == ""

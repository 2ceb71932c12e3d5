"""The decision on hand-made cars, and what must hold for any car."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.advice.cars import CARS, Car, four
from tirelife.advice import Kind, Reason, Soon, decide
from tirelife.codes import Severity
from tirelife.sheet.language import decision_words


def told(car: Car) -> dict[str, object]:
    found = decide(car.facts())
    change = found.of(Kind.REPLACE)
    out: dict[str, object] = {
        "replace": change[0].scope.value if change else "none",
        "where": " ".join(change[0].positions) if change else "",
        "when": change[0].soon.value if change else "",
        "rotate": bool(found.of(Kind.ROTATE)),
        "urgent": found.severity is Severity.URGENT,
    }
    if car.first:
        out["first"] = found.headline.kind.value
    return out


def wanted(car: Car) -> dict[str, object]:
    out: dict[str, object] = {n: getattr(car, n) for n in ("replace", "where", "when", "rotate", "urgent")}
    return out | ({"first": car.first} if car.first else {})


def test_a_careful_shop_says_the_same_of_95_in_100_cars():
    unlike = {car.name: (told(car), wanted(car)) for car in CARS if told(car) != wanted(car)}
    assert len(unlike) <= 0.05 * len(CARS), unlike


@pytest.mark.parametrize("car", CARS, ids=lambda car: car.name)
def test_the_next_look_is_no_later_than_the_usual_service(car):
    look = decide(car.facts()).of(Kind.LOOK)
    assert len(look) == 1
    assert (look[0].by - car.facts().as_of).days <= car.look_within_days


@pytest.mark.parametrize("car", CARS, ids=lambda car: car.name)
def test_either_rotate_or_leave_and_never_both(car):
    found = decide(car.facts())
    assert len(found.of(Kind.ROTATE)) + len(found.of(Kind.LEAVE)) == 1
    assert all(action.reasons for action in found.actions)


depth = st.floats(0.5, 10.0)
miles = st.floats(0.0, 60_000.0)


@settings(max_examples=200, deadline=None)
@given(
    st.tuples(depth, depth, depth, depth),
    st.tuples(miles, miles, miles, miles),
    st.sampled_from(["front", "rear", "all"]),
    st.floats(-0.5, 0.5),
    st.floats(0.0, 1.0),
    st.floats(0.0, 12_000.0),
)
def test_what_holds_for_any_car(depths, far, drive, gain, sure, since):
    car = Car("any", four(*depths, *far), drive=drive, rotate_gain=gain, sure=sure, since=since)
    found = decide(car.facts())
    worn = [p for p, (d, _) in car.tires.items() if d <= 3.0]
    if worn:
        assert not found.of(Kind.ROTATE)
        change = found.of(Kind.REPLACE)
        assert change
        assert set(worn) <= set(change[0].positions)
    if any(d <= 2.0 for d in depths):
        assert found.headline.kind is Kind.INSPECT
        assert found.severity is Severity.URGENT
        assert set(found.headline.positions) == {p for p, (d, _) in car.tires.items() if d <= 2.0}
    elif min(far) > 0:
        assert not found.of(Kind.INSPECT)
    else:
        assert all(action.has(Reason.MAY_BE_DOWN) for action in found.of(Kind.INSPECT))
    order = [action.severity for action in found.actions]
    assert order == sorted(order, reverse=True)
    if found.of(Kind.REPLACE):
        assert found.of(Kind.LEAVE)


def test_a_thinner_tread_is_never_less_urgent():
    rank = []
    for d in np.arange(6.0, 0.9, -0.25):
        far = max(d - 2, 0) * 5_000
        rank.append(decide(Car("x", four(d, 8, 8, 8, far, 40e3, 40e3, 40e3)).facts()).severity)
    assert all(a <= b for a, b in itertools.pairwise(rank))


def test_a_tie_is_said_as_a_tie():
    facts = Car("tie", four(6, 6, 8, 8, 32_067, 32_117, 60e3, 60e3)).facts()
    found = decide(facts)
    assert found.first == ("LF", "RF")
    assert math.isnan(found.first_chance)


def test_one_clear_first_is_named_with_its_chance():
    facts = Car("clear", four(3.5, 8, 8, 8, 7_000, 60e3, 60e3, 60e3)).facts()
    found = decide(facts)
    assert found.first == ("LF",)
    assert found.first_chance > 0.6


def test_the_frame_has_a_row_an_action_in_order():
    frame = decide(CARS[4].facts()).frame()
    assert frame["action"].tolist()[:2] == ["inspect-now", "replace"]
    assert frame["order"].tolist() == list(range(1, len(frame) + 1))
    assert frame["why"].str.contains("at-limit").iloc[0]
    assert frame["by"].iloc[0] == pd.Timestamp("2026-09-30")


def test_a_tire_that_may_have_come_down_since_it_was_read_is_read_now():
    found = decide(Car("since", four(2.9, 6, 6, 6, 0, 20e3, 20e3, 20e3)).facts())
    assert found.headline.kind is Kind.INSPECT
    assert found.headline.has(Reason.MAY_BE_DOWN)
    assert found.headline.positions == ("LF",)
    assert found.of(Kind.REPLACE)[0].soon is Soon.NOW


def test_leaving_new_fronts_alone_says_what_rotation_would_cost():
    car = next(c for c in CARS if c.name == "new fronts, old rears")
    leave = decide(car.facts()).of(Kind.LEAVE)[0]
    assert leave.has(Reason.SHORTENS)
    note = next(n for n in leave.reasons if n.code == Reason.SHORTENS)
    assert note.value("rotate_km") == pytest.approx(0.6 * note.value("stay_km"))


@pytest.mark.parametrize(("since", "due"), [(3_700, False), (3_800, True)])
def test_a_rotation_is_due_from_three_quarters_of_its_interval(since, due):
    found = decide(Car("due", four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3), since=since).facts())
    assert bool(found.of(Kind.ROTATE)) == due
    assert found.may_rotate


@pytest.mark.parametrize(("sure", "leaves"), [(0.08, True), (0.12, False)])
def test_the_usual_is_left_only_with_nine_chances_in_ten(sure, leaves):
    worn = four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3)
    found = decide(Car("sure", worn, since=6_000, rotate_gain=-0.2, sure=sure).facts())
    assert bool(found.of(Kind.LEAVE)) == leaves
    assert found.may_rotate != leaves


def test_a_tire_is_seen_again_before_half_of_the_least_that_it_may_go():
    # 14,000 miles in the middle, 9,800 at least, at 33 miles a day: half of that comes before half a year.
    car = Car("soon", four(5, 8, 8, 8, 14e3, 50e3, 50e3, 50e3), since=500)
    look = decide(car.facts()).of(Kind.LOOK)[0]
    assert look.has(Reason.BEFORE_LIMIT)
    assert (look.by - car.facts().as_of).days == int(0.5 * 9_800 / (12_000 / 365.25))


@pytest.mark.parametrize(("psi", "said"), [(1.4, False), (1.6, True)])
def test_pressures_a_psi_and_a_half_low_are_worth_a_word(psi, said):
    found = decide(Car("low", four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3), since=500, low_psi=psi).facts())
    assert bool(found.of(Kind.PRESSURE)) == said


def test_tires_under_a_placard_that_is_assumed_are_not_said_to_be_under_the_placard():
    facts = replace(CARS[0].facts(), low_kpa=30.0)
    said = {
        (stated, language): " ".join(
            decision_words(decide(replace(facts, placard_stated=stated)), "metric", language)
        )
        for stated in (True, False)
        for language in ("en", "es")
    }
    assert "they ran about 30 kPa low" in said[True, "en"]
    assert "the log does not state" in said[False, "en"]
    assert "el registro no da" in said[False, "es"]
    assert "they ran about 30 kPa low" not in said[False, "en"]

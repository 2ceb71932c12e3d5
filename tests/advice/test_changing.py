"""What would change an action: were it so, the action does not stand; short of it, it does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.advice.cars import ANGLES_FRONT, CARS, MI, Car, four
from tirelife.advice import Action, Facts, Kind, Settings, WouldChange, decide
from tirelife.tread import NEAR_MM

SURE = replace(CARS[1], name="leaving is better", rotate_gain=-0.2, sure=0.05)
EARLY = Car("early is better", four(7, 7, 7, 7, 3e4, 3e4, 3e4, 3e4), since=500, rotate_gain=0.3, sure=0.95)
MORE = (
    SURE,
    EARLY,
    replace(CARS[1], name="angles", checks=ANGLES_FRONT),
    replace(CARS[1], name="a leak", leak={"LF": 2.0}),
    replace(CARS[1], name="low", low_psi=3.0),
    replace(CARS[1], name="odd", odd=("LR",)),
    replace(CARS[1], name="sizes", refused=True),
    Car("near the limit, slow to wear", four(2.8, 3.5, 7, 7, 2e4, 2e4, 3e4, 3e4), new=float("nan")),
    Car("aged", four(7, 7, 7, 7, 3e4, 3e4, 3e4, 3e4), aged=("LF", "RF", "LR", "RR")),
)


def told(action: Action) -> tuple[object, ...]:
    """What an action says, without the numbers that go with it."""
    reasons = tuple((n.code, dict(n.values).get("position")) for n in action.reasons)
    return action.kind, action.positions, action.soon, reasons


def so(facts: Facts, action: Action, settings: Settings, part: float = 1.01) -> tuple[Facts, Settings]:
    """Facts and settings with all so that would change an action; ``part`` of the way to each figure."""
    tires, turn = dict(facts.tires), facts.rotation
    for note in action.change:
        value, p = dict(note.values), str(dict(note.values).get("position"))
        match note.code:
            case WouldChange.READ_OVER:
                depth = value["over_mm"] * part
                near = depth <= facts.limit_mm[p] + NEAR_MM
                down = depth <= facts.limit_mm[p]
                far = max(tires[p].km_p10, 0.0 if down else 1.0)
                tires[p] = replace(tires[p], read_mm=depth, at_limit=down, near_limit=near and not down,
                                   km_p10=far, km_p50=max(tires[p].km_p50, far))  # fmt: skip
            case WouldChange.GOES_FURTHER:
                km = value["over_km"] * part
                tires[p] = replace(tires[p], km_p50=km, km_p10=km if part > 1 else tires[p].km_p10)
            case WouldChange.SURELY_FURTHER:
                tires[p] = replace(tires[p], km_p10=value["over_km"] * part)
            case WouldChange.AGE_ALLOWED:
                tires[p] = replace(tires[p], by_age=part <= 1)
            case WouldChange.APART_ALLOWED | WouldChange.DRIVE_ALLOWED:
                wide = value["apart_mm"] * part
                settings = replace(settings, match_axle_mm=wide, match_drive_mm=wide)
            case WouldChange.HOLDS_AIR:
                tires[p] = replace(tires[p], loss_kpa_per_month=0.0)
            case WouldChange.READS_AGREE:
                tires[p] = replace(tires[p], fits=True)
            case WouldChange.FOUND_SOUND:
                facts = replace(facts, checks=())
            case WouldChange.PRESSURES_RIGHT:
                facts = replace(facts, low_kpa=value["within_kpa"] / part)
            case WouldChange.RUN_ON:
                turn = replace(turn, since_km=turn.since_km + value["more_km"] * part)
            case WouldChange.LEAVING_LONGER:
                usual = np.nan_to_num([turn.now_km, turn.due_km], nan=3e4)
                turn = replace(turn, now_km=usual[0], due_km=usual[1])
                longer = max(usual) * (1 + value["share"] * part)
                over = 1 - value["chance"] * min(part, 1.0)
                turn = replace(turn, never_km=longer, now_over_never=over, due_over_never=over)
            case WouldChange.LEAVING_NO_LONGER:
                over = 1 - value["chance"] / part
                turn = replace(turn, now_over_never=over, due_over_never=over)
            case WouldChange.ROTATING_NO_LONGER:
                turn = replace(turn, now_over_due=value["chance"] / part)
            case WouldChange.OTHER_TIRES:
                turn = replace(turn, refused=None)
            case WouldChange.ASSUMED_OTHERWISE:
                turn = replace(turn, assumed="")
            case WouldChange.SERVICE_SET:
                settings = replace(
                    settings, service_days=value["days"] / 2, service_km=value["service_km"] / 2
                )
            case WouldChange.NEW_TIRES:
                due = {q for a in decide(facts, settings).of(Kind.REPLACE) for q in a.positions}
                fresh = {"read_mm": 8.0, "depth_mm": 8.0, "km_p10": 5e4, "km_p50": 6e4, "km_p90": 7e4}
                for q in due:
                    tires[q] = replace(tires[q], at_limit=False, near_limit=False, by_age=False, **fresh)
    return replace(facts, tires=tires, rotation=turn), settings


@pytest.mark.parametrize("car", [*CARS, *MORE], ids=lambda car: car.name)
def test_no_action_stands_where_all_is_so_that_would_change_it(car):
    facts, settings = car.facts(), Settings()
    for action in decide(facts, settings).actions:
        assert action.change, action
        after = decide(*so(facts, action, settings))
        same = [a for a in after.actions if told(a) == told(action) and a.by == action.by]
        assert not same, (action, action.change)


SHORT = (
    WouldChange.READ_OVER, WouldChange.GOES_FURTHER, WouldChange.SURELY_FURTHER, WouldChange.APART_ALLOWED,
    WouldChange.DRIVE_ALLOWED, WouldChange.PRESSURES_RIGHT, WouldChange.RUN_ON, WouldChange.LEAVING_LONGER,
    WouldChange.LEAVING_NO_LONGER, WouldChange.ROTATING_NO_LONGER,
)  # fmt: skip
"""Those with a figure to pass."""


@pytest.mark.parametrize("car", [*CARS, *MORE], ids=lambda car: car.name)
def test_short_of_the_figure_that_would_change_it_an_action_stands(car):
    facts, settings = car.facts(), Settings()
    for action in decide(facts, settings).actions:
        figures = tuple(n for n in action.change if n.code in SHORT)
        if not figures or action.kind in (Kind.LOOK, Kind.INSPECT):
            continue
        short = replace(action, change=figures)
        after = decide(*so(facts, short, settings, part=0.99))
        kinds = [(a.kind, a.positions) for a in after.actions]
        assert (action.kind, action.positions) in kinds, (action, figures)


def test_every_code_of_a_change_is_met():
    met = {n.code for car in (*CARS, *MORE) for a in decide(car.facts()).actions for n in a.change}
    none = decide(replace(CARS[0].facts(), tires={}, first_chance={}))
    fixed = replace(CARS[1].facts(), rotation=replace(CARS[1].facts().rotation, assumed="none"))
    met |= {n.code for d in (none, decide(fixed)) for a in d.actions for n in a.change}
    assert met == set(WouldChange)


def test_a_rotation_not_due_says_after_how_much_more_it_is():
    car = Car("not due", four(7, 7, 7, 7, 3e4, 3e4, 3e4, 3e4), since=3_000)
    change = decide(car.facts()).of(Kind.LEAVE)[0].change
    assert [n.code for n in change] == [WouldChange.RUN_ON]
    assert change[0].value("more_km") == pytest.approx((3_750 - 3_000) * MI)
    assert decide(car.facts()).frame()["would_change"].str.contains("run-on").sum() == 1
    assert pd.notna(decide(car.facts()).frame()["by"].iloc[-1])

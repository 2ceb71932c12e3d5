"""A record redone under other assumptions: what each control reaches, worked by hand or by the rooms below."""

import copy

import pandas as pd
import pytest

from tests.advice.cars import CARS
from tests.sheet.answers import state
from tirelife.advice import Kind, Reason
from tirelife.advice.script_rules import rules
from tirelife.sheet.redo import redo


def far(s, factor):
    """The same car with its draws of distance multiplied."""
    out = copy.deepcopy(s)
    for tire in out["tires"].values():
        tire["km"] = {name: [v * factor for v in km] for name, km in tire["km"].items()}
    return out


def test_at_a_removal_depth_that_was_read_the_whole_record_says_so():
    s = state()
    for own in s["record"]["tires"].values():
        own["at"]["4"]["verdict"] = "over"
    s["record"]["tires"]["LF"]["at"]["4"]["verdict"] = "at-or-under"
    s["tires"]["LF"]["km"]["4"] = [0.0] * 5
    assert redo(s, {}).said.urgent == ()
    then = redo(s, {"removal": "4"})
    assert "read left front 6/32 inch, at or under the 4/32 inch" in then.said.urgent[0]
    assert then.lead.startswith("First see the note above. Due now: left front.")
    assert then.decision.of(Kind.LEAVE)[0].has(Reason.NEAR_LIMIT)
    assert not then.changes["change"].str.startswith("Rotate").any()


def test_twice_the_distance_a_year_brings_the_replacement_before_the_next_look_and_the_look_forward():
    s = far(state(), 0.4)  # 6,400 km in the middle: 4,000 miles, over a year at 3,000 miles a year
    slow, fast = redo(s, {"year": 3000}), redo(s, {"year": 30000})
    assert not slow.decision.of(Kind.REPLACE)
    assert fast.decision.of(Kind.REPLACE)[0].soon.value == "before-next-look"
    looks = [one.decision.of(Kind.LOOK)[0].by for one in (slow, fast)]
    assert looks[1] < looks[0]
    assert slow.lead != fast.lead


def test_no_rotation_is_told_what_rotating_would_give_and_every_so_many_is_taken_at_its_word():
    s = state()
    s["rotations"]["none"] = [[None], [None]]
    for tire in s["tires"].values():
        tire["other"] = [0.4] * 5  # the other axle wears less for each of them: rotating always pays
    leave = redo(s, {"rotation": "none"}).decision.of(Kind.LEAVE)[0]
    assert leave.has(Reason.AS_ASSUMED)
    assert leave.reasons[0].value("rotate_km") > leave.reasons[0].value("stay_km")
    said = redo(s, {"rotation": "none"}).said.steps
    assert any(
        text.startswith("No rotation, as assumed here: with it, the set should go about") for text in said
    )
    turned = redo(s, {"rotation": "6000"})
    assert any(
        text == "Rotate the tires now, and then every 6,000 miles, as assumed here."
        for text in turned.said.steps
    )


def test_pressures_count_as_assumed_once_their_control_is_moved():
    s = state()
    assert any("they ran about 2 psi low" in text for text in redo(s, {}).said.steps)
    assert not redo(s, {"pressure": 0}).decision.of(Kind.PRESSURE)
    assert any("here they would run about 6 psi low" in text for text in redo(s, {"pressure": -6}).said.steps)


def test_a_gain_whose_range_holds_nothing_is_said_so():
    s = state()
    wear = {p: [0.95, 1.01, 0.9] for p in s["tires"]}
    s["record"]["changes"].append({"name": "Toe put right", "kind": "correction", "wear": wear})
    said = redo(s, {}).changes.set_index("change")["said"]
    assert said["Toe put right"].endswith(", or none")
    assert "or none" not in said["Rotate every 6,000 miles"]


def test_a_note_is_said_once_for_all_tires_that_it_goes_for():
    s = state()
    tires = s["record"]["tires"]
    for p in ("LF", "RF"):
        tires[p]["at"]["2"]["notes"] = ["wear is bending"]
    tires["RF"]["at"]["2"]["notes"].append("one visit")
    tires["LR"]["at"]["2"]["notes"] = ["one visit"]
    assert redo(s, {}).notes == (
        "Left front and Right front: wear is bending.",
        "Right front and Left rear: one visit.",
    )
    assert redo(s, {"removal": "4"}).notes == ()
    tires["LF"]["age_end"], tires["LF"]["age_note"] = "2026-12-01", "ten years old"
    assert "Left front: ten years old." in redo(s, {}).notes
    assert "Left front: ten years old." not in redo(s, {"year": 400000}).notes


def test_a_gentler_driver_gains_less_where_hard_events_are_fewer():
    gains = []
    for stops in (20, 3, 0):
        rows = redo(state(), {"hard_stops_per_100mi": stops, "pressure": 0}).changes
        row = rows.set_index("change").loc["Gentler stops"]
        gains.append(row["after_km"] / row["before_km"] - 1)
    assert gains[0] > gains[1] > gains[2] > 0
    # By hand, of the right front: 0.016 an event; with no hard stop 5.5 others take 0.088, of which a fifth goes.
    mix = sum(
        a * b for a, b in zip((0.14, 0.36, 0.3, 0.17, 0.03), (0.45, 0.55, 0.65, 0.75, 0.85), strict=True)
    )
    assert gains[2] == pytest.approx(1 / (1 - 0.2 * 0.088 / (0.3 + mix + 0.088)) - 1, rel=1e-3)


@pytest.mark.parametrize("car", CARS[:3], ids=lambda car: car.name)
def test_the_rules_that_the_script_is_given_are_those_of_the_decision(car):
    held = rules()
    assert held["kinds"][0] == "inspect-now"
    assert held["road"] == ["LF", "RF", "LR", "RR"]
    assert all(isinstance(v, float | str | list) for v in held.values())
    assert car.facts().as_of == pd.Timestamp("2026-09-30")

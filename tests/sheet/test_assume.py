"""The controls of a page: where each begins, what it reaches, and that all begins as things are."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.driving import default_profile, marked_by_events
from tirelife.logbook import BANDS
from tirelife.sheet.assume import EVENTS, removal_depths, slider_state
from tirelife.sheet.language import texts
from tirelife.wear import CAUSES, Conditions, Vehicle

MI, N32, PSI = 1.609344, 0.79375, 6.894757293168
DAY = pd.Timestamp("2026-10-01")
SAME = {
    "vehicle_id": "V1", "at_axle": -0.38, "at_q": 0.0, "at_cov_depth_depth": 0.067, "at_cov_axle_axle": 0.12, "at_cov_q_q": 0.006,
    "at_wander_per_km": 0.0, "bend": 0.0, "bend_log_sd": 0.0, "last_date": DAY, "at_scatter_km": 4.0, "misfit_mm": 0.0, "shared_cov": 0.005, "shared_both_mm": 0.0,
    "shared_depth_mm2": 0.026, "walk_share": 0.88, "walk_log_sd": 1.15, "wander_log_sd": 1.2, "q_share_0": 0.95, "q_mean_0": 0.0,
    "q_sd_0": 0.07, "q_share_1": 0.05, "q_mean_1": 0.0, "q_sd_1": 0.7, "log_sd": 0.15, "since_front_km": 0.0, "since_rear_km": 0.0,
    "unread_km": 0.0, "spare_turns": False, "moves": 12, "since_km": 4000.0, "chance": 0.95, "every_km": 10_000.0, "every_log_sd": 0.07,
    "interval_log_sd": 0.13, "as_of": DAY, "odometer_km": 34_000.0, "km_per_day": 49.0, "year_log_sd": 0.12, "drift_log_sd": 0.08,
    "new_depth_mm": 8.0, "age_days": np.inf, "removal_depth_mm": 2 * N32, "limit_mm": 2 * N32, "limit_sd_mm": 0.0, "verdict": "over",
    **dict.fromkeys(("turn_on", "turn_first", "turn_mounted", "turn_pace", "turn_sd", "turn_pace_sd"), np.nan),
    **dict.fromkeys(
        [f"at_cov_{two}" for two in ("depth_log_wear", "depth_axle", "depth_q", "log_wear_axle", "log_wear_q", "axle_q")], 0.0
    ),
}  # fmt: skip
"""What the state of four tires by hand shares; the numbers are near those of a half worn set."""
FRONT = {
    "axle": "front",
    "at_log_wear": -9.4,
    "at_side": 0.5,
    "at_cov_log_wear_log_wear": 0.036,
    "here": 1.37,
    "there": 0.63,
}
REAR = {
    "axle": "rear",
    "at_log_wear": -9.2,
    "at_side": -0.5,
    "at_cov_log_wear_log_wear": 0.06,
    "here": 0.63,
    "there": 1.37,
}


@pytest.fixture(scope="module")
def found():
    wheels = [("LF", 4.84, FRONT), ("RF", 4.77, FRONT), ("LR", 5.35, REAR), ("RR", 5.28, REAR)]
    state = pd.DataFrame(
        [
            {
                "position": p,
                "tire_id": p,
                "at_depth": mm,
                "mean_depth_mm": mm,
                "depth_now_mm": mm,
                **SAME,
                **axle,
            }
            for p, mm, axle in wheels
        ]
    )
    forecast = pd.DataFrame(
        {
            "position": list(state["position"]), "as_of": DAY, "odometer_km": 34_000.0, "depth_now_mm": state["depth_now_mm"],
            "km_left_p50": [34_000.0, 32_000.0, 48_000.0, 46_000.0], "km_left_p90": [42_600.0, 42_100.0, 61_800.0, 58_100.0],
        }
    )  # fmt: skip
    return SimpleNamespace(state=state, forecast=forecast)


def state_of(found, units="us", change=None, placard=240.0, pressure=1.0, begin="2", **conditions):
    say = texts()
    rows = found.forecast.assign(label=[say[p] for p in found.forecast["position"]])
    now = found.state if change is None else found.state.assign(**change)
    ahead = Conditions(default_profile(), Vehicle.of_drive("front"), np.full(4, pressure), **conditions)
    return slider_state(units, {begin: now}, rows, ahead, np.full(4, placard))


def control(state, name):
    return next(one for one in state["controls"] if one["id"] == name)


def test_removal_depths_begin_with_the_one_asked_for_and_name_each_once():
    assert removal_depths(4 * N32, "us") == pytest.approx(
        {"4": 4 * N32, "2": 2 * N32, "3": 3 * N32, "5": 5 * N32, "6": 6 * N32}
    )
    assert removal_depths(1.6, "metric") == {"1.6": 1.6, "2": 2.0, "3": 3.0, "4": 4.0}
    # Between two of them one more stands in front; what differs by under a twentieth is the same.
    assert list(removal_depths(2.5 * N32, "us")) == ["2.5", "2", "3", "4", "5", "6"]
    assert removal_depths(2.04 * N32, "us")["2"] == 2.04 * N32


def test_shares_of_speed_are_whole_percents_and_events_are_by_the_halves_for_the_unit_shown(found):
    profile = default_profile()
    for units, per in (("us", MI), ("metric", 1.0)):
        state = state_of(found, units)
        for band in BANDS:
            assert control(state, band)["value"] == pytest.approx(100 * getattr(profile, band), abs=0.5)
            assert control(state, band)["value"] % 1 == 0
            assert (control(state, band)["min"], control(state, band)["max"]) == (0, 100)
        for event in EVENTS:
            one = control(state, event)
            assert one["value"] == pytest.approx(getattr(profile, event) * per, abs=0.25)
            assert one["value"] % 0.5 == 0
            assert one["max"] >= max(20, one["value"])


@pytest.mark.parametrize("units", ["us", "metric"])
def test_at_the_begin_each_cause_takes_what_the_wear_model_says(found, units):
    state = state_of(found, units, front_toe_mm=3.0)
    ahead = Conditions(default_profile(), Vehicle.of_drive("front"), np.ones(4), front_toe_mm=3.0)
    severity = ahead.severity()
    causes = [cause for cause in CAUSES if cause != "pressure"]
    at = {name: float(control(state, name)["value"]) for name in (*BANDS, *EVENTS)}
    miles = sum(at[band] for band in BANDS)
    for place, weights in state["weights"].items():
        begin = np.array(weights["constant"])
        for name, value in at.items():
            begin = begin + np.array(weights[name]) * value / (miles if name in BANDS else 1.0)
        assert begin.tolist() == pytest.approx(severity.loc[place, causes].tolist(), rel=1e-9)
        # More hard driving wears more, on every wheel that has it.
        assert all(min(weights[event]) >= 0 for event in EVENTS)
        assert sum(sum(weights[event]) for event in EVENTS) > 0


def test_events_for_a_mile_weigh_as_much_more_as_a_mile_is_longer_than_a_kilometre(found):
    us, metric = (state_of(found, units)["weights"]["LF"] for units in ("us", "metric"))
    for event in EVENTS:
        assert np.array(us[event]) * MI == pytest.approx(np.array(metric[event]))


@pytest.mark.parametrize(("units", "step"), [("us", 0.5), ("metric", 5.0)])
def test_pressure_goes_in_steps_around_the_placard_and_begins_where_wear_is_as_now(found, units, step):
    state = state_of(found, units)
    one, table = control(state, "pressure"), state["pressure"]
    at = np.array(table["at"])
    assert np.diff(at) == pytest.approx(step)
    assert (one["min"], one["max"], one["step"]) == (at[0], at[-1], step) == (-24 * step, 8 * step, step)
    assert one["value"] == 0.0
    factor = np.array(table["factor"]["LF"])
    assert factor[at == 0] == pytest.approx(1.0)
    assert (factor[at > 0] == 1.0).all()
    assert (np.diff(factor[at <= 0]) < 0).all()
    # Where the wear of now is that of a whole step too little, the control stands there.
    for steps in (4, 9):
        there = state_of(found, units, pressure=float(factor[at == -steps * step][0]))
        assert control(there, "pressure")["value"] == -steps * step
    assert control(state_of(found, units, pressure=0.9), "pressure")["value"] == 0.0
    half = float(np.interp(-2.4 * step, at, factor))
    assert control(state_of(found, units, pressure=half), "pressure")["value"] == -2 * step


def test_a_year_s_distance_is_by_the_hundred_within_its_control(found):
    def year(km, units="metric"):
        return control(state_of(found, units, {"km_per_day": km / 365.25}), "year")

    assert [year(km)["value"] for km in (18_049, 100, 900_000)] == [18_000, 500, 100_000]
    assert year(18_000 * MI, "us")["value"] == 18_000
    assert [(year(km)["value"], year(km)["max"]) for km in (40_049, 45_051)] == [
        (40_000, 40_000),
        (45_100, 50_000),
    ]
    assert (year(18_000)["min"], year(18_000)["step"]) == (500, 100)


def test_rotations_offered_are_the_log_s_none_and_two_intervals(found):
    for units, unit, far in (("us", MI, (5000, 7500)), ("metric", 1.0, (8000, 12_000))):
        state = state_of(found, units)
        assert [name for _, name in control(state, "rotation")["options"]] == ["log", "none", *map(str, far)]
        assert control(state, "rotation")["value"] == "log"
        assert state["rotations"]["none"] == [[None], [None]]
        for every in far:
            assert state["rotations"][str(every)] == [[0.0], [pytest.approx(every * unit)]]
    assert control(state_of(found), "rotation")["options"][2][0] == texts()["try-every"].format(
        far="5,000 miles"
    )


def test_the_control_of_depth_offers_the_states_in_order_and_begins_with_the_first(found):
    rows = found.forecast.assign(label="x")
    ahead = Conditions(default_profile(), Vehicle.of_drive("front"), np.ones(4))
    states = {name: found.state.assign(removal_depth_mm=int(name) * N32) for name in ("4", "2", "6")}
    state = slider_state("us", states, rows, ahead, np.full(4, 240.0))
    assert [name for _, name in control(state, "removal")["options"]] == ["2", "4", "6"]
    assert control(state, "removal")["value"] == "4"
    assert state["removals"] == pytest.approx({"2": 2 * N32, "4": 4 * N32, "6": 6 * N32})
    assert "4/32 inch" in state["assumed"]
    assert set(state["tires"]["LF"]["km"]) == {"2", "4", "6"}


def test_a_spare_that_takes_turns_lasts_a_quarter_longer_and_a_set_that_does_carries_its_turn(found):
    state = state_of(found)
    assert {tire["spare_factor"] for tire in state["tires"].values()} == {1.0}
    assert {tire["turn"] for tire in state["tires"].values()} == {None}
    assert {"change", "share"}.isdisjoint(state["draws"])
    turns = {"spare_turns": True, "turn_on": 1.0, "turn_first": 40.0, "turn_mounted": 150.0, "turn_pace": 0.9, "turn_sd": 10.0, "turn_pace_sd": 0.1}  # fmt: skip
    both = state_of(found, change=turns)
    assert {tire["spare_factor"] for tire in both["tires"].values()} == {1.25}
    assert both["tires"]["LF"]["turn"] == [40.0, 150.0, 0.9, 10.0, 0.1]
    assert {"change", "share"} <= set(both["draws"])


def test_distances_ahead_are_draws_to_seven_figures_and_longer_to_a_lower_limit(found):
    states = {
        name: found.state.assign(removal_depth_mm=mm, limit_mm=mm)
        for name, mm in (("2", 2 * N32), ("4", 4 * N32))
    }
    ahead = Conditions(default_profile(), Vehicle.of_drive("front"), np.ones(4))
    state = slider_state("us", states, found.forecast.assign(label="x"), ahead, np.full(4, 240.0))
    for tire in state["tires"].values():
        low, high = (np.array(tire["km"][name], dtype=float) for name in ("4", "2"))
        assert (high > low).all()
        assert np.median(high / low) == pytest.approx(2, rel=0.25)  # about 3.4 mm to go, and 1.9
        assert all(value == float(f"{value:.7g}") for value in high)
        # The wear on the other axle is that on this one the other way round.
        assert np.median(tire["other"]) != 1.0
    front, rear = (np.array(state["tires"][p]["other"]) for p in ("LF", "LR"))
    assert np.median(front * rear) == pytest.approx(1, rel=1e-3)


def test_charts_reach_a_little_past_the_longest_distance(found):
    state = state_of(found)
    assert [path["reach_km"] for path in state["paths"].values()] == pytest.approx([61_800 * 1.05] * 4)
    assert state["labels"] == {p: texts()[p] for p in found.forecast["position"]}
    unknown = found.forecast.assign(km_left_p90=np.nan)
    assert slider_state("us", {"2": found.state}, unknown.assign(label="x"), Conditions(default_profile(), Vehicle.of_drive("front"), np.ones(4)), np.full(4, 240.0))["paths"]["LF"]["reach_km"] == 1000.0  # fmt: skip
    none = found.forecast.assign(km_left_p50=np.nan, label="x")
    assert slider_state("us", {"2": found.state}, none, Conditions(default_profile(), Vehicle.of_drive("front"), np.ones(4)), np.full(4, 240.0))["paths"] == {}  # fmt: skip


def test_units_are_exact(found):
    us, metric = state_of(found), state_of(found, "metric")
    assert (us["km_per_unit"], us["mm_per_unit"]) == (MI, N32)
    assert us["kpa_per_unit"] == pytest.approx(PSI, rel=1e-9)
    assert (metric["km_per_unit"], metric["mm_per_unit"], metric["kpa_per_unit"]) == (1, 1, 1)
    assert (us["distance_word"], us["pressure_word"]) == ("miles", "psi")
    assert us["as_of"] == "2026-10-01"


@pytest.mark.parametrize(
    ("name", "moment"), [("starts", "drive_a2"), ("stops", "brake_a2"), ("turns", "ay2")]
)
def test_an_event_more_wears_as_much_more_as_what_it_marks_of_its_moment(found, name, moment):
    profile, event = default_profile(), f"hard_{name}_per_100km"
    more = replace(profile, **{moment: getattr(profile, moment) + float(marked_by_events(profile)[event])})
    before, after = (
        Conditions(one, Vehicle.of_drive("front"), np.ones(4)).severity() for one in (profile, more)
    )
    causes = [cause for cause in CAUSES if cause != "pressure"]
    for place, weights in state_of(found, "metric")["weights"].items():
        worn = (after - before).loc[place, causes]
        assert weights[event] == pytest.approx(worn.tolist(), rel=1e-6, abs=1e-12)

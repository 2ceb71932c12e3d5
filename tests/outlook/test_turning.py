"""What rotating buys, against the same sums by hand and against the set's own outlook."""

import numpy as np
import pytest

from tirelife import read_logbook
from tirelife.outlook import (
    REMOVAL_DEPTH_MM,
    calibrated_fit,
    chance_longer,
    first_chances,
    present_state,
    project,
    rotation_by_tire,
    rotation_worth,
    set_outlook,
)
from tirelife.rotation import compare_plans, vehicle_set


@pytest.fixture(scope="module")
def book():
    return read_logbook("data_synthetic/logbook")


@pytest.fixture(scope="module")
def fit(book):
    return calibrated_fit(book)


@pytest.fixture(scope="module")
def state(book, fit):
    state = present_state(book, fit)
    return state[state["position"] != "SP"].reset_index(drop=True)


def test_never_rotating_is_the_set_with_the_chance_of_a_rotation_at_zero(state):
    worth = rotation_worth(state, 8_000.0, 0.0 * state["odometer_km"])
    want = set_outlook(state.assign(chance=0.0)).query("group == 'set'")
    assert worth["never_km"].to_numpy() == pytest.approx(want["km_left_p50"].to_numpy(), rel=0.01)


def test_a_rotation_due_today_is_one_made_today(state):
    worth = rotation_worth(state, 8_000.0, np.full(len(state), 8_000.0))
    assert worth["due_km"].to_numpy() == pytest.approx(worth["now_km"].to_numpy())
    unknown = rotation_worth(state, 8_000.0, np.full(len(state), np.nan))
    assert unknown["due_km"].to_numpy() == pytest.approx(worth["now_km"].to_numpy())


@pytest.mark.parametrize("first_km", [0.0, 6_000.0])
def test_the_planner_s_plans_go_as_far_as_the_decision_s_ways(book, fit, state, first_km):
    """One set of draws and one way ahead: rates walk and treads bend on in both."""
    every, limit = 8_000.0, REMOVAL_DEPTH_MM
    worth = rotation_worth(state, every, np.full(len(state), every - first_km)).set_index("vehicle_id")
    crosses = 0
    for vehicle in ("V03", "V05", "V09", "V15", "V17", "V20"):
        now = vehicle_set(book, vehicle, fit)
        plans = compare_plans(now, limit, every, first_km=first_km).set_index("plan")["life_km_p50"]
        own = worth.loc[vehicle]
        assert plans["no rotation"] == pytest.approx(own["never_km"], rel=1e-5)
        for name in ("X", "forward cross", "rearward cross", "front-to-rear"):
            if np.isfinite(plans[name]):
                assert plans[name] == pytest.approx(own["due_km"], rel=1e-5)
                crosses += 1
    assert crosses >= 16


def test_shares_hang_on_no_rounding(state):
    # As metric tables give them: every number off by what a conversion leaves.
    rng = np.random.default_rng(1)
    numbers = state.select_dtypes("float").columns
    near = state.copy()
    near[numbers] *= 1 + 1e-13 * rng.standard_normal((len(state), len(numbers)))
    since = np.full(len(state), 5_000.0)
    one, other = rotation_worth(state, 8_000.0, since), rotation_worth(near, 8_000.0, since)
    for name in ("now_over_due", "due_over_never", "now_over_never"):
        assert one[name].to_numpy() == pytest.approx(other[name].to_numpy(), abs=1e-12), name


def test_ways_that_are_alike_are_even():
    assert chance_longer(np.full(4, 7.0), np.full(4, 7.0)) == 0.5
    assert chance_longer(np.array([7.002, 5.0]), np.array([7.0, 9.0])) == 0.5


def test_a_vehicle_s_answer_does_not_hang_on_its_company(state):
    alone = state[state["vehicle_id"] == "V15"].reset_index(drop=True)
    both = rotation_worth(state, 8_000.0, np.zeros(len(state))).set_index("vehicle_id").loc["V15"]
    one = rotation_worth(alone, 8_000.0, np.zeros(4)).set_index("vehicle_id").loc["V15"]
    assert one.to_numpy(float) == pytest.approx(both.to_numpy(float))


def test_new_fronts_beside_old_rears_are_better_left(state):
    row = rotation_worth(state, 8_000.0, np.zeros(len(state))).set_index("vehicle_id").loc["V15"]
    assert row["never_km"] > 1.2 * row["due_km"]
    assert row["due_over_never"] < 0.1


def test_chances_of_a_vehicle_sum_to_one_and_the_set_s_first_has_the_highest(state):
    chance = first_chances(state)
    assert chance.groupby("vehicle_id")["chance"].sum().to_numpy() == pytest.approx(1.0)
    top = chance.sort_values("chance", ascending=False, kind="stable").drop_duplicates("vehicle_id")
    named = set_outlook(state).query("group == 'set'").set_index("vehicle_id")["first"]
    assert top.set_index("vehicle_id")["position"].sort_index().tolist() == named.sort_index().tolist()


def test_each_tire_s_distance_is_the_forecast_s_and_its_set_s(state):
    found = rotation_by_tire(state, 8_000.0)
    want = project(state.assign(chance=0.0))  # never rotated
    for level in (10, 50, 90):
        got = found[f"stays_km_p{level}"].to_numpy()
        assert got == pytest.approx(want[f"km_left_p{level}"].to_numpy(), rel=0.02, nan_ok=True)
    # New fronts beside old rears: rotating brings the rears, worn, to the front, and the fronts to the rear.
    mine = found[found["vehicle_id"] == "V15"].set_index("position")
    assert mine["turns_km_p50"].min() < mine["stays_km_p50"].min()
    assert found["tire_id"].tolist() == state["tire_id"].tolist()

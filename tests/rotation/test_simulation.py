import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tirelife.errors import InputError
from tirelife.rotation import (
    PATTERNS,
    all_plans,
    bounds,
    moves,
    pattern,
    set_lives,
    simulate,
    stay,
)

ROAD = ("LF", "RF", "LR", "RR")
MILE = 1.609344


def walk(usable, rates, plan, every, first=None):
    """The slow way: a step a rotation, each tire on its own; returns the distance to the first tire at its limit."""
    spots = plan.positions
    to = {a: b for a, b in plan.goes_to}
    at, room, km, leg = list(spots), list(map(float, usable)), 0.0, every if first is None else first
    while km < 1e7:
        loss = [rates[i][spots.index(at[i])] for i in range(len(spots))]
        reach = min(room[i] / loss[i] if loss[i] > 0 else np.inf for i in range(len(spots)))
        if reach < leg * (1 - 1e-12):
            return km + reach
        room = [r - w * leg for r, w in zip(room, loss, strict=True)]
        at = [to[p] for p in at]
        km, leg = km + leg, every
    raise AssertionError


def random_set(rng, n, separable=False):
    usable = rng.uniform(1, 7, n)
    rates = (
        rng.uniform(0.5, 2.5, (n, n)) * 1e-4
        if not separable
        else np.outer(rng.uniform(0.8, 1.3, n), rng.uniform(0.5, 2.5, n) * 1e-4)
    )
    if n == 5:
        rates[:, 4] = 0
    return usable, rates


@pytest.mark.parametrize("wheels", [4, 5])
def test_closed_form_agrees_with_a_step_by_step_walk_for_every_permutation(wheels):
    rng = np.random.default_rng(5)
    for plan in all_plans(wheels):
        usable, rates = random_set(rng, wheels)
        every = rng.uniform(3000, 15000, 3)
        for first in (None, 0.0, 2500.0):
            got = set_lives(usable, rates, plan, every, first)[0]
            want = [walk(usable, rates, plan, k, first) for k in every]
            assert got == pytest.approx(want, rel=1e-9)


def test_many_draws_at_once_are_the_same_as_one_by_one():
    rng = np.random.default_rng(8)
    usable, rates = zip(*(random_set(rng, 4) for _ in range(6)), strict=True)
    every = np.array([6000.0, 9000.0])
    together = set_lives(np.array(usable), np.array(rates), PATTERNS["rearward cross"], every)
    alone = [
        set_lives(u, r, PATTERNS["rearward cross"], every)[0] for u, r in zip(usable, rates, strict=True)
    ]
    assert together == pytest.approx(np.array(alone), rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from([4, 5]))
def test_no_sequence_of_moves_passes_the_bound(seed, wheels):
    rng = np.random.default_rng(seed)
    usable, rates = random_set(rng, wheels)
    most, rubber = bounds(usable, rates)
    assert most <= rubber * (1 + 1e-9)
    for plan in (all_plans(wheels)[k] for k in rng.integers(0, 24, 4)):
        assert set_lives(usable, rates, plan, rng.uniform(50, 9000, 3)).max() <= most * (1 + 1e-9)
    # not periodic: other moves, and other distances, every time
    room, km = usable.copy(), 0.0
    while True:
        at, leg = rng.permutation(wheels), rng.uniform(0, 4000)
        loss = rates[np.arange(wheels), at]
        reach = np.min(np.divide(room, loss, out=np.full(wheels, np.inf), where=loss > 0))
        if reach <= leg:
            break
        room, km = room - loss * leg, km + leg
    assert km + reach <= most * (1 + 1e-9)


def test_bound_is_total_usable_rubber_over_total_wear_where_all_tires_wear_alike():
    usable, wear = np.array([6.0, 6.0, 5.5, 6.5]), np.array([2.0, 2.2, 1.0, 1.1]) * 1e-4
    most, rubber = bounds(usable, np.tile(wear, (4, 1)))
    assert rubber == pytest.approx(usable.sum() / wear.sum(), rel=1e-12)
    assert most == pytest.approx(rubber, rel=1e-9)


def test_bound_is_less_than_the_rubber_where_one_tire_cannot_be_spared():
    # The worn tire loses at least 1e-4 wherever it stands: 1 mm lasts 10,000 km, whatever the others have.
    usable, wear = np.array([6.0, 6.0, 6.0, 1.0]), np.array([2.0, 2.0, 1.0, 1.0]) * 1e-4
    most, rubber = bounds(usable, np.tile(wear, (4, 1)))
    assert most == pytest.approx(10_000, rel=1e-9)
    assert rubber == pytest.approx(19 / 6e-4)


def test_short_intervals_reach_the_bound():
    usable, rates = np.full(4, 6.0), np.tile(np.array([2.0, 2.2, 1.0, 1.1]) * 1e-4, (4, 1))
    most, _ = bounds(usable, rates)
    lives = set_lives(usable, rates, PATTERNS["forward cross"], [8000.0, 800.0, 8.0])[0]
    assert lives[2] == pytest.approx(most, rel=5e-4)
    assert lives[2] > lives[0]


def test_front_tires_that_wear_twice_as_fast_average_three_quarters_of_the_front_rate():
    # facts/standards-and-trade.md section 6, derived: with equal time at each end the set averages 0.75 of the front rate.
    wear = {"LF": 2e-4, "RF": 2e-4, "LR": 1e-4, "RR": 1e-4}
    depths = dict.fromkeys(ROAD, 7.6)
    alone = simulate(depths, wear, stay(), 1.6).life_km
    shared = simulate(depths, wear, pattern("X", 10_000), 1.6).life_km
    assert alone / shared == pytest.approx(0.75, rel=1e-9)


@pytest.mark.parametrize("name", ["five-tire forward cross", "five-tire rearward cross"])
def test_five_tires_switched_every_4000_miles_run_as_the_1957_manual_says(name):
    # Pontiac 1957 owner's manual p. 24: switch every 4,000 miles using the spare, the car goes 20,000 miles and each
    # tire 16,000; with a depth that 16,000 miles use up, the set ends at 20,000 exactly.
    rate = 1e-4
    depth = 16_000 * MILE * rate
    spots = (*ROAD, "SP")
    wear = dict.fromkeys(ROAD, rate)
    out = simulate(dict.fromkeys(spots, depth), wear, pattern(name, 4000 * MILE), 0.0)
    assert out.life_km / MILE == pytest.approx(20_000, abs=1e-6)
    on_road = out.steps[out.steps["position"] != "SP"].assign(km=lambda s: s["to_km"] - s["from_km"])
    assert (on_road.groupby("tire")["km"].sum() / MILE).tolist() == pytest.approx([16_000] * 5, abs=1e-6)
    assert out.of_bound == pytest.approx(1.0)


def test_five_tires_give_a_quarter_more_than_four():
    # Same page, as arithmetic: 5/4 = 1.25; here with wear that differs by position, where each tire takes every place.
    wear = {"LF": 2e-4, "RF": 2.2e-4, "LR": 1.0e-4, "RR": 1.1e-4}
    four = simulate(dict.fromkeys(ROAD, 6.0), wear, pattern("forward cross", 10.0), 0.0)
    five = simulate(dict.fromkeys((*ROAD, "SP"), 6.0), wear, pattern("five-tire forward cross", 10.0), 0.0)
    assert five.rubber_bound_km / four.rubber_bound_km == pytest.approx(1.25, rel=1e-12)
    assert five.life_km / four.life_km == pytest.approx(1.25, rel=2e-3)


def test_steps_join_up_and_end_at_the_limit():
    depths = {"LF": 7.0, "RF": 6.5, "LR": 7.4, "RR": 7.2}
    wear = {"LF": 2e-4, "RF": 2.1e-4, "LR": 1.2e-4, "RR": 1.1e-4}
    out = simulate(depths, wear, pattern("rearward cross", 9000), 1.6)
    steps = out.steps
    for _, run in steps.groupby("tire"):
        assert run["depth_from_mm"].to_numpy()[1:] == pytest.approx(run["depth_mm"].to_numpy()[:-1])
        spent = run["depth_from_mm"] - run["depth_mm"]
        assert spent.to_numpy() == pytest.approx(
            [wear[p] * (b - a) for p, a, b in zip(run["position"], run["from_km"], run["to_km"], strict=True)]
        )
    last = steps[steps["to_km"] == out.life_km]
    assert last["depth_mm"].min() == pytest.approx(1.6)
    assert last.loc[last["depth_mm"].idxmin(), "tire"] == out.limited_by
    assert out.left_mm == pytest.approx((last["depth_mm"] - 1.6).sum())
    first = steps[steps["step"] == 0]
    assert dict(zip(first["tire"], first["depth_from_mm"], strict=True)) == depths


def test_rate_of_each_tire_in_each_place_is_used():
    wear = pd.DataFrame(np.full((4, 4), 1e-4), index=ROAD, columns=ROAD)
    wear.loc["LF"] = 3e-4
    out = simulate(dict.fromkeys(ROAD, 4.6), wear, pattern("X"), 1.6)
    assert out.life_km == pytest.approx(10_000)
    assert out.limited_by == "LF"


def test_a_tire_at_its_limit_ends_the_set_now():
    out = simulate({"LF": 1.5, "RF": 5.0, "LR": 5.0, "RR": 5.0}, dict.fromkeys(ROAD, 1e-4), pattern("X"), 1.6)
    assert (out.life_km, out.limited_by, out.bound_km) == (0.0, "LF", 0.0)


def test_difference_within_an_axle_is_the_one_seen_along_the_path():
    depths = {"LF": 7.0, "RF": 6.0, "LR": 7.5, "RR": 7.4}
    wear = {"LF": 2e-4, "RF": 1.6e-4, "LR": 1.0e-4, "RR": 1.3e-4}
    out = simulate(depths, wear, pattern("rearward cross", 9000), 1.6)
    seen = 0.0
    for _, step in out.steps.groupby("step"):
        for share in np.linspace(0, 1, 5):
            now = step.set_index("position")
            now = now["depth_from_mm"] + share * (now["depth_mm"] - now["depth_from_mm"])
            seen = max(seen, abs(now["LF"] - now["RF"]), abs(now["LR"] - now["RR"]))
    assert out.axle_difference_mm == pytest.approx(seen)


def test_idle_positions_and_bad_numbers_are_refused_with_words():
    with pytest.raises(InputError, match="no depth is known for RR"):
        simulate({"LF": 7, "RF": 7, "LR": 7}, dict.fromkeys(ROAD, 1e-4), pattern("X"), 1.6)
    with pytest.raises(InputError, match="no wear rate is known for RR"):
        simulate(dict.fromkeys(ROAD, 7), dict.fromkeys(ROAD[:3], 1e-4), pattern("X"), 1.6)
    with pytest.raises(InputError, match="more than 0 on the road"):
        simulate(dict.fromkeys(ROAD, 7), {**dict.fromkeys(ROAD, 1e-4), "RR": 0.0}, pattern("X"), 1.6)


def test_moves_agree_with_where_the_simulation_puts_each_tire():
    plan = pattern("five-tire rearward cross", 4000)
    out = simulate(dict.fromkeys((*ROAD, "SP"), 7.0), dict.fromkeys(ROAD, 1e-4), plan, 1.6)
    second = out.steps[out.steps["step"] == 1].set_index("tire")["position"].to_dict()
    assert second == dict(zip(moves(plan)["from_position"], moves(plan)["to_position"], strict=True))


def test_a_set_that_ends_now_is_shown_as_it_stands():
    depths = {"LF": 1.5, "RF": 5.0, "LR": 6.0, "RR": 7.0}
    steps = simulate(depths, dict.fromkeys(ROAD, 1e-4), pattern("X"), 1.6).steps
    assert steps.set_index("tire")["depth_mm"].to_dict() == depths
    assert steps["position"].tolist() == steps["tire"].tolist() == list(ROAD)
    assert (steps["to_km"] == 0).all()


def test_tires_rotated_now_run_nowhere_before():
    # 6 mm of each at 0.1 mm per 1,000 km, moved at once and every 40,000 km: steps of 40,000 and 20,000 km.
    out = simulate(dict.fromkeys(ROAD, 7.6), dict.fromkeys(ROAD, 1e-4), pattern("X", 40_000), 1.6, first_km=0)
    runs = out.steps.groupby("step")[["from_km", "to_km"]].first()
    assert runs.to_numpy() == pytest.approx(np.array([[0, 40_000], [40_000, 60_000]]))
    assert (out.steps["to_km"] > out.steps["from_km"]).all()

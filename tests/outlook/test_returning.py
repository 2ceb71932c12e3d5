"""Cars that come back to the counter: against the same visits recorded in the log."""

import math

import numpy as np
import pandas as pd
import pytest

from tests.recorded import KM, ROAD, Shop, beside
from tirelife.outlook.counter import CounterVisit, counter_state, turn_of_set
from tirelife.outlook.returning import FIELDS, _by_grooves, _held_of, history_of, unpacked
from tirelife.outlook.weighing import odd_by, turn_of_rate
from tirelife.rates.ahead import path_depth


@pytest.fixture(scope="module")
def shop():
    return Shop()


def visit(shop, name, km, depth_off=0.0, **more):
    car = unpacked(shop.tables["cars"][name]["numbers"])
    half = math.exp(car["mean"][8] / 2)
    run = car["front"] * half + car["rear"] / half + car["onward"] * km * [half, half, 1 / half, 1 / half]
    depth = car["mean"][:4] - np.exp(car["mean"][4:8]) * run + depth_off
    return CounterVisit(
        dict(zip(ROAD, depth.tolist(), strict=True)), dict.fromkeys(ROAD, 1.5875),
        shop.book.as_of + pd.Timedelta(days=90), car=name, odometer_km=float(car["at"][0]) + km,
        grooves=dict.fromkeys(ROAD, 3), **more,
    )  # fmt: skip


def test_a_visit_is_answered_as_if_it_were_recorded(shop, tmp_path):
    ours, theirs = beside(shop, "V05", tmp_path, np.random.default_rng(5))
    assert ours["verdict"].tolist() == theirs["verdict"].tolist()
    gap = ours[KM].to_numpy(float) / theirs[KM].to_numpy(float) - 1
    # The fit walks its rates by three terms and weighs each reading anew: half a percent in the middle, and
    # 1.5 % in the tails, by trial over all cars (tests/benchmarks/counter.py).
    assert np.abs(gap[:, 2]).max() < 0.01
    assert np.abs(gap).max() < 0.015


def test_a_reading_as_expected_narrows_and_one_far_off_or_a_move_or_a_lower_odometer_is_told(shop):
    fits = visit(shop, "V02", 6000.0)
    assert history_of(shop.tables, fits) == "used"
    alone = counter_state(shop.tables, CounterVisit(fits.least_mm, fits.limit_mm, fits.as_of))
    own = counter_state(shop.tables, fits)
    assert (own["at_cov_log_wear_log_wear"] < 0.2 * alone["at_cov_log_wear_log_wear"].to_numpy()).all()
    assert history_of(shop.tables, visit(shop, "V02", 6000.0, 2.0)) == "unfit"
    assert history_of(shop.tables, visit(shop, "V02", 6000.0, rotated=True)) == "moved"
    assert history_of(shop.tables, visit(shop, "V02", -10.0)) == "back"
    assert history_of(shop.tables, CounterVisit({"LF": 5.0}, {"LF": 1.6}, fits.as_of, car="nobody")) == "none"


def test_depths_fit_a_history_up_to_three_standard_deviations(shop):
    law, car = shop.tables["car_law"], unpacked(shop.tables["cars"]["V02"]["numbers"])

    def odd(off):
        return odd_by(law, *_held_of(law, car, visit(shop, "V02", 6000.0, off))[:5])

    low, high = 0.0, 4.0
    for _ in range(40):
        off = (low + high) / 2
        low, high = (off, high) if odd(off) < 3 else (low, off)
    assert history_of(shop.tables, visit(shop, "V02", 6000.0, 0.97 * off)) == "used"
    assert history_of(shop.tables, visit(shop, "V02", 6000.0, 1.03 * off)) == "unfit"


def test_deeper_than_expected_today_means_further_to_go(shop):
    def middle(off):
        state = counter_state(shop.tables, visit(shop, "V02", 6000.0, off))
        return (state["at_depth"] - np.exp(state["at_log_wear"]) * 10_000).sum()

    assert middle(-0.2) < middle(0.0) < middle(0.2)


def test_a_car_is_a_few_hundred_bytes_and_an_unknown_one_is_left_out(shop):
    cars = shop.tables["cars"]
    assert {len(car["numbers"]) for car in cars.values()} == {4 * -(-4 * sum(FIELDS.values()) // 3)}
    assert set(cars) <= set(shop.book.mounts["vehicle_id"])


def test_the_rate_turns_with_the_curvature_as_a_path_with_both_ends_held_does():
    start, depth, run = 8.0, 5.0, 40_000.0

    def present(q):
        low, high = 1e-6, 1e-3
        for _ in range(200):
            rate = (low + high) / 2
            low, high = (rate, high) if path_depth(start, rate * run, q) > depth else (low, rate)
        return math.log(rate) + q * math.log(depth / start)

    by = (present(0.3 + 1e-4) - present(0.3 - 1e-4)) / 2e-4
    assert turn_of_rate(np.array([start]), np.array([depth]), 0.3)[0] == pytest.approx(by, rel=1e-4)


@pytest.mark.parametrize(
    ("kind", "day", "on", "until"),
    [
        ("winter-on", "2026-12-01", 1, 135),
        ("winter-stored", "2026-07-01", 0, 106),
        ("summer-on", "2026-12-01", 1, 0),
    ],
)
def test_sets_come_on_and_off_by_their_seasons(kind, day, on, until):
    # 15 October to 15 April: common practice, no source.
    found = turn_of_set(kind, pd.Timestamp(day))
    assert found[0] == on
    assert found[1] == pytest.approx(until, abs=1.01)


def test_a_depth_of_fewer_grooves_is_as_much_less_certain(shop):
    # The log's wheels were read at three grooves, and some at five. Grooves err apart, so the variance of
    # their mean goes as one over their number, where none was read so as well.
    assert _by_grooves(shop.book) == pytest.approx([3 / 1, 3 / 2, 3 / 3, 3 / 4, 3 / 5])

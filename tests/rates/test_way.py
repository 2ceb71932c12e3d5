"""How far a tire goes to its limit, against closed forms: draws without error have the law's moments."""

import numpy as np
import pytest

from tests.rates.standing import stands
from tirelife.rates.joint import COUNT, LEAST_MM, points
from tirelife.rates.way import Way


def left(frame, **known):
    way = Way(frame)
    way.get |= {name: np.full((len(frame), 1), value, dtype=np.float32) for name, value in known.items()}
    return way.level_distance()[0].astype(float)


def test_straight_wear_goes_depth_over_rate():
    np.testing.assert_allclose(left(stands()), (6 - 2) / 1e-4, rtol=1e-6)
    ran = left(stands(since_front_km=15_000.0))
    np.testing.assert_allclose(ran, 40_000 - 15_000, rtol=1e-6)


@pytest.mark.parametrize("q", [0.5, -0.4, 1.0, 1.6])
def test_bent_wear_goes_as_its_path_is_integrated(q):
    # dx = (D / D0)^-q dD / r from the limit to the depth, by the trapezium rule.
    depth = np.linspace(2.0, 6.0, 20_001)
    slope = (depth / 6.0) ** -q / 1e-4
    km = np.sum((slope[1:] + slope[:-1]) / 2) * (depth[1] - depth[0])
    np.testing.assert_allclose(left(stands(at_q=q)), km, rtol=1e-5)


def test_straight_and_bent_tires_side_by_side_are_what_they_are_alone():
    both = left(stands(2, at_q=[0.0, 1.0]))
    np.testing.assert_allclose(both[0], 40_000, rtol=1e-5)
    np.testing.assert_allclose(both[1], 6 / 1e-4 * np.log(3), rtol=1e-5)


def test_at_or_under_its_limit_a_tire_has_nothing_left():
    assert left(stands(2, at_depth=[2.0, 1.2])).tolist() == [[0.0] * COUNT] * 2
    assert not left(stands(since_front_km=50_000.0)).any()


def test_a_limit_of_nothing_is_the_least_depth_that_paths_are_followed_to():
    np.testing.assert_allclose(left(stands(limit_mm=0.0)), (6 - LEAST_MM) / 1e-4, rtol=1e-6)
    other, _ = Way(stands()).level_distance(np.full((1, COUNT), 4.0, dtype=np.float32))
    np.testing.assert_allclose(other, 20_000, rtol=1e-6)


def test_a_path_scatters_over_what_lies_behind_and_ahead():
    found = left(stands(at_scatter_km=25.0, since_front_km=10_000.0))
    assert found.mean() == pytest.approx(30_000, rel=1e-5)
    assert found.var() == pytest.approx(25 * 10_000 + 25 * 30_000, rel=1e-4)


@pytest.mark.parametrize("q", [0.0, 1.0])
def test_doubt_of_the_groove_is_distance_at_the_rate_that_the_tire_has_there(q):
    found = left(stands(at_q=q, limit_sd_mm=0.05))
    assert found.std() == pytest.approx(0.05 / (1e-4 * (2 / 6) ** q), rel=1e-4)


def test_the_log_rate_walks_on_over_a_third_of_the_distance():
    # The mean of a walk over x has variance w x / 3.
    found = np.log(left(stands(at_wander_per_km=3e-6)) / 40_000)
    assert found.mean() == pytest.approx(0.0, abs=1e-5)
    assert found.var() == pytest.approx(3e-6 * 40_000 / 3, rel=1e-4)


def test_readings_that_bend_away_widen_the_log_of_the_distance():
    found = np.log(left(stands(bend_log_sd=0.3)) / 40_000)
    assert found.var() == pytest.approx(0.09, rel=1e-4)
    both = np.log(left(stands(bend_log_sd=0.3, at_wander_per_km=3e-6)) / 40_000)
    assert both.var() == pytest.approx(0.09 + 0.04, rel=1e-4)


def test_a_rate_that_has_walked_up_stays_up():
    # Walked since: the log rate stands w x higher in variance, and the distance since is longer with it.
    w, x = 3e-6, 20_000.0
    way = Way(stands(at_wander_per_km=w, since_front_km=x))
    walked = way.drawn()[2]
    km = way.level_distance()[0]
    high = walked[0] > np.quantile(walked[0], 0.9)
    assert np.log(km[0][high]).mean() < np.log(km[0]).mean() - 0.3
    ahead = 40_000 - x
    assert np.log(km).var() > w * x + w * ahead / 3


def test_of_a_set_in_turn_the_vehicles_part_of_the_walk_goes_on_while_it_is_off():
    # On the car for half of the distance, and 12,000 km run while it was off; half of the walk is the vehicle's.
    found = np.log(left(stands(at_wander_per_km=3e-6), set_share=0.5, set_away=12_000.0) / 40_000)
    walk = 40_000 / 3 * (0.5 + 0.5 / 0.5) + 0.5 * 12_000
    assert found.var() == pytest.approx(3e-6 * walk, rel=1e-4)
    alone = np.log(
        left(stands(at_wander_per_km=3e-6, walk_share=0.0), set_share=0.5, set_away=12_000.0) / 40_000
    )
    assert alone.var() == pytest.approx(3e-6 * 40_000 / 3, rel=1e-4)


def test_tires_of_a_vehicle_walk_on_together():
    found = np.log(left(stands(2, position=["LF", "RR"], at_wander_per_km=3e-6, walk_share=0.7)))
    assert np.corrcoef(found)[0, 1] == pytest.approx(0.7, abs=1e-3)
    np.testing.assert_allclose(found.mean(axis=0).std(), np.sqrt(0.04 * (1 + 0.7) / 2), rtol=1e-3)
    assert np.corrcoef(found[0], points()[0]["walking"])[0, 1] < -0.8

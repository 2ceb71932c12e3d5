"""A visit weighed against what was known, beside sums by hand and posteriors on a grid."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from tirelife.outlook.weighing import odd_by, turn_of_rate, weigh

LAW = {"wander": 0.0, "scatter": 0.0, "walk_share": 0.0, "q_mean": 0.0, "q_var": 0.0, "alone_share": 0.5}
NONE = np.array([0.0])


def held(depth_var=0.0, rate_var=0.0, depth=6.0, rate=1e-4):
    """One tire, whose axle ratio is known to be 1."""
    return np.array([depth, math.log(rate), 0.0]), np.diag([depth_var, rate_var, 0.0])


def weighed(law, mean, cov, km, read, error=0.04, start=8.0):
    return weigh(
        law, mean, cov, (np.array([km]), NONE), np.array([read]), np.array([[error]]), np.array([start])
    )


def test_not_read_it_wears_as_it_was_held():
    found = weighed(LAW, *held(0.09), 10_000.0, np.nan)
    assert found.mean[0].tolist() == pytest.approx([5.0, math.log(1e-4), 0.0, 0.0])
    assert found.cov[0, 0, 0] == pytest.approx(0.09)


def test_a_depth_is_the_mean_by_precisions():
    # 5.0 held with variance 0.09, 5.6 read with 0.04: 5 + 0.6 * 0.09 / 0.13, variance 0.09 * 0.04 / 0.13.
    found = weighed(LAW, *held(0.09), 10_000.0, 5.6)
    assert found.mean[0, 0] == pytest.approx(5 + 0.6 * 0.09 / 0.13)
    assert found.cov[0, 0, 0] == pytest.approx(0.09 * 0.04 / 0.13)
    assert found.mean[0, 1] == pytest.approx(math.log(1e-4))


@pytest.mark.parametrize("read", [4.0, 5.0, 5.7])
def test_a_log_rate_is_at_the_mode_of_its_posterior_on_a_grid(read):
    sd, error = 0.3, 0.04
    grid = np.linspace(-2, 2, 400_001)
    value = (grid / sd) ** 2 + (read - 6 + np.exp(grid) * 1.0) ** 2 / error  # 1e-4 mm/km over 10,000 km
    mode = float(grid[np.argmin(value)])
    found = weighed(LAW, *held(1e-12, sd**2), 10_000.0, read, error)
    assert found.mean[0, 1] - math.log(1e-4) == pytest.approx(mode, abs=2e-4)
    assert found.mean[0, 0] == pytest.approx(6 - math.exp(mode), abs=1e-3)
    slope = math.exp(mode)
    assert found.cov[0, 1, 1] == pytest.approx(1 / (1 / sd**2 + slope**2 / error), rel=1e-2)


def test_the_walk_of_the_rate_widens_depth_and_rate():
    # Of a walk by s² a km over b km: variance s² b of the rate, s² b³ / 3 of the path, both times the wear.
    law, b = {**LAW, "wander": 1e-6, "scatter": 20.0}, 10_000.0
    found = weighed(law, *held(), b, np.nan)
    assert found.cov[0, 1, 1] == pytest.approx(1e-6 * b)
    assert found.cov[0, 0, 0] == pytest.approx(1e-8 * (1e-6 * b**3 / 3 + 20.0 * b))
    assert found.cov[0, 0, 1] == pytest.approx(-1e-4 * 1e-6 * b**2 / 2)


def test_what_tires_walk_in_common_is_shared():
    law = {**LAW, "wander": 1e-6, "walk_share": 0.25}
    mean, cov = np.array([6.0, 6.0, math.log(1e-4), math.log(1e-4), 0.0]), np.zeros((5, 5))
    run = (np.full(2, 10_000.0), np.zeros(2))
    found = weigh(law, mean, cov, run, np.full(2, np.nan), np.eye(2), np.full(2, 8.0))
    assert found.shared == pytest.approx([0.25 * 0.01, 0.25 * 0.01])
    alone = weighed({**LAW, "wander": 1e-6}, *held(), 10_000.0, np.nan)
    assert alone.shared == pytest.approx([0.5 * 0.01])


def test_how_odd_readings_are():
    mean, cov = held(0.05)
    run = (np.array([10_000.0]), NONE)
    # 0.6 mm off with a variance of 0.05 + 0.04: two standard deviations.
    assert odd_by(LAW, mean, cov, run, np.array([5.6]), np.array([[0.04]])) == pytest.approx(2.0)
    assert odd_by(LAW, mean, cov, run, np.array([4.4]), np.array([[0.04]])) == pytest.approx(2.0)
    both, wide = np.array([6.0, 6.0, math.log(1e-4), math.log(1e-4), 0.0]), np.diag([0.05, 0.05, 0, 0, 0])
    pair = odd_by(
        LAW, both, wide, (np.full(2, 10_000.0), np.zeros(2)), np.array([5.6, 5.6]), 0.04 * np.eye(2)
    )
    assert pair == pytest.approx(1.2 / math.sqrt(0.18))  # the two together are odder than either


@pytest.mark.parametrize("q", [-0.5, 0.3, 0.9, 1.0])
def test_the_rate_moves_with_the_curvature_so_that_both_depths_stay(q):
    # With dD/dx = -r (D / D0)^q both depths fix r: x r = integral of (D / D0)^-q; the rate now is r (D1 / D0)^q.
    def log_rate(power):
        return math.log(quad(lambda d: (d / 8) ** -power, 4, 8)[0]) + power * math.log(4 / 8)

    step = 1e-4
    want = (log_rate(q + step) - log_rate(q - step)) / (2 * step)
    assert turn_of_rate(np.array([8.0]), np.array([4.0]), q)[0] == pytest.approx(want, rel=1e-4)


def test_no_wear_no_turn_and_a_depth_over_the_start_counts_as_none():
    assert turn_of_rate(np.array([8.0, 8.0]), np.array([8.0, 9.0]), 0.4) == pytest.approx([0.0, 0.0])

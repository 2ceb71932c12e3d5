"""The walking level of distance a day: the filter against a dense normal law, and its spreads recovered."""

import numpy as np
import pytest

from tirelife.rates.pace import DRIFT_LOG_SD, NOISE_LOG_SD, Steps, levels, pace_spreads


def driven(rng, vehicles, noise, drift, steps=30, years=1 / 12):
    """Steps of vehicles whose level walks, day-wise; and the level at the end over the mean."""
    parts = 40
    walk = np.cumsum(rng.normal(size=(vehicles, steps * parts)) * drift * np.sqrt(years / parts), axis=1)
    run = 1 + walk.reshape(vehicles, steps, parts).mean(axis=2)
    run += rng.normal(size=run.shape) * noise / np.sqrt(years)
    mean = run.mean(axis=1, keepdims=True)
    table = np.full(run.shape, years)
    return Steps(run / mean, table, np.zeros(run.shape)), (1 + walk[:, -1]) / mean[:, 0]


def test_the_filter_is_the_dense_normal_law():
    # Level at the end given means over stretches, by the covariance of Brownian motion written out; flat before.
    years, idle = np.array([0.4, 0.3, 0.5]), np.array([0.0, 0.2, 0.0])
    pace, noise, drift = np.array([0.9, 1.05, 1.1]), 0.15, 0.1
    fine = 4000
    edges = np.cumsum(np.ravel(np.column_stack([idle, years])))
    begin, end = edges[0::2], edges[1::2]
    grid = (np.arange(fine) + 0.5) / fine * end[-1]
    inside = [(grid >= a) & (grid < b) for a, b in zip(begin, end, strict=True)]
    weights = np.array([row / row.sum() for row in inside] + [np.eye(fine)[-1]])
    cov = weights @ (drift**2 * np.minimum(grid[:, None], grid[None, :])) @ weights.T
    cov[:3, :3] += np.diag(noise**2 / years)
    cov += 1e6  # nothing is known of where it began
    mean = 1.0 + cov[3, :3] @ np.linalg.solve(cov[:3, :3], pace - 1.0)
    variance = cov[3, 3] - cov[3, :3] @ np.linalg.solve(cov[:3, :3], cov[:3, 3])
    level, found, _ = levels(Steps(pace[None], years[None], idle[None]), noise, drift)
    assert level[0] == pytest.approx(mean, abs=5e-4)
    assert found[0] == pytest.approx(variance, rel=5e-3)


@pytest.mark.parametrize(("noise", "drift"), [(0.05, 0.03), (0.1, 0.2), (0.2, 0.1)])
def test_spreads_of_a_fleet_are_found(noise, drift):
    found = pace_spreads(driven(np.random.default_rng(4), 60, noise, drift)[0])
    # 60 vehicles of 30 steps: the level's drift over a step is small beside the noise of it.
    assert found[0] == pytest.approx(noise, rel=0.06)
    assert found[1] == pytest.approx(drift, rel=0.35)


def test_ranges_of_the_level_hold():
    rng = np.random.default_rng(5)
    steps, true = driven(rng, 400, 0.1, 0.15)
    level, variance, _ = levels(steps, *pace_spreads(steps))
    assert np.std((level - true) / np.sqrt(variance)) == pytest.approx(
        1.0, abs=0.1
    )  # 400: standard error 0.035


def test_nothing_seen_leaves_what_was_held():
    none = Steps(*(np.zeros((0, 0)) for _ in range(3)))
    noise, drift = pace_spreads(none)
    # Means of lognormals of log-sd 0.7, cut by the grid.
    assert noise == pytest.approx(NOISE_LOG_SD * np.exp(0.7**2 / 2), rel=0.1)
    assert drift == pytest.approx(DRIFT_LOG_SD * np.exp(0.7**2 / 2), rel=0.1)


def test_a_level_never_runs_ahead_of_what_was_driven():
    level, _, _ = levels(Steps(np.array([[0.5, 1.5]]), np.full((1, 2), 2.0), np.zeros((1, 2))), 0.01, 0.5)
    assert level[0] <= 1.5

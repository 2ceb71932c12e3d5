"""Curvature from within tires, and the law that it is held under."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from tests.rates.made import frames
from tirelife.rates import curvature, fit_rates
from tirelife.rates.curvature import BENT_SHARE, PRIOR_SD, STRAIGHT, _posterior


def summed(*law):
    found = _posterior(*law)
    return found.middle, found.spread


def mixture(x):
    return (1 - BENT_SHARE) * norm.cdf(x / STRAIGHT) + BENT_SHARE * norm.cdf(x)


def test_the_stated_spread_is_that_of_the_laws_80_percent_range():
    assert mixture(PRIOR_SD * norm.ppf(0.9)) == pytest.approx(0.9, abs=2e-4)


def test_where_readings_say_nothing_the_law_answers():
    q, error = summed(0.3, 1e4, 0.0, 0.49)
    assert q == pytest.approx(0.0, abs=1e-4)
    assert error == pytest.approx(0.7 * PRIOR_SD, rel=2e-3)


def test_a_clear_bend_is_believed_and_a_doubtful_one_is_not():
    clear, error = summed(0.5, 0.05, 0.0, 0.49)
    assert clear == pytest.approx(
        0.5 * 0.49 / (0.49 + 0.05**2), rel=1e-5
    )  # the wide law alone: normal times normal
    assert error == pytest.approx(0.05, rel=0.01)
    assert 0 < summed(0.08, 0.05, 0.0, 0.49)[0] < 0.06


def test_the_answer_is_the_mean_of_the_posterior_by_quadrature():
    own, own_error, widest = 0.25, 0.1, 0.49
    x = np.linspace(-4, 4, 80_001)
    law = (1 - BENT_SHARE) * norm.pdf(x, 0, STRAIGHT * 0.7) + BENT_SHARE * norm.pdf(x, 0, 0.7)
    dense = law * norm.pdf(own, x, own_error)
    dense /= dense.sum()
    q, error = summed(own, own_error, 0.0, widest)
    assert q == pytest.approx(float(dense @ x), rel=1e-4)
    low, high = np.interp([0.1, 0.9], np.cumsum(dense), x)
    assert error == pytest.approx((high - low) / (2 * norm.ppf(0.9)), rel=2e-3)


def by_hand(read, new, noise, visit, mould, level=0.15):
    """Curvature of straight-wearing tires by generalised least squares with true variances, and its error.

    A block a vehicle: each tire's slope is free, a visit leans on all of its tires, starts share a level.
    """
    told, says = np.diag([0.0, level**-2]), np.zeros(2)
    for _, seen in read.groupby("vehicle_id"):
        tire, day = (pd.factorize(seen[name])[0] for name in ("tire_id", "date"))
        run, lost = seen["tire_km"].to_numpy(), seen["depth_mm"].to_numpy() - new
        slope = np.zeros((len(seen), tire.max() + 1))
        slope[np.arange(len(seen)), tire] = run
        spread = noise * np.eye(len(seen)) + visit * (day[:, None] == day) + mould * (tire[:, None] == tire)
        sure = np.linalg.inv(spread)
        through = sure @ slope
        inner = np.linalg.inv(slope.T @ through)
        sure -= through @ inner @ through.T
        share = -(inner @ through.T @ lost)[tire] * run / new  # of the tread that is gone
        columns = np.column_stack([new * (share + (1 - share) * np.log(1 - share)), np.ones(len(seen))])
        told += columns.T @ sure @ columns
        says += columns.T @ sure @ lost
    cov = np.linalg.inv(told)
    return (cov @ says)[0], cov[0, 0] ** 0.5


def test_curvature_is_that_of_generalised_least_squares(monkeypatch):
    seen = []
    monkeypatch.setattr(curvature, "_posterior", lambda *law: seen.append(law) or _posterior(*law))
    for seed in (202, 204, 205, 206):
        made = frames(vehicles=40, visits=9, rate=4e-5, lines=(0.0, 0.0), rotate=0, tire_sd=0.15, seed=seed)
        fit_rates(*made)
        q, error = by_hand(made[0], 8.0, 0.12**2, 0.12**2, 0.08**2)
        assert seen[-1][0] == pytest.approx(q, abs=0.35 * error)
        # As the variances say, or as blocks differ where that is more.
        assert 0.95 * error < seen[-1][1] < 1.5 * error


def test_standard_errors_are_those_of_many_fleets():
    off = []
    for seed in range(60, 72):
        row = fit_rates(*frames(vehicles=40, visits=9, q=0.6, rate=7e-5, seed=seed)).estimates
        row = row.set_index("term").loc["q"]
        off.append((row["estimate"] - 0.6) / row["std_error"])
    assert abs(np.mean(off)) < 1.2
    assert 0.5 < np.std(off) < 1.7


def test_tires_seen_once_say_nothing_of_curvature():
    fit = fit_rates(*frames(vehicles=30, visits=1, km=30_000.0, seed=3))
    assert fit.q == pytest.approx(0.0, abs=1e-3)
    assert not fit.checks.set_index("check")["passed"]["identifiable: q"]

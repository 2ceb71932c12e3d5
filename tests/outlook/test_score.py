"""Scores against their published definitions, other libraries and brute force; the oracles share no code."""

import math

import numpy as np
import pytest
import scoringrules
from scipy.stats import norm
from statsmodels.duration.survfunc import SurvfuncRight

from tirelife.outlook.score import (
    coverage,
    effective_count,
    grouped_error,
    log_score,
    pit,
    pit_band,
    pit_curve,
    sharpness,
    weighted_interval_score,
)

# The 23 levels of Bracher et al. (2021): 11 ranges and the median.
MISS = [0.02, 0.05, *(round(0.1 * i, 1) for i in range(1, 10))]
LEVELS = np.array([*(a / 2 for a in MISS), 0.5, *(1 - a / 2 for a in reversed(MISS))])


def by_definition(y, quantile):
    """Equations 1 and 2 of Bracher, Ray, Gneiting and Reich (2021): sums of interval scores."""
    total = 0.5 * abs(y - quantile[0.5])
    for alpha in MISS:
        low, high = quantile[alpha / 2], quantile[1 - alpha / 2]
        score = (high - low) + 2 / alpha * (low - y) * (y < low) + 2 / alpha * (y - high) * (y > high)
        total += alpha / 2 * score
    return total / (len(MISS) + 0.5)


@pytest.fixture
def forecasts():
    rng = np.random.default_rng(11)
    mean, sd = rng.normal(0, 2, 60), rng.uniform(0.3, 3, 60)
    return rng.normal(0, 3, 60), mean[:, None] + sd[:, None] * norm.ppf(LEVELS), mean, sd


def test_weighted_interval_score_is_the_sum_of_interval_scores(forecasts):
    y, values, *_ = forecasts
    want = [by_definition(a, dict(zip(LEVELS, row, strict=True))) for a, row in zip(y, values, strict=True)]
    np.testing.assert_allclose(weighted_interval_score(y, values, LEVELS), want, rtol=1e-12)


def test_weighted_interval_score_is_made_of_scoringrules_interval_scores(forecasts):
    # Its weighted_interval_score itself adds the median in place of the median's distance (0.10.0).
    y, values, *_ = forecasts
    each = [
        alpha / 2 * scoringrules.interval_score(y, values[:, i], values[:, 22 - i], alpha)
        for i, alpha in enumerate(MISS)
    ]
    want = (0.5 * np.abs(y - values[:, 11]) + np.sum(each, axis=0)) / (len(MISS) + 0.5)
    np.testing.assert_allclose(weighted_interval_score(y, values, LEVELS), want, rtol=1e-12)


def test_weighted_interval_score_nears_crps():
    # Gneiting and Raftery 2007, equation 21, for N(0, 1) at 0: (sqrt(2) - 1) / sqrt(pi). 999 levels: 0.2 %.
    levels = np.arange(1, 1000) / 1000
    got = weighted_interval_score([0.0], norm.ppf(levels)[None], levels)[0]
    assert got == pytest.approx((math.sqrt(2) - 1) / math.sqrt(math.pi), rel=2e-3)


def test_beyond_the_horizon_nothing_is_scored():
    values = np.array([[1.0, 3.0, 9.0]])
    got = weighted_interval_score([4.0], values, [0.1, 0.5, 0.9], [4.0])
    # Median 3 against 4, range 1 to 4 that holds 4: (0.5 * 1 + 0.1 * 3) / 1.5 by hand.
    assert got[0] == pytest.approx((0.5 * 1 + 0.1 * 3) / 1.5)
    longer = weighted_interval_score([4.0], [[1.0, 3.0, 99.0]], [0.1, 0.5, 0.9], [4.0])
    assert longer[0] == got[0]


def test_a_score_with_a_horizon_is_still_least_for_the_truth():
    rng = np.random.default_rng(5)
    seen, far = rng.lognormal(2, 0.5, 40_000), rng.uniform(2, 12, 40_000)
    score = {
        shift: weighted_interval_score(
            np.minimum(seen, far),
            np.tile(np.exp(2 + shift + 0.5 * norm.ppf(LEVELS)), (40_000, 1)),
            LEVELS,
            far,
        ).mean()
        for shift in (-0.2, 0.0, 0.2)
    }
    assert score[0.0] < score[-0.2]
    assert score[0.0] < score[0.2]


def test_log_score_and_pit_near_those_of_the_normal_law():
    levels = np.arange(1, 400) / 400
    y = np.array([-1.5, -0.3, 0.0, 0.7, 1.6])
    values = np.tile(norm.ppf(levels), (5, 1))
    # Straight between 400 levels: a density to 2 %.
    np.testing.assert_allclose(log_score(y, values, levels), -norm.logpdf(y), atol=0.02)
    np.testing.assert_allclose(pit(y, values, levels), norm.cdf(y), atol=2e-4)


def test_law_by_hand():
    values, levels = [[1.0, 3.0, 4.0]], [0.1, 0.5, 0.9]
    # Under 1 the density falls from 0.2 with the mass 0.1: exp(-2 x).
    assert pit([0.5], values, levels)[0] == pytest.approx(0.1 * math.exp(-1.0))
    assert log_score([0.5], values, levels)[0] == pytest.approx(-math.log(0.2 * math.exp(-1.0)))
    # Over 4 from 0.4: exp(-4 x). Not worn out at 4.25: 0.1 exp(-1) is left.
    assert pit([4.25], values, levels)[0] == pytest.approx(1 - 0.1 * math.exp(-1.0))
    assert log_score([4.25], values, levels, [True])[0] == pytest.approx(-math.log(0.1 * math.exp(-1.0)))


def test_the_law_sums_to_one(forecasts):
    x = np.linspace(-40, 40, 80_001)
    for row in forecasts[1][:5]:
        density = np.exp(-log_score(x, np.tile(row, (len(x), 1)), LEVELS))
        assert np.trapezoid(density, x) == pytest.approx(1.0, abs=2e-3)


def test_curve_of_censored_values_is_the_product_limit_of_statsmodels():
    rng = np.random.default_rng(3)
    value, gone = rng.uniform(size=200), rng.random(200) < 0.4
    at = np.arange(1, 20) / 20
    other = SurvfuncRight(value, (~gone).astype(int))
    want = [
        1 - np.append(1.0, other.surv_prob)[np.searchsorted(other.surv_times, p, side="right")] for p in at
    ]
    np.testing.assert_allclose(pit_curve(value, at, gone), want, atol=1e-12)


def test_even_forecasts_are_covered_as_promised_however_many_are_censored():
    rng = np.random.default_rng(8)
    seen, gone_at = rng.lognormal(2, 0.5, 20_000), rng.lognormal(2.2, 0.6, 20_000)
    values = np.tile(np.exp(2 + 0.5 * norm.ppf(LEVELS)), (20_000, 1))
    censored = gone_at < seen
    assert censored.mean() > 0.3
    for share in (0.5, 0.8, 0.9):
        got = coverage(np.minimum(seen, gone_at), values, LEVELS, share, censored)
        assert got == pytest.approx(share, abs=0.02)  # four standard errors of the product limit
    dropped = coverage(seen[~censored], values[~censored], LEVELS, 0.8)
    assert abs(dropped - 0.8) > 0.02  # left out, they would mislead


def test_ranges_and_widths_by_hand():
    values = np.array([[0.0, 1.0, 2.0], [0.0, 1.0, 4.0], [5.0, 6.0, 7.0]])
    assert coverage([2.0, 5.0, 4.9], values, [0.1, 0.5, 0.9], 0.8) == pytest.approx(1 / 3)  # ends count
    assert sharpness(values, [0.1, 0.5, 0.9]) == 2.0
    with pytest.raises(ValueError, match="no quantiles at the ends of a range of 50%"):
        coverage([2.0], values[:1], [0.1, 0.5, 0.9], 0.5)


@pytest.mark.parametrize(("count", "points", "level"), [(20, 20, 0.9), (60, 20, 0.9), (45, 10, 0.8)])
def test_the_band_holds_the_whole_curve_as_often_as_it_says(count, points, level):
    rng = np.random.default_rng(count)
    lower, upper = pit_band(count, points, level)
    at = np.arange(1, points) / points
    draws = rng.uniform(size=(40_000, count))
    curve = np.stack([(draws <= p).mean(axis=1) for p in at], axis=1)
    held = ((curve >= lower - 1e-9) & (curve <= upper + 1e-9)).all(axis=1).mean()
    # Numbers are whole: at least the level, and no more than what the next narrower band would lose.
    assert level - 0.006 <= held <= level + 0.06
    inner = (at + (lower - at) * 0.8, at + (upper - at) * 0.8)
    assert ((curve >= inner[0]) & (curve <= inner[1])).all(axis=1).mean() < level


def test_the_band_is_widest_in_the_middle_and_narrows_with_number():
    lower, upper = pit_band(100)
    width = upper - lower
    assert width[9] == pytest.approx(width.max())
    assert width[0] < 0.7 * width[9]
    wide = pit_band(400)
    finer = pit_band(1600)
    np.testing.assert_allclose(finer[1] - finer[0], (wide[1] - wide[0]) / 2, rtol=1e-12)


def test_error_of_a_mean_in_clusters_by_hand():
    # Three clusters of means 1, 0.5, 0 and equal size: sd 0.5 over root 3.
    value = np.array([1.0, 1.0, 0.5, 0.5, 0.0, 0.0])
    cluster = ["a", "a", "b", "b", "c", "c"]
    got = grouped_error(lambda some: float(value[some].mean()), cluster)
    assert got == pytest.approx(0.5 / math.sqrt(3))
    assert math.isnan(grouped_error(lambda some: 0.0, ["a", "a"]))


def test_worth_lies_between_clusters_and_values():
    rng = np.random.default_rng(2)
    cluster = np.repeat(np.arange(400), 5)
    alone = rng.normal(size=2000)
    assert effective_count(alone, cluster) > 1700
    assert effective_count(np.repeat(rng.normal(size=400), 5), cluster) == pytest.approx(400, abs=1e-6)
    # Correlation 0.5 by construction: 2000 / (1 + 4 * 0.5).
    half = np.repeat(rng.normal(size=400), 5) + alone
    assert effective_count(half, cluster) == pytest.approx(2000 / 3, rel=0.1)
    assert effective_count([1.0, 2.0], ["a", "b"]) == 2.0

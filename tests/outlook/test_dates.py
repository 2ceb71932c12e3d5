import numpy as np
import pandas as pd
import pytest

from tirelife.outlook.ahead import PROBABILITIES
from tirelife.outlook.dates import days_left, replacement_dates


def test_days_are_the_quantiles_of_distance_over_pace():
    # Lognormal distance over lognormal pace is lognormal: checked by simulation.
    rng = np.random.default_rng(3)
    km, pace = 40_000 * np.exp(0.2 * rng.normal(size=10**6)), 50 * np.exp(0.15 * rng.normal(size=10**6))
    quantiles = np.quantile(km, PROBABILITIES)[None, :]
    got = days_left(quantiles, np.array([50.0]), np.array([0.15]), PROBABILITIES)[0]
    np.testing.assert_allclose(got, np.quantile(km / pace, PROBABILITIES), rtol=0.005)


def test_nothing_left_is_today():
    km = np.zeros((1, 5))
    pace = pd.DataFrame({"km_per_day": [50.0], "log_sd": [0.1], "year_log_sd": [0.1]})
    dates, _ = replacement_dates(km, pd.Series([pd.Timestamp("2026-03-01")]), pace, PROBABILITIES)
    assert all(d[0] == pd.Timestamp("2026-03-01") for d in dates)


def test_dates_rise_and_far_ones_are_left_out():
    km = np.array([[1e3, 2e3, 3e3, 1e4, 1e9]])
    pace = pd.DataFrame({"km_per_day": [50.0], "log_sd": [0.1], "year_log_sd": [0.1]})
    dates, sd = replacement_dates(km, pd.Series([pd.Timestamp("2026-03-01")]), pace, PROBABILITIES)
    assert dates[0][0] < dates[1][0] < dates[2][0] < dates[3][0]
    assert pd.isna(dates[4][0])
    assert sd[0] > 0.1
    assert dates[2][0] == pd.Timestamp("2026-03-01") + pd.Timedelta(days=60)


def test_a_median_of_nothing_with_something_above():
    got = days_left(
        np.array([[0.0, 0.0, 0.0, 500.0, 1000.0]]), np.array([50.0]), np.array([0.2]), PROBABILITIES
    )
    assert got[0].tolist() == pytest.approx([0, 0, 0, 10, 20])

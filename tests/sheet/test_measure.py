import numpy as np
import pandas as pd
import pytest

from tirelife.outlook.mileage import pace_log_sd
from tirelife.sheet.measure import NextReading, next_reading, reading_step

TIRE = pd.Series(
    {
        "km_per_day": 50.0, "mean_depth_mm": 5.0, "limit_mm": 2.0, "mean_depth_sd_mm": 0.12, "log_wear_sd": 0.25,
        "depth_log_wear_cov": -0.012, "log_wear": np.log(3.0 / 20_000), "log_sd": 0.06, "year_log_sd": 0.08,
    }
)  # fmt: skip


def test_the_narrowing_is_what_regression_on_a_million_simulated_readings_finds():
    found = next_reading(TIRE, 14_000.0, 0.2)
    rng = np.random.default_rng(7)
    covariance = [[0.12**2, -0.012], [-0.012, 0.25**2]]
    depth, log_rate = rng.multivariate_normal([5.0, TIRE["log_wear"]], covariance, 1_000_000).T
    # First-order, as the function says of itself: wear over the next km moves with the log rate.
    rate = 3.0 / 20_000
    seen = depth - rate * found.km * (1 + log_rate - TIRE["log_wear"]) + rng.normal(0, 0.2, depth.size)
    left = (depth - 5.0) / 3.0 - log_rate
    slope, level = np.polyfit(seen, left, 1)
    pace = float(pace_log_sd(0.06, 0.08, 20_000 / 50 / 365.25)) ** 2
    kept = np.var(left - slope * seen - level) + pace
    assert found.narrower == pytest.approx(1 - np.sqrt(kept / (np.var(left) + pace)), abs=0.002)
    assert found.narrower > 0.2


def test_a_perfect_gauge_tells_more_and_a_blunt_one_nothing():
    sharp, usual, blunt = (next_reading(TIRE, 14_000.0, sd).narrower for sd in (1e-6, 0.2, 1e3))
    assert sharp > usual > blunt
    assert blunt == pytest.approx(0, abs=1e-6)


def test_a_tire_nearly_done_or_unknown_has_no_next_reading():
    assert next_reading(TIRE, 1000.0, 0.2) is None
    assert next_reading(TIRE.replace({5.0: 1.9}), 14_000.0, 0.2) is None
    assert next_reading(TIRE, float("nan"), 0.2) is None
    assert reading_step(None, 1.0, "us") == "Measure again at every visit from now on."


def test_the_words_give_when_where_and_how_much():
    found = NextReading(5000.0, 61.0, 0.02)
    said = reading_step(found, 40_000.0, "metric")
    assert said.startswith(
        "Measure again in about 2 months, near 45,000 km. That would hardly narrow the window"
    )
    assert "near" not in reading_step(found, float("nan"), "us")

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtri
from scipy.stats import lognorm

from tirelife.outlook.crossing import PROBABILITIES, crossing_probability, crossing_quantiles


def tires(**changed):
    row = {
        "mean_depth_mm": 6.0, "mean_depth_sd_mm": 1e-6, "limit_mm": 2.0, "log_wear": np.log(1e-4),
        "log_wear_sd": 0.2, "depth_log_wear_cov": 0.0, "q": 0.0,
    }  # fmt: skip
    changed = {k: np.atleast_1d(v) for k, v in changed.items()}
    count = max((len(v) for v in changed.values()), default=1)
    return pd.DataFrame({k: np.broadcast_to(changed.get(k, v), count).astype(float) for k, v in row.items()})


def test_a_known_depth_and_lognormal_rate_give_a_lognormal_distance():
    # 4 mm at 1e-4 mm/km: median 40,000 km, log-sd that of the rate.
    expected = lognorm.ppf(PROBABILITIES, 0.2, scale=40_000)
    np.testing.assert_allclose(crossing_quantiles(tires())[0], expected, rtol=1e-6)


def test_a_known_rate_and_normal_depth_give_a_normal_distance():
    got = crossing_quantiles(tires(mean_depth_sd_mm=0.3, log_wear_sd=1e-6))[0]
    np.testing.assert_allclose(got, (4 + 0.3 * ndtri(PROBABILITIES)) / 1e-4, rtol=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_quantiles_agree_with_simulation(seed):
    rng = np.random.default_rng(seed)
    q = rng.choice([0.0, 0.3, 1.0, -0.3])
    row = tires(
        mean_depth_mm=rng.uniform(1.8, 7), mean_depth_sd_mm=rng.uniform(0.05, 0.5),
        log_wear_sd=rng.uniform(0.05, 0.5), q=q,
    )  # fmt: skip
    one = row.iloc[0]
    rho = rng.uniform(-0.8, 0.8)
    row["depth_log_wear_cov"] = rho * one["mean_depth_sd_mm"] * one["log_wear_sd"]
    z = rng.normal(size=(2, 400_000))
    depth = one["mean_depth_mm"] + one["mean_depth_sd_mm"] * z[0]
    rate = one["log_wear"] + one["log_wear_sd"] * (rho * z[0] + np.sqrt(1 - rho**2) * z[1])
    # The wear needed, by numbers: the integral of (present / u)**q du from limit to depth, on a fine grid.
    grid = np.linspace(2.0, depth.max() + 0.01, 20_001)
    present = max(one["mean_depth_mm"], 2.0)
    pace = (present / grid) ** q
    need = np.concatenate([[0], np.cumsum((pace[1:] + pace[:-1]) / 2 * np.diff(grid))])
    distance = np.interp(depth, grid, need, left=0.0) / np.exp(rate)
    got = crossing_quantiles(row)[0]
    for p, x in zip(PROBABILITIES, got, strict=True):
        if x > 0:
            # Three standard errors of a simulated share, and the quadrature's own 1e-3.
            assert np.mean(distance <= x) == pytest.approx(p, abs=3 * np.sqrt(p * (1 - p) / 4e5) + 1e-3)
        else:
            assert np.mean(distance <= 0) >= p - 0.002


def test_quantiles_and_probabilities_are_inverse():
    rng = np.random.default_rng(2)
    table = tires(
        mean_depth_mm=rng.uniform(2.5, 8, 300), mean_depth_sd_mm=rng.uniform(0.01, 0.3, 300),
        log_wear_sd=rng.uniform(0.02, 0.6, 300), q=rng.choice([0.0, 0.5], 300),
    )  # fmt: skip
    km = crossing_quantiles(table)
    back = crossing_probability(table, np.maximum(km, 1e-6))
    right = np.where(km > 0, back - np.array(PROBABILITIES), 0.0)
    assert np.abs(right).max() < 1e-5


def test_a_tire_far_below_the_limit_has_nothing_left():
    assert crossing_quantiles(tires(mean_depth_mm=1.5, mean_depth_sd_mm=0.1))[0].tolist() == [0.0] * 5


def test_a_tire_at_the_limit_has_half_a_chance():
    got = crossing_quantiles(tires(mean_depth_mm=2.0, mean_depth_sd_mm=0.1))[0]
    assert got[:3].tolist() == [0, 0, 0]
    assert 0 < got[3] < got[4] < 5000


def test_less_tread_and_faster_wear_never_last_longer():
    depth = crossing_quantiles(tires(mean_depth_mm=np.linspace(1, 9, 60), mean_depth_sd_mm=0.2))
    rate = crossing_quantiles(tires(log_wear=np.log(np.geomspace(1e-5, 1e-3, 60)), mean_depth_sd_mm=0.2))
    assert (np.diff(depth, axis=0) >= -1e-6).all()
    assert (np.diff(rate, axis=0) <= 1e-6).all()
    assert (np.diff(depth, axis=1) >= 0).all()


def test_what_is_not_known_stays_unknown():
    got = crossing_quantiles(tires(log_wear=[np.nan, np.log(1e-4)]))
    assert np.isnan(got[0]).all()
    assert np.isfinite(got[1]).all()


def test_no_tires():
    assert crossing_quantiles(tires().iloc[:0]).shape == (0, 5)

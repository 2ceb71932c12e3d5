import numpy as np
import pandas as pd
import pytest

from tirelife.rates.grooves import groove_wear, mean_depth_limit

NEW = 8.0


def visits(ratios, noise=0.15, seed=1, visits=6, step=0.0):
    """Tire-visits of tires whose grooves wear at ``ratios`` (tires, 3) of the mean, read in steps."""
    rng = np.random.default_rng(seed)
    rows = []
    for i, own in enumerate(np.asarray(ratios, dtype=float)):
        for j in range(1, visits + 1):
            depth = NEW - own * j * (0.8 + 0.07 * (i % 5)) + rng.normal(0, noise, 3)
            depth = np.round(depth / step) * step if step else depth
            rows.append({"tire_id": f"T{i}", "outer_mm": depth[0], "center_mm": depth[1], "inner_mm": depth[2],
                         "depth_mm": depth.mean(), "outer_mid_mm": np.nan, "inner_mid_mm": np.nan,
                         "resolution_mm": step})  # fmt: skip
    return pd.DataFrame(rows), pd.Series(NEW, index=[f"T{i}" for i in range(len(ratios))])


def test_equal_grooves_stay_equal_under_gauge_noise():
    # The lowest of three noisy readings would say 1.03 or more here.
    table = groove_wear(*visits(np.ones((60, 3))))
    assert (table["groove"] == "tread").mean() > 0.95
    assert table["ratio"].mean() < 1.012


def test_equal_grooves_stay_equal_under_whole_32nds():
    # A fine hand and a coarse gauge: most readings of a tire agree, and some are a whole step apart. Ratios of
    # 1.016 made distances 4 % short where half of the tread was left.
    table = groove_wear(*visits(np.ones((60, 3)), noise=0.08, step=25.4 / 32))
    assert table["ratio"].mean() < 1.003
    one = groove_wear(*visits(np.tile([1.2, 0.9, 0.9], (20, 1)), noise=0.08, step=25.4 / 32))
    assert one["ratio"].mean() == pytest.approx(1.2, abs=0.03)


def test_a_fleet_whose_outer_groove_goes_first_says_so():
    table = groove_wear(*visits(np.tile([1.2, 0.9, 0.9], (20, 1))))
    assert (table["groove"] == "outer").all()
    assert table["ratio"].mean() == pytest.approx(1.2, abs=0.02)


def test_tires_that_differ_keep_their_own_groove():
    rng = np.random.default_rng(4)
    own = np.exp(rng.normal(0, 0.1, (60, 3)))
    own /= own.mean(axis=1, keepdims=True)
    table = groove_wear(*visits(own))
    found = table["ratio"].to_numpy()
    assert np.corrcoef(found, own.max(axis=1))[0, 1] > 0.8
    assert np.mean(found - own.max(axis=1)) == pytest.approx(0, abs=0.015)


def test_a_slip_of_the_gauge_is_not_a_groove():
    table, new = visits(np.ones((20, 3)))
    table.loc[5, "outer_mm"] -= 3.0
    assert groove_wear(table, new).set_index("tire_id").loc["T0", "ratio"] < 1.03


def test_one_groove_a_tire_or_none_is_even():
    table, new = visits(np.ones((3, 3)))
    table[["outer_mm", "inner_mm"]] = np.nan
    assert groove_wear(table, new)["groove"].tolist() == ["tread"] * 3
    assert groove_wear(table.iloc[:0], new)["ratio"].tolist() == [1.0] * 3


def test_limit_of_the_mean_by_hand():
    # 8 mm new, 2 mm limit, a groove 1.5 times the mean: 6 mm gone there is 4 mm gone on the mean.
    limit, sd = mean_depth_limit(np.array([8.0]), 2.0, np.array([1.5]), np.array([0.1]))
    assert limit[0] == pytest.approx(4.0)
    assert sd[0] == pytest.approx(6 / 1.5**2 * 0.1)
    under, _ = mean_depth_limit(np.array([1.0]), 2.0, np.array([1.5]), np.array([0.1]))
    assert under[0] == 2.0

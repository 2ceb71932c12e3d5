"""Profiles split into level, tilt, crown, second-rib dip and variation round the tire."""

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import make_book, read_depths
from tirelife.logbook import GROOVES, read_logbook
from tirelife.tread import groove_states, latest_profiles, tread_profiles
from tirelife.tread.profile import BASIS, profile_components, spot_table

EVEN = np.full((1, 5), 0.04)


@pytest.mark.parametrize(
    ("depths", "expected"),
    [
        ([6, 6, 6, 6, 6], (6, 0, 0, 0)),
        ([7, 6.5, 6, 5.5, 5], (6, 2, 0, 0)),  # outer edge deeper: inner edge worn
        ([5, 6.5, 7, 6.5, 5], (6, 0, 2, 0)),  # center deeper: both edges worn
        ([6, 5, 6, 5, 6], (5.6, 0, 0, 1)),  # the grooves next to the edges worn
    ],
)
def test_each_component_alone(depths, expected):
    value, _ = profile_components(np.array([depths], float), EVEN)
    assert value[0] == pytest.approx(expected, abs=1e-12)


def test_level_is_the_mean_of_five_grooves():
    depths = np.array([[5.1, 6.7, 6.2, 6.9, 7.3]])
    assert profile_components(depths, EVEN)[0][0, 0] == pytest.approx(depths.mean())


@pytest.mark.parametrize(
    ("read", "told"),
    [
        ("11111", "level tilt crown dip"),
        ("10101", "level tilt crown"),
        ("11011", "level tilt crown"),
        ("01110", "level tilt crown"),
        ("10001", "level tilt"),
        ("01010", "level tilt"),
        ("10100", "level"),
        ("00100", "level"),
    ],
)
def test_what_the_grooves_read_can_tell(read, told):
    mask = np.array([c == "1" for c in read])
    depths = np.where(mask, [[6.0, 6.2, 6.4, 6.6, 6.8]], np.nan)
    value, error = profile_components(depths, np.where(mask, 0.04, np.nan)[None])
    names = [n for n, v in zip(("level", "tilt", "crown", "dip"), value[0], strict=True) if np.isfinite(v)]
    assert " ".join(names) == told
    assert (np.isfinite(error[0]) == np.isfinite(value[0])).all()


def test_no_groove_no_component():
    assert np.isnan(profile_components(np.full((1, 5), np.nan), np.full((1, 5), np.nan))[0]).all()


def test_weights_against_statsmodels():
    sm = pytest.importorskip("statsmodels.api")
    rng = np.random.default_rng(1)
    depths, variance = rng.normal(6, 0.5, (1, 5)), rng.uniform(0.01, 0.2, (1, 5))
    value, error = profile_components(depths, variance)
    fit = sm.WLS(depths[0], BASIS, weights=1 / variance[0]).fit(cov_type="fixed scale")
    assert value[0] == pytest.approx(fit.params, abs=1e-10)
    assert error[0] == pytest.approx(fit.bse, abs=1e-10)


def test_standard_errors_are_those_of_simulated_gauges():
    rng = np.random.default_rng(2)
    sd = np.array([0.2, 0.3, 0.15, 0.3, 0.25])
    truth = BASIS @ [6.0, 1.0, -0.5, 0.3]
    value, error = profile_components(truth + rng.normal(0, 1, (20_000, 5)) * sd, np.tile(sd**2, (20_000, 1)))
    assert value.mean(axis=0) == pytest.approx([6.0, 1.0, -0.5, 0.3], abs=0.02)
    assert value.std(axis=0) == pytest.approx(error[0], rel=0.03)


def test_three_groove_logs_work_and_say_what_is_missing(tmp_path):
    row = tread_profiles(make_book(tmp_path, read_depths({"outer": 5.0, "center": 6.5, "inner": 6.0}))).iloc[
        0
    ]
    assert row["tilt_mm"] == pytest.approx(-1.0)
    assert row["crown_mm"] == pytest.approx(1.0)
    assert np.isnan(row["dip_mm"])
    assert np.isnan(row["around_mm"])
    assert row["reason"] == "lacks-dip; lacks-spots"


def test_the_error_of_the_level_holds_the_gauges_bias_and_the_others_do_not(tmp_path):
    gauges = pd.DataFrame(
        {
            "gauge_id": "D1",
            "date": "2025-06-01",
            "kind": "depth",
            "reading": [5.0, 5.8],
            "master": 5.0,
            "unit": "mm",
        }
    )
    read = dict.fromkeys(GROOVES, 6.0)
    row = tread_profiles(make_book(tmp_path, read_depths(read, gauge="D1"), gauges=gauges)).iloc[0]
    assert row["level_mm"] == pytest.approx(5.6)
    assert row["level_se_mm"] > 0.4  # two comparisons 0.8 mm apart: 0.57 / sqrt 2
    assert row["level_se_mm"] == pytest.approx(
        np.hypot(0.4, row["tilt_se_mm"] * np.sqrt(2.5 / 4 / 5)), rel=1e-6
    )


def test_variation_around_the_tread(tmp_path):
    offsets = [0.0, -1.2, 0.0, -1.2, 0.0, -1.2]
    read = {g: [6.0 + 0.1 * i + o for o in offsets] for i, g in enumerate(GROOVES)}
    flat = {g: [6.0, 6.0, 6.0, 6.0, 6.0, 6.0] for g in GROOVES}
    depths = pd.concat([read_depths(read), read_depths(flat, position="RF")])
    rows = tread_profiles(make_book(tmp_path, depths), resolution_mm=0.1).set_index("position")
    assert rows.loc["LF", "spots"] == 6
    assert rows.loc["LF", "around_mm"] == pytest.approx(np.std(offsets, ddof=1), abs=0.03)
    assert rows.loc["RF", "around_mm"] == 0
    assert rows.loc["LF", "around_se_mm"] < 0.15
    assert rows.loc["LF", "lowest_spot"] == 2
    assert rows.loc["LF", "lowest_spot_mm"] == pytest.approx(1.2 * 3 / 5)


def test_noise_alone_is_not_taken_for_variation_around(tmp_path):
    rng = np.random.default_rng(5)
    parts = [
        read_depths(
            {g: (6 + rng.normal(0, 0.2, 6)).tolist() for g in GROOVES},
            date=pd.Timestamp("2025-02-01") + pd.Timedelta(days=i),
            km=11_000 + i,
        )
        for i in range(60)
    ]
    rows = tread_profiles(make_book(tmp_path, pd.concat(parts)))
    assert rows["around_mm"].mean() < rows["around_se_mm"].mean()
    assert rows["around_se_mm"].mean() == pytest.approx(0.2 / np.sqrt(25), rel=0.05)


def test_only_spots_where_every_groove_was_read_count():
    depths = read_depths({"outer": [6.0, 6.1, 6.2], "center": [7.0, 7.1, 7.2], "inner": [6.5]})
    table = spot_table(depths)
    assert table.shape == (3, 2)
    assert list(table.columns) == ["center", "outer"]
    assert spot_table(depths[depths["spot"] == 1]).empty


def test_the_latest_profiles_are_one_row_a_groove_read(tmp_path):
    depths = pd.concat(
        [
            read_depths({"outer": 7.0, "center": 7.5}),
            read_depths({"outer": 6.0, "center": 6.5}, date="2025-09-01", km=24_000),
            read_depths({"center": 6.8}, position="RF"),
        ]
    )
    table = latest_profiles(make_book(tmp_path, depths), "V1")
    assert table[["position", "groove", "depth_mm"]].to_numpy().tolist() == [
        ["LF", "outer", 6.0],
        ["LF", "center", 6.5],
        ["RF", "center", 6.8],
    ]
    assert (table["new_depth_mm"] == 8.0).all()


def test_profiles_as_read_have_the_gauge_s_bias_in(tmp_path):
    book = read_logbook("data_synthetic/logbook")
    off = latest_profiles(book, "V09", as_read=True)["depth_mm"] - latest_profiles(book, "V09")["depth_mm"]
    bias = tread_bias(book, "V09")
    assert off.to_numpy() == pytest.approx(bias)
    assert abs(bias) > 0.05
    read = book.depths[book.depths["vehicle_id"] == "V09"]
    least = latest_profiles(book, "V09", as_read=True)["depth_mm"].min()
    last = read[read["date"] == read["date"].max()]
    assert least == pytest.approx(last["depth_mm"].min())


def tread_bias(book, vehicle):
    states = groove_states(book)
    return float(states[states["vehicle_id"] == vehicle].sort_values("date")["bias_mm"].iloc[-1])

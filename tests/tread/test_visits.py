"""Readings to one row a tire and visit."""

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import POSITIONS, make_book, read_depths
from tirelife.logbook import Found, Slip
from tirelife.tread import tire_visits
from tirelife.tread.visits import VISIT_COLUMNS, VisitDoubt, groove_states

N32 = 25.4 / 32


def test_a_visit_is_the_mean_of_its_groove_means(tmp_path):
    book = make_book(tmp_path, read_depths({"outer": [6.0, 6.2], "center": 7.0, "inner": [6.5, 6.7, 6.6]}))
    visits = tire_visits(book)
    assert list(visits.columns) == VISIT_COLUMNS
    row = visits.iloc[0]
    assert row["depth_mm"] == pytest.approx((6.1 + 7.0 + 6.6) / 3)
    assert (row["outer_mm"], row["center_mm"], row["inner_mm"]) == pytest.approx((6.1, 7.0, 6.6))
    assert np.isnan(row["outer_mid_mm"])
    assert np.isnan(row["inner_mid_mm"])
    assert (row["shallowest_groove"], row["shallowest_mm"]) == ("outer", pytest.approx(6.1))
    assert (row["tire_id"], row["tire_km"], row["readings"]) == ("T-LF", pytest.approx(10_000), 6)
    assert row["resolution_mm"] == pytest.approx(0.1)


def test_the_error_of_a_single_coarse_reading_is_spread_and_rounding(tmp_path):
    book = make_book(tmp_path, read_depths({"center": 8 * N32}))
    se = tire_visits(book, resolution_mm=N32)["depth_se_mm"].iloc[0]
    # Rounding of a 1/32 in gauge: 0.289/32 in (derived); spread of a hand reading 0.2 mm, our assumption.
    assert se == pytest.approx(np.hypot(0.2887 * N32, 0.2), abs=1e-4)


def test_the_least_reading_is_as_sure_as_one_reading_however_many_there_are(tmp_path):
    read = read_depths({"outer": 8 * N32, "center": 8 * N32, "inner": 7 * N32})
    least = groove_states(make_book(tmp_path, read), resolution_mm=N32)["least_sd_mm"].iloc[0]
    assert least == pytest.approx(np.hypot(0.2887 * N32, 0.2), abs=1e-4)  # rounding and spread, as above


def test_the_error_shrinks_with_readings_but_shared_rounding_stays(tmp_path):
    four = read_depths({g: [7 * N32] * 4 for g in ("outer", "center", "inner")})
    one = read_depths({g: 7 * N32 for g in ("outer", "center", "inner")})
    se4 = tire_visits(make_book(tmp_path / "a", four), N32)["depth_se_mm"].iloc[0]
    se1 = tire_visits(make_book(tmp_path / "b", one), N32)["depth_se_mm"].iloc[0]
    assert se1 / 2 < se4 < se1
    shared = np.sqrt((se4**2 - se1**2 / 4) / (1 - 1 / 4) * 3)  # of one groove: what four readings share
    assert shared == pytest.approx(0.051, abs=0.002)  # simulated in test_gauge for the same ratio


def test_the_stated_error_is_what_a_simulated_gauge_shows(tmp_path):
    rng = np.random.default_rng(8)
    truth = rng.uniform(4, 8, (300, 3))
    parts = []
    for i in range(300):
        read = np.round((truth[i] + rng.normal(0, 0.2, 3)) / 0.5) * 0.5
        day = pd.Timestamp("2025-02-01") + pd.Timedelta(days=i)
        parts.append(
            read_depths(dict(zip(("outer", "center", "inner"), read, strict=True)), date=day, km=11_000 + i)
        )
    visits = tire_visits(make_book(tmp_path, pd.concat(parts))).sort_values("date")
    error = visits["depth_mm"].to_numpy() - truth.mean(axis=1)
    assert visits["depth_se_mm"].iloc[0] == pytest.approx(error.std(), rel=0.12)


def test_the_spread_is_learned_from_repeated_readings(tmp_path):
    rng = np.random.default_rng(9)
    read = {g: np.round(6 + rng.normal(0, 0.05, 12), 2).tolist() for g in ("outer", "center", "inner")}
    states = groove_states(make_book(tmp_path, read_depths(read)))
    assert np.sqrt(states["reading_var_mm2"].iloc[0]) == pytest.approx(0.05, abs=0.012)


def test_a_doubtful_reading_is_kept_and_named(tmp_path):
    depths = pd.concat(
        [read_depths({"center": 6.0}, km=20_000), read_depths({"center": 7.9}, date="2025-10-01", km=26_000)]
    )
    visits = tire_visits(make_book(tmp_path, depths))
    assert len(visits) == 2
    # 7.9/32 in are 6.3 mm, as the rest of the log has it.
    assert Slip.OTHER_UNIT in "".join(visits["doubt"]) or Found.DEPTH_GROWS in "".join(visits["doubt"])
    assert visits["depth_mm"].tolist() == [6.0, 7.9]


def test_a_reading_where_no_tire_is_known_is_kept_and_said(tmp_path):
    mounts = pd.DataFrame(
        {
            "date": "2025-01-01",
            "odometer_km": 10_000,
            "vehicle_id": "V1",
            "tire_id": "T-LF",
            "position": ["LF"],
        }
    )
    early = read_depths({"center": 8.0}, date="2024-12-01", km=9_000)
    try:
        book = make_book(tmp_path, pd.concat([early, read_depths({"center": 6.0})]), mounts=mounts)
    except ValueError:
        pytest.skip("the logbook refuses a reading with no tire")
    visits = tire_visits(book)
    lost = visits[visits["tire_id"] == ""]
    assert len(lost) == 1
    assert VisitDoubt.NO_TIRE in lost["doubt"].iloc[0]


def test_two_gauges_on_one_tire_make_one_row(tmp_path):
    depths = pd.concat(
        [read_depths({"outer": 6.0}, gauge="D1"), read_depths({"inner": [6.5, 6.7]}, gauge="D2")]
    )
    row = tire_visits(make_book(tmp_path, depths)).iloc[0]
    assert row["gauge_id"] == "D1, D2"
    assert row["depth_mm"] == pytest.approx((6.0 + 6.6) / 2)
    assert row["readings"] == 3


def test_a_worn_tire_and_its_successor_read_on_one_day_are_parted(tmp_path):
    mounts = pd.DataFrame(
        {
            "date": ["2024-01-01", "2025-07-01", "2025-07-01"],
            "odometer_km": [0, 50_000, 50_000],
            "vehicle_id": "V1",
            "tire_id": ["old", "old", "new"],
            "position": ["LF", "OFF", "LF"],
        }
    )
    depths = pd.concat(
        [
            read_depths({"outer": 5.0, "center": 5.2}, date="2024-10-01", km=25_000),
            read_depths({"outer": 2.1, "center": 2.4}, km=50_000),
            read_depths({"outer": 8.0, "center": 7.9}, km=50_000),
        ]
    )
    visits = tire_visits(make_book(tmp_path, depths, mounts=mounts)).set_index(["tire_id", "odometer_km"])
    assert visits.loc[("old", 50_000.0), "depth_mm"] == pytest.approx(2.25)
    assert visits.loc[("new", 50_000.0), "depth_mm"] == pytest.approx(7.95)
    assert visits.loc[("new", 50_000.0), "tire_km"] == 0
    assert visits["readings"].sum() == 6


@pytest.mark.parametrize(
    ("comes", "read"),
    [
        ("RF", {"outer": [4.4] * 3, "center": [4.4, 0.8, 4.4], "inner": [4.4] * 3}),
        ("RF", {"outer": [4.4, 1.4, 4.4], "center": [4.4, 0.8, 4.4], "inner": [4.4, 1.3, 4.4]}),
        ("new", {"outer": [4.4] * 3, "center": [4.4, 0.8, 4.4], "inner": [4.4] * 3}),
    ],
)
def test_one_low_place_on_the_day_of_a_move_is_the_tires_that_was_read(comes, read, tmp_path):
    # One spot all but bare, in one groove or across the tread, as tires are rotated; in one groove where one is replaced.
    moves = [
        ("2024-01-01", 0, "left", "LF"),
        ("2024-01-01", 0, "right", "RF"),
        ("2025-07-01", 50_000, "right" if comes == "RF" else "new", "LF"),
        ("2025-07-01", 50_000, "left", "RF" if comes == "RF" else "OFF"),
    ]
    mounts = pd.DataFrame(moves, columns=["date", "odometer_km", "tire_id", "position"]).assign(
        vehicle_id="V1"
    )
    visits = tire_visits(make_book(tmp_path, read_depths(read, km=50_000), mounts=mounts))
    (row,) = visits.to_dict("records")
    assert (row["tire_id"], row["readings"]) == ("left", 9)
    assert (row["least_mm"], row["least_groove"]) == (pytest.approx(0.8), "center")
    assert row["outer_mm"] == pytest.approx(np.mean(read["outer"]))


def test_us_and_metric_logs_agree(tmp_path):
    depths = pd.concat([read_depths({"outer": 6 * N32, "center": 7 * N32}, position=p) for p in POSITIONS])
    metric = tire_visits(make_book(tmp_path / "m", depths))
    us = depths.rename(columns={"depth_mm": "depth_32nds"})
    us["depth_32nds"] = [6.0, 7.0] * 4
    theirs = tire_visits(make_book(tmp_path / "u", us))
    # Whether a visit may be in another unit is asked of each unit on its own.
    metric, theirs = (table.drop(columns="doubt") for table in (metric, theirs))
    pd.testing.assert_frame_equal(metric, theirs, rtol=1e-9)


def test_no_readings_give_an_empty_frame_with_its_columns(tmp_path):
    depths = read_depths({"center": 6.0}).iloc[:0]
    try:
        book = make_book(tmp_path, depths)
    except ValueError:
        pytest.skip("the logbook refuses an empty table")
    assert list(tire_visits(book).columns) == VISIT_COLUMNS


def test_the_bias_of_a_gauge_is_taken_off_and_shown(tmp_path):
    depths = pd.concat(
        [
            read_depths({"center": 6.4}, gauge="D1"),
            read_depths({"center": 6.0}, gauge="D2", position="RF"),
            read_depths({"center": 6.0}, position="LR"),
        ]
    )
    gauges = pd.DataFrame(
        {
            "gauge_id": ["D1", "D1", "D1", "D2"],
            "date": "2025-06-01",
            "kind": "depth",
            "reading": [5.4, 5.3, 5.5, 5.0],
            "master": 5.0,
            "unit": "mm",
        }
    )
    visits = tire_visits(make_book(tmp_path, depths, gauges=gauges)).set_index("position")
    assert visits["bias_mm"].to_dict() == pytest.approx({"LF": 0.4, "RF": 0.0, "LR": 0.0})
    assert visits["depth_mm"].to_dict() == pytest.approx({"LF": 6.0, "RF": 6.0, "LR": 6.0})
    # One comparison leaves the bias as uncertain as a reading is; none leaves it out.
    assert visits.loc["RF", "depth_se_mm"] == pytest.approx(
        visits.loc["LR", "depth_se_mm"] * 2**0.5, rel=0.01
    )


def test_every_reading_is_counted_once_and_no_more(tmp_path):
    rng = np.random.default_rng(12)
    parts = []
    for _ in range(60):
        grooves = rng.choice(
            ["outer", "outer_mid", "center", "inner_mid", "inner"], rng.integers(1, 6), replace=False
        )
        read = {g: np.round(rng.uniform(2, 8, rng.integers(1, 4)), 1).tolist() for g in grooves}
        day = int(rng.integers(0, 20))
        date = pd.Timestamp("2025-02-01") + pd.Timedelta(days=10 * day)
        parts.append(read_depths(read, str(rng.choice(POSITIONS)), date, 11_000 + 500 * day))
    depths = pd.concat(parts)
    visits = tire_visits(make_book(tmp_path, depths))
    assert visits["readings"].sum() == len(depths.drop_duplicates())  # a spot read twice alike counts once
    assert not visits.duplicated(["tire_id", "date"]).any()
    assert (visits["depth_se_mm"] > 0).all()
    read = visits[["outer_mm", "outer_mid_mm", "center_mm", "inner_mid_mm", "inner_mm"]]
    assert visits["depth_mm"].to_numpy() == pytest.approx(read.mean(axis=1).to_numpy())
    assert visits["shallowest_mm"].to_numpy() == pytest.approx(read.min(axis=1).to_numpy())


def test_the_least_reading_of_a_visit_and_its_groove(tmp_path):
    from tests.tread.books import make_book, read_depths

    book = make_book(tmp_path, read_depths({"outer": [6.0, 5.0], "center": [7.0, 3.0], "inner": 6.0}))
    row = tire_visits(book).iloc[0]
    assert (row["least_mm"], row["least_groove"]) == (3.0, "center")

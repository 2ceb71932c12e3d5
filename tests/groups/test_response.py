import numpy as np
import pandas as pd
import pytest

from tests.groups.simulate import Groups, write_fleet
from tirelife.groups import tire_rates
from tirelife.groups.response import visit_exposure
from tirelife.logbook import read_logbook
from tirelife.tread import tire_visits


def write(folder, mounts, depths, new=8.0):
    folder.mkdir(exist_ok=True)
    cars = sorted({m[2] for m in mounts})
    tires = sorted({m[3] for m in mounts})
    pd.DataFrame(
        {"vehicle_id": cars, "drive": "front", "placard_front_kpa": 230, "placard_rear_kpa": 220}
    ).to_csv(folder / "vehicles.csv", index=False)
    pd.DataFrame({"tire_id": tires, "tire_line": "L", "new_depth_mm": new}).to_csv(
        folder / "tires.csv", index=False
    )
    pd.DataFrame(mounts, columns=["date", "odometer_km", "vehicle_id", "tire_id", "position"]).to_csv(
        folder / "mounts.csv", index=False
    )
    pd.DataFrame(
        depths, columns=["date", "odometer_km", "vehicle_id", "position", "groove", "depth_mm"]
    ).to_csv(folder / "depths.csv", index=False)
    return read_logbook(folder)


def straight(folder, new=8.0, level=8.0, rate=0.1, cars=6, skew=0.0):
    """Six cars, four tires each, read every 10,000 km on a line of 0.1 mm per 1000 km."""
    mounts, depths = [], []
    for c in range(cars):
        for p in ("LF", "RF", "LR", "RR"):
            mounts.append(("2024-01-01", 1000, f"V{c}", f"T{c}{p}", p))
            for k in range(1, 5):
                depth = level - rate * 10 * k + skew * ((k % 2) - 0.5)
                depths.append(
                    (f"2024-{3 * k:02d}-01", 1000 + 10_000 * k, f"V{c}", p, "center", round(depth, 4))
                )
    return write(folder, mounts, depths, new)


def test_rate_is_the_slope_of_depth_on_distance(tmp_path):
    out = tire_rates(straight(tmp_path))
    assert out["used"].all()
    assert out["rate_mm_per_1000km"].to_numpy() == pytest.approx(0.1, rel=1e-6)
    assert out["log_rate"].to_numpy() == pytest.approx(np.log(0.1), abs=0.01)
    assert out["km"].to_numpy() == pytest.approx(40_000)
    assert out["visits"].tolist() == [4] * 24


def test_stated_new_depth_is_used_only_where_lines_go_back_to_it(tmp_path):
    true = tire_rates(straight(tmp_path / "a"))
    # mounted half worn: the lines go back to 6 mm, not to 8
    worn = tire_rates(straight(tmp_path / "b", new=8.0, level=6.0))
    assert true["km"].iloc[0] == pytest.approx(40_000)
    assert worn["km"].iloc[0] == pytest.approx(30_000)
    assert worn["rate_mm_per_1000km"].to_numpy() == pytest.approx(0.1, rel=1e-6)


def test_one_reading_far_off_counts_for_less(tmp_path):
    mounts, depths = [], []
    rng = np.random.default_rng(3)
    for c in range(8):
        for p in ("LF", "RF", "LR", "RR"):
            mounts.append(("2024-01-01", 0, f"V{c}", f"T{c}{p}", p))
            for k in range(1, 8):
                depth = 8 - 0.5 * k + rng.normal(0, 0.05)
                off = 2.0 if (c, p, k) == (0, "LF", 6) else 0.0
                depths.append((f"2024-{k + 1:02d}-01", 5000 * k, f"V{c}", p, "center", round(depth + off, 3)))
    out = tire_rates(write(tmp_path, mounts, depths)).set_index("tire_id")
    plain = (
        -1000
        * np.polyfit(5000 * np.arange(1, 8), 8 - 0.5 * np.arange(1, 8) + 2.0 * (np.arange(1, 8) == 6), 1)[0]
    )
    assert abs(plain - 0.1) > 0.02
    assert abs(out.loc["T0LF", "rate_mm_per_1000km"] - 0.1) < 0.01


def test_front_share_follows_the_mounts(tmp_path):
    mounts, depths = [], []
    for c in range(6):
        for p, then in (("LF", "LR"), ("RF", "RR"), ("LR", "RF"), ("RR", "LF")):
            tire = f"T{c}{p}"
            mounts += [("2024-01-01", 0, f"V{c}", tire, p), ("2024-06-01", 10_000, f"V{c}", tire, then)]
            depths += [
                ("2024-06-01", 10_000, f"V{c}", p, "center", 7.0),
                ("2024-12-01", 40_000, f"V{c}", then, "center", 4.0),
            ]
    out = tire_rates(write(tmp_path, mounts, depths)).set_index("tire_id")
    assert out.loc["T0LF", "front_share"] == pytest.approx(0.25)
    assert out.loc["T0RR", "front_share"] == pytest.approx(0.75)


def test_warm_share_is_the_distance_from_april_to_september(tmp_path):
    mounts = [("2024-01-01", 0, "V1", f"T{p}", p) for p in ("LF", "RF", "LR", "RR")]
    depths = []
    # 1 March to 1 October: 214 days, 183 of them from April to September
    for p in ("LF", "RF", "LR", "RR"):
        for date, km, depth in (("2024-03-01", 1000, 7.5), ("2024-10-01", 22_400, 5.5)):
            depths.append((date, km, "V1", p, "center", depth))
    book = write(tmp_path, mounts, depths)
    out = visit_exposure(book, tire_visits(book))
    assert out.groupby("tire_id")["warm_km"].last().to_numpy() == pytest.approx(21_400 * 183 / 214)


def test_tires_that_cannot_tell_are_kept_and_say_why(tmp_path):
    book = straight(tmp_path / "a", level=6.0)
    mounts = (
        book.mounts[["date", "odometer_km", "vehicle_id", "tire_id", "position"]]
        .astype(str)
        .to_numpy()
        .tolist()
    )
    depths = book.depths[["date", "odometer_km", "vehicle_id", "position", "groove", "depth_mm"]].astype(str)
    mounts += [["2024-01-01", "0", "V8", f"S{p}", p] for p in ("LF", "RF", "LR", "RR")]
    extra = [["2024-02-01", "3000", "V8", "LF", "center", "6.0"]]
    extra += [
        ["2024-02-01", "3000", "V8", "RF", "center", "6.0"],
        ["2024-02-05", "3100", "V8", "RF", "center", "5.6"],
    ]
    out = tire_rates(write(tmp_path / "b", mounts, depths.to_numpy().tolist() + extra)).set_index("tire_id")
    assert out.loc["SLF", "note"] == "read-once"
    assert out.loc["SRF", "note"] == "too-close"
    assert not out.loc[["SLF", "SRF"], "used"].any()
    assert out.loc[["SLF", "SRF"], "log_rate"].isna().all()


def test_standard_error_is_that_of_the_log_rates_seen(tmp_path):
    # log rate less the truth of its tire is not seen, but with no spread between vehicles and tires it is all error
    fleet = Groups(
        effects=(0.0,) * 2, vehicles=20, vehicle_sd=0, tire_sd=0, site_effect=0, mass_exponent=0, visits=8
    )
    book = read_logbook(write_fleet(tmp_path, np.random.default_rng(5), fleet))
    out = tire_rates(book)
    out = out[out["used"]]
    lines = {"Line A": 0.0, "Line B": 0.1, "Line C": 0.3}
    axle = out["drive"].map({"front": 0.6, "rear": -0.3, "all": 0.1}).to_numpy(float)
    share = out["front_share"].to_numpy(float)
    mean = -2.8 + out["tire_line"].map(lines).to_numpy(float) + np.log(share * np.exp(axle) + 1 - share)
    error = out["log_rate"].to_numpy(float) - mean
    # gauge noise, a visit's lean and rotations that bend the line: within a factor of each other
    assert np.sqrt(np.mean((error / out["se_log"]) ** 2)) == pytest.approx(1.0, abs=0.35)
    assert np.mean(error) == pytest.approx(0.0, abs=0.03)


def test_share_of_slow_roads_is_over_the_days_recorded(tmp_path):
    bands = ["share_under_25mph", "share_25_40mph", "share_40_55mph", "share_55_70mph", "share_over_70mph"]
    hard = [f"hard_{what}_per_100mi" for what in ("starts", "stops", "turns")]
    pd.DataFrame(
        [("V0", "2024-03-01", "2024-03-10", 0.2, 0.3, 0.5, 0, 0, 1, 1, 1),  # 10 days, half of it slow
         ("V0", "2024-03-11", "2024-04-09", 0.1, 0.1, 0.8, 0, 0, 1, 1, 1),  # 30 days, a fifth
         ("V1", "2024-03-01", "2024-03-10", 0.3, 0.4, 0.3, 0, 0, 1, 1, 1)],
        columns=["vehicle_id", "from_date", "to_date", *bands, *hard],
    ).to_csv(tmp_path / "habits.csv", index=False)  # fmt: skip
    share = tire_rates(straight(tmp_path)).groupby("vehicle_id")["slow_road_share"].agg(["min", "max"])
    assert share.loc["V0"].tolist() == pytest.approx([(10 * 0.5 + 30 * 0.2) / 40] * 2)
    assert share.loc["V1"].tolist() == pytest.approx([0.7] * 2)
    assert share.loc["V2":].isna().all(axis=None)

"""A cycle through the year: found where a log spans it, nothing made of it where not. Invented data."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import read_logbook
from tirelife.outlook import forecast
from tirelife.rates import fit, fit_logbook
from tirelife.rates.season import PRIOR_SD, Season, find_season, season_runs, with_season
from tirelife.wear import add_reference, stretch_severity

RATE = 1.0e-4


def write(folder, *, size, peak_day, vehicles=30, years=2.5, seed=1, error=0.15, late=""):
    """Cars on one set each, read every two to four months; wear times 1 + size cos(day - peak) day by day."""
    rng = np.random.default_rng(seed)
    rows = {name: [] for name in ("vehicles", "tires", "mounts", "depths")}
    for v in range(vehicles):
        car, pace = f"V{v:03d}", rng.uniform(25, 45)
        day, odometer = pd.Timestamp("2023-01-10") + pd.Timedelta(days=int(rng.integers(0, 200))), 10_000.0
        day = pd.Timestamp(late) if late and v % 2 else day
        end = pd.Timestamp("2023-01-10") + pd.Timedelta(days=int(365.25 * years))
        rows["vehicles"].append((car, "front", 240, 240))
        depth, rate = np.full(4, 8.0), RATE * rng.lognormal(0, 0.2) * rng.lognormal(0, 0.08, 4)
        for p in ("LF", "RF", "LR", "RR"):
            rows["tires"].append((f"{car}{p}", "Alder", 8.0))
            rows["mounts"].append((day.date(), odometer, car, f"{car}{p}", p))
        while day < end:
            days = int(rng.integers(40, 80) if late else rng.integers(55, 120))
            at = (day + pd.to_timedelta(np.arange(days), "D")).day_of_year.to_numpy()
            depth = depth - rate * pace * (1 + size * np.cos(2 * np.pi * (at - peak_day) / 365.25)).sum()
            day, odometer = day + pd.Timedelta(days=days), odometer + days * pace
            lean = rng.normal(0, 0.05)
            for i, p in enumerate(("LF", "RF", "LR", "RR")):
                for groove in ("outer", "center", "inner"):
                    read = max(depth[i] + lean + rng.normal(0, error), 0.1)
                    rows["depths"].append((day.date(), round(odometer, 1), car, p, groove, round(read, 2)))
    names = {
        "vehicles": ["vehicle_id", "drive", "placard_front_kpa", "placard_rear_kpa"],
        "tires": ["tire_id", "tire_line", "new_depth_mm"],
        "mounts": ["date", "odometer_km", "vehicle_id", "tire_id", "position"],
        "depths": ["date", "odometer_km", "vehicle_id", "position", "groove", "depth_mm"],
    }
    for name, columns in names.items():
        pd.DataFrame(rows[name], columns=columns).to_csv(folder / f"{name}.csv", index=False)
    return read_logbook(folder)


def test_a_cycle_is_found_with_its_size_and_its_season(tmp_path):
    made = fit_logbook(write(tmp_path, size=0.25, peak_day=200)).frames["season"].iloc[0]
    assert made["amplitude"] == pytest.approx(0.25, abs=2.5 * made["amplitude_sd"] + 0.03)
    assert made["amplitude_sd"] < 0.5 * PRIOR_SD
    assert made["peak_day"] == pytest.approx(200, abs=25)


def test_nothing_is_made_of_a_log_without_one(tmp_path):
    made = fit_logbook(write(tmp_path, size=0.0, peak_day=0)).frames["season"].iloc[0]
    assert made["amplitude"] < 3 * made["amplitude_sd"]
    assert made["amplitude"] < 0.08


def test_a_log_shorter_than_a_year_and_a_half_is_not_asked(tmp_path):
    assert "season" not in fit_logbook(write(tmp_path, size=0.25, peak_day=200, years=1.0)).frames


def test_a_winter_is_not_read_as_a_trend(tmp_path, monkeypatch):
    # Half the cars begin in the log's last autumn and are read through a winter, when tires wear least.
    book = write(tmp_path, size=0.3, peak_day=200, vehicles=40, seed=4, years=2.2, late="2024-09-20")

    def gap():
        made = fit_logbook(book)
        odd = made.vehicles["vehicle_id"].str[1:].astype(int) % 2 == 1
        return made.vehicles.loc[odd, "log_effect"].mean() - made.vehicles.loc[~odd, "log_effect"].mean()

    asked = gap()
    monkeypatch.setattr(fit, "find_season", lambda visits, runs: None)
    plain = gap()
    assert plain < -0.1
    assert abs(asked) < 0.6 * abs(plain)


def test_weights_by_hand():
    # A tire run evenly over a whole year has as much of each season; over the half year about the peak, 2/pi of it.
    parts = pd.DataFrame(
        {
            "tire_id": ["a", "b"], "vehicle_id": "v", "position": ["LF", "RR"], "severity": 1.0,
            "from_date": pd.to_datetime(["2000-01-01", "2000-01-01"]),
            "to_date": pd.to_datetime(["2004-01-01", "2004-01-01"]), "from_km": 0.0, "to_km": 1461.0,
        }
    )  # fmt: skip
    visits = pd.DataFrame(
        {"tire_id": ["a", "b", "none"], "date": pd.to_datetime(["2004-01-01", "2000-07-01", "2001-01-01"]),
         "odometer_km": [1461.0, 182.0, 5.0]}
    )  # fmt: skip
    runs = season_runs(parts, visits)
    assert runs[:, 0] == pytest.approx(np.zeros((2, 2)), abs=1e-6)
    assert runs[0, 1].tolist() == [0.0, 0.0]  # the second is at the rear
    assert runs[1, 1] == pytest.approx([0.0, 2 / np.pi * 182], abs=1.0)
    assert np.isnan(runs[:, 2]).all()
    run = visits[:2].assign(
        reference_front_km=[1461.0, 0.0], reference_rear_km=[0.0, 182.0], reference_km=[1461.0, 182.0]
    )
    got = with_season(run, runs[:, :2], Season(0.0, 0.1, 0.02, 0.02))
    assert got["reference_rear_km"].tolist() == pytest.approx([0.0, 182 + 0.1 * 2 / np.pi * 182], abs=0.2)
    assert got["reference_km"].tolist() == pytest.approx(
        (got["reference_front_km"] + got["reference_rear_km"]).tolist()
    )
    assert Season(0.0, 0.1, 0.02, 0.02).peak_day == pytest.approx(91.3, abs=0.1)


def test_reference_distances_of_a_cycle_add_up(tmp_path):
    book = write(tmp_path, size=0.25, peak_day=200, vehicles=6)
    from tirelife.tread import tire_visits

    visits = add_reference(book, tire_visits(book))
    runs = season_runs(stretch_severity(book), visits)
    assert np.isfinite(runs).all()
    assert (np.hypot(*runs.sum(axis=0).T) <= visits["reference_km"].to_numpy() + 1e-6).all()
    assert find_season(visits, runs) is None  # too few vehicle-visits


def test_what_a_cycle_does_ahead_is_small_beside_the_ranges():
    # Nothing is made of the season ahead. At the prior's size, of unknown phase, it moves the distance run by a day
    # by sd x |1 - exp(iwT)| / wT of itself; in squares this would widen the demo's 80 % ranges by 2 % in the mean.
    rows = forecast(read_logbook(Path(__file__).parents[2] / "data_synthetic" / "logbook"))
    rows = rows[rows["km_left_p10"] > 0]
    log_sd = np.log(rows["km_left_p90"] / rows["km_left_p10"]) / 2.563
    turn = 2 * np.pi * (rows["date_p50"] - rows["as_of"]).dt.days.to_numpy(float) / 365.25
    ahead = PRIOR_SD * np.abs(1 - np.exp(1j * turn)) / turn
    wider = np.hypot(1.0, ahead / log_sd) - 1
    assert len(rows) > 50
    assert wider.mean() < 0.03
    assert (wider > 0.10).mean() < 0.05

import numpy as np
import pandas as pd
import pytest

from tests.outlook.folders import one_car, write
from tirelife.logbook import read_logbook
from tirelife.rates.daily import (
    DEFAULT_KM_PER_DAY,
    DEFAULT_LOG_SD,
    MONTH_INDEX,
    mileage,
    pace_log_sd,
    season_strength,
    travel_days,
)


def days(*dates):
    return travel_days(np.array(dates, dtype="datetime64[us]"))


def test_a_year_of_average_travel_is_a_year_of_days():
    assert np.diff(days("2025-01-01", "2029-01-01"))[0] == pytest.approx(1461, abs=0.5)


def test_summer_days_count_more_as_the_published_months_do():
    # FHWA Traffic Volume Trends 2004: per day over the year's mean, July 1.057, January 0.884.
    july, january = np.diff(days("2025-07-01", "2025-08-01"))[0], np.diff(days("2025-01-01", "2025-02-01"))[0]
    assert july / january == pytest.approx(1.057 / 0.884, rel=1e-9)
    assert MONTH_INDEX[6] == 1.057


def test_without_history_the_published_mean_answers(tmp_path):
    book = read_logbook(one_car(tmp_path, []), as_of="2024-06-01")
    row = mileage(book).iloc[0]
    # EPA AVERT 2023: passenger cars 10,410 miles a year.
    assert row["km_per_day"] * 365.25 / 1.609344 == pytest.approx(10_410)
    assert row["log_sd"] == pytest.approx(DEFAULT_LOG_SD)
    assert row["source"] == "default"
    assert row["as_of_km"] == pytest.approx(10_000 * 1.609344 + 152 * DEFAULT_KM_PER_DAY, rel=0.02)


def test_a_well_read_vehicle_goes_at_its_own_pace(tmp_path):
    months = pd.date_range("2024-01-01", "2026-01-01", freq="MS")
    readings = [(d.date(), "V1", 10_000 + 50 * (d - months[0]).days) for d in months]
    book = read_logbook(one_car(tmp_path, [], odometer=readings))
    row = mileage(book).iloc[0]
    assert row["km_per_day"] == pytest.approx(50 * 1.609344, rel=0.02)
    assert row["source"] == "own"
    assert row["log_sd"] < 0.1
    assert row["as_of_km"] == pytest.approx(row["odometer_km"])


def test_vehicles_of_one_pace_are_known_to_have_it(tmp_path):
    # Each month off by a tenth, all about one level: what is left apart of 30 vehicles is far under 0.5 e^-2.8,
    # where nothing smaller was looked at.
    rng = np.random.default_rng(4)
    months = pd.date_range("2024-01-01", "2026-01-01", freq="MS")
    names = [f"V{i}" for i in range(30)]
    rows = []
    for name in names:
        run = np.cumsum(rng.normal(1500, 150, len(months))).round()
        rows += [(d.date(), name, 1000 + km) for d, km in zip(months, run, strict=True)]
    book = read_logbook(
        write(
            tmp_path,
            vehicles=[(n, "front", 32, 32) for n in names],
            tires=[(f"T{n}", "Line A", 10) for n in names],
            mounts=[("2024-01-01", 1000, n, f"T{n}", "LF") for n in names],
            depths=[],
            odometer=rows,
        )
    )
    found = mileage(book)
    level = np.log(found["km_per_day"])
    assert level.std() < 0.011
    assert (found["log_sd"] < 0.02).all()


def test_few_readings_shrink_to_the_fleet(tmp_path):
    names = [f"V{i}" for i in range(9)]
    rows = [(d, n, 1000 + 20 * t) for n in names[1:] for d, t in (("2024-01-01", 0), ("2025-12-31", 730))]
    rows += [("2025-12-01", "V0", 5000), ("2025-12-15", "V0", 5000 + 14 * 200)]
    book = read_logbook(
        write(
            tmp_path,
            vehicles=[(n, "front", 32, 32) for n in names],
            tires=[("T1", "Line A", 10)],
            mounts=[("2024-01-01", 1000, "V1", "T1", "LF")],
            depths=[("2024-06-01", 4040, "V1", "LF", "center", 9)],
            odometer=rows,
        ),
        as_of="2025-12-31",
    )
    table = mileage(book).set_index("vehicle_id")
    assert 20 * 1.609344 < table.loc["V0", "km_per_day"] < 200 * 1.609344
    assert table.loc["V0", "log_sd"] > 1.5 * table.loc["V1", "log_sd"]
    assert table.loc["V1", "km_per_day"] == pytest.approx(20 * 1.609344, rel=0.05)


def test_recent_driving_counts_most(tmp_path):
    months = pd.date_range("2022-01-01", "2026-01-01", freq="MS")
    run = [(d - months[0]).days for d in months]
    rows = [
        (d.date(), "V1", 10_000 + 20 * min(t, 730) + 60 * max(t - 730, 0))
        for d, t in zip(months, run, strict=True)
    ]
    book = read_logbook(
        one_car(tmp_path, [], mounts=[("2022-01-01", 10_000, "V1", "T0", "LF")], odometer=rows)
    )
    pace = mileage(book)["km_per_day"].iloc[0] / 1.609344
    assert 54 < pace < 62  # 40 over all


def test_a_parked_vehicle_has_a_small_pace_and_no_error(tmp_path):
    rows = [("2024-01-01", "V1", 10_000), ("2025-01-01", "V1", 10_000)]
    pace = mileage(read_logbook(one_car(tmp_path, [], odometer=rows)))["km_per_day"].iloc[0]
    assert 0 < pace < 5


def test_spread_ahead_first_falls_with_averaging_and_then_grows_with_drift():
    spread = pace_log_sd(0.03, 0.1, 0.08, np.array([0.1, 1, 3, 10]))
    assert spread[0] > spread[1]
    assert spread[3] > spread[2] > 0.03


@pytest.mark.parametrize("strength", [0.0, 1.0])
def test_a_fleet_without_the_published_season_is_not_taken_to_have_it(tmp_path, strength):
    # A year of monthly odometers, by the index or not: what is left over would pass for drift.
    months = pd.date_range("2025-01-01", "2026-01-01", freq="MS")
    run = travel_days(months.to_numpy(), strength)
    rng = np.random.default_rng(3)
    names = [f"V{i}" for i in range(12)]
    rows = []
    for name in names:
        km = 40 * (np.diff(run) + rng.normal(size=12) * 0.02 * np.sqrt(365 / 12) * np.sqrt(365))
        at = 10_000 + np.append(0, np.cumsum(km))
        rows += [(d.date(), name, round(a, 1)) for d, a in zip(months, at, strict=True)]
    book = read_logbook(
        write(
            tmp_path,
            vehicles=[(n, "front", 32, 32) for n in names],
            tires=[("T1", "Line A", 10)],
            mounts=[("2025-01-01", 10_000, "V0", "T1", "LF")],
            depths=[("2025-06-01", 16_000, "V0", "LF", "center", 9)],
            odometer=[row for row in rows if row[1] != "V0"],
        ),
        as_of="2026-01-01",
    )
    daily = book.odometer.groupby(["vehicle_id", "date"])["odometer_km"].max().reset_index()
    assert season_strength(daily, pd.Index(names)) == pytest.approx(strength, abs=0.3)
    assert mileage(book)["drift_log_sd"].iloc[0] < 0.07


@pytest.mark.parametrize("strength", [0.0, 1.0])
def test_a_large_fleet_says_no_other_season_than_a_small_one(strength):
    # Few readings a car, each stretch a sixth off: 4,000 cars, of which a sample is asked.
    rng, cars, reads = np.random.default_rng(1), 4_000, 6
    days = pd.date_range("2023-01-01", periods=900, freq="D")
    pick = np.sort(rng.permuted(np.tile(np.arange(900), (cars, 1)), axis=1)[:, :reads], axis=1)
    run = (
        40 * np.diff(travel_days(days.to_numpy(), strength)[pick]) * rng.gamma(40, 1 / 40, (cars, reads - 1))
    )
    names = pd.Index([f"V{i:04d}" for i in range(cars)])
    daily = pd.DataFrame(
        {
            "vehicle_id": np.repeat(names, reads),
            "date": days.to_numpy()[pick].ravel(),
            "odometer_km": np.cumsum(np.column_stack([np.zeros(cars), run]), axis=1).ravel(),
        }
    )
    assert season_strength(daily, names) == pytest.approx(strength, abs=0.3)


def test_travel_is_taken_to_follow_the_published_months_one_and_a_half_times_at_most():
    # Cars that go by twice the published season and differ in nothing else: the most that is looked at.
    days = pd.date_range("2023-01-01", "2025-01-01", freq="MS")
    names = pd.Index([f"V{i:02d}" for i in range(20)])
    pace = np.linspace(30, 50, 20)[:, None]
    run = pace * (travel_days(days.to_numpy(), 2.0) - travel_days(days[:1].to_numpy(), 2.0))
    daily = pd.DataFrame(
        {
            "vehicle_id": np.repeat(names, len(days)),
            "date": np.tile(days.to_numpy(), 20),
            "odometer_km": run.ravel(),
        }
    )
    assert season_strength(daily, names) == pytest.approx(1.5, abs=0.01)


def test_vehicles_that_go_alike_are_not_taken_to_differ_by_what_is_assumed(tmp_path):
    names = [f"V{i:02d}" for i in range(24)]
    days = pd.date_range("2024-01-01", "2026-01-01", freq="2MS")
    rows = [
        (d.date(), n, round(1000 + (30 + 0.3 * (i % 3)) * (d - days[0]).days))
        for i, n in enumerate(names)
        for d in days
    ]
    rows += [("2025-12-01", "V24", 500)]
    book = read_logbook(
        write(
            tmp_path,
            vehicles=[(n, "front", 32, 32) for n in [*names, "V24"]],
            tires=[("T1", "Line A", 10)],
            mounts=[("2024-01-01", 1000, "V01", "T1", "LF")],
            depths=[("2024-06-01", 5_600, "V01", "LF", "center", 9)],
            odometer=rows,
        ),
        as_of="2026-01-01",
    )
    table = mileage(book).set_index("vehicle_id")
    # One that nobody knows is as the others are: 24 within one in a hundred of each other.
    assert table.loc["V24", "log_sd"] < 0.12
    assert DEFAULT_LOG_SD > 0.4

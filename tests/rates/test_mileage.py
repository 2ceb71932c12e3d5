import numpy as np
import pandas as pd
import pytest

from tests.outlook.folders import one_car, write
from tirelife.logbook import read_logbook
from tirelife.rates.mileage import (
    DEFAULT_KM_PER_DAY,
    DEFAULT_LOG_SD,
    MONTH_INDEX,
    mileage,
    pace_log_sd,
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
    assert table.loc["V0", "log_sd"] > 2 * table.loc["V1", "log_sd"]
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

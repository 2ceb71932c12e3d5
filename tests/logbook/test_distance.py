import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import Found, doubted
from tirelife.logbook.codes import ODOMETER_UNUSED
from tirelife.logbook.distance import (
    cut_stretches,
    held_to_the_last_day,
    odometer_at,
    record_at,
    with_usable_odometers,
)


def dates(*days):
    return pd.Series(pd.to_datetime([f"2024-01-{d:02d}" for d in days]))


ODOMETER = pd.DataFrame(
    {"vehicle_id": ["A", "A", "A", "B"], "date": dates(1, 11, 21, 5), "odometer_km": [0.0, 100.0, 400.0, 7.0]}
)


def test_odometer_is_straight_between_readings_and_held_beyond():
    got = odometer_at(ODOMETER, pd.Series(list("AAAAABBC")), dates(1, 6, 11, 16, 31, 1, 9, 1))
    assert got[:7].tolist() == [0, 50, 100, 250, 400, 7, 7]
    assert np.isnan(got[7])


def test_no_readings():
    assert np.isnan(odometer_at(ODOMETER.iloc[:0], pd.Series(["A"]), dates(1))).all()


def test_record_at_looks_back_and_ahead():
    held_key, held_date = pd.Series(list("ABAA")), dates(5, 1, 10, 10)
    key, asked = pd.Series(list("AAAABC")), dates(4, 5, 9, 11, 1, 1)
    assert record_at(key, asked, held_key, held_date).tolist() == [-1, 0, 0, 3, 1, -1]
    assert record_at(key, asked, held_key, held_date, ahead=True).tolist() == [0, 0, 2, -1, 1, -1]
    assert record_at(key, asked, held_key.iloc[:0], held_date.iloc[:0]).tolist() == [-1] * 6


def test_record_at_agrees_with_a_loop():
    rng = np.random.default_rng(3)
    held = pd.DataFrame(
        {
            "k": rng.choice(list("abcd"), 60),
            "d": pd.Timestamp("2024-01-01") + pd.to_timedelta(rng.integers(0, 40, 60), "D"),
        }
    )
    asked = pd.DataFrame(
        {
            "k": rng.choice(list("abcde"), 200),
            "d": pd.Timestamp("2024-01-01") + pd.to_timedelta(rng.integers(0, 45, 200), "D"),
        }
    )
    got = record_at(asked["k"], asked["d"], held["k"], held["d"])
    for row, (k, d) in zip(got, asked.itertuples(index=False), strict=True):
        fits = held[(held["k"] == k) & (held["d"] <= d)]
        assert row == (-1 if fits.empty else fits.index[fits["d"] == fits["d"].max()][-1])


def test_cuts_keep_the_distance():
    pieces = pd.DataFrame(
        {"tire_id": ["t", "u"], "vehicle_id": ["A", "A"], "from_date": dates(1, 11), "to_date": dates(21, 21),
         "from_km": [0.0, 100.0], "to_km": [400.0, 400.0]}
    )  # fmt: skip
    cuts = pd.DataFrame({"vehicle_id": ["A"] * 4, "date": dates(6, 16, 21, 16)})
    got = cut_stretches(pieces, cuts, "vehicle_id", ODOMETER)
    assert got["tire_id"].tolist() == ["t", "t", "t", "u", "u"]
    assert got["from_km"].tolist() == [0, 50, 250, 100, 250]
    assert got["to_km"].tolist() == [50, 250, 400, 250, 400]
    assert (got["to_date"] > got["from_date"]).all()


def test_an_odometer_that_goes_back_makes_no_negative_part():
    bad = pd.concat([ODOMETER, pd.DataFrame({"vehicle_id": ["A"], "date": dates(16), "odometer_km": [30.0]})])
    pieces = pd.DataFrame(
        {"vehicle_id": ["A"], "from_date": dates(1), "to_date": dates(21), "from_km": [0.0], "to_km": [400.0]}
    )
    cuts = pd.DataFrame({"vehicle_id": ["A"] * 2, "date": dates(11, 16)})
    got = cut_stretches(pieces, cuts, "vehicle_id", bad)
    run = got["to_km"] - got["from_km"]
    assert (run >= 0).all()
    assert run.sum() == pytest.approx(400)


def test_nothing_to_cut():
    pieces = pd.DataFrame(
        {"vehicle_id": ["A"], "from_date": dates(1), "to_date": dates(1), "from_km": [0.0], "to_km": [0.0]}
    )
    got = cut_stretches(pieces, pd.DataFrame({"vehicle_id": ["A"], "date": dates(1)}), "vehicle_id", ODOMETER)
    assert got.equals(pieces)


def test_a_doubted_odometer_gives_way_to_the_day_between_readings_and_beyond_them():
    odometer = pd.DataFrame(
        {
            "vehicle_id": ["a", "a", "a", "c"],
            "date": pd.to_datetime(["2025-01-11", "2025-01-21", "2025-01-31", "2025-01-11"]),
            "odometer_km": [1000.0, 1500.0, 2000.0, 700.0],
        }
    )
    back, ahead = (f"odometer_km:{one.value}" for one in (Found.ODOMETER_BACK, Found.ODOMETER_AHEAD))
    records = pd.DataFrame(
        [
            ("a", "2025-01-16", 90_000.0, ahead, 1250.0),
            ("a", "2025-02-10", 12.0, back, 2500.0),  # at its mean pace of 50 km a day
            ("a", "2025-01-09", 5000.0, ahead, 900.0),
            ("a", "2025-01-16", 1300.0, "", 1300.0),
            ("a", "2025-01-16", 1300.0, f"depth_mm:{Found.DEPTH_GROWS.value}", 1300.0),
            ("b", "2025-01-16", 80.0, back, 80.0),  # nothing else is known of it
            ("c", "2025-01-31", 7.0, back, 700.0),
        ],
        columns=["vehicle_id", "date", "odometer_km", "codes", "want"],
    ).assign(date=lambda frame: pd.to_datetime(frame["date"]))
    got = with_usable_odometers(records, doubted(records, "odometer_km", *ODOMETER_UNUSED), odometer)
    assert got["odometer_km"].tolist() == pytest.approx(records["want"].tolist())
    pd.testing.assert_frame_equal(got.drop(columns="odometer_km"), records.drop(columns="odometer_km"))


def test_a_vehicle_whose_newest_odometer_is_doubted_is_held_to_that_day_on_its_mean_pace():
    odometer = pd.DataFrame(
        {
            "date": pd.to_datetime(["2025-01-01", "2025-01-11", "2025-01-01", "2025-01-01", "2025-03-01"]),
            "vehicle_id": ["a", "a", "b", "c", "c"],
            "odometer_km": [1000.0, 1400.0, 50.0, 0.0, 600.0],
        }
    )
    days = pd.DataFrame(
        {
            "date": pd.to_datetime(["2025-01-16", "2025-01-21", "2025-01-21", "2025-02-01", "2025-02-01"]),
            "vehicle_id": ["a", "a", "b", "c", "d"],
        }
    )
    got = held_to_the_last_day(odometer, days)
    # a at 40 km a day; b has no pace, c was read later, d never.
    assert got.iloc[: len(odometer)].equals(odometer)
    (more,) = got.iloc[len(odometer) :].to_dict("records")
    assert more == {"date": pd.Timestamp("2025-01-21"), "vehicle_id": "a", "odometer_km": 1800.0}

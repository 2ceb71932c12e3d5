import numpy as np
import pandas as pd
import pytest

from tirelife.logbook.distance import cut_stretches, odometer_at, record_at


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

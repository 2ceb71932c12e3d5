"""Stretches: what each tire ran where, whatever it was put through."""

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.logbook.folders import TABLES, folder
from tirelife.logbook import read_logbook, stretches

PLACES = ["LF", "RF", "LR", "RR"]


def mounts(*records):
    frame = pd.DataFrame(records, columns=["date", "odometer_km", "vehicle_id", "tire_id", "position"])
    return frame.assign(date=pd.to_datetime(frame["date"]), odometer_km=frame["odometer_km"].astype(float))


def odometer(*records):
    frame = pd.DataFrame(records, columns=["date", "vehicle_id", "odometer_km"])
    return frame.assign(date=pd.to_datetime(frame["date"]), odometer_km=frame["odometer_km"].astype(float))


def runs(frame):
    columns = ["vehicle_id", "position", "from_km", "to_km", "open", "before_km"]
    return list(frame[columns].itertuples(index=False, name=None))


def test_a_rotation_ends_one_stretch_and_begins_the_next():
    out = stretches(
        mounts(("2025-01-01", 100, "V", "T", "LF"), ("2025-06-01", 5100, "V", "T", "RR")),
        odometer(("2025-01-01", "V", 100), ("2025-09-01", "V", 8000)),
    )
    assert runs(out) == [("V", "LF", 100, 5100, False, 0), ("V", "RR", 5100, 8000, True, 5000)]
    assert out["to_date"].tolist() == [pd.Timestamp("2025-06-01"), pd.Timestamp("2025-09-01")]


def test_off_and_on_again_leaves_a_gap():
    out = stretches(
        mounts(
            ("2025-01-01", 100, "V", "T", "LF"),
            ("2025-03-01", 1100, "V", "T", "OFF"),
            ("2025-06-01", 5100, "V", "T", "RR"),
        ),
        odometer(("2025-09-01", "V", 8000)),
    )
    assert runs(out) == [("V", "LF", 100, 1100, False, 0), ("V", "RR", 5100, 8000, True, 1000)]


def test_the_spare_runs_no_distance():
    out = stretches(
        mounts(("2025-01-01", 100, "V", "T", "SP"), ("2025-06-01", 5100, "V", "T", "LF")),
        odometer(("2025-09-01", "V", 8000)),
    )
    assert runs(out) == [("V", "SP", 100, 5100, False, 0), ("V", "LF", 5100, 8000, True, 0)]


def test_moved_to_another_vehicle_on_one_day():
    # V1 stands at 90,000 km, V2 at 500: odometers of two vehicles do not order the day.
    rows = [
        ("2025-06-01", 500, "V2", "T", "LF"),
        ("2025-06-01", 90_000, "V1", "T", "OFF"),
        ("2025-01-01", 80_000, "V1", "T", "RR"),
    ]
    out = stretches(mounts(*rows), odometer(("2025-09-01", "V1", 95_000), ("2025-09-01", "V2", 2500)))
    assert runs(out) == [("V1", "RR", 80_000, 90_000, False, 0), ("V2", "LF", 500, 2500, True, 10_000)]


def test_put_on_and_moved_on_its_first_day():
    rows = [("2025-06-01", 500, "V2", "T", "LF"), ("2025-06-01", 90_000, "V1", "T", "OFF")]
    out = stretches(mounts(*rows), odometer(("2025-09-01", "V2", 2500)))
    assert runs(out) == [("V2", "LF", 500, 2500, True, 0)]


def test_moved_with_no_record_of_coming_off_takes_the_odometer_between_readings():
    out = stretches(
        mounts(("2025-01-01", 0, "V1", "T", "RR"), ("2025-01-21", 500, "V2", "T", "LF")),
        odometer(("2025-01-01", "V1", 0), ("2025-01-11", "V1", 1000), ("2025-01-31", "V1", 2000), ("2025-02-01", "V2", 600)),
    )  # fmt: skip
    assert runs(out) == [("V1", "RR", 0, 1500, False, 0), ("V2", "LF", 500, 600, True, 1500)]


def test_a_vehicle_with_no_later_reading_has_run_nothing():
    out = stretches(mounts(("2025-01-01", 100, "V", "T", "LF")), odometer(("2025-01-01", "V", 100)))
    assert runs(out) == [("V", "LF", 100, 100, True, 0)]
    assert out["to_date"].tolist() == [pd.Timestamp("2025-01-01")]


def test_no_mounts_no_stretches():
    out = stretches(mounts(), odometer())
    assert out.empty
    assert list(out) == [
        "tire_id", "vehicle_id", "position", "from_date", "to_date", "from_km", "to_km", "open", "before_km",
    ]  # fmt: skip


def test_odometer_gathers_all_tables_and_leaves_slips_out(tmp_path):
    log = "date,vehicle_id,odometer_mi\n2025-05-20,V1,7500\n2025-06-01,V1,800\n"
    book = read_logbook(folder(tmp_path, odometer=log))
    v1 = book.odometer.query("vehicle_id == 'V1'")["odometer_km"] / 1.609344
    assert v1.round(6).tolist() == [1000, 4000, 7000, 7500, 10000]
    assert len(book.tables["odometer"]) == 2


@st.composite
def rotations(draw):
    """A vehicle whose four tires trade places at random visits."""
    steps = draw(
        st.lists(st.tuples(st.integers(1, 90), st.integers(0, 9000), st.permutations(PLACES)), max_size=8)
    )
    day, km, on = pd.Timestamp("2024-01-01"), 1000, dict(zip("ABCD", PLACES, strict=True))
    records = [(day, km, "V", tire, place) for tire, place in on.items()]
    for days, run, places in steps:
        day, km = day + pd.Timedelta(days=days), km + run
        for tire, place in zip("ABCD", places, strict=True):
            if on[tire] != place:
                records.append((day, km, "V", tire, place))
            on[tire] = place
    order = draw(st.permutations(range(len(records))))
    end = km + draw(st.integers(0, 9000))
    return [records[i] for i in order], km, end


@given(rotations())
@settings(max_examples=60, deadline=None)
def test_every_tire_runs_every_kilometre_once(made):
    records, _, end = made
    out = stretches(mounts(*records), odometer((pd.Timestamp("2026-12-01"), "V", end)))
    run = (out["to_km"] - out["from_km"]).groupby(out["tire_id"]).sum()
    np.testing.assert_allclose(run, end - 1000)
    np.testing.assert_allclose(
        out["before_km"], out["from_km"] - 1000
    )  # never off the road: what it ran is what the vehicle ran
    # At any moment one tire a place.
    for _, place in out.groupby("position"):
        ordered = place.sort_values(["from_km", "to_km"])
        assert (ordered["from_km"].to_numpy()[1:] >= ordered["to_km"].to_numpy()[:-1] - 1e-9).all()


def test_stretches_of_a_large_logbook_agree_with_those_of_its_vehicles(tmp_path):
    book = read_logbook(folder(tmp_path, tires=TABLES["tires"]))
    alone = [
        stretches(
            book.mounts[book.mounts["vehicle_id"] == v], book.odometer[book.odometer["vehicle_id"] == v]
        )
        for v in ("V1", "V2")
    ]
    pd.testing.assert_frame_equal(pd.concat(alone, ignore_index=True), book.stretches)


def test_types_of_columns(tmp_path):
    out = read_logbook(folder(tmp_path)).stretches
    assert out["open"].dtype == bool
    assert out["from_date"].dtype == "datetime64[us]"

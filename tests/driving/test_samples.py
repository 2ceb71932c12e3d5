"""Reading trips from every kind of file, in blocks."""

import warnings

import numpy as np
import pandas as pd
import pytest

from tests.driving.recordings import cycle, published_trips, trips_frame
from tirelife import InputError
from tirelife.driving import reduce_trips, samples


@pytest.fixture(scope="module")
def frame():
    rng = np.random.default_rng(11)
    t, v = cycle("us06")
    parts = []
    for vehicle in ("V1", "V2", "V3"):
        for trip in range(5):
            n = int(rng.integers(150, 600))
            part = pd.DataFrame(
                {"vehicle_id": vehicle, "trip_id": f"{trip:03d}", "time_s": t[:n], "speed_mps": v[:n]}
            )
            parts.append(part.assign(date=f"2026-01-{trip + 1:02d}", driver_group="day"))
    return pd.concat(parts, ignore_index=True)


@pytest.fixture(scope="module")
def want(frame):
    return reduce_trips(frame)


def same(got, want, drop=()):
    pd.testing.assert_frame_equal(
        got.trips.drop(columns=list(drop)), want.trips.drop(columns=list(drop)), check_dtype=False, rtol=1e-12
    )


@pytest.mark.parametrize("rows", [100, 257, 1 << 18])
def test_csv_and_parquet_in_blocks(frame, want, tmp_path, monkeypatch, rows):
    # Trips straddle blocks: of 100 rows none is whole in one.
    monkeypatch.setattr(samples, "BLOCK_ROWS", rows)
    frame.to_csv(tmp_path / "trips.csv", index=False)
    same(reduce_trips(tmp_path / "trips.csv"), want)
    frame.to_parquet(tmp_path / "t.parquet", row_group_size=333)
    same(reduce_trips(str(tmp_path / "t.parquet")), want)


def test_identifiers_keep_their_zeros(frame, tmp_path):
    frame.to_csv(tmp_path / "trips.csv", index=False)
    assert set(reduce_trips(tmp_path / "trips.csv").trips["trip_id"]) == {f"{i:03d}" for i in range(5)}


def test_folders(frame, want, tmp_path):
    frame.to_parquet(tmp_path / "by_vehicle", partition_cols=["vehicle_id"])
    same(reduce_trips(tmp_path / "by_vehicle"), want)
    cut = tmp_path / "cut"
    cut.mkdir()
    for i, start in enumerate(range(0, len(frame), 700)):  # trips straddle files
        frame.iloc[start : start + 700].to_parquet(cut / f"part{i:03d}.parquet")
    same(reduce_trips(cut), want)
    book = tmp_path / "logbook"
    book.mkdir()
    frame.to_csv(book / "trips.csv", index=False)
    (book / "vehicles.csv").write_text("vehicle_id,drive\n")
    same(reduce_trips(book), want)


@pytest.mark.parametrize("kind", ["csv", "parquet"])
def test_rows_of_a_trip_that_lie_apart(frame, want, tmp_path, monkeypatch, kind):
    monkeypatch.setattr(samples, "BLOCK_ROWS", 500)
    for name, mixed in (
        ("shuffled", frame.sample(frac=1, random_state=2)),
        ("by_time", frame.sort_values("time_s")),
    ):
        path = tmp_path / f"{name}.{kind}"
        mixed.to_csv(path, index=False) if kind == "csv" else mixed.to_parquet(path)
        same(reduce_trips(path), want, drop=["unsorted"])


def test_other_frames(frame, want):
    import polars as pl
    import pyarrow as pa

    same(reduce_trips(pl.from_pandas(frame)), want)
    same(reduce_trips(pa.Table.from_pandas(frame)), want)
    same(reduce_trips(frame.astype({"vehicle_id": "category", "trip_id": "category"})), want)


def test_whole_number_identifiers(frame, want, tmp_path):
    numbered = frame.assign(trip_id=frame["trip_id"].astype(int))
    numbered.to_parquet(tmp_path / "t.parquet")
    same(reduce_trips(tmp_path / "t.parquet"), want, drop=["trip_id"])
    same(reduce_trips(numbered), want, drop=["trip_id"])


def test_a_trip_too_long_to_hold_is_cut_at_a_standstill(tmp_path, monkeypatch):
    t, v = cycle("udds")
    time, speed = np.arange(4 * 1369 + 1.0), np.append(np.tile(v[:-1], 4), v[-1])
    frame = trips_frame((time, speed), (t, v))
    whole = reduce_trips(frame)
    monkeypatch.setattr(samples, "BLOCK_ROWS", 300)
    monkeypatch.setattr(samples, "LONGEST", 2000)
    frame.to_csv(tmp_path / "trips.csv", index=False)
    for source in (frame, tmp_path / "trips.csv"):
        parts = reduce_trips(source)
        assert list(parts.trips["trip_id"]) == ["T0", "T0 (2)", "T0 (3)", "T1"]
        assert (
            parts.trips["samples"].sum() == whole.trips["samples"].sum() + 2
        )  # those at the cuts count twice
        same = ["distance_km", "drive_a2", "brake_a2", "brake_v4", "slow_turn", "share_25_40mph"]
        got, want = parts.vehicles.loc[0, same], whole.vehicles.loc[0, same]
        assert got.to_numpy(float) == pytest.approx(want.to_numpy(float), rel=1e-12)


def test_progress_is_told(frame):
    seen = []
    reduce_trips(frame, progress=seen.append)
    assert sum(seen) == len(frame)


def error(source):
    with pytest.raises(InputError) as caught:
        reduce_trips(source)
    return str(caught.value)


def test_what_is_wrong_and_where(frame, tmp_path):
    path = tmp_path / "trips.csv"
    head = frame.head(200)
    head.drop(columns=["time_s", "speed_mps"]).to_csv(path, index=False)
    assert error(path) == (
        "trips.csv, row 1, column time_s: this column is missing. See the trips table of the logbook.\n"
        "trips.csv, row 1, column speed_mps: this column is missing. See the trips table of the logbook."
    )
    head.rename(columns={"speed_mps": "speed"}).to_csv(path, index=False)
    assert "there is no unit in this column's name. Call it speed_mps" in error(path)
    head.assign(speed_kmh=1).to_csv(path, index=False)
    assert "speed_mps and speed_kmh hold the same thing" in error(path)
    text = head.astype({"speed_mps": object})
    text.loc[41, "speed_mps"] = "fast"
    text.to_csv(path, index=False)
    assert error(path) == (
        "trips.csv, row 43, column speed_mps: this is not a number (found 'fast'). "
        "Write it as a number, with a point, or leave it blank."
    )
    text = head.copy()
    text.loc[9, "trip_id"] = ""
    text.to_csv(path, index=False)
    assert "row 11, column trip_id: this cell is blank" in error(path)
    head.iloc[:0].to_csv(path, index=False)
    assert "the table is empty" in error(path)
    assert "no such file" in error(tmp_path / "none.csv")
    (tmp_path / "empty").mkdir()
    assert "no recorded trips are here" in error(tmp_path / "empty")
    (tmp_path / "bad.parquet").write_bytes(b"PAR1 no")
    assert "cannot be read" in error(tmp_path / "bad.parquet")
    (tmp_path / "zero.csv").write_bytes(b"")
    assert "cannot be read" in error(tmp_path / "zero.csv")


def test_text_numbers_in_parquet_are_refused(frame, tmp_path):
    frame.head(10).astype({"speed_mps": str}).to_parquet(tmp_path / "t.parquet")
    assert "not numbers" in error(tmp_path / "t.parquet")


def test_units_in_parquet_are_converted(frame, want, tmp_path):
    mph = frame.assign(speed_mph=frame["speed_mps"] / 0.44704).drop(columns="speed_mps")
    mph.to_parquet(tmp_path / "t.parquet")
    same(reduce_trips(tmp_path / "t.parquet"), want)


def test_published_trips_as_they_come(tmp_path):
    frame, published = published_trips()
    frame.to_csv(tmp_path / "trips.csv", index=False)
    out = reduce_trips(tmp_path / "trips.csv")
    assert len(out.trips) == len(published) == 4
    assert out.trips["doubt"].tolist() == [""] * 4


def test_one_sample_and_one_trip(tmp_path):
    frame = trips_frame(([0.0, 1.0], [10.0, 10.0]))
    frame.to_csv(tmp_path / "trips.csv", index=False)
    assert reduce_trips(tmp_path / "trips.csv").trips["distance_km"].tolist() == [0.01]


@pytest.mark.parametrize("number", ["1" * 400, "-" + "9" * 320])
def test_a_number_too_long_for_any_is_named(number, tmp_path):
    file = tmp_path / "trips.csv"
    rows = "".join(f"A,1,{t},10,{number if t == 1 else 0}\n" for t in range(3))
    file.write_text(f"vehicle_id,trip_id,time_s,speed_mps,lateral_mps2\n{rows}")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        summary = reduce_trips(file)
    assert np.isfinite(summary.trips["distance_km"]).all()


def test_an_endless_heading_is_not_known_and_warns_of_nothing(tmp_path):
    file = tmp_path / "trips.csv"
    rows = "".join(f"A,1,{t},10,{'inf' if t % 2 else 90}\n" for t in range(20))
    file.write_text(f"vehicle_id,trip_id,time_s,speed_mps,heading_deg\n{rows}")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        summary = reduce_trips(file)
    assert summary.trips["hard_turns"].sum() == 0


@pytest.mark.parametrize(
    "spoilt", [b'A,1,1,"6\n', b"A,\xff,1,6\n"], ids=["a quote never closed", "not UTF-8"]
)
def test_a_file_that_cannot_be_read_to_its_end_is_named(spoilt, tmp_path):
    file = tmp_path / "trips.csv"
    file.write_bytes(b"vehicle_id,trip_id,time_s,speed_mps\nA,1,0,5\n" + spoilt)
    with pytest.raises(InputError, match=r"trips\.csv: it cannot be read: "):
        reduce_trips(file)

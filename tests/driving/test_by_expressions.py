"""The expressions give on every engine what the kernel gives, also for samples that are wrong."""

import pandas as pd
import pytest

from tests.driving.by_expressions import collected, sum_frame
from tests.driving.engines import HARD, LOW, SHOWN, awkward_frames, by_hand, ordered, same_sums, small_drive
from tirelife import InputError
from tirelife.driving import Thresholds, reduce_trips, sum_trips


@pytest.fixture(scope="module")
def frames():
    return awkward_frames()


def engine(name, frame):
    if name == "pandas":
        return frame
    if name == "duckdb":
        import duckdb
        import pyarrow as pa  # DuckDB before 1.5 takes no text columns of pandas 3

        return duckdb.from_arrow(pa.Table.from_pandas(frame))
    import polars as pl

    return pl.from_pandas(frame) if name == "polars" else pl.from_pandas(frame).lazy()


@pytest.mark.parametrize(
    ("name", "sides"),
    [
        *(("polars", sides) for sides in ("plain", "lateral", "heading", "all")),
        *(("polars lazy", sides) for sides in ("plain", "lateral", "heading", "all")),
        ("pandas", "lateral"),
        ("pandas", "heading"),
        ("pandas", "all"),
        ("duckdb", "lateral"),
        ("duckdb", "heading"),
        ("duckdb", "all"),
    ],
)
def test_same_answer_on_every_engine(frames, name, sides):
    want = sum_trips(frames[sides], LOW)
    same_sums(collected(sum_frame(engine(name, frames[sides]), LOW)), want)
    for column in SHOWN:
        assert want[column].sum() > 0, f"{column}: the data must show it"


@pytest.mark.parametrize("name", ["pandas", "polars", "polars lazy", "duckdb"])
@pytest.mark.parametrize("vehicle", ["A", "B"])
def test_lags_event_runs_and_sums_under_a_condition_as_by_hand(name, vehicle):
    drive = small_drive()
    want = by_hand(drive, vehicle)
    assert (want["hard_starts"], want["hard_stops"]) == (2, 2)
    got = collected(sum_frame(engine(name, drive), Thresholds(HARD, HARD, 4.0))).set_index("vehicle_id")
    for column, value in want.items():
        assert got.loc[vehicle, column] == pytest.approx(value, rel=1e-9, abs=1e-9), column


def test_faults_apart_each_engine_needs_no_thinning_at_one_hertz(frames):
    slow = frames["plain"][~frames["plain"]["trip_id"].str.startswith("fast")]
    a, b = (ordered(collected(sum_frame(engine("polars", slow), LOW, faster=f))) for f in (True, False))
    pd.testing.assert_frame_equal(a, b, rtol=1e-12)


@pytest.mark.parametrize("name", ["polars", "polars lazy", "duckdb"])
def test_the_kernel_takes_other_engines_rows_in_batches(frames, name):
    # Rows are shuffled, so the batches go through buckets as well.
    got = reduce_trips(engine(name, frames["lateral"]))
    want = reduce_trips(frames["lateral"])
    drop = ["unsorted"]
    pd.testing.assert_frame_equal(
        got.trips.drop(columns=drop), want.trips.drop(columns=drop), check_dtype=False, rtol=1e-12
    )


def test_missing_columns_are_said():
    with pytest.raises(InputError, match="column speed_mps: this column is missing"):
        sum_frame(pd.DataFrame({"vehicle_id": ["a"], "trip_id": ["b"], "time_s": [0.0]}))

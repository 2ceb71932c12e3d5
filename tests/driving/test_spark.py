"""Both reductions on Spark with two workers, from partitioned Parquet; a task that fails is run again.

Spark is an extra: ``pip install '.[spark]'`` and Java 17 or newer. Without them these tests skip, and say so.
"""

import os
import shutil
import sys

import pandas as pd
import pytest

from tests.driving.engines import HARD, LOW, SHOWN, awkward_frames, by_hand, same_sums, small_drive
from tests.tread.readings import readings, tidy
from tirelife.driving import Thresholds, reduce_trips, sum_trips
from tirelife.tread.reduction import reduce_readings

pytestmark = pytest.mark.filterwarnings("ignore:PySpark does not yet fully support pandas:FutureWarning")


@pytest.fixture(scope="module")
def spark():
    missing = "pyspark" if not _has_pyspark() else "Java" if not shutil.which("java") else ""
    if missing and os.environ.get("TIRELIFE_SPARK_REQUIRED"):
        pytest.fail(f"{missing} is not installed, and this run must show Spark")
    if missing:
        pytest.skip(f"{missing} is not installed: pip install '.[spark]', and Java 17 or newer")
    from pyspark.sql import SparkSession

    os.environ["PYSPARK_PYTHON"] = sys.executable
    session = (
        SparkSession.builder.master("local-cluster[2,1,1024]")  # two workers, each a process of its own
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.shuffle.partitions", "4")
        .getOrCreate()
    )
    assert int(session.sparkContext.defaultParallelism) == 2
    yield session
    session.stop()


def _has_pyspark():
    try:
        import pyspark  # noqa: F401
    except ImportError:
        return False
    return True


def in_parts(frame, folder, files=3):
    """Write rows to files in turn, so that each trip lies in all of them."""
    folder.mkdir()
    for i in range(files):
        frame.iloc[i::files].to_parquet(folder / f"part-{i}.parquet")
    return str(folder)


def test_trips_with_every_fault(spark, tmp_path):
    frame = awkward_frames()["heading"]
    want = sum_trips(frame, LOW)
    assert all(want[column].sum() > 0 for column in SHOWN)
    same_sums(sum_trips(spark.read.parquet(in_parts(frame, tmp_path / "trips")), LOW), want)


def test_lags_event_runs_and_sums_under_a_condition_as_by_hand(spark):
    drive = small_drive()
    sums = sum_trips(spark.createDataFrame(drive), Thresholds(HARD, HARD, 4.0))
    for vehicle in ("A", "B"):
        for column, value in by_hand(drive, vehicle).items():
            got = sums.set_index("vehicle_id").loc[vehicle, column]
            assert got == pytest.approx(value, rel=1e-9, abs=1e-9), column


def test_readings(spark, tmp_path):
    frame = readings()
    got = reduce_readings(spark.read.parquet(in_parts(frame, tmp_path / "depths"))).toPandas()
    pd.testing.assert_frame_equal(
        tidy(got), tidy(reduce_readings(frame)), check_dtype=False, rtol=1e-9, atol=1e-9
    )


def test_a_task_that_fails_and_is_run_again_changes_nothing(spark, tmp_path):
    frame = awkward_frames()["lateral"]
    failed = tmp_path / "failed"

    def breaks_once(batches):
        for batch in batches:
            if not failed.exists():
                failed.write_text("once")
                raise OSError("the disk is gone")
            yield batch

    rows = spark.read.parquet(in_parts(frame, tmp_path / "trips"))
    got = reduce_trips(rows.mapInPandas(breaks_once, rows.schema), LOW)
    assert failed.exists()
    want, drop = reduce_trips(frame, LOW), ["unsorted"]
    for table in ("trips", "vehicles"):
        a, b = (getattr(summary, table).drop(columns=drop, errors="ignore") for summary in (got, want))
        pd.testing.assert_frame_equal(a, b, check_dtype=False, rtol=1e-9, atol=1e-9)

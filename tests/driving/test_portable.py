"""The expressions give on every engine what the kernel gives, also for samples that are wrong."""

import numpy as np
import pandas as pd
import pytest

from tests.driving.recordings import MPH, cycle, published_trips, smooth
from tirelife import InputError
from tirelife.driving import Thresholds, reduce_trips, sum_trips
from tirelife.driving.portable import collected, is_lazy, sum_frame
from tirelife.driving.sums import SUMS

LOW = Thresholds(1.5, 1.5, 2.0)  # low, so that there are events to compare


def awkward():
    """Published trips and made ones with every fault, rows shuffled."""
    rng = np.random.default_rng(0)
    parts = [published_trips()[0].assign(speed_mps=lambda f: f["speed_mph"] * MPH).drop(columns="speed_mph")]

    def add(name, t, v):
        parts.append(pd.DataFrame({"vehicle_id": "X", "trip_id": name, "time_s": t, "speed_mps": v}))

    t, v = cycle("us06")
    spiked, jumping, holed = v.copy(), v.copy(), v.copy()
    spiked[100:103] += 45
    spiked[300] = 200
    jumping[250:] = np.abs(jumping[250:] - 18)
    holed[10], holed[50:60] = np.nan, -0.2
    add("plain", t, v)
    add("spiked", t, spiked)
    add("jumping", t, jumping)
    add("holed", t, holed)
    add("repeated", np.concatenate([t, t[100:120]]), np.concatenate([v, v[100:120] + rng.normal(0, 0.1, 20)]))
    fast_t, fast_v = smooth(10, seconds=300)
    add("fast", fast_t, np.maximum(fast_v + rng.normal(0, 0.05, len(fast_t)), 0))
    kept = rng.random(len(fast_t)) > 0.02
    kept[1500:1600] = False
    add("fast with gaps", fast_t[kept], fast_v[kept])
    rest = np.arange(200.0)
    crawl = np.interp(rest, [0, 40, 50, 150, 160, 199], [15, 15, 0, 0, 15, 15])
    crawl[crawl == 0] = rng.uniform(0.05, 0.4, (crawl == 0).sum())
    add("drifting", rest, crawl)
    add("one sample", [3.0], [4.0])
    add("nothing", [1.0, 2.0], [np.nan, np.nan])
    return pd.concat(parts).sample(frac=1, random_state=3).reset_index(drop=True)


@pytest.fixture(scope="module")
def frames():
    rng = np.random.default_rng(1)
    plain = awkward()
    side = plain.assign(lateral_mps2=rng.normal(0, 1.5, len(plain)))
    side.loc[rng.random(len(side)) < 0.05, "lateral_mps2"] = np.nan
    side.loc[77, "lateral_mps2"] = 50.0
    turning = plain.assign(heading_deg=(rng.uniform(0, 360) + np.cumsum(rng.normal(0, 1, len(plain)))) % 360)
    return {"plain": plain, "lateral": side, "heading": turning}


def engine(name, frame):
    if name == "pandas":
        return frame
    if name == "duckdb":
        import duckdb

        return duckdb.connect().from_df(frame)
    import polars as pl

    return pl.from_pandas(frame) if name == "polars" else pl.from_pandas(frame).lazy()


def ordered(sums):
    return sums.sort_values(["vehicle_id", "trip_id"], ignore_index=True)


@pytest.mark.parametrize(
    ("name", "sides"),
    [
        *(("polars", sides) for sides in ("plain", "lateral", "heading")),
        *(("polars lazy", sides) for sides in ("plain", "lateral", "heading")),
        ("pandas", "lateral"),
        ("pandas", "heading"),
        ("duckdb", "lateral"),
        ("duckdb", "heading"),
    ],
)
def test_same_answer_on_every_engine(frames, name, sides):
    want = ordered(sum_trips(frames[sides], LOW))
    got = ordered(collected(sum_frame(engine(name, frames[sides]), LOW)))
    assert list(got["trip_id"]) == list(want["trip_id"])
    for column in SUMS:
        if column != "unsorted":
            a, b = got[column].to_numpy(float), want[column].to_numpy(float)
            assert a == pytest.approx(b, rel=1e-9, abs=1e-9), column
    for column in (
        "hard_starts",
        "hard_stops",
        "spikes",
        "jumps",
        "gaps",
        "repeated",
        "missing",
        "negative",
        "drift_s",
    ):
        assert want[column].sum() > 0, f"{column}: the data must show it"


def test_faults_apart_each_engine_needs_no_thinning_at_one_hertz(frames):
    slow = frames["plain"][~frames["plain"]["trip_id"].str.startswith("fast")]
    a, b = (ordered(collected(sum_frame(engine("polars", slow), LOW, faster=f))) for f in (True, False))
    pd.testing.assert_frame_equal(a, b, rtol=1e-12)


def test_lazy_in_lazy_out(frames):
    import narwhals as nw

    lazy = engine("polars lazy", frames["plain"])
    assert is_lazy(lazy)
    assert not is_lazy(frames["plain"])
    assert isinstance(nw.from_native(sum_frame(lazy)), nw.LazyFrame)


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


def test_spark_frames(frames):
    pytest.importorskip("pyspark", reason="Spark is the user's own: pip install pyspark, and Java 17")
    from pyspark.sql import SparkSession

    spark = SparkSession.builder.master("local[2]").config("spark.ui.enabled", "false").getOrCreate()
    try:
        want = ordered(sum_trips(frames["lateral"], LOW))
        got = ordered(collected(sum_frame(spark.createDataFrame(frames["lateral"]), LOW)))
        for column in SUMS:
            if column != "unsorted":
                assert got[column].to_numpy(float) == pytest.approx(
                    want[column].to_numpy(float), rel=1e-9, abs=1e-9
                ), column
    finally:
        spark.stop()

"""One group-by, written once: the same sums from every engine, whole or in parts."""

import os
import warnings

import pandas as pd
import pytest

from tests.tread.books import make_book, read_depths
from tests.tread.readings import readings, tidy
from tirelife.logbook import GROOVES
from tirelife.tread import tire_visits
from tirelife.tread.reduction import KEYS, SUM_COLUMNS, reduce_readings
from tirelife.tread.visits import VISIT_COLUMNS, gauge_errors, visits_from_sums


def engines():
    polars, duckdb = pytest.importorskip("polars"), pytest.importorskip("duckdb")
    pa = pytest.importorskip("pyarrow")
    return {
        "polars": lambda frame: reduce_readings(polars.from_pandas(frame)).to_pandas(),
        "polars lazy": lambda frame: reduce_readings(polars.from_pandas(frame).lazy()).collect().to_pandas(),
        "duckdb": lambda frame: reduce_readings(duckdb.from_arrow(pa.Table.from_pandas(frame))).df(),
        "dask": lambda frame: _dask(frame),
    }


def _dask(frame):
    dask = pytest.importorskip("dask.dataframe")
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore", FutureWarning
        )  # narwhals moves its Dask support to a package of its own
        return reduce_readings(dask.from_pandas(frame, npartitions=3)).compute()


@pytest.mark.parametrize("name", ["polars", "polars lazy", "duckdb", "dask"])
def test_engines_agree_with_pandas(name):
    frame = readings()
    ours, theirs = tidy(reduce_readings(frame)), tidy(engines()[name](frame))
    assert len(ours) > 1500
    pd.testing.assert_frame_equal(ours, theirs, check_dtype=False, rtol=1e-9, atol=1e-9)


def test_two_dask_processes_agree_also_where_a_partition_fails_once(tmp_path):
    distributed, dask = pytest.importorskip("distributed"), pytest.importorskip("dask.dataframe")
    frame = readings()
    for i in range(4):  # a partitioned data set; each place and day lies in all of its files
        frame.iloc[i::4].to_parquet(tmp_path / f"part-{i}.parquet")
    failed = tmp_path / "failed"

    def breaks_once(rows):
        if len(rows) and not failed.exists():
            failed.write_text("once")
            raise OSError("the disk is gone")
        return rows

    want = tidy(reduce_readings(frame))
    with (
        distributed.Client(n_workers=2, threads_per_worker=1, dashboard_address=":0") as client,
        warnings.catch_warnings(),
    ):
        warnings.simplefilter("ignore", FutureWarning)  # as above
        assert len({*client.run(os.getpid).values(), os.getpid()}) == 3
        rows = dask.read_parquet(str(tmp_path / "part-*.parquet"))
        fragile = rows.map_partitions(breaks_once, meta=rows)
        sums = client.compute(reduce_readings(fragile), retries=2).result()
    assert failed.exists()
    pd.testing.assert_frame_equal(tidy(sums), want, check_dtype=False, rtol=1e-9, atol=1e-9)


def test_the_sums_are_those_of_a_plain_loop():
    frame = readings(400)
    ours = tidy(reduce_readings(frame))
    for row in ours.itertuples():
        here = frame[
            (frame["vehicle_id"] == row.vehicle_id)
            & (frame["position"] == row.position)
            & (frame["date"] == row.date)
            & (frame["gauge_id"] == row.gauge_id)
            & frame["depth_mm"].notna()
        ]
        assert row.squares_mm2 == pytest.approx(sum(d * d for d in here["depth_mm"]), rel=1e-12)
        assert row.doubtful == sum(bool(d) for d in here["doubt"])
        for groove in GROOVES:
            depths = here.loc[here["groove"] == groove, "depth_mm"].tolist()
            assert getattr(row, f"n_{groove}") == len(depths)
            least = getattr(row, f"least_{groove}_mm")
            assert least == min(depths) if depths else least != least
            assert getattr(row, f"total_{groove}_mm") == pytest.approx(sum(depths), abs=1e-9)
        assert (row.low_km, row.high_km) == (here["odometer_km"].min(), here["odometer_km"].max())


def test_every_reading_with_a_depth_is_counted_once():
    frame = readings()
    ours = reduce_readings(frame)
    assert ours[[f"n_{g}" for g in GROOVES]].to_numpy().sum() == frame["depth_mm"].notna().sum()


def test_partitions_add_up_to_the_whole():
    frame = readings()
    parts = pd.concat([reduce_readings(frame.iloc[i::3]) for i in range(3)])
    rules = dict.fromkeys(SUM_COLUMNS[len(KEYS) :], "sum") | {"low_km": "min", "high_km": "max"}
    rules |= {f"least_{groove}_mm": "min" for groove in GROOVES}
    added = parts.groupby(list(KEYS), as_index=False).agg(rules)[list(SUM_COLUMNS)]
    pd.testing.assert_frame_equal(tidy(added), tidy(reduce_readings(frame)), rtol=1e-9, atol=1e-9)


def test_the_order_of_readings_does_not_matter():
    frame = readings()
    mixed = frame.sample(frac=1.0, random_state=1)
    pd.testing.assert_frame_equal(
        tidy(reduce_readings(mixed)), tidy(reduce_readings(frame)), rtol=1e-9, atol=1e-9
    )


def test_a_log_reduced_from_parquet_where_it_lies_gives_the_same_visits(tmp_path):
    duckdb = pytest.importorskip("duckdb")
    depths = pd.concat(
        [
            read_depths(
                {"outer": [6.0 - v, 6.1 - v], "center": 6.5 - v}, p, f"2025-0{v + 2}-01", 12_000 + 3000 * v
            )
            for v in range(4)
            for p in ("LF", "RF", "LR", "RR")
        ]
    )
    book = make_book(tmp_path / "book", depths)
    readings = book.depths.assign(gauge_id=book.depths["gauge_id"].fillna(""))
    for i in range(3):  # a partitioned data set
        readings.iloc[i::3].to_parquet(tmp_path / f"part-{i}.parquet")
    sums = reduce_readings(duckdb.read_parquet(str(tmp_path / "part-*.parquet"))).df()
    sums = tidy(sums)
    errors = gauge_errors(readings, sums)
    visits = visits_from_sums(sums, errors, book.stretches, book.vehicles)
    pd.testing.assert_frame_equal(
        visits[VISIT_COLUMNS], tire_visits(book), rtol=1e-9, atol=1e-9, check_dtype=False
    )

"""Parts of a data set: same answer as the whole, on one process or two; failed and repeated parts change nothing."""

import os
import signal
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

from tests.driving.engines import HARD, by_hand, small_drive
from tests.driving.recordings import cycle, trips_frame
from tirelife import InputError
from tirelife.driving import Thresholds, reduce_trips, sum_trips, summarize
from tirelife.driving.partitions import cluster, empty_sums, on_dask, parts_of, reduce_part, reduce_parts
from tirelife.driving.wrong import Wrong


@pytest.fixture(scope="module")
def frame():
    return pd.concat(
        [trips_frame(cycle("udds"), cycle("us06"), vehicle=f"V{i}", date="2026-05-04") for i in range(4)]
    )


@pytest.fixture
def folder(frame, tmp_path):
    frame.to_parquet(tmp_path / "trips", partition_cols=["vehicle_id"])
    return tmp_path / "trips"


@pytest.fixture(scope="module")
def client():
    distributed = pytest.importorskip("distributed")
    with distributed.Client(n_workers=2, threads_per_worker=1, dashboard_address=":0") as client:
        yield client


def same(got, want):
    pd.testing.assert_frame_equal(got.trips, want.trips, check_dtype=False, rtol=1e-12)
    pd.testing.assert_frame_equal(got.vehicles, want.vehicles, check_dtype=False, rtol=1e-12)


def test_parts_add_up_to_the_whole(frame, folder, tmp_path):
    told = []
    out = reduce_parts(folder, tmp_path / "sums", progress=lambda done, of: told.append((done, of)))
    same(out, reduce_trips(frame))
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]
    assert sorted(f.name for f in (tmp_path / "sums").glob("*.parquet")) == [
        f"vehicle_id=V{i}.sums.parquet" for i in range(4)
    ]


def test_a_part_that_is_done_is_not_run_again(folder, tmp_path):
    parts = parts_of(folder, tmp_path / "sums")
    times = []
    for _ in range(2):
        reduce_part(parts[0])
        times.append(Path(parts[0].target).stat().st_mtime_ns)
    assert times[0] == times[1]
    other = parts_of(folder, tmp_path / "sums", Thresholds(stop_mps2=1.0))[0]
    reduce_part(other)  # other thresholds: another answer, in the same place
    assert pd.read_parquet(other.target)["hard_stops"].sum() > 0
    changed = Path(parts[0].files[0])
    pd.read_parquet(changed).iloc[:500].to_parquet(changed)
    reduce_part(parts[0])
    assert pd.read_parquet(parts[0].target)["samples"].sum() == 500


def test_a_part_that_is_not_as_it_was_made_is_made_again(frame, folder, tmp_path, monkeypatch):
    want, said = reduce_trips(frame), []
    for spoil in (bytes, lambda data: data[: len(data) // 2], lambda data: data[:200] + b"x" + data[201:]):
        reduce_parts(folder, tmp_path / "sums")
        target = tmp_path / "sums" / "vehicle_id=V1.sums.parquet"
        target.write_bytes(spoil(target.read_bytes()) if spoil is not bytes else b"")
        same(reduce_parts(folder, tmp_path / "sums", tell=said.append), want)
    monkeypatch.setattr("tirelife.logbook.parts.__version__", "0.0.9")
    reduce_parts(folder, tmp_path / "sums", tell=said.append)
    assert [(done.kept, done.made) for done in said] == [(3, 1), (3, 1), (3, 1), (0, 4)]


def test_a_failed_and_a_repeated_part_change_nothing(frame, folder, tmp_path):
    want = reduce_trips(frame)

    def breaks(function, parts):
        for i, part in enumerate(parts):
            if i == 2:
                raise RuntimeError("the machine is gone")
            yield function(part)

    with pytest.raises(RuntimeError):
        reduce_parts(folder, tmp_path / "sums", run=breaks)
    (tmp_path / "sums" / "vehicle_id=V3.sums.parquet").write_bytes(
        b""
    )  # never written so, but it must not count
    (tmp_path / "sums" / "vehicle_id=V3.sums.parquet").unlink()
    same(reduce_parts(folder, tmp_path / "sums"), want)

    def twice(function, parts):
        return [function(part) for part in [*parts, parts[0], parts[0]]][: len(parts)]

    same(reduce_parts(folder, tmp_path / "sums", run=twice), want)
    repeated = sum_trips(frame)
    same(summarize(pd.concat([repeated, repeated.iloc[:3]])), want)


def test_two_dask_workers_are_processes_of_their_own_and_give_the_same(
    frame, folder, tmp_path, client, monkeypatch
):
    pids = {*client.run(os.getpid).values(), os.getpid()}
    assert len(pids) == 3
    want = reduce_trips(frame)
    monkeypatch.chdir(tmp_path)  # the workers stay where they were: paths must not be relative
    same(reduce_parts("trips", "sums", run=on_dask(client)), want)
    same(reduce_parts("trips", "sums", run=on_dask(client)), want)


def test_the_cluster_gives_lags_event_runs_and_sums_under_a_condition_as_by_hand(tmp_path, client):
    drive = small_drive()
    drive.to_parquet(tmp_path / "trips", partition_cols=["vehicle_id"])
    limits = Thresholds(HARD, HARD, 4.0)
    reduce_parts(tmp_path / "trips", tmp_path / "sums", limits, run=on_dask(client))
    sums = pd.read_parquet(tmp_path / "sums").set_index("vehicle_id")
    for vehicle in ("A", "B"):
        for column, value in by_hand(drive, vehicle).items():
            assert sums.loc[vehicle, column] == pytest.approx(value, rel=1e-9, abs=1e-9), column


@pytest.mark.parametrize("way", ["raises", "dies"])
def test_a_part_that_fails_once_on_the_cluster_is_run_again(frame, folder, tmp_path, client, way):
    failed, done = tmp_path / "failed", tmp_path / "done"
    done.mkdir()

    def run(function, parts):
        def fails_once(part):
            if part.target == parts[1].target and not failed.exists():
                failed.write_text("once")
                if way == "dies":
                    os.kill(os.getpid(), signal.SIGKILL)
                raise OSError("the disk is gone")
            out = function(part)
            (done / f"{Path(part.target).name}.{time.monotonic_ns()}").touch()
            return out

        return on_dask(client)(fails_once, parts)

    same(reduce_parts(folder, tmp_path / "sums", run=run), reduce_trips(frame))
    assert failed.exists()
    assert len({file.name.split(".sums")[0] for file in done.iterdir()}) == 4


def test_parts_that_run_twice_at_once_on_the_cluster_change_nothing(frame, folder, tmp_path, client):
    def twice(function, parts):
        runs = list(on_dask(client)(function, [part for part in parts for _ in range(2)]))
        return runs[::2]

    same(reduce_parts(folder, tmp_path / "sums", run=twice), reduce_trips(frame))
    assert len(list((tmp_path / "sums").glob("*"))) == 4 + 1  # and the notes


def test_the_kernel_runs_unchanged_in_a_dask_frame(frame, tmp_path, client):
    import dask.dataframe as dd

    want = reduce_trips(frame)
    for i, (_, part) in enumerate(frame.groupby("vehicle_id")):
        part.to_parquet(tmp_path / f"part{i}.parquet")
    whole = dd.read_parquet(tmp_path / "part*.parquet")
    sums = whole.map_partitions(sum_trips, meta=empty_sums()).compute()
    same(summarize(sums), want)
    # Rows of a trip in several partitions: shuffled together first.
    rows = frame.sample(frac=1, random_state=1)
    scattered = dd.from_pandas(rows.reset_index(drop=True), npartitions=3).assign(
        key=lambda f: f["vehicle_id"] + f["trip_id"]
    )
    sums = scattered.shuffle("key").map_partitions(sum_trips, meta=empty_sums()).compute()
    got = summarize(sums)
    pd.testing.assert_frame_equal(got.vehicles, want.vehicles, check_dtype=False, rtol=1e-12)


def test_files_in_one_folder_are_parts_and_trips_may_not_straddle_them(frame, tmp_path):
    folder = tmp_path / "flat"
    folder.mkdir()
    one = frame[frame["vehicle_id"] == "V1"]
    one.iloc[:700].to_parquet(folder / "a.parquet")
    one.iloc[700:].to_parquet(folder / "b.parquet")
    with pytest.raises(InputError, match="1 trips lie in two parts, such as trip T0 of V1"):
        reduce_parts(folder, tmp_path / "sums")
    same(reduce_trips(folder), reduce_trips(one))  # as a whole, they may


def test_one_worker_needs_no_cluster_and_more_need_dask(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)  # as if it were not installed
    with cluster() as run:
        assert run is None
    for asked in ({"workers": 2}, {"scheduler": "tcp://localhost:1"}):
        with pytest.raises(InputError) as caught, cluster(**asked):
            pass
        assert caught.value.problems[0].code == Wrong.NEEDS_DASK


def test_what_is_there_is_connected_to_and_a_cluster_that_does_not_answer_is_told(monkeypatch):
    class Client:
        def __init__(self, *address, **options):
            asked.append((address, options.get("n_workers")))
            if address == ("tcp://gone:1",):
                raise OSError("refused")

        def __enter__(self):
            return self

        def __exit__(self, *error):
            asked.append("closed")

    asked = []
    monkeypatch.setitem(sys.modules, "distributed", SimpleNamespace(Client=Client))
    with cluster(3) as run:
        assert run is not None
    with cluster(scheduler="tcp://here:1"):
        pass
    assert asked == [((), 3), "closed", (("tcp://here:1",), None), "closed"]
    with pytest.raises(InputError) as caught, cluster(scheduler="tcp://gone:1"):
        pass
    assert caught.value.problems[0].code == Wrong.NO_CLUSTER

"""Trips in many files, reduced part by part on one machine or a cluster; a part may fail, or run twice.

Each part (a file; in a partitioned data set a folder) becomes one small file of sums, named after the
part and written whole or not at all. Parts that are done are not run again unless their files, the
thresholds or the package have changed, or the answer is not as it was written. So an interrupted run goes
on where it stopped, and a repeated part replaces its own answer.

With Dask (``pip install 'tirelife[dask]'``), on two processes of this machine or on a cluster started by
``dask scheduler`` and, on each machine, ``dask worker tcp://SCHEDULER:8786``::

    from distributed import Client
    client = Client(n_workers=2, threads_per_worker=1)   # or Client("tcp://SCHEDULER:8786")
    summary = reduce_parts("trips/", "sums/", run=on_dask(client))

A Dask frame with whole trips in each partition needs no files::

    sums = frame.map_partitions(sum_trips, meta=empty_sums()).compute()
    summary = summarize(sums)

If trips straddle partitions, ``frame.shuffle("trip_id")`` comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pandas as pd

from tirelife.driving.profile import DEFAULT_THRESHOLDS, Thresholds
from tirelife.driving.samples import files_of
from tirelife.driving.sums import SUMS
from tirelife.driving.trips import LABELS, TripSummary, sum_trips, summarize
from tirelife.driving.wrong import Wrong
from tirelife.errors import misused
from tirelife.logbook import PartsDone, is_done, mark_of, write_part

__all__ = ["Part", "empty_sums", "on_dask", "parts_of", "reduce_part", "reduce_parts"]

Run = Callable[[Callable[["Part"], str], list["Part"]], Iterable[str]]


@dataclass(frozen=True)
class Part:
    """Files whose trips are whole among them, and the file that their sums go to."""

    files: tuple[str, ...]
    target: str
    thresholds: Thresholds

    @property
    def mark(self) -> str:
        """What the answer depends on: files' names, sizes and times of change, thresholds, this version."""
        stats = [(name, Path(name).stat()) for name in self.files]
        seen = [[name, s.st_size, s.st_mtime_ns] for name, s in stats]
        return mark_of(what="trips", files=seen, thresholds=asdict(self.thresholds))


def empty_sums() -> pd.DataFrame:
    """An empty frame of sums, as the ``meta`` of Dask's ``map_partitions``."""
    texts = {name: pd.Series(dtype="object") for name in LABELS}
    return pd.DataFrame(texts | {name: pd.Series(dtype="float64") for name in SUMS})


def parts_of(source: str | Path, out: str | Path, thresholds: Thresholds = DEFAULT_THRESHOLDS) -> list[Part]:
    """Parts of a folder of trips, in order of their names.

    A file directly in the folder is a part. Of a partitioned folder (``vehicle_id=V01/...``) each folder with
    files in it is a part, so trips may straddle its files but not two folders. Paths are made absolute, since
    workers may run in another folder.
    """
    root, target = Path(source).absolute(), Path(out).absolute()
    groups: dict[str, list[str]] = {}
    for file in files_of(root):
        home = file if file.parent == root or not root.is_dir() else file.parent
        name = home.relative_to(root).as_posix() if root.is_dir() else home.name
        groups.setdefault(name, []).append(str(file))
    return [
        Part(tuple(files), str(target / f"{quote(name, safe='=')}.sums.parquet"), thresholds)
        for name, files in sorted(groups.items())
    ]


def reduce_part(part: Part) -> str:
    """Sums of one part, written to its target unless they are there already; return the target.

    Needs nothing but the part, so any engine can run it anywhere that sees the files.
    """
    mark, target = part.mark, Path(part.target)
    if is_done(target, mark):
        return part.target
    sums = sum_trips([Path(f) for f in part.files], part.thresholds)
    sums = sums.astype({name: str for name in LABELS} | {name: float for name in SUMS})
    write_part(target, mark, partial(sums.to_parquet, index=False))
    return part.target


def reduce_parts(
    source: str | Path,
    out: str | Path,
    thresholds: Thresholds = DEFAULT_THRESHOLDS,
    *,
    run: Run | None = None,
    progress: Callable[[int, int], None] | None = None,
    tell: Callable[[PartsDone], None] | None = None,
) -> TripSummary:
    """Reduce a folder of trips part by part.

    Parameters
    ----------
    source : path
        Folder of CSV or Parquet files, or a partitioned data set.
    out : path
        Folder for the sums of each part; kept, so that a later run need do only what is new.
    thresholds : Thresholds
    run : callable, optional
        Takes a function and a list of parts and returns the results: the built-in ``map`` by default, a
        pool's ``map``, or :func:`on_dask`.
    progress : callable, optional
        Called with the number of parts done and of all parts.
    tell : callable, optional
        Called at the end with the folder and how many parts were kept and made.

    Returns
    -------
    TripSummary
        The same as :func:`tirelife.driving.reduce_trips` gives for all files at once.

    Raises
    ------
    InputError
        If a trip lies in two parts, or as :func:`tirelife.driving.reduce_trips`.
    """
    parts = parts_of(source, out, thresholds)
    kept = sum(is_done(Path(part.target), part.mark) for part in parts)
    frames = []
    for done, target in enumerate((run or map)(reduce_part, parts), 1):
        frames.append(pd.read_parquet(target).assign(part=Path(target).name))
        if progress:
            progress(done, len(parts))
    if tell:
        tell(PartsDone(Path(out), kept, len(parts) - kept))
    sums = pd.concat(frames, ignore_index=True)
    homes = sums.groupby(["vehicle_id", "trip_id"])["part"].nunique()
    if (homes > 1).any():
        vehicle, trip = homes[homes > 1].index[0]
        raise misused(Wrong.TWO_PARTS, n=int((homes > 1).sum()), trip=trip, vehicle=vehicle)
    return summarize(sums[[*LABELS, *SUMS]], thresholds)


def on_dask(client: Any) -> Run:
    """Run parts on a Dask cluster; a part whose worker is lost is run again elsewhere.

    Parameters
    ----------
    client : distributed.Client
    """

    def run(function: Callable[[Part], str], parts: list[Part]) -> Iterable[str]:
        futures = client.map(function, parts, retries=2, pure=False)
        return (future.result() for future in futures)

    return run


@contextmanager
def cluster(workers: int = 1, scheduler: str | None = None) -> Iterator[Run | None]:
    """Give what runs parts for the length of a block: Dask here or on a cluster; None for one worker.

    Parameters
    ----------
    workers : int
        Dask processes to start on this machine.
    scheduler : str, optional
        Address of a cluster that is there, such as ``tcp://HOST:8786``.

    Raises
    ------
    InputError
        If Dask is not installed, or no cluster answers.
    """
    if workers == 1 and not scheduler:
        yield None
        return
    try:
        import distributed
    except ImportError:
        raise misused(Wrong.NEEDS_DASK) from None
    connect: Any = distributed.Client
    try:
        client = (
            connect(scheduler)
            if scheduler
            else connect(n_workers=workers, threads_per_worker=1, dashboard_address=":0")
        )
    except OSError as error:
        raise misused(Wrong.NO_CLUSTER, scheduler=scheduler, why=str(error)) from None
    with client:
        yield on_dask(client)

"""Forecasts and what-ifs of whole fleets: in chunks of bounded memory, to Parquet, resumable."""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.errors import InputError
from tirelife.logbook import folder_for, whole_file
from tirelife.outlook.forecast import forecast
from tirelife.outlook.pieces import Pieces
from tirelife.outlook.state import REMOVAL_DEPTH_MM
from tirelife.outlook.whatif import Otherwise, what_ifs

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit
    from tirelife.wear import Change

__all__ = ["CHUNK", "forecast_fleet", "what_if_fleet"]

CHUNK: Final = 5_000
"""Vehicles worked on at a time: some 150 MB with 20 tire-visits each."""
_MANIFEST: Final = "_about.json"  # readers of Parquet folders pass over names that begin so
_LOG = logging.getLogger("tirelife")


def forecast_fleet(
    book: Logbook,
    fit: WearFit,
    folder: str | Path,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    chunk: int = CHUNK,
    shape: Callable[[pd.DataFrame], pd.DataFrame] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Path:
    """Forecast a fleet into a folder of Parquet files, one a chunk of vehicles.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    folder : path
        Made if it is not there. Chunks that it already holds of the same logbook, fit, day and settings are
        kept, so a run that was stopped goes on where it was.
    removal_depth_mm : float or Series, by position [mm]
    chunk : int
        Vehicles at a time.
    shape : callable, optional
        Turns each chunk's frame into the one that is written, such as other units.
    progress : callable, optional
        Told the vehicles done and the vehicles in all, after each chunk.

    Returns
    -------
    Path
        The folder; ``pandas.read_parquet`` reads it whole.

    Raises
    ------
    InputError
        If the folder holds another run's files or cannot be written.

    Notes
    -----
    What is learned over vehicles when a forecast is made (spread of grooves, of distances a day, of
    changes) is learned over each chunk's own; at :data:`CHUNK` vehicles that is as good as over all.
    """

    def make(part: Logbook, known: WearFit) -> pd.DataFrame:
        table = forecast(part, known, removal_depth_mm=removal_depth_mm)
        return shape(table) if shape else table

    what = f"forecast {_plain(removal_depth_mm)!r}"
    return _in_chunks(book, fit, Path(folder), what, make, chunk, progress)


def what_if_fleet(
    book: Logbook,
    fit: WearFit,
    changes: Sequence[Otherwise | Change],
    folder: str | Path,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    chunk: int = CHUNK,
    shape: Callable[[pd.DataFrame], pd.DataFrame] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Path:
    """What changes would buy a whole fleet, into a folder of Parquet files; see :func:`forecast_fleet`."""

    def make(part: Logbook, known: WearFit) -> pd.DataFrame:
        table = what_ifs(part, known, changes, None, removal_depth_mm)
        return shape(table) if shape else table

    what = f"what if {_plain(removal_depth_mm)!r} {list(changes)!r}"
    return _in_chunks(book, fit, Path(folder), what, make, chunk, progress)


def _plain(depth_mm: float | pd.Series) -> object:
    return depth_mm.to_dict() if isinstance(depth_mm, pd.Series) else depth_mm


def _in_chunks(
    book: Logbook,
    fit: WearFit,
    folder: Path,
    what: str,
    make: Callable[[Logbook, WearFit], pd.DataFrame],
    chunk: int,
    progress: Callable[[int, int], None] | None,
) -> Path:
    total = len(book.vehicles)
    about = {"what": what, "as_of": f"{book.as_of:%Y-%m-%d}", "vehicles": total, "chunk": chunk}
    about["of"] = _mark(book, fit)
    _claim(folder, about)
    pieces = Pieces(book, fit, chunk)
    for i in range(len(pieces)):
        file = folder / f"part-{i:05d}.parquet"
        if not file.exists():
            table = make(*pieces[i])
            with whole_file(file) as unfinished:
                table.to_parquet(unfinished, index=False)
        done = min((i + 1) * chunk, total)
        _LOG.info("%d of %d vehicles", done, total)
        if progress:
            progress(done, total)
    return folder


def _claim(folder: Path, about: dict[str, object]) -> None:
    """Make the folder ours, or find that it is: nobody else's files are written over."""
    try:
        with folder_for(folder):
            held = list(folder.iterdir())
            manifest = folder / _MANIFEST
            if manifest.exists():
                if json.loads(manifest.read_text(encoding="utf-8")) != about:
                    raise InputError(f"{folder}: holds the files of another run. Choose an empty folder.")
            elif held:
                raise InputError(f"{folder}: is not empty. Choose an empty folder.")
            else:
                with whole_file(manifest) as part:
                    part.write_text(json.dumps(about, indent=1), encoding="utf-8")
    except (OSError, json.JSONDecodeError) as error:
        raise InputError(f"{folder}: cannot be used ({error}). Choose another folder.") from None


def _mark(book: Logbook, fit: WearFit) -> str:
    """Digest of what the answer rests on."""
    digest = hashlib.sha256()
    for table in (*book.tables.values(), fit.tires.drop(columns=["reason"])):
        digest.update(str(list(table.columns)).encode())
        if len(table):
            digest.update(pd.util.hash_pandas_object(table, index=False).to_numpy().tobytes())
    return digest.hexdigest()[:16]

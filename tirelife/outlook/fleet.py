"""Forecasts and what-ifs of whole fleets: in chunks of bounded memory, to Parquet, resumable."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.logbook import PartsDone, claim_folder, content_digest, is_done, mark_of, write_part
from tirelife.outlook.forecasts import forecast
from tirelife.outlook.notes import plain_notes
from tirelife.outlook.pieces import Pieces
from tirelife.outlook.state import REMOVAL_DEPTH_MM
from tirelife.outlook.whatif import Otherwise, what_ifs

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit
    from tirelife.wear import Change

__all__ = ["CHUNK", "forecast_fleet", "what_if_fleet"]

CHUNK: Final = 10_000
"""Vehicles worked on at a time: some 300 MB with 20 tire-visits each."""
_LOG = logging.getLogger("tirelife")


def forecast_fleet(
    book: Logbook,
    fit: WearFit,
    folder: str | Path,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    chunk: int = CHUNK,
    shape: Callable[[pd.DataFrame, Logbook, WearFit], pd.DataFrame] | None = None,
    shaped: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> PartsDone:
    """Forecast a fleet into a folder of Parquet files, one a chunk of vehicles.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    folder : path
        Made if it is not there. Chunks that it already holds whole, made by this version of the package of
        the same logbook, fit, day and settings, are kept, so a run that was stopped goes on where it was.
    removal_depth_mm : float or Series, by position [mm]
    chunk : int
        Vehicles at a time.
    shape : callable, optional
        Turns each chunk's frame, with the chunk's own logbook and fit, into the one that is written, such as
        in other units.
    shaped : str
        What ``shape`` adds beyond what the logbook says: one of the settings.
    progress : callable, optional
        Told the vehicles done and the vehicles in all, after each chunk.

    Returns
    -------
    PartsDone
        Stands for the folder, which ``pandas.read_parquet`` reads whole; how many parts were kept and made.

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
        return shape(table, part, known) if shape else plain_notes(table)

    what = f"forecast {_plain(removal_depth_mm)!r} {shaped}".rstrip()
    return _in_chunks(book, fit, Path(folder), what, make, chunk, progress)


def what_if_fleet(
    book: Logbook,
    fit: WearFit,
    changes: Sequence[Otherwise | Change],
    folder: str | Path,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    chunk: int = CHUNK,
    shape: Callable[[pd.DataFrame, Logbook, WearFit], pd.DataFrame] | None = None,
    shaped: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> PartsDone:
    """What changes would buy a whole fleet, into a folder of Parquet files; see :func:`forecast_fleet`."""

    def make(part: Logbook, known: WearFit) -> pd.DataFrame:
        table = what_ifs(part, known, changes, None, removal_depth_mm)
        return shape(table, part, known) if shape else table

    what = f"what if {_plain(removal_depth_mm)!r} {list(changes)!r} {shaped}".rstrip()
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
) -> PartsDone:
    total = len(book.vehicles)
    same = {"what": what, "as_of": f"{book.as_of:%Y-%m-%d}", "vehicles": total, "chunk": chunk}
    same["logbook"] = content_digest(book.tables.values())
    of = content_digest(fit.frames.values()) + repr((fit.q, fit.prior, fit.posterior))
    mark = mark_of(**same, fit=hashlib.sha256(of.encode()).hexdigest()[:32])
    claim_folder(folder, same)
    pieces = Pieces(book, fit, chunk)
    made = 0
    for i in range(len(pieces)):
        file = folder / f"part-{i:05d}.parquet"
        if not is_done(file, mark):
            table = make(*pieces[i])
            write_part(file, mark, partial(table.to_parquet, index=False))
            made += 1
        done = min((i + 1) * chunk, total)
        _LOG.info("%d of %d vehicles", done, total)
        if progress:
            progress(done, total)
    return PartsDone(folder, len(pieces) - made, made)

"""A million vehicles, 66 million tire-visits: fitted in pieces on one prior and forecast in chunks, by two processes.

No table of the whole is ever in memory. The first piece is fitted on what is published, every other on what the first
taught (``WearFit.posterior``), which is how a fleet too large for one logbook is worked (DEVELOPERS.md, Scale).
Tables lie as Parquet beforehand; reading them counts as part of the fit. Forecasts are of as many tires, copies of a
simulated fleet with its fit, as in the benchmark ``forecast``; making the copies does not count.
"""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Callable, Sequence
from multiprocessing import get_context
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd

from tests.benchmarks.fit import large_logbook
from tests.benchmarks.forecast import _copies, _memory
from tests.fleets import PLAIN, simulate
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast_fleet
from tirelife.rates import PUBLISHED, fit_logbook, fit_rates, load_prior, save_prior

PIECE = 50_000
"""Vehicles that are fitted together."""
PIECES = 20
COPIES = 1_250
"""Of a simulated fleet of 40 vehicles, forecast at a time: as many as a piece has."""
TABLES = ("visits", "tires", "vehicles")
PROCESSES = 2


class Took(NamedTuple):
    """What one piece took."""

    begun: float  # s since the epoch
    ended: float
    cpu: float
    peak_gb: float
    rows: int
    lines: dict[str, float]  # log wear of each line's tires


def _write(folder: Path, piece: int) -> None:
    for name, table in zip(TABLES, large_logbook(PIECE, piece=piece), strict=True):
        table.to_parquet(folder / f"{name}-{piece}.parquet")


def _timed(work: Callable[[], tuple[int, dict[str, float]]]) -> Took:
    Path("/proc/self/clear_refs").write_text("5")  # the peak starts from here
    begun, busy = time.time(), time.process_time()
    rows, lines = work()
    return Took(begun, time.time(), time.process_time() - busy, _memory("VmHWM"), rows, lines)


def fit_piece(task: tuple[Path, int]) -> Took:
    """Fit one piece: the first on what is published, and saved; others on that."""
    folder, piece = task
    saved = folder / "first.json"

    def work() -> tuple[int, dict[str, float]]:
        tables = [pd.read_parquet(folder / f"{name}-{piece}.parquet") for name in TABLES]
        fit = fit_rates(*tables, prior=load_prior(saved) if piece else PUBLISHED)
        if not piece:
            save_prior(fit, saved)
        wear = fit.posterior.log_rate.mean
        return len(tables[0]), {name: wear + line.mean for name, line in fit.posterior.lines.items()}

    return _timed(work)


def forecast_piece(task: tuple[Path, int]) -> Took:
    """Forecast as many tires as a piece has, in chunks to Parquet."""
    folder, piece = task
    book = read_logbook(folder / "fleet")
    big, fit = _copies(book, fit_logbook(book), COPIES)
    _ = big.stretches, big.odometer  # as the fit leaves a logbook
    shutil.rmtree(folder / f"forecast-{piece}", ignore_errors=True)  # of the small run

    def work() -> tuple[int, dict[str, float]]:
        forecast_fleet(big, fit, folder / f"forecast-{piece}")
        return len(big.tires), {}

    return _timed(work)


def run(pieces: int = PIECES) -> list[dict[str, object]]:
    """The whole, and before it the same for two pieces, in one session."""
    rows: list[dict[str, object]] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        simulate(folder / "fleet", PLAIN["well"], 7)
        for piece in range(pieces):
            _write(folder, piece)
        small: dict[str, float] = {}
        for count in (2, pieces):
            first = _each(fit_piece, folder, [0])
            others = _each(fit_piece, folder, range(1, count))
            ahead = _each(forecast_piece, folder, range(count))
            apart = pd.DataFrame([took.lines for took in (*first, *others)]).std()
            each = f"{PROCESSES} processes, {PIECE:,} vehicles a piece"
            told = f"; the tires of one line differ between pieces by {100 * apart.mean():.2f} % (standard deviation)"
            rows += [
                _row("fit", [*first, *others], count, small, 600, each + told),
                _row(
                    "forecast with ranges and dates",
                    ahead,
                    count,
                    small,
                    300,
                    f"{each}; copies of 40 vehicles",
                ),
            ]
    return rows


def _each(work: Callable[[Any], Took], folder: Path, pieces: Sequence[int]) -> list[Took]:
    with get_context("spawn").Pool(PROCESSES) as pool:
        return pool.map(work, [(folder, piece) for piece in pieces], chunksize=1)


def _row(
    what: str, took: list[Took], pieces: int, small: dict[str, float], most: float, note: str
) -> dict[str, object]:
    """One row: of the fit the time that at least one process was at work, of forecasts, between which copies are made,
    the time that both processes need for all.
    """
    busy, end = 0.0, 0.0
    for begun, ended in sorted((one.begun, one.ended) for one in took):
        busy += max(ended - max(begun, end), 0.0)
        end = max(end, ended)
    if what != "fit":
        busy = sum(one.ended - one.begun for one in took) / PROCESSES
    cpu, peak = sum(one.cpu for one in took), sorted(one.peak_gb for one in took)[-PROCESSES:]
    rows = sum(one.rows for one in took)
    against = f"target {most:.0f} s and 12 GB"
    if what in small:
        against += f"; {cpu / small[what] / (pieces / 2):.2f} times the processor time of 100,000 a vehicle (0.9 to 1.1)"
    small.setdefault(what, cpu)
    unit = "tire-visits" if what == "fit" else "tires"
    return {
        "name": f"{what}, {pieces * PIECE:,} vehicles, {rows:,} {unit}",
        "figure": round(busy, 1), "unit": "s", "against": against,
        "note": f"{cpu:.0f} s of processor time, {sum(peak):.1f} GB at most; {note}",
    }  # fmt: skip

"""Forecasts from joint draws, and the fit with factors, side by side with those before them, in one run.

    python -m tests.benchmarks.before [COPIES OF A FLEET OF 40 VEHICLES] [TURNS]

The older commit stands in a tree of its own; each works in a process of its own, in turns, and the quickest of each
counts. Processor time is compared: the clock of a machine that others use says little.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
BEFORE = "dfa58bc"  # the last commit whose forecasts were worked out by formula, one tire at a time
COPIES = 2_500
TURNS = 3
LIMIT = 1.5
_SAYS = """
import resource, sys, time
from pathlib import Path
from tests.benchmarks.forecast import _copies
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast
from tirelife.rates import fit_logbook
book = read_logbook(Path(sys.argv[1]))
fit = fit_logbook(book)
big, big_fit = _copies(book, fit, int(sys.argv[2]))
_ = big.stretches, big.odometer
begun, worked = time.perf_counter(), time.process_time()
{step}
took = time.perf_counter() - begun, time.process_time() - worked
print(count, *took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""
_FORECAST = _SAYS.format(step="count = len(forecast(big, big_fit))")
_FIT = _SAYS.format(step="fit_logbook(big); count = len(big.vehicles)")


class _Took(NamedTuple):
    """Quickest by the clock and by the processor, and most memory, of what stood before and of what stands now."""

    count: int
    clock: tuple[float, float]
    work: tuple[float, float]
    gigabytes: tuple[float, float]

    def row(self, what: str, of: str, limit: float, turns: int) -> dict[str, object]:
        (was, now), (idle, busy), (less, more) = self.work, self.clock, self.gigabytes
        note = f"processor time {now:.1f} s after {was:.1f} s; {busy:.1f} s after {idle:.1f} s by the clock; best of "
        note += f"{turns} in turns; memory with all that was made for it {more:.1f} GB after {less:.1f} GB"
        return _row(f"{what}, {self.count:,} {of}", now / was, f"at most {limit:g}", note)


def run(copies: int = COPIES, turns: int = TURNS) -> list[dict[str, object]]:
    """Forecast 400,000 tires, and fit 100,000 vehicles; then the small size."""
    return [*_forecast(copies, turns), *_fit(copies * 40 // 800, turns), *small()]


def small() -> list[dict[str, object]]:
    """Forecast 32,000 tires; fit 800 vehicles, where spreads come from 500 of them, as in a fleet of any size."""
    return [*_forecast(200, TURNS), *_fit(1, TURNS)]


def _forecast(copies: int, turns: int) -> list[dict[str, object]]:
    took = _side_by_side(_FORECAST, 40, copies, turns)
    return _rows(took, "forecast from joint draws over the one before", "tires", LIMIT, turns)


def _fit(copies: int, turns: int) -> list[dict[str, object]]:
    took = _side_by_side(_FIT, 800, copies, turns)
    return _rows(took, "full fit over the one before", "vehicles", 1.0, turns)


def _rows(took: _Took | None, what: str, of: str, limit: float, turns: int) -> list[dict[str, object]]:
    if took is None:
        return [_row(what, float("nan"), "", "not in this history")]
    return [took.row(what, of, limit, turns)]


def _side_by_side(code: str, vehicles: int, copies: int, turns: int) -> _Took | None:
    """Time both in turns on copies of a fleet; None where the history does not have the older commit."""
    from tests.fleets import PLAIN, simulate

    with tempfile.TemporaryDirectory() as name:
        log, tree = Path(name) / "log", Path(name) / "tree"
        simulate(log, replace(PLAIN["well"], vehicles=vehicles), 7)
        if not _older(tree):
            return None
        said: dict[Path, list[list[float]]] = {tree: [], ROOT: []}
        for _ in range(turns):
            for place, all_said in said.items():
                done = subprocess.run(
                    [sys.executable, "-c", code, str(log), str(copies)],
                    cwd=place, env={**os.environ, "PYTHONPATH": str(place)}, capture_output=True, text=True, check=True,
                )  # fmt: skip
                all_said.append([float(word) for word in done.stdout.split()])
        (count, *was), (_, *now) = (
            [min(one) for one in zip(*all_said, strict=True)] for all_said in said.values()
        )
        return _Took(
            int(count),
            *((a, b) for a, b in zip(was[:2], now[:2], strict=True)),
            (was[2] / 2**20, now[2] / 2**20),
        )


def _older(tree: Path) -> bool:
    """Put the older commit into a folder; False where the history does not have it."""
    packed = subprocess.run(["git", "archive", BEFORE, "tirelife", "tests"], cwd=ROOT, capture_output=True)
    if packed.returncode:
        return False
    tree.mkdir()
    subprocess.run(["tar", "-x", "-C", str(tree)], input=packed.stdout, check=True)
    return True


def _row(name: str, figure: float, against: str, note: str) -> dict[str, object]:
    return {"name": name, "figure": round(figure, 2), "unit": "times", "against": against, "note": note}


if __name__ == "__main__":
    print(run(*(int(arg) for arg in sys.argv[1:3])))

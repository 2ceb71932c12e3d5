"""Forecasts from joint draws side by side with those before them, in one run: the older commit in a tree of its own.

python -m tests.benchmarks.before [COPIES OF A FLEET OF 40 VEHICLES]
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).parents[2]
BEFORE = "dfa58bc"  # the last commit whose forecasts were worked out by formula, one tire at a time
COPIES = 2_500
TURNS = 3
LIMIT = 1.5
_CODE = """
import sys, time
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
table = forecast(big, big_fit)
print(len(table), time.perf_counter() - begun, time.process_time() - worked)
"""

_FIT = """
import sys, time
from pathlib import Path
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook
took = []
for _ in range(2):
    book = read_logbook(Path(sys.argv[1]))
    _ = book.stretches, book.odometer
    begun = time.process_time()
    fit_logbook(book)
    took.append(time.process_time() - begun)
print(min(took))
"""


def small() -> list[dict[str, object]]:
    """Time the whole fit of 800 vehicles, where spreads come from 500 of them, as they do in a fleet of any size."""
    from tests.fleets import PLAIN, simulate

    name = "full fit over the one before, 800 vehicles"
    with tempfile.TemporaryDirectory() as folder:
        log, tree = Path(folder) / "log", Path(folder) / "tree"
        simulate(log, replace(PLAIN["well"], vehicles=800), 7)
        if not _older(tree):
            return [_row(name, float("nan"), "", "not in this history")]
        was, now = (
            float(
                subprocess.run(
                    [sys.executable, "-c", _FIT, str(log)],
                    cwd=place, env={**os.environ, "PYTHONPATH": str(place)}, capture_output=True, text=True, check=True,
                ).stdout
            )
            for place in (tree, ROOT)
        )  # fmt: skip
    note = f"processor time {now:.1f} s after {was:.1f} s, best of 2; factors of causes are learned now, and were not"
    return [_row(name, now / was, "at most 1", note)]


def _older(tree: Path) -> bool:
    """Put the older commit into a folder; False where the history does not have it."""
    packed = subprocess.run(["git", "archive", BEFORE, "tirelife", "tests"], cwd=ROOT, capture_output=True)
    if packed.returncode:
        return False
    tree.mkdir()
    subprocess.run(["tar", "-x", "-C", str(tree)], input=packed.stdout, check=True)
    return True


def run(copies: int = COPIES) -> list[dict[str, object]]:
    """Time both in turns, each in a process of its own; the quickest of each counts."""
    from tests.fleets import PLAIN, simulate

    with tempfile.TemporaryDirectory() as name:
        log, tree = Path(name) / "log", Path(name) / "tree"
        simulate(log, PLAIN["well"], 7)
        if not _older(tree):
            return [
                _row("forecast from joint draws over the one before", float("nan"), "", "not in this history")
            ]
        took: dict[str, list[tuple[float, float]]] = {"before": [], "now": []}
        tires = 0
        for _ in range(TURNS):
            for kind, place in (("before", tree), ("now", ROOT)):
                said = subprocess.run(
                    [sys.executable, "-c", _CODE, str(log), str(copies)],
                    cwd=place, env={**os.environ, "PYTHONPATH": str(place)}, capture_output=True, text=True, check=True,
                ).stdout.split()  # fmt: skip
                tires = int(said[0])
                took[kind].append((float(said[1]), float(said[2])))
    (was, was_work), (now, now_work) = (
        tuple(map(min, zip(*took[k], strict=True))) for k in ("before", "now")
    )
    note = f"{tires:,} tires: {now:.1f} s after {was:.1f} s; best of {TURNS} in turns; processor time {now_work:.1f} s"
    note += f" after {was_work:.1f} s"
    row = _row("forecast from joint draws over the one before", now / was, f"at most {LIMIT:g}", note)
    return [row, *small()]


def _row(name: str, figure: float, against: str, note: str) -> dict[str, object]:
    return {"name": name, "figure": round(figure, 2), "unit": "times", "against": against, "note": note}


if __name__ == "__main__":
    print(run(*(int(arg) for arg in sys.argv[1:2])))

"""Forecasts from joint draws side by side with those before them, in one run: the older commit in a tree of its own.

python -m tests.benchmarks.before [COPIES OF A FLEET OF 40 VEHICLES]
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
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


def run(copies: int = COPIES) -> list[dict[str, object]]:
    """Time both in turns, each in a process of its own; the quickest of each counts."""
    from tests.fleets import PLAIN, simulate

    with tempfile.TemporaryDirectory() as name:
        log, tree = Path(name) / "log", Path(name) / "tree"
        simulate(log, PLAIN["well"], 7)
        packed = subprocess.run(
            ["git", "archive", BEFORE, "tirelife", "tests"], cwd=ROOT, capture_output=True
        )
        if packed.returncode:
            return [
                _row("forecast from joint draws over the one before", float("nan"), "", "not in this history")
            ]
        tree.mkdir()
        subprocess.run(["tar", "-x", "-C", str(tree)], input=packed.stdout, check=True)
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
    return [_row("forecast from joint draws over the one before", now / was, f"at most {LIMIT:g}", note)]


def _row(name: str, figure: float, against: str, note: str) -> dict[str, object]:
    return {"name": name, "figure": round(figure, 2), "unit": "times", "against": against, "note": note}


if __name__ == "__main__":
    print(run(*(int(arg) for arg in sys.argv[1:2])))

"""How long it takes to start: the command line's help, and what importing the package loads."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time


def seconds(*words: str, runs: int = 7) -> float:
    """Median wall time of a Python process, after one run that is not counted."""
    times = []
    for _ in range(runs + 1):
        begun = time.perf_counter()
        subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - begun)
    return statistics.median(times[1:])


def run() -> list[dict[str, object]]:
    bare = seconds("-c", "pass")
    rows = []
    for name, words in {
        "tirelife --help": ("-m", "tirelife", "--help"),
        "import tirelife": ("-c", "import tirelife"),
    }.items():
        took = seconds(*words)
        rows.append(
            {
                "name": name,
                "figure": round(took, 3),
                "unit": "s",
                "against": f"bare Python {bare:.3f} s",
                "note": f"target 1.5 x bare + 0.15 = {1.5 * bare + 0.15:.3f} s",
            }
        )
    return rows


small = run

"""How cost and memory grow: the demo fleet 1, 10 and 100 times over, checked and forecast from the command line."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"


def copies(folder: Path, times: int) -> None:
    """Write the demo logbook ``times`` over as Parquet, each copy's vehicles and tires under names of their own."""
    folder.mkdir()
    for path in DEMO.glob("*.csv"):
        table = pd.read_csv(path, dtype=str, keep_default_na=False)
        parts = []
        for number in range(times if path.stem != "gauges" else 1):
            part = table.copy()
            for column in ("vehicle_id", "tire_id"):
                if column in part:
                    part[column] = part[column] + f"-{number}"
            parts.append(part)
        pd.concat(parts, ignore_index=True).to_parquet(folder / f"{path.stem}.parquet")


LAUNCH = """
import os, subprocess, sys, time
begun = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
_, status, usage = os.wait4(process.pid, 0)
print(time.perf_counter() - begun, usage.ru_maxrss / 1024, os.waitstatus_to_exitcode(status))
"""


def measure(*words: str) -> tuple[float, float]:
    """Wall seconds and peak resident MB of one command.

    A small process starts it, since the peak of a process begins at that of the one that started it.
    """
    command = [sys.executable, "-S", "-c", LAUNCH, sys.executable, "-m", "tirelife", *words]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    took, peak, code = done.stdout.split()
    if code != "0":
        raise RuntimeError(f"tirelife {' '.join(words)} ended with {code}")
    return float(took), float(peak)


def small() -> list[dict[str, object]]:
    return run((1, 10))


def run(sizes: Sequence[int] = (1, 10, 100)) -> list[dict[str, object]]:
    rows = []
    with tempfile.TemporaryDirectory() as place:
        for times in sizes:
            folder = Path(place) / f"x{times}"
            copies(folder, times)
            for name, words in {
                "check": ("check", str(folder)),
                "forecast": ("forecast", str(folder), "--out", str(Path(place) / "forecast.parquet")),
            }.items():
                took, peak = measure(*words)
                rows.append(
                    {
                        "name": f"{name}, demo fleet x {times}",
                        "figure": round(took, 2),
                        "unit": "s",
                        "against": "",
                        "note": f"{24 * times:,} vehicles, peak {peak:,.0f} MB",
                    }
                )
    return rows

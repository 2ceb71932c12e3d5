"""The owner's page of a thousand vehicles: time after the fit, and size."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from tests.benchmarks.forecast import _copies
from tests.fleets import PLAIN, simulate
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook
from tirelife.sheet.fleet import fleet_answer
from tirelife.sheet.fleet_page import compose_fleet

COPIES = 25
"""Of a simulated fleet of 40 vehicles."""


def run() -> list[dict[str, object]]:
    with tempfile.TemporaryDirectory() as folder:
        simulate(Path(folder), PLAIN["well"], 7)
        book = read_logbook(folder)
        big, fit = _copies(book, fit_logbook(book), COPIES)
        begun = time.perf_counter()
        answer = fleet_answer(big, fit)
        gathered = time.perf_counter() - begun
        page = compose_fleet(answer)
        took = time.perf_counter() - begun
    size = f"{len(answer.vehicles):,} vehicles, after the fit"
    return [
        {"name": "owner's page", "figure": round(took, 1), "unit": "s", "against": "target 30 s",
         "note": f"{size}; {gathered:.1f} s to gather"},
        {"name": "owner's page", "figure": round(len(page.encode()) / 1e6, 2), "unit": "MB", "against": "target 5 MB",
         "note": size},
    ]  # fmt: skip

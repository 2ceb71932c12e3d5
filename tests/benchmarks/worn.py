"""Whether a reading at the limit at a newest visit is ever passed over: 2,000 simulated tires and the demo's.

Every command over a fleet is asked of every vehicle with such a reading, those on one vehicle and the page, read
back in a browser, of some of each log.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import numpy as np

from tests import worn
from tests.browser.conftest import CHROMIUM
from tests.fleets import WELL, simulate, smaller
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook

LOGS, CARS, EACH = 10, 50, 2


def run():
    fleet, single, pages, n, cars, looked = [], [], [], 0, 0, 0
    with _browser() as browser:
        for log in range(-1, LOGS):
            with tempfile.TemporaryDirectory() as temporary:
                folder = Path(temporary) / "book"
                if log < 0:
                    shutil.copytree("data_synthetic/logbook", folder)
                else:
                    folder.mkdir()
                    simulate(folder, smaller(WELL, CARS), seed=61 + log)
                head = (folder / "depths.csv").read_text(encoding="utf-8").split("\n", 1)[0]
                limit = 2.0 if "depth_32nds" in head else 2 * 25.4 / 32
                hit = worn.plant(folder, np.random.default_rng(61 + log), 1.0, limit)
                book = read_logbook(folder)
                fit = fit_logbook(book)
                some = dict(list(hit.items())[:EACH])
                n, cars, looked = (
                    n + 4 * book.vehicles["vehicle_id"].nunique(),
                    cars + len(hit),
                    looked + len(some),
                )
                fleet += worn.silent(book, fit, hit)
                single += worn.silent_one_by_one(book, fit, some)
                if browser is not None:
                    pages += worn.silent_pages(browser, book, fit, some, Path(temporary))
            print(f"log {log}: {cars} cars, {len(fleet)} {len(single)} {len(pages)}", flush=True)
    note = (
        f"{n:,} tires of the demo and {LOGS} simulated logs; one reading at or under the limit on {cars} cars"
    )
    return [
        _row("forecast and whatif silent on a reading at the limit", fleet, note),
        _row("tread, rotate and replace silent on it", single, f"{looked} of those cars"),
        _row(
            "pages silent on it, read back in a browser",
            pages if CHROMIUM else None,
            f"{looked} of those cars",
        ),
    ]


def _row(name, said, note):
    figure = None if said is None else len(said)
    return {"name": name, "figure": figure, "unit": "answers", "against": "0",
            "note": note + (f"; such as {said[0]}" if said else "")}  # fmt: skip


class _browser:
    def __enter__(self):
        self.run = None
        if not CHROMIUM:
            return None
        from playwright.sync_api import sync_playwright

        self.run = sync_playwright().start()
        return self.run.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])

    def __exit__(self, *_):
        if self.run is not None:
            self.run.stop()

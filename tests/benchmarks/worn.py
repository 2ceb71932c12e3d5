"""Whether a reading at the limit at a newest visit is ever passed over: 2,000 simulated tires and the demo's.

Every command, over a fleet or on one vehicle, a walk-in with that visit's depths, and the page, read back in a browser,
are asked of every vehicle with such a reading. A log is fitted once; logs are small, since much of what a command on
one vehicle costs goes with the log. A part of the logs alone: ``TIRELIFE_WORN=FIRST:LAST``, -1 being the demo.
"""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import tempfile
from pathlib import Path

import numpy as np

from tests import worn
from tests.browser.conftest import CHROMIUM
from tests.fleets import WELL, simulate, smaller
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook

LOGS, CARS = 50, 10
PAGES = "pages, read back in a browser,"
SAID = ("forecast and whatif", "tread, rotate and replace", "whatif of one vehicle", "walkin", PAGES)


def run():
    first, last = (int(word) for word in os.environ.get("TIRELIFE_WORN", f"-1:{LOGS}").split(":"))
    silent = {name: [] for name in SAID}
    tires, cars = 0, 0
    with _browser() as browser:
        for log in range(first, last):
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
                tires, cars = tires + 4 * book.vehicles["vehicle_id"].nunique(), cars + len(hit)
                silent["forecast and whatif"] += worn.silent(book, fit, hit)
                silent["tread, rotate and replace"] += worn.silent_one_by_one(book, fit, hit)
                silent["whatif of one vehicle"] += worn.silent_whatif(book, fit, hit)
                silent["walkin"] += worn.silent_walkins(folder, hit)
                if browser is not None:
                    with contextlib.redirect_stderr(io.StringIO()), contextlib.redirect_stdout(io.StringIO()):
                        silent[PAGES] += worn.silent_pages(browser, book, fit, hit, Path(temporary))
            print(f"log {log}: {tires} {cars} {[len(said) for said in silent.values()]}", flush=True)
    note = f"logs {first} to {last - 1}: {tires:,} tires, one reading at or under the limit on {cars} cars, all asked"
    return [
        _row(f"{name} silent on a reading at the limit", said if name != PAGES or CHROMIUM else None, note)
        for name, said in silent.items()
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

"""Run every command once over one logbook, and write what each said: what ``tests/test_contract_commands.py`` compares.

``python -m tests.contract_commands LOGBOOK OUT.json [COMMAND ...]`` runs them in one process, with warnings as errors.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import shutil
import sys
import tempfile
import warnings
from pathlib import Path

from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.logbook import convert_logbook

DATA = Path(__file__).parents[1] / "data_synthetic"
COMMANDS: dict[str, list[str]] = {
    "sheet": ["{book}", "--vehicle", "V03", "--out", "{out}/page.html"],
    "walkin": [
        "--units",
        "{units}",
        "--depths",
        "{d5}",
        "{d5}",
        "{d6}",
        "{d6}",
        "--as-of",
        "2026-06-30",
        "--json",
    ],
    "record": ["{store}", "--vehicle", "V03", "--date", "2026-12-01", "--odometer", "200000", "--yes"],
    "forecast": ["{book}", "--json"],
    "fleet": ["{book}", "--out", "{out}/fleet.html", "--lists", "{out}/lists"],
    "tread": ["{book}", "--vehicle", "V03", "--json"],
    "rotate": ["{book}", "--vehicle", "V03", "--interval", "{every}", "--json"],
    "import": ["{sheet}", "--out", "{out}/made"],
    "template": ["{out}/sheet.csv"],
    "check": ["{book}", "--json"],
    "replace": ["{book}", "--vehicle", "V03", "--over", "{over}", "--json"],
    "pressures": ["{book}", "--json"],
    "whatif": ["{book}", "--stops", "0.8", "--json"],
    "counter": ["{book}", "--out", "{out}/counter.html"],
    "align": ["--axle", "rear", "--unit", "{unit}", "--distances", "{front}", "{rear}", "--json"],
    "convert": ["{book}", "{out}/copy.sqlite"],
    "audit": ["{store}", "--json"],
    "fit": ["{book}", "--json"],
    "backtest": ["{book}", "--origins", "1", "--json"],
    "groups": ["{book}", "--min-vehicles", "2", "--interval", "{every}", "--json"],
    "trips": ["{data}/trips.csv", "--json"],
}
"""Arguments as people type them; the copy of the logbook as one file is ``{store}``."""
IN_UNITS = {
    "us": {"units": "us", "d5": "5", "d6": "6", "every": "5000", "over": "50000", "unit": "in", "front": "58.98", "rear": "59.11"},
    "metric": {"units": "metric", "d5": "3.96875", "d6": "4.7625", "every": "8046.72", "over": "80467.2", "unit": "mm",
               "front": "1498.092", "rear": "1501.394"},
}  # fmt: skip
"""The same arguments in the units of a logbook: 5/32 and 6/32, 5,000 and 50,000 miles, inches."""
NO_LOGBOOK = ("walkin", "align", "import", "template", "trips")
"""Those that ask no logbook."""


def run(book: Path, names: list[str] | None = None, units: str = "us") -> dict[str, dict[str, object]]:
    """Exit code, what was said and printed, and whether the logbook is as it was, of each command."""
    told: dict[str, dict[str, object]] = {}
    with tempfile.TemporaryDirectory() as top:
        os.environ["XDG_CACHE_HOME"] = top
        store, sheet = Path(top) / "book.sqlite", Path(top) / "shop.csv"
        rows = (DATA / "shop.csv").read_text(encoding="utf-8").splitlines(keepends=True)
        sheet.write_text("".join(rows[:12]), encoding="utf-8")
        with contextlib.suppress(InputError):
            convert_logbook(book, store)
        before = _digest(book)
        for name in COMMANDS if names is None else names:
            out = Path(top) / f"out {name}"
            out.mkdir()
            own = out / "book.sqlite"
            if store.exists():
                shutil.copyfile(store, own)
            places = {"book": book, "store": own, "out": out, "data": DATA, "sheet": sheet, **IN_UNITS[units]}
            told[name] = _one([name, *(word.format(**places) for word in COMMANDS[name])])
            told[name]["kept"] = _digest(book) == before
            told[name]["made"] = sorted(p.name for p in out.iterdir() if p.is_file() and p != own)
    return told


def _one(words: list[str]) -> dict[str, object]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            code = main(words)
        except SystemExit as stop:
            code = int(stop.code or 0)
    return {"code": code, "out": out.getvalue(), "err": err.getvalue()}


def _digest(book: Path) -> str:
    files = sorted(p for p in book.rglob("*") if p.is_file()) if book.is_dir() else [book]
    return hashlib.sha256(b"".join(p.name.encode() + p.read_bytes() for p in files)).hexdigest()


if __name__ == "__main__":
    Path(sys.argv[2]).write_text(json.dumps(run(Path(sys.argv[1]), sys.argv[3:] or None)), encoding="utf-8")

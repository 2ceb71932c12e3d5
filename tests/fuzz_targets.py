"""What fuzzing is aimed at: each target takes any bytes, and raises if tirelife does what it must not.

A target stands for a reader or a command. Whatever it is given, an answer or one clear error has to come back: no
fault of the program, no warning of Python's, no number in an answer that is not one, no record lost. The short run is
in ``tests/test_fuzz_targets.py``; the long one, led by coverage, is ``python -m tests.benchmarks fuzz``.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
import io
import json
import os
import random
import shutil
import sys
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final
from unittest.mock import patch

import tirelife.cli
from tests.logbook.fuzz import BASE, NASTY, spoil_bytes, spoil_cells
from tirelife.errors import InputError
from tirelife.language import worded
from tirelife.logbook import check_logbook, read_logbook
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import parse
from tirelife.logbook.sheets import import_sheet
from tirelife.logbook.textfile import read_csv_text
from tirelife.rates import PUBLISHED, load_prior, save_prior

HERE: Final = Path(__file__).parent
_CUT: Final = "\n@@ "
"""Stands before the name of each table where a whole logbook is one text."""


class Find(Exception):
    """The program did what it must not."""


def _strict(word: str) -> Any:
    raise Find(f"{word} in JSON")


def said(words: list[str], refusal: bool = True) -> str:
    """Run a command; what it printed. Raises ``Find`` for a fault of the program, and for JSON that is none.

    Where a refusal is not allowed for, that is a find as well.
    """
    out, err = io.StringIO(), io.StringIO()
    usual = tirelife.cli._failed

    def failed(args: argparse.Namespace, code: int, message: str) -> int:
        if code not in (0, 2):
            raise
        return usual(args, code, message)

    with (
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        _warned(),
        patch.object(tirelife.cli, "_failed", failed),
    ):
        try:
            code = tirelife.cli.main(words)
        except SystemExit as stop:
            code = int(stop.code or 0)
    if code not in ((0, 2) if refusal else (0,)):
        raise Find(f"{words}: code {code}, {err.getvalue()[-2000:]}")
    if code == 0 and "--json" in words and out.getvalue().startswith(("{", "[")):
        json.loads(out.getvalue(), parse_constant=_strict)
    if code == 2 and not (err.getvalue() + out.getvalue()).strip():
        raise Find(f"{words}: refused without a word")
    return out.getvalue()


@contextlib.contextmanager
def _warned() -> Iterator[None]:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        yield


def _words(data: bytes) -> list[str]:
    """A line of the input is a word of the command; no word that makes it write where it is told."""
    words = data.decode("utf-8", "replace").replace("\x00", "").split("\n")
    return [word for word in words[:40] if not word.startswith(("--o", "--p", "-h", "--h", "@"))]


def align(data: bytes, top: Path) -> None:
    """The words of ``tirelife align``."""
    said(["align", *_words(data)])


def walkin(data: bytes, top: Path) -> None:
    """The words of ``tirelife walkin``."""
    out = said(["walkin", *_words(data), "--json"])
    for row in json.loads(out)["forecast"] if out.startswith("{") else ():
        _in_order(row)


def _in_order(row: dict[str, Any]) -> None:
    unit = "miles" if "miles_left_p50" in row else "km"
    left = [row[f"{unit}_left_{p}"] for p in ("p10", "p25", "p50", "p75", "p90")]
    known = [value for value in left if value is not None]
    if known != sorted(known) or any(value < 0 for value in known):
        raise Find(f"quantiles out of order: {left}")


def trips(data: bytes, top: Path) -> None:
    """A table of trips."""
    (top / "trips.csv").write_bytes(data)
    said(["trips", str(top / "trips.csv"), "--json"])


def prior(data: bytes, top: Path) -> None:
    """A saved fit; one that is taken must answer."""
    place = top / "prior.json"
    place.write_bytes(data)
    try:
        held = load_prior(place)
    except InputError:
        return
    if held == PUBLISHED:
        return
    words = ["walkin", "--depths", "6", "6", "5", "7", "--miles-on", "21000", "--prior", str(place), "--json"]
    rows = json.loads(said(words, refusal=False))["forecast"]
    if len(rows) != 4:
        raise Find("a prior that was taken gives no answer")
    for row in rows:
        _in_order(row)
        if row["miles_left_p50"] is None and not row["note"]:
            raise Find("a prior that was taken gives a blank and no reason")


def logbook(data: bytes, top: Path) -> None:
    """A whole logbook, its tables in one text: what check lists is what read refuses or tells."""
    place = top / "book"
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    for part in (b"\n" + data).split(_CUT.encode())[1:]:
        name, _, text = part.partition(b"\n")
        if name.decode("latin-1") in BASE:
            (place / f"{name.decode()}.csv").write_bytes(text)
    with _warned():
        try:
            problems = check_logbook(place)
        except InputError:
            return
        if not ((worded(problems)["what"] != "") & (worded(problems)["advice"] != "")).all():
            raise Find("a problem without words")
        refused = bool((~problems["doubt"]).any())
        try:
            book = read_logbook(place)
        except InputError:
            if not refused:
                raise Find("refused, and check says nothing") from None
            return
    if refused:
        raise Find("check finds errors, and it is read")
    if book.stretches["to_km"].lt(book.stretches["from_km"]).any():
        raise Find("a stretch that runs backwards")


def table(data: bytes, top: Path) -> None:
    """One table, its name in the first line."""
    name, _, text = data.partition(b"\n")
    if name.decode("latin-1") not in BASE:
        name, text = b"depths", data
    file = top / f"{name.decode()}.csv"
    file.write_bytes(text)
    found = Findings()
    with _warned():
        read = read_csv_text(file, name.decode(), found)
        parsed = None if read is None else parse(read, found)
        found.frame()
    if read is None and not found.has_errors:
        raise Find("not read, and no error")
    if parsed is not None and not found.has_errors and len(parsed.frame()) != len(read.rows):
        raise Find("a record is lost")


def sheet(data: bytes, top: Path) -> None:
    """A shop's own sheet; what is imported must be read as a logbook."""
    place, out = top / "shop.csv", top / "made"
    shutil.rmtree(out, ignore_errors=True)
    place.write_bytes(data)
    with _warned():
        try:
            done = import_sheet(place, out)
        except InputError:
            if out.exists():
                raise Find("refused, and written") from None
            return
        if not done.rows["status"].isin(["used", "doubted", "left out"]).all():
            raise Find(f"fates {set(done.rows['status'])}")
        problems = check_logbook(out)
        errors = problems[~problems["doubt"]]
        if len(errors):
            raise Find(f"its own logbook is refused: {errors.iloc[0].to_dict()}")


def store(data: bytes, top: Path) -> None:
    """A logbook file, damaged in any way: refused or doubted, never a fault."""
    place = top / "book.sqlite"
    for old in top.glob("book.sqlite*"):
        old.unlink()
    place.write_bytes(data)
    said(["check", str(place)])


def shop_sheets() -> list[bytes]:
    """Sheets in styles of their own."""
    demo = (HERE.parent / "data_synthetic" / "shop.csv").read_bytes()
    other = (
        "Vehicle;Date;Odometer km;Wheel;Outer mm;Middle mm;Inner mm;Note\n"
        "A;14.03.2024;41230;LF;8,0;8,1;8,0;new\nA;14.03.2024;41230;RF;8,0;8,1;8,0;\nA;14.03.2024;41230;LR;7,0;7,1;7,0;\n"
        "A;14.03.2024;41230;RR;7,0;7,1;7,0;\nA;20.11.2024;52300;LF;7,1;7,1;7,0;rotated\nA;20.11.2024;52300;RF;7,0;7,1;7,0;\n"
    )
    third = (
        "date,van,miles,LF,RF,LR,RR\n2024-03-14,1,1000,10/32,10/32,9/32,9/32\n2024-09-14,1,9000,8 1/2,8,8,8\n"
    )
    return [demo, other.encode("utf-8-sig"), third.encode()]


def _trip_seeds() -> list[bytes]:
    lines = (HERE.parent / "data_synthetic" / "trips.csv").read_bytes().splitlines(keepends=True)
    other = b"vehicle_id,trip_id,time_s,speed_mph,lateral_mps2\nA,1,0,0,0\nA,1,1,30,4.2\nA,1,2,31,4.5\nA,1,3,0,\nB,2,0.5,10,1\nB,2,0.6,,\n"
    return [b"".join(lines[:120]), other, b"".join(lines[:1]) + b"".join(lines[2000:2030])]


def _store_seeds(top: Path) -> list[bytes]:
    from tests.logbook.folders import folder

    convert_logbook(folder(top / "small", **BASE), top / "small.sqlite")
    return [(top / "small.sqlite").read_bytes()]


def _prior_seeds(top: Path) -> list[bytes]:
    save_prior(PUBLISHED, top / "published.json")
    text = (top / "published.json").read_text()
    other = text.replace('"lines": {}', '"lines": {"Line A": {"mean": 0.1, "sd": 0.2}}')
    return [text.encode(), other.encode(), text.replace("0.35", "0.3").encode()]


def _arguments(*lines: str) -> list[bytes]:
    return [line.replace(" ", "\n").encode() for line in lines]


ALIGN: Final = (
    "--axle front --distances 1498 1503 --turned 1502 1503 --toe-spec 0 2",
    "--axle rear --unit in --distances 58.98 59.11 --diameter 26 --miles-a-year 12000 --json",
    "--checklist",
    "--camber-left -0.5 0.5 --camber-right 1 --camber-spec -1 0 --json",
)
WALKIN: Final = (
    "--depths 6 6 5 6 --miles-on 21000",
    "--depths 6,6,5 6,6,6 7 7 --new-depth 10 --miles-on 21000 --miles-per-year 12000",
    "--units metric --depths 5 5 4.5 4.5 --new-depth 8 --km-on 30000 --removal-depth 3mm --as-of 2026-03-01",
    "--depths 6 6 5 6 7 --grade 500 --drive rear --rotated no --speed-shares 0.2 0.2 0.2 0.2 0.2 --hard-stops 3",
)


def seeds(name: str, top: Path) -> list[bytes]:
    """What mutation begins with."""
    whole = "".join(f"{_CUT}{table}\n{text}" for table, text in BASE.items())[1:].encode()
    return {
        "align": lambda: _arguments(*ALIGN),
        "walkin": lambda: _arguments(*WALKIN),
        "trips": _trip_seeds,
        "prior": lambda: _prior_seeds(top),
        "logbook": lambda: [whole],
        "table": lambda: [f"{table}\n{text}".encode() for table, text in BASE.items()],
        "sheet": shop_sheets,
        "store": lambda: _store_seeds(top),
    }[name]()


TARGETS: Final[dict[str, Callable[[bytes, Path], None]]] = {
    "align": align,
    "walkin": walkin,
    "trips": trips,
    "prior": prior,
    "logbook": logbook,
    "table": table,
    "sheet": sheet,
    "store": store,
}
"""Name of each target and what it does."""

_PRIOR_WORDS: Final = ["1e308", "-1e308", "1e-320", "true", "null", "[]", "{}", "0", "-0.0", '"x"', "5", "0.001", "1e9", "12", "-12", "3"]  # fmt: skip


def mutated(name: str, data: bytes, rng: random.Random) -> bytes:
    """Change an input with some sense of what it is."""
    if not data:
        return rng.choice(NASTY).encode()
    if name == "store":
        out = bytearray(data)
        for _ in range(rng.choice((1, 1, 4, 30))):
            out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
        return bytes(out)
    text = data.decode("utf-8", "replace")
    if name in ("align", "walkin"):
        return "\n".join(_other_words(name, text.split("\n"), rng)).encode("utf-8", "replace")
    if name == "prior":
        return _other_number(text, rng).encode()
    with contextlib.suppress(UnicodeError, csv.Error, IndexError, ValueError):
        if rng.random() < 0.3:
            return spoil_bytes(data, rng)
        if name == "logbook":
            parts = ("\n" + text).split(_CUT)[1:]
            i = rng.randrange(len(parts))
            head, _, rest = parts[i].partition("\n")
            parts[i] = head + "\n" + spoil_cells(rest, rng)
            return "".join(_CUT + part for part in parts)[1:].encode()
        if name == "table":
            head, _, rest = text.partition("\n")
            return (head + "\n" + spoil_cells(rest, rng)).encode()
        return spoil_cells(text, rng).encode()
    return data


def _other_words(name: str, words: list[str], rng: random.Random) -> list[str]:
    more = "\n".join(
        arguments.replace(" ", "\n") for arguments in (ALIGN if name == "align" else WALKIN)
    ).split("\n")
    numbers = [
        "0",
        "-1",
        "1e308",
        "1e-308",
        "0.0001",
        "90",
        "89.9",
        "45",
        "1e6",
        "2/32",
        "660",
        "26",
        "1500",
        "51",
        "3",
        "nan",
    ]
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(words) + 1)
        deed = rng.randrange(5)
        if deed == 0:
            words.insert(at, rng.choice(more))
        elif deed == 1 and words:
            del words[min(at, len(words) - 1)]
        elif words:
            words[min(at, len(words) - 1)] = rng.choice(numbers if deed < 4 else [*NASTY, *more])
    return words


def _other_number(text: str, rng: random.Random) -> str:
    import re

    found = list(re.finditer(r"-?\d+\.?\d*(e-?\d+)?", text))
    for match in sorted(
        rng.sample(found, min(len(found), rng.choice((1, 1, 2, 5)))), key=lambda m: -m.start()
    ):
        value = float(match[0]) if rng.random() < 0.7 else 0.0
        near = repr(value * rng.choice((0.3, 0.9, 1.1, 3.0, -1.0)) + rng.choice((0.0, 0.1, -0.5, 2.0)))
        text = (
            text[: match.start()] + rng.choice([near, near, rng.choice(_PRIOR_WORDS)]) + text[match.end() :]
        )
    return text


@contextlib.contextmanager
def alone() -> Iterator[None]:
    """Let tests of targets see the machine's own cache and folder as empty ones."""
    with contextlib.ExitStack() as stack:
        import tempfile

        top = stack.enter_context(tempfile.TemporaryDirectory())
        before = os.getcwd()
        stack.callback(os.chdir, before)
        os.chdir(top)
        os.environ.setdefault("XDG_CACHE_HOME", top)
        yield


def signature(error: BaseException) -> str:
    """Where an error was raised, for telling finds apart."""
    import traceback

    frames = [
        f for f in traceback.extract_tb(error.__traceback__) if "tirelife/" in f.filename.replace(os.sep, "/")
    ]
    at = frames[-1] if frames else traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__} at {Path(at.filename).name}:{at.lineno}"


if __name__ == "__main__":  # an input kept by a long run, put to its target again
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        TARGETS[sys.argv[1]](Path(sys.argv[2]).read_bytes(), Path(name))

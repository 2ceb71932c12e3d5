"""Run commands that write to a place that refuses, in a process of its own; say what each did.

``python -m tests.logbook.refusing PLACE BOOK [free [number]]``: PLACE holds a ``logbook.sqlite`` and an
``old.csv``. With ``free`` (not below zero), a file fills the disk of PLACE first, but for so many bytes; with
``number``, only the first so many commands are run. Prints a JSON list: the command, its exit code, what it
said, and the files that it changed, made or took away.
"""

from __future__ import annotations

import ctypes
import io
import json
import sys
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

from tirelife.cli import main

COMMANDS = (
    "check {at}/logbook.sqlite",
    "record {at}/logbook.sqlite --vehicle V1 --date 2025-09-10 --odometer 13000 --depth LF 8 8 8 --yes",
    "record {at}/logbook.sqlite --withdraw depths:74 --yes",
    "convert {book} {at}/new.sqlite",
    "convert --empty us {at}/empty.sqlite",
    "convert {at}/logbook.sqlite {at}/backup.sqlite",
    "convert {at}/logbook.sqlite {at}/exported",
    "check {book} --out {at}/problems.csv",
    "forecast {book} --out {at}/old.csv",
    "forecast {book} --out {at}/new.parquet",
    "forecast {book} --out {at}/parts/",
    "sheet {book} --vehicle V1 --out {at}/page.html",
    "fit {book} --save {at}/prior.json",
    "fit {book} --out {at}/tables",
    "walkin --depths 6 6 5 6 --miles-on 21000 --out {at}/walkin.html",
)


def content(place: Path) -> dict[str, bytes]:
    """Every file below a folder, and every folder, but for the two that SQLite keeps beside its own."""
    found = [p for p in place.rglob("*") if not p.name.endswith(("-shm", "-wal"))]
    return {str(p.relative_to(place)): p.read_bytes() if p.is_file() else b"" for p in found}


def fill(place: Path, free: int) -> None:
    """Fill the disk that a folder is on, but for ``free`` bytes."""
    with (place / "fill.bin").open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            size = file.tell()
        file.truncate(max(size - free, 0))


def try_all(place: Path, book: Path, commands: Sequence[str] = COMMANDS) -> list[dict[str, object]]:
    """Run the commands one after another."""
    out = []
    for words in commands:
        before = content(place)
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()) as said:
            code = main([word.format(at=place, book=book) for word in words.split()])
        after = content(place)
        touched = sorted(n for n in {*before, *after} if before.get(n) != after.get(n))
        out.append({"command": words, "code": code, "said": said.getvalue(), "touched": touched})
    return out


def drop_power_over_permissions() -> None:
    """Take from a process to be started the power to pass over permissions, which root has (Linux).

    The bounding set limits what root gets back when a program starts: PR_CAPBSET_DROP (24) of
    CAP_DAC_OVERRIDE (1) and CAP_DAC_READ_SEARCH (2), see capabilities(7).
    """
    libc = ctypes.CDLL(None, use_errno=True)
    for capability in (1, 2):
        libc.prctl(24, capability, 0, 0, 0)


if __name__ == "__main__":
    at, logbook, chosen = Path(sys.argv[1]), Path(sys.argv[2]), COMMANDS
    if len(sys.argv) > 3 and int(sys.argv[3]) >= 0:
        for kept in ("logbook.sqlite", "old.csv"):
            (at / kept).write_bytes((logbook.parent / kept).read_bytes())
        fill(at, int(sys.argv[3]))
    if len(sys.argv) > 4:
        chosen = COMMANDS[: int(sys.argv[4])]
    print(json.dumps(try_all(at, logbook, chosen)))

"""How an answer leaves: data as CSV or JSON, to the screen or a file; whole files; lines on the side."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife import logbook, outlook, terminal
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["aside", "deliver", "in_parts", "print_csv", "print_json", "show", "table_name", "write_file"]


def aside(*lines: str) -> None:
    """Print lines to standard error, so that they mix with no data; empty ones are left out."""
    for line in filter(None, lines):
        print(line, file=sys.stderr)


def print_json(answer: object, *, indent: int | None = 2) -> None:
    """Print an answer for a program; without an indent in one line, for a row a tire of a fleet."""
    print(json.dumps(answer, indent=indent, ensure_ascii=False))


def show(args: argparse.Namespace, answer: Mapping[str, Any], text: Callable[..., str]) -> int:
    """Print an answer for a program with ``--json``, else in the lines of ``text``; 0, the exit code."""
    if args.json:
        print_json(answer)
    else:
        print(text(answer))
    return 0


def print_csv(table: pd.DataFrame, args: argparse.Namespace) -> None:
    """Print a table for a program."""
    print(logbook.csv_text(outlook.plain_dates(table), for_spreadsheet=args.for_spreadsheet), end="")


def table_name(name: str | None) -> None:
    """Raise unless a table that is to be written is a CSV or a Parquet file."""
    if name and not name.lower().endswith((".csv", ".parquet")):
        raise misused(Wrong.OUT_TABLE, out=name)


def in_parts(args: argparse.Namespace) -> bool:
    """Whether ``--out`` names a folder of parts; raise InputError if it or the size of a part cannot be."""
    if args.chunk < 1:
        raise misused(Wrong.CHUNK, given=args.chunk)
    if args.out and args.out.endswith(("/", "\\")):
        if args.vehicle:
            raise misused(Wrong.PARTS_VEHICLE)
        return True
    if args.out and not args.out.lower().endswith((".csv", ".parquet")):
        raise misused(Wrong.OUT_PARTS, out=args.out)
    return False


def deliver(
    table: pd.DataFrame, args: argparse.Namespace, rows: str, text: Callable[[], str], **more: object
) -> None:
    """Write a table to ``--out``, or print it as ``--json``, ``--csv`` or, made by ``text``, for a reader.

    ``rows`` says what its rows are, and is their name in the JSON object; ``more`` stands beside them there.
    """
    if args.out:
        outlook.write_table(table, args.out, for_spreadsheet=args.for_spreadsheet)
        aside(f"{len(table)} {rows} written to {args.out}")
    elif args.json:
        print_json({rows: terminal.rows_of(table), **more}, indent=None)
    elif args.csv:
        print_csv(table, args)
    elif said := text():
        print(said)


def write_file(name: str | Path, what: str | bytes) -> None:
    """Write a file whole, or leave what stood there."""
    with logbook.whole_file(name) as part:
        part.write_bytes(what.encode() if isinstance(what, str) else what)

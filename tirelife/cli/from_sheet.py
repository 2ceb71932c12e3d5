"""A shop's own sheet in place of a logbook: any command makes the logbook on the way."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["accept_sheet", "logbook_of"]

_ENDS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods", ".csv", ".tsv", ".txt", ".tab")


def accept_sheet(parser: argparse.ArgumentParser, command: str) -> None:
    """Let a command that reads a logbook take a sheet, with the options that say how to read it."""
    reads = any(action.dest == "logbook" for action in parser._actions)
    if not reads or command in ("record", "audit"):
        return
    from tirelife.cli.import_ import add_settings

    add_settings(parser, shown=False)
    told = "A sheet of your own does in place of the logbook (.xlsx, .ods, .csv): see tirelife import --help."
    parser.epilog = f"{parser.epilog or ''}\n{told}"
    parser.set_defaults(takes_sheet=True)


@contextmanager
def logbook_of(args: argparse.Namespace) -> Iterator[None]:
    """Turn a sheet that was given for a logbook into one, for the length of the command."""
    name = str(getattr(args, "logbook", ""))
    if (
        not getattr(args, "takes_sheet", False)
        or not name.lower().endswith(_ENDS)
        or not Path(name).is_file()
    ):
        yield
        return
    from tirelife.cli.import_ import asked
    from tirelife.cli.import_text import counted, import_texts
    from tirelife.logbook.sheets import import_sheet

    settings = asked(name, args)
    with tempfile.TemporaryDirectory() as top:
        done = import_sheet(name, Path(top) / Path(name).stem, settings, args.mapping)
        how, moves = done.plan.how, done.moves
        said = import_texts(getattr(args, "language", "en"))["on-the-way"].format(
            name=name, visits=done.visits, vehicles=done.vehicles, **counted(done.rows),
            depth=how.depth_unit or "mm", odometer=how.distance_unit or "km", moves=len(moves),
            inferred=int((moves["source"] == "inferred").sum()),
        )  # fmt: skip
        print(said, file=sys.stderr)
        args.logbook = str(done.out)
        yield

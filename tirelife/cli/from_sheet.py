"""A shop's own sheet in place of a logbook: any command makes the logbook on the way."""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tirelife import logbook, terminal
from tirelife.cli.import_ import SETTINGS, settings_asked
from tirelife.cli.options import declare
from tirelife.cli.printed import aside

__all__ = ["accept_sheet", "logbook_of"]

_ENDS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods", ".csv", ".tsv", ".txt", ".tab")


def accept_sheet(parser: argparse.ArgumentParser, command: str) -> None:
    """Let a command that reads a logbook take a sheet, with the options that say how to read it."""
    reads = any(action.dest == "logbook" for action in parser._actions)
    if reads and command not in ("record", "audit"):
        declare(parser, SETTINGS, seen=False)
        parser.set_defaults(takes_sheet=True)


@contextmanager
def logbook_of(args: argparse.Namespace) -> Iterator[None]:
    """Turn a sheet that was given for a logbook into one, for the length of the command."""
    name = str(getattr(args, "logbook", ""))
    takes = getattr(args, "takes_sheet", False) and name.lower().endswith(_ENDS)
    if not takes or not Path(name).is_file():
        yield
        return
    settings = settings_asked(name, args)
    with tempfile.TemporaryDirectory() as top:
        done = logbook.import_sheet(name, Path(top) / Path(name).stem, settings, args.mapping)
        aside(terminal.on_the_way(done, name, getattr(args, "language", "en")))
        args.logbook = str(done.out)
        yield

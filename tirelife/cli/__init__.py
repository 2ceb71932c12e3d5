"""The command line: a thin layer; each command is a module of this room with ``OPTIONS`` and ``run``,
and what closes its help stands in ``epilogs.toml``.

Nothing heavy is imported before a command is known, so ``tirelife --help`` answers at once.
"""

from __future__ import annotations

import argparse
import difflib
import gc
import io
import logging
import os
import sys
import tomllib
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

import tirelife
from tirelife.errors import FitError, InputError

__all__ = ["main"]

GROUPS = {
    "every day": {
        "sheet": "make a customer's page for one vehicle",
        "walkin": "answer from one visit, with no history",
        "record": "write a visit into a logbook",
        "forecast": "miles left and replacement dates, a row a tire",
        "fleet": "make the owner's page for a whole logbook, and its lists",
        "tread": "read the wear pattern of a vehicle's tires and say what to check next",
        "rotate": "compare rotation plans and write out the moves",
    },
    "now and then": {
        "import": "read a shop's own sheet into a logbook",
        "template": "write an empty sheet to print or fill in",
        "check": "check a logbook and list every problem in it",
        "replace": "one tire, a pair or four, now or later: cost a distance, with its range",
        "pressures": "how far below the placard tires ran and for how long, leaks, and what to set",
        "whatif": "distance and months that a change would buy, a row a tire",
        "counter": "make a page for the counter that answers walk-ins with no Python",
        "align": "work out toe, camber and sideways slip from a tape and a level",
        "convert": "copy a logbook between a folder and a single file",
        "audit": "hold a logbook file against its history and list every change",
    },
    "for analysts": {
        "fit": "fit wear rates and say whether to trust them",
        "backtest": "forecast from earlier days of the log, and score that on what came later",
        "groups": "compare driver groups fairly, and what they cost",
        "trips": "reduce recorded trips to driving habits",
    },
}
"""Commands with a line on each, by how often one needs them."""
COMMANDS = {name: line for group in GROUPS.values() for name, line in group.items()}


class _Parser(argparse.ArgumentParser):
    """A parser that reads what closes its help when the help is asked for."""

    def format_help(self) -> str:
        told = tomllib.loads(Path(__file__).with_name("epilogs.toml").read_text("utf-8"))
        name = self.prog.split()[-1]
        before = [_listed(), ""] if name == "tirelife" else []
        after = [told["or-a-sheet"]] if self.get_default("takes_sheet") else []
        self.epilog = "\n".join([*before, told[name], *after])
        self.formatter_class = argparse.RawDescriptionHelpFormatter
        return super().format_help()


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; return 0, 2 when the input cannot be used, or 1 for a fault of the program itself.

    Errors about the input go to standard error, one line each, with no traceback.
    """
    _print_every_letter()
    gc.set_threshold(100_000)  # a short life: most of what a command makes it keeps to its end
    words = list(sys.argv[1:] if argv is None else argv)
    parser = _Parser("tirelife")
    parser.description = (
        "How many miles a tread has left, by which date, how surely, and what would change it."
    )
    parser.add_argument("-v", "--verbose", action="store_true", help="say what is being done")
    parser.add_argument("--version", action="version", version=f"tirelife {tirelife.__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True, help=argparse.SUPPRESS)
    wanted = next((word for word in words if not word.startswith("-")), None)
    chosen = parser
    for name, line in COMMANDS.items():
        command = commands.add_parser(name, description=line)
        if name == wanted:
            module = import_module(_module(name))
            import_module("tirelife.cli.options").declare(command, ["verbose", *module.OPTIONS])
            import_module("tirelife.cli.from_sheet").accept_sheet(command, name)
            chosen = command
    args, strange = parser.parse_known_args(words)
    if strange:
        told = [action for action in chosen._actions if action.help != argparse.SUPPRESS]
        known = [option for action in told for option in action.option_strings]
        close = difflib.get_close_matches(strange[0].split("=")[0], known, n=1, cutoff=0.5)
        hint = f" Did you mean {close[0]}?" if close else ""
        chosen.error(f"unrecognized arguments: {' '.join(strange)}.{hint}")
    if args.verbose:
        logging.basicConfig(stream=sys.stderr, level=logging.INFO, format="%(name)s: %(message)s")
    try:
        with import_module("tirelife.cli.from_sheet").logbook_of(args):
            return int(import_module(_module(args.command)).run(args))
    except BrokenPipeError:
        return 0
    except KeyboardInterrupt:
        return _failed(args, 130, "stopped. What takes --parts or a folder goes on where it was.")
    except (InputError, FitError) as error:
        return _failed(args, 2, error.said(getattr(args, "language", "en")))
    except OSError as error:
        return _failed(args, 2, str(error))
    except Exception as error:
        what = f"{type(error).__name__}: {error}"
        return _failed(
            args, 1, f"a fault of the program, not of your data: {what}. Run it with -v for details."
        )


def _listed() -> str:
    """Commands by group, as the help lists them."""
    parts = [
        "\n".join([f"{group}:", *(f"  {name:<11}{line}" for name, line in commands.items())])
        for group, commands in GROUPS.items()
    ]
    return "\n\n".join(parts)


def _module(command: str) -> str:
    """Module of a command; one whose name is a word of the language has a longer one."""
    return f"tirelife.cli.{'import_' if command == 'import' else command}"


def _print_every_letter() -> None:
    """Let no name stop the printing: a pipe takes UTF-8; a terminal that lacks a letter shows its code."""
    encoding = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "")
    if encoding == "utf8" or not isinstance(sys.stdout, io.TextIOWrapper):
        return
    if sys.stdout.isatty() or "PYTHONIOENCODING" in os.environ:
        sys.stdout.reconfigure(errors="backslashreplace")
    else:
        sys.stdout.reconfigure(encoding="utf-8")


def _failed(args: argparse.Namespace, code: int, message: str) -> int:
    """Say what went wrong in a line, with the trace only where asked for."""
    print(f"tirelife {args.command}: {message}", file=sys.stderr)
    if args.verbose:
        logging.getLogger("tirelife").info("raised here", exc_info=True)
    return code

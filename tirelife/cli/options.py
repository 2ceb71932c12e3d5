"""Options: how a command declares its own, and those that commands share, each written once."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from tirelife.cli.numbers import distance, number
from tirelife.language import LANGUAGES

__all__ = ["Group", "Option", "declare", "option"]


@dataclass(frozen=True)
class Option:
    """One argument: its names, and what :meth:`argparse.ArgumentParser.add_argument` takes beside them."""

    names: tuple[str, ...]
    how: dict[str, Any]


@dataclass(frozen=True)
class Group:
    """Options under a heading of their own in the help; ``title`` None: those that exclude each other."""

    title: str | None
    options: Sequence[Option | Group]


def option(names: str, help: str | None = None, **how: Any) -> Option:
    """Declare an option by its names, and what stands for its value in the help.

    Parameters
    ----------
    names : str
        Such as ``--line LINE``; without a value it is a switch, unless ``how`` says what it takes; a name
        without dashes stands in its place.
    help : str, optional
    **how
        As :meth:`argparse.ArgumentParser.add_argument` takes it; ``many=True``: may be given again.
    """
    words = names.split()
    called = [word for word in words if word.startswith("-")] or words[:1]
    if how.pop("many", False):
        how = {"action": "append", "default": [], **how}
    if len(words) > len(called):
        how["metavar"] = words[-1]
    elif called[0].startswith("-") and not {"choices", "nargs", "action"} & how.keys():
        how["action"] = "store_true"
    return Option(tuple(called), {"help": help, **how})


PLAIN: Final = "32nds and miles, or mm and km"
SHARED: Final[dict[str, tuple[Option, ...]]] = {
    "logbook": (option("logbook", "folder (or SQLite file) with the tables"),),
    "vehicle": (option("--vehicle ID", "the vehicle", required=True),),
    "vehicles": (option("--vehicle ID", "only this one; may be given again", many=True, default=None),),
    "as-of": (option("--as-of DATE", "the last day that counts (default: the last record's)"),),
    "limits": (
        option("--removal-depth DEPTH",
               'such as 2/32, 4/32, 1.6mm or "3 mm" (default: that of --place, else 2/32)'),
        option("--place PLACE", "whose removal depth counts, such as US or EU/Austria, by axle and by "
               "season on "
               "the last day that counts; --removal-depth wins"),
        option("--rules-for", "whose rules of the place count: car, light trucks too, or truck or bus, "
               "which may "
               "have another depth on the front axle (US: 4/32 front, 2/32 rear, 49 CFR 393.75)",
               choices=("car", "truck or bus"), default="car"),
        option("--limits FILE", "a CSV of removal depths that adds to the built-in ones"),
    ),
    "shares": (
        option("--set-share VEHICLE=SHARE",
               "of the year's distance run on the set now on, where sets take turns "
               "(default: the logbook's winter_share of the vehicle, else learned from the mounts)",
               many=True),
    ),
    "prior": (
        option("--prior FILE", "a fit saved as JSON, to lean on"),
        option("--lives FILE.csv", "published lives of your own, by region and kind of tire, before ours"),
    ),
    "fresh": (
        option("--fresh", "fit anew; by default the fit of an unchanged logbook is used again (kept in the "
               "user's "
               "cache)"),
    ),
    "parts": (
        option("--out FILE",
               "write .csv or .parquet here; or a folder (FOLDER/) of Parquet parts, resumable"),
        option("--chunk N", "vehicles at a time in a folder of parts, which bounds memory (default 10000)",
               type=int, default=10_000),
        option("--decisions", "whether data say what to do (default: yes; no in a folder of parts, where it "
               "takes "
               "longest)", choices=("yes", "no")),
    ),
    "csv": (option("--csv", "print CSV with every column, for a program"),),
    "json": (option("--json", "print JSON, for a program"),),
    "units": (option("--units", PLAIN, choices=("us", "metric"), default="us"),),
    "money": (
        option("--fitting MONEY", "fitting, a tire", type=number, default=0.0),
        option("--rotation MONEY", "one rotation of a set", type=number, default=0.0),
    ),
    "interval": (
        option("--interval DISTANCE", "between rotations (default: 5000 miles, or 8000 km)", type=distance),
    ),
    "shop": (
        option("--shop FILE.toml", "the shop's name, telephone, note and next_date, for the page"),
        option("--shop-name NAME", "before the file's"),
        option("--telephone NUMBER", "before the file's"),
        option("--note TEXT", "a word to the customer, before the file's"),
        option("--next-date DATE", "the next appointment, before the file's"),
    ),
    "language": (
        option("--language", "of what is said: English, or Spanish (default: en)",
               choices=LANGUAGES, default="en"),
    ),
    "verbose": (option("-v --verbose", "say what is being done", default=argparse.SUPPRESS),),
    "for-spreadsheet": (
        option("--for-spreadsheet", "in CSV put an apostrophe before texts that a spreadsheet would run as "
               "formulas; an id such as =1+1 then matches no other table"),
    ),
}  # fmt: skip
"""Options that commands share, by the name that a command gives for them."""


def declare(
    parser: argparse._ActionsContainer, options: Sequence[str | Option | Group], *, seen: bool = True
) -> None:
    """Add options to a parser: a command's own, and by their names those of :data:`SHARED`.

    ``seen``: whether the help tells of them.
    """
    for one in options:
        if isinstance(one, str):
            declare(parser, SHARED[one], seen=seen)
        elif isinstance(one, Option):
            parser.add_argument(*one.names, **one.how | ({} if seen else {"help": argparse.SUPPRESS}))
        elif one.title is None:
            declare(parser.add_mutually_exclusive_group(), one.options, seen=seen)
        else:
            declare(parser.add_argument_group(one.title) if seen else parser, one.options, seen=seen)

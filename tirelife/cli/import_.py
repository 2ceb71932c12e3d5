"""``tirelife import``: read a shop's own sheet into a logbook."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife.cli.import_text import columns_text, import_texts, outcome_text, rows_worded
from tirelife.cli.numbers import depth
from tirelife.cli.tongue import add_language
from tirelife.cli.wrong import Wrong
from tirelife.errors import InputError, misused

if TYPE_CHECKING:
    from tirelife.logbook.sheets import Imported, Settings

__all__ = ["add", "add_settings", "asked", "run", "settings_of"]

EPILOG = """examples:
  tirelife import shop.xlsx                       # what each column is taken for; nothing is written
  tirelife import shop.xlsx --out LOGBOOK
  tirelife import shop.xlsx --out LOGBOOK --depth-unit 32nds --day-first --save-mapping shop.toml
  tirelife import shop.xlsx --out LOGBOOK --mapping shop.toml --column "Tread LF=depth LF center 32nds"
  tirelife import shop.xlsx --out LOGBOOK --work "AB 12 2026-03-14=4 new"
A row a visit or a row a wheel, one tab or a tab a vehicle, .xlsx, .xls, .ods, CSV or tab text. Import the
same sheet
again when it has grown: only what is new is added. Moves and renewals that nobody recorded are worked out
from
the depths and the notes, and marked as inferred."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("sheet", metavar="SHEET", help="the shop's own sheet")
    parser.add_argument(
        "--out", metavar="LOGBOOK", help="folder or .sqlite file to write; without it nothing is"
    )
    add_settings(parser)
    parser.add_argument(
        "--save-mapping", metavar="FILE", help="save what was taken for what, for next time (.toml)"
    )
    parser.add_argument("--rows", action="store_true", help="list every row that was not plainly used")
    add_language(parser)
    parser.add_argument("--json", action="store_true", help="print the outcome as JSON")


def add_settings(parser: argparse.ArgumentParser, *, shown: bool = True) -> None:
    """Add the options that say how a sheet is to be read; unseen in the help of other commands."""
    group = parser.add_argument_group("how the sheet is to be read, where it does not say" if shown else None)

    def told(text: str) -> str:
        return text if shown else argparse.SUPPRESS

    group.add_argument("--mapping", metavar="FILE", help=told("a mapping saved before (.toml)"))
    group.add_argument("--depth-unit", choices=("32nds", "mm"), help=told("of depths without a unit"))
    group.add_argument("--distance-unit", choices=("mi", "km"), help=told("of odometers without a unit"))
    order = group.add_mutually_exclusive_group()
    order.add_argument(
        "--day-first", action="store_const", const=True, dest="day_first", help=told("14/03/2026")
    )
    order.add_argument(
        "--month-first", action="store_const", const=False, dest="day_first", help=told("03/14/2026")
    )
    group.add_argument("--near-side", choices=("left", "right"), help=told("which side the near side is"))
    group.add_argument("--wheel-numbers", metavar="ORDER", help=told("of wheels 1 to 4: lf-rf-lr-rr"))
    group.add_argument(
        "--points", choices=("thousands", "decimals"), help=told("what 41.230 is in an odometer")
    )
    group.add_argument(
        "--odometer-in", choices=("thousands", "full"), help=told("what 41.2 is in an odometer")
    )
    group.add_argument(
        "--depth-commas", choices=("decimals", "grooves"), help=told("what 7,2 is in a column of depths")
    )
    group.add_argument(
        "--sheet-new-depth", "--new-depth", type=depth, metavar="DEPTH", help=told("of new tires")
    )
    group.add_argument("--tab-vehicle", metavar="ID", help=told("the vehicle, where no column names it"))
    group.add_argument("--hidden", choices=("use", "leave"), help=told("hidden rows and tabs"))
    group.add_argument(
        "--column", action="append", default=[], metavar="HEADER=WHAT", help=told("such as 'B=depth LF mm'")
    )
    group.add_argument(
        "--work",
        action="append",
        default=[],
        metavar="VISIT=WORK",
        help=told("work done that the sheet does not tell"),
    )


def settings_of(args: argparse.Namespace) -> Settings:
    """What the options say of a sheet."""
    from tirelife.logbook.sheets import Settings

    return Settings(
        args.depth_unit,
        args.distance_unit,
        args.day_first,
        args.near_side,
        args.points,
        args.depth_commas,
        args.sheet_new_depth,
        args.tab_vehicle,
        args.hidden,
        dict(_pair(one) for one in args.column),
        dict(_pair(one) for one in args.work),
        args.wheel_numbers,
        args.odometer_in,
    )


def _pair(text: str) -> tuple[str, str]:
    name, sign, what = text.rpartition("=")
    if not sign or not name.strip() or not what.strip():
        raise misused(Wrong.NAME_WHAT, text=text)
    return name.strip(), what.strip()


def asked(path: str, args: argparse.Namespace) -> Settings:
    """Settings, with what is undecided asked once, if somebody is there to ask."""
    from dataclasses import replace

    from tirelife.logbook.sheets import plan_sheet

    told = settings_of(args)
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return told
    plan = plan_sheet(path, told, args.mapping)
    answers: dict[str, Any] = {}
    for question in plan.questions:
        print(f"{question.problem('').said(args.language)[0]}.", file=sys.stderr)
        for i, option in enumerate(question.options, 1):
            print(f"  {i}  {option.lstrip('-')}", file=sys.stderr)
        choice = input(import_texts(args.language)["which"]).strip()
        if choice not in [str(i) for i in range(1, len(question.options) + 1)]:
            raise InputError(question.problem(Path(path).name))
        option, _, value = question.options[int(choice) - 1].lstrip("-").partition(" ")
        if value:
            answers[option.replace("-", "_")] = value
        else:
            answers["day_first"] = option == "day-first"
    return replace(told, **answers) if answers else told


def run(args: argparse.Namespace) -> int:
    """Import, show what each column was taken for, and what came of it."""
    from tirelife.logbook.sheets import import_sheet, plan_sheet

    settings = asked(args.sheet, args)
    plan = plan_sheet(args.sheet, settings, args.mapping)
    if not args.json:
        print(columns_text(plan, args.language))
    if args.save_mapping:
        from tirelife.logbook import whole_file
        from tirelife.logbook.sheets.mapping import mapping_text

        with whole_file(args.save_mapping) as part:
            part.write_text(mapping_text(plan), encoding="utf-8")
    done = import_sheet(args.sheet, args.out, settings, args.mapping)
    if args.json:
        print(json.dumps(_as_json(done, args.language), indent=1, ensure_ascii=False))
    else:
        print(outcome_text(done, args.rows, args.language))
    return 0


def _as_json(done: Imported, language: str) -> dict[str, Any]:
    moves = done.moves.to_dict("records")
    return {
        "vehicles": done.vehicles,
        "visits": done.visits,
        "new_visits": done.new_visits,
        "columns": done.plan.columns.to_dict("records"),
        "rows": rows_worded(done.rows, language).to_dict("records"),
        "moves": [{**row, "others": _others(row["others"])} for row in moves],
        "changed": done.changed.to_dict("records"),
        "unknown": dict(done.unknown),
        "out": str(Path(done.out)) if done.out else None,
    }


def _others(others: tuple[tuple[str, float], ...]) -> str:
    """Other courses by their codes, likeliest first."""
    return "; ".join(f"{code} ({chance:.0%})" for code, chance in others)

"""``tirelife import``: read a shop's own sheet into a logbook."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife import logbook, terminal
from tirelife.cli.numbers import depth
from tirelife.cli.options import Group, option
from tirelife.cli.printed import aside, print_json, write_file
from tirelife.errors import InputError

if TYPE_CHECKING:
    from tirelife.logbook.sheets import Settings

SETTINGS = (
    option("--mapping FILE", "a mapping saved before (.toml)"),
    option("--depth-unit", "of depths without a unit", choices=("32nds", "mm")),
    option("--distance-unit", "of odometers without a unit", choices=("mi", "km")),
    Group(None, (
        option("--day-first", "14/03/2026", action="store_const", const=True, dest="day_first"),
        option("--month-first", "03/14/2026", action="store_const", const=False, dest="day_first"),
    )),
    option("--near-side", "which side the near side is", choices=("left", "right")),
    option("--wheel-numbers ORDER", "of wheels 1 to 4: lf-rf-lr-rr"),
    option("--points", "what 41.230 is in an odometer", choices=("thousands", "decimals")),
    option("--odometer-in", "what 41.2 is in an odometer", choices=("thousands", "full")),
    option("--depth-commas", "what 7,2 is in a column of depths", choices=("decimals", "grooves")),
    option("--sheet-new-depth --new-depth DEPTH", "of new tires", type=depth),
    option("--tab-vehicle ID", "the vehicle, where no column names it"),
    option("--hidden", "hidden rows and tabs", choices=("use", "leave")),
    option("--column HEADER=WHAT", "such as 'B=depth LF mm'", many=True),
    option("--work VISIT=WORK", "work done that the sheet does not tell", many=True),
)  # fmt: skip
"""How a sheet is to be read; every command that takes a sheet for a logbook has these too."""
OPTIONS = (
    option("sheet SHEET", "the shop's own sheet"),
    option("--out LOGBOOK", "folder or .sqlite file to write; without it nothing is"),
    Group("how the sheet is to be read, where it does not say", SETTINGS),
    option("--save-mapping FILE", "save what was taken for what, for next time (.toml)"),
    option("--rows", "list every row that was not plainly used"), "language", "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Import, show what each column was taken for, and what came of it."""
    settings = settings_asked(args.sheet, args)
    plan = logbook.plan_sheet(args.sheet, settings, args.mapping)
    if not args.json:
        print(terminal.columns_text(plan, args.language))
    if args.save_mapping:
        write_file(args.save_mapping, logbook.mapping_text(plan))
    done = logbook.import_sheet(args.sheet, args.out, settings, args.mapping)
    if args.json:
        print_json(terminal.import_answer(done, args.language))
    else:
        print(terminal.outcome_text(done, args.rows, args.language))
    return 0


def settings_asked(path: str, args: argparse.Namespace) -> Settings:
    """Settings, with what is undecided asked once, if somebody is there to ask."""
    told = logbook.settings_typed(vars(args))
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return told
    plan = logbook.plan_sheet(path, told, args.mapping)
    answers: dict[str, Any] = {}
    for question in plan.questions:
        aside(f"{question.problem('').said(args.language)[0]}.")
        for i, choice in enumerate(question.options, 1):
            aside(f"  {i}  {choice.lstrip('-')}")
        answer = question.answered(input(terminal.import_texts(args.language)["which"]).strip())
        if not answer:
            raise InputError(question.problem(Path(path).name))
        answers |= answer
    return replace(told, **answers) if answers else told

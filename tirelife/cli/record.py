"""``tirelife record``: write a visit into a logbook, or correct a record."""

from __future__ import annotations

import argparse
from pathlib import Path

from tirelife import logbook, terminal
from tirelife.cli.options import Group, option
from tirelife.cli.printed import aside, print_json

VISIT = (
    option("--vehicle ID"), option("--date DATE", "YYYY-MM-DD; today if not given", default=""),
    option("--odometer N", default=""),
    option("--depth", nargs="+", many=True, metavar=("POSITION", "DEPTH")),
    option("--gauge ID", "the depth gauge", default=""),
    option("--pressure", "as found, and what it was set to, if it was", nargs="+", many=True,
           metavar=("POSITION", "FOUND")),
    option("--state STATE", "of the tires: cold (default), city or highway", default="cold"),
    option("--ambient T", "air temperature", default=""), option("--pressure-gauge ID", default=""),
    option("--mount", nargs=2, many=True, metavar=("TIRE", "POSITION")),
    option("--off TIRE", "take a tire off", many=True),
    option("--new-tire", nargs=3, many=True, metavar=("TIRE", "LINE", "NEW_DEPTH")),
    option("--new-vehicle FACT", "a vehicle new to the logbook; drive and placards, front and rear, if "
           "known", nargs="*"),
    option("--set", "four new tires of one line put on, named for you", nargs=2, metavar=("LINE",
           "NEW_DEPTH")),
    option("--rotated PATTERN", "by name: front-to-rear, forward-cross, x and so on"),
    option("--create", "make the logbook, if it is not there yet", choices=("us", "metric")),
    option("--note TEXT", default=""),
)  # fmt: skip
CORRECTION = (
    option("--correct", nargs="+", metavar=("TABLE:ROW", "COLUMN=VALUE")),
    option("--withdraw TABLE:ROW", "take out of use a record entered by mistake"),
)
OPTIONS = (
    option("logbook LOGBOOK", "a logbook in one file (make one: tirelife convert)"),
    Group("a visit", VISIT), Group("a correction", CORRECTION),
    option("--yes", "write even if something is doubtful"),
    option("--trial", "check and compare only; write nothing"), "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Record, and show each reading beside the one before it; 2 if nothing was written for a doubt."""
    if args.create and not Path(args.logbook).exists():
        logbook.create_logbook(args.logbook, args.create)
    if args.correct:
        table, row = logbook.place_typed(args.correct[0])
        values = logbook.values_typed(args.correct[1:])
        done = logbook.correct_record(args.logbook, table, row, values, accept_doubts=args.yes)
    elif args.withdraw:
        table, row = logbook.place_typed(args.withdraw)
        done = logbook.withdraw_record(args.logbook, table, row, accept_doubts=args.yes)
    else:
        visit = logbook.visit_typed(args.logbook, vars(args))
        done = logbook.record_visit(args.logbook, visit, accept_doubts=args.yes, trial=args.trial)
    if args.json:
        print_json(terminal.recorded_answer(done))
    else:
        if len(done.changes):
            print(done.changes.to_string(index=False, na_rep="-"))
        aside(*(f"doubt: {problem}" for problem in logbook.asked_once(done.doubts)))
        said = terminal.recorded_text(done, args.trial)
        (print if done.written or args.trial else aside)(said)
    return 0 if done.written or args.trial else 2

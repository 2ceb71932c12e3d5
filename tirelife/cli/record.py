"""``tirelife record``: write a visit into a logbook, or correct a record."""

from __future__ import annotations

import argparse
import datetime as dt
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife import logbook, terminal
from tirelife.cli.options import Group, option
from tirelife.cli.printed import aside, print_json
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    from tirelife.logbook import Visit

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
        table, row = _place(args.correct[0])
        values = dict(_pair(text) for text in args.correct[1:])
        if not values:
            raise misused(Wrong.CORRECT)
        done = logbook.correct_record(args.logbook, table, row, values, accept_doubts=args.yes)
    elif args.withdraw:
        done = logbook.withdraw_record(args.logbook, *_place(args.withdraw), accept_doubts=args.yes)
    else:
        done = logbook.record_visit(args.logbook, _visit(args), accept_doubts=args.yes, trial=args.trial)
    if args.json:
        print_json(terminal.recorded_answer(done))
    else:
        if len(done.changes):
            print(done.changes.to_string(index=False, na_rep="-"))
        aside(*(f"doubt: {problem}" for problem in logbook.asked_once(done.doubts)))
        said = terminal.recorded_text(done, args.trial)
        (print if done.written or args.trial else aside)(said)
    return 0 if done.written or args.trial else 2


def _visit(args: argparse.Namespace) -> Visit:
    missing = [f"--{name}" for name in ("vehicle", "odometer") if not getattr(args, name)]
    if missing:
        raise misused(Wrong.VISIT_NEEDS, missing=", ".join(missing))
    wrong = [words for words in args.pressure if len(words) not in (2, 3)]
    if wrong:
        raise misused(Wrong.PRESSURE)
    if args.new_vehicle is not None and len(args.new_vehicle) not in (0, 1, 3):
        raise misused(Wrong.NEW_VEHICLE)
    day = args.date or dt.date.today().isoformat()  # noqa: DTZ011  a shop's own calendar
    tires, moved = _arrival(args, day)
    return logbook.Visit(
        vehicle_id=args.vehicle,
        date=day,
        odometer=args.odometer,
        depths=[depth for words in args.depth for depth in logbook.depths_typed(words)],
        pressures=[(words[0], words[1], words[2] if len(words) > 2 else "") for words in args.pressure],
        mounts=[(tire, "OFF") for tire in args.off] + [(tire, place) for tire, place in args.mount] + moved,
        new_tires=[tuple(words) for words in args.new_tire] + tires,
        new_vehicle=None if args.new_vehicle is None else tuple([*args.new_vehicle, "", "", ""][:3]),
        state=args.state,
        ambient=args.ambient,
        gauge_id=args.gauge,
        pressure_gauge_id=args.pressure_gauge,
        note=args.note,
    )


def _arrival(args: argparse.Namespace, day: str) -> tuple[list[Any], list[tuple[str, str]]]:
    """What a whole set put on, or a rotation by name, comes to."""
    if args.set and args.rotated:
        raise misused(Wrong.SET_ROTATED)
    if args.set:
        return logbook.new_set(logbook.store_path(args.logbook), args.vehicle, day, *args.set)
    if args.rotated:
        return [], logbook.moved_by_name(logbook.store_path(args.logbook), args.vehicle, day, args.rotated)
    return [], []


def _place(text: str) -> tuple[str, int]:
    match = re.fullmatch(r"([a-z]+):(\d{1,15})", text)
    if match is None:
        raise misused(Wrong.TABLE_ROW, text=text)
    return match[1], int(match[2])


def _pair(text: str) -> tuple[str, str]:
    column, sign, value = text.partition("=")
    if not sign:
        raise misused(Wrong.COLUMN_VALUE, text=text)
    return column, value

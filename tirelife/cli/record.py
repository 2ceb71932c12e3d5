"""``tirelife record``: write a visit into a logbook, or correct a record."""

from __future__ import annotations

import argparse
import datetime as dt
import json
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    from tirelife.logbook.record import Recorded, Visit

_EPILOG = """examples:
  tirelife record logbook.sqlite --vehicle V03 --odometer 45230 --gauge D1 \\
      --depth LF 7 7.5 7 --depth RF 7 7.5 6.5 --pressure LF 31 33 --pressure RF 32
  tirelife record logbook.sqlite --vehicle V03 --odometer 45230 \\
      --new-tire T200 "Line B" 10.5 --off T012 --mount T200 LF
  tirelife record shop.sqlite --create us --vehicle "AB 12" --odometer 45230 --new-vehicle --set "Line B" 10
  tirelife record shop.sqlite --vehicle "AB 12" --odometer 51000 --rotated front-to-rear
  tirelife record logbook.sqlite --correct depths:1056 depth_32nds=7
  tirelife record logbook.sqlite --withdraw depths:1057
Values are in the logbook's own units. One depth is the center groove; two are outer and inner; three
outer, center, inner; four leave out the center; five go across the tread. GROOVE=VALUE and
GROOVE@SPOT=VALUE also do. Nothing is written if there is an error, or a doubt that --yes does not accept.
An odometer that --yes stands by is used from then on; of one that is in the logbook already say
--correct odometer:12 odometer_read_again=yes."""
_GROOVES = {
    1: ("center",),
    2: ("outer", "inner"),
    3: ("outer", "center", "inner"),
    4: ("outer", "outer_mid", "inner_mid", "inner"),
    5: ("outer", "outer_mid", "center", "inner_mid", "inner"),
}


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = _EPILOG
    parser.add_argument(
        "logbook", metavar="LOGBOOK", help="a logbook in one file (make one: tirelife convert)"
    )
    visit = parser.add_argument_group("a visit")
    visit.add_argument("--vehicle", metavar="ID")
    visit.add_argument("--date", metavar="DATE", default="", help="YYYY-MM-DD; today if not given")
    visit.add_argument("--odometer", metavar="N", default="")
    visit.add_argument("--depth", nargs="+", action="append", default=[], metavar=("POSITION", "DEPTH"))
    visit.add_argument("--gauge", metavar="ID", default="", help="the depth gauge")
    visit.add_argument(
        "--pressure", nargs="+", action="append", default=[], metavar=("POSITION", "FOUND"),
        help="as found, and what it was set to, if it was",
    )  # fmt: skip
    visit.add_argument("--state", default="cold", help="of the tires: cold (default), city or highway")
    visit.add_argument("--ambient", metavar="T", default="", help="air temperature")
    visit.add_argument("--pressure-gauge", metavar="ID", default="")
    visit.add_argument("--mount", nargs=2, action="append", default=[], metavar=("TIRE", "POSITION"))
    visit.add_argument("--off", action="append", default=[], metavar="TIRE", help="take a tire off")
    visit.add_argument(
        "--new-tire", nargs=3, action="append", default=[], metavar=("TIRE", "LINE", "NEW_DEPTH")
    )
    visit.add_argument(
        "--new-vehicle",
        nargs="*",
        metavar="FACT",
        help="a vehicle new to the logbook; drive and placards, front and rear, if known",
    )
    visit.add_argument(
        "--set",
        nargs=2,
        metavar=("LINE", "NEW_DEPTH"),
        help="four new tires of one line put on, named for you",
    )
    visit.add_argument(
        "--rotated", metavar="PATTERN", help="by name: front-to-rear, forward-cross, x and so on"
    )
    visit.add_argument("--create", choices=("us", "metric"), help="make the logbook, if it is not there yet")
    visit.add_argument("--note", metavar="TEXT", default="")
    change = parser.add_argument_group("a correction")
    change.add_argument("--correct", nargs="+", metavar=("TABLE:ROW", "COLUMN=VALUE"))
    change.add_argument("--withdraw", metavar="TABLE:ROW", help="take out of use a record entered by mistake")
    parser.add_argument("--yes", action="store_true", help="write even if something is doubtful")
    parser.add_argument("--trial", action="store_true", help="check and compare only; write nothing")
    parser.add_argument("--json", action="store_true", help="print the outcome as JSON")


def run(args: argparse.Namespace) -> int:
    """Record, and show each reading beside the one before it; 2 if nothing was written for a doubt."""
    from tirelife.logbook.record import correct_record, record_visit, withdraw_record

    if args.create and not Path(args.logbook).exists():
        from tirelife.logbook import create_logbook

        create_logbook(args.logbook, args.create)
    if args.correct:
        table, row = _place(args.correct[0])
        values = dict(_pair(text) for text in args.correct[1:])
        if not values:
            raise misused(Wrong.CORRECT)
        done = correct_record(args.logbook, table, row, values, accept_doubts=args.yes)
    elif args.withdraw:
        table, row = _place(args.withdraw)
        done = withdraw_record(args.logbook, table, row, accept_doubts=args.yes)
    else:
        done = record_visit(args.logbook, _visit(args), accept_doubts=args.yes, trial=args.trial)
    if args.json:
        print(json.dumps(_as_json(done), indent=1, ensure_ascii=False))
    else:
        _show(done, args.trial)
    return 0 if done.written or args.trial else 2


def _visit(args: argparse.Namespace) -> Visit:
    from tirelife.logbook.record import Visit

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
    return Visit(
        vehicle_id=args.vehicle,
        date=day,
        odometer=args.odometer,
        depths=[depth for words in args.depth for depth in _depths(words)],
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
    from tirelife.logbook.arrivals import moved_by_name, new_set
    from tirelife.logbook.record import store_path

    if args.set and args.rotated:
        raise misused(Wrong.SET_ROTATED)
    if args.set:
        return new_set(store_path(args.logbook), args.vehicle, day, *args.set)
    if args.rotated:
        return [], moved_by_name(store_path(args.logbook), args.vehicle, day, args.rotated)
    return [], []


def _depths(words: list[str]) -> list[tuple[str, str, str, str]]:
    """Readings of one tire: position, groove, depth, spot."""
    from tirelife.logbook.number import depth_words

    position, values = words[0], words[1:]
    if any("=" in value for value in values):
        out = []
        for value in values:
            match = re.fullmatch(r"([a-z_]+)(?:@(\d+))?=(.+)", value)
            if match is None:
                raise misused(Wrong.GROOVE_VALUE, position=position, given=value)
            out.append((position, match[1], match[3], match[2] or ""))
        return out
    values = [one for word in values for one in depth_words(f"--depth {position}", word)]
    if len(values) not in _GROOVES:
        raise misused(Wrong.DEPTH_COUNT, position=position)
    return [
        (position, groove, value, "") for groove, value in zip(_GROOVES[len(values)], values, strict=True)
    ]


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


def _as_json(done: Recorded) -> dict[str, object]:
    from tirelife.language import worded

    changes = done.changes.astype(object).where(done.changes.notna(), None)
    return {
        "written": done.written,
        "visit": done.visit,
        "changes": changes.to_dict("records"),
        "doubts": worded(done.doubts).to_dict("records"),
    }


def _show(done: Recorded, trial: bool) -> None:
    from tirelife.logbook import asked_once

    if len(done.changes):
        print(done.changes.to_string(index=False, na_rep="-"))
    for problem in asked_once(done.doubts):
        print(f"doubt: {problem}", file=sys.stderr)
    if done.written:
        print("Written." if done.visit is None else f"Visit {done.visit} written.")
    elif trial:
        print("Not written: this was a trial.")
    else:
        print("Not written: correct the visit, or accept the doubts with --yes.", file=sys.stderr)

"""``tirelife whatif``: distance and months that a change would buy, for a vehicle or a whole fleet."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tirelife.cli.decision import DECISION_COLUMNS, all_rows, changed_lines, with_decisions
from tirelife.cli.forecast import add_formats, add_parts, deliver, parts_or_file
from tirelife.cli.limits import add_limits, parse_depth, removal_for
from tirelife.cli.numbers import number
from tirelife.cli.prior import add_fresh, add_prior, prior_of
from tirelife.cli.sets import add_shares, told_book
from tirelife.cli.trust import say_trust
from tirelife.cli.verdict import say_first, told_verdicts
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import KINDS, SHOWN, convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import FleetDecisions
    from tirelife.logbook import Logbook
    from tirelife.outlook import Otherwise
    from tirelife.rates import WearFit

__all__ = ["add", "asked_for", "run"]

EPILOG = """examples:
  tirelife whatif data_synthetic/logbook --vehicle V03 --stops 0.8 --pressures-kept
  tirelife whatif LOGBOOK --slower 5mph --rotate-every 5000mi --together --out whatif.csv
  tirelife whatif LOGBOOK --pressures-kept --wheels-straight --out FOLDER/
Each option is a change of its own, from now on; all else goes on as it is. A row a tire and change, and one
a vehicle for its set, whose first tire due counts. A gain can be negative; where its range holds 0 too, it
is too small to tell, and told_apart is false. The columns do, do_severity and do_words say what to do
were it so, do_now as things are. --json is an object: "rows", "decisions" as things are and, by change,
"decisions_then". A folder of parts is resumable, and says what to do with --decisions yes."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", action="append", metavar="ID", help="only this one; may be given again")
    parser.add_argument("--pressures-kept", action="store_true", help="pressures kept at the placard")
    parser.add_argument("--wheels-straight", action="store_true", help="toe of both axles set to zero")
    for name, what in (("starts", "start"), ("stops", "stop"), ("turns", "turn")):
        parser.add_argument(
            f"--{name}",
            type=number,
            metavar="F",
            help=f"factor on the acceleration of every {what}, such as 0.8",
        )
    parser.add_argument("--top-speed", metavar="SPEED", help="no faster than this, such as 65mph or 105kmh")
    parser.add_argument(
        "--slower", metavar="SPEED", help="slower by this where it is above 55 mph, such as 5mph"
    )
    parser.add_argument(
        "--rotate-every", metavar="DISTANCE", help="between axles, such as 5000mi; 0mi: never"
    )
    parser.add_argument("--a-year", metavar="DISTANCE", help="distance a year, such as 12000mi")
    parser.add_argument("--off-at", metavar="DEPTH", help="another removal depth, such as 4/32")
    parser.add_argument("--together", action="store_true", help="all of these at once, as one change")
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    add_limits(parser)
    add_shares(parser)
    add_prior(parser)
    add_fresh(parser)
    add_parts(parser)
    add_formats(parser)


def run(args: argparse.Namespace) -> int:
    """Work the changes out and write the table."""
    changes = asked_for(args)
    parts = parts_or_file(args)
    from tirelife.advice import decisions_otherwise, fleet_decisions
    from tirelife.logbook import read_logbook
    from tirelife.outlook import kept_fit, what_if_fleet, what_ifs

    prior = prior_of(args)
    book = told_book(args, read_logbook(args.logbook, as_of=args.as_of))
    removal, rule = removal_for(args, book.as_of, book)
    say_first(told_verdicts(book, removal, args.vehicle))

    def decided(
        part: Logbook, known: WearFit, vehicles: list[str] | None = None
    ) -> tuple[FleetDecisions, dict[str, FleetDecisions]]:
        then = {
            change.name: decisions_otherwise(part, known, change, vehicles, removal_depth_mm=removal)
            for change in changes
        }
        return fleet_decisions(part, known, vehicles, removal_depth_mm=removal), then

    def with_all(table: pd.DataFrame, part: Logbook, known: WearFit) -> pd.DataFrame:
        told = shown(table, book.units)
        return _with_decisions(told, *decided(part, known), book.units) if args.decisions == "yes" else told

    if parts:
        from tirelife.cli.progress import progress

        if args.vehicle:
            raise misused(Wrong.PARTS_VEHICLE)
        with progress("vehicles") as tell:
            tell(0, len(book.vehicles))
            fit = kept_fit(book, prior, fresh=args.fresh)
            done = what_if_fleet(
                book,
                fit,
                changes,
                args.out,
                removal_depth_mm=removal,
                chunk=args.chunk,
                shape=with_all,
                shaped=str(args.decisions),
                progress=tell,
            )
        say_trust(fit.verdict)
        print(f"{len(book.vehicles)} vehicles in {done}.", file=sys.stderr)
        return 0
    fit = kept_fit(book, prior, fresh=args.fresh)
    say_trust(fit.verdict)
    found = what_ifs(book, fit, changes, args.vehicle, removal)
    table = shown(found, book.units).assign(fit=fit.verdict.trust.value)
    if args.decisions == "no":
        deliver(table, args, "rows", lambda: _text(found, book.units))
    else:
        now, then = decided(book, fit, args.vehicle)
        more: dict[str, object] = {}
        if args.json:
            more["decisions"] = all_rows(now, book.units)
            more["decisions_then"] = {name: all_rows(one, book.units) for name, one in then.items()}
        else:
            table = _with_decisions(table, now, then, book.units)
        head = ["What to do first, and what a change would alter of what to do"]
        deliver(
            table,
            args,
            "rows",
            lambda: "\n".join([*head, *changed_lines(now, then, book.units), "", _text(found, book.units)]),
            **more,
        )
    if rule:
        print(rule, file=sys.stderr)
    return 0


def asked_for(args: argparse.Namespace) -> list[Otherwise]:
    """Changes that the options name, one each, or all as one with ``--together``.

    Raises
    ------
    InputError
        If none is asked for, or an amount cannot be read.
    """
    from tirelife.outlook import Otherwise
    from tirelife.wear import Change

    wear: list[tuple[str, dict[str, Any]]] = []
    if args.pressures_kept:
        wear.append(("pressures at the placard", {"pressure_kept": True}))
    if args.wheels_straight:
        wear.append(("wheels set straight", {"front_toe_mm": 0.0, "rear_toe_mm": 0.0}))
    for name in ("starts", "stops", "turns"):
        factor = getattr(args, name)
        if factor is not None:
            if not 0.1 <= factor <= 10:
                raise misused(Wrong.FACTOR, name=name, given=f"{factor:g}")
            wear.append((f"{name} at {factor:g} of the acceleration", {name: factor}))
    if args.top_speed and args.slower:
        raise misused(Wrong.ONE_SPEED)
    if args.top_speed:
        wear.append(
            (f"no faster than {args.top_speed}", {"cap_mps": amount(args.top_speed, "speed", "--top-speed")})
        )
    if args.slower:
        wear.append(
            (f"{args.slower} slower above 55 mph", {"by_mps": amount(args.slower, "speed", "--slower")})
        )
    out = [Otherwise(name, wear=Change(name, **what)) for name, what in wear]
    others: list[tuple[str, str | None, str, Any]] = [
        (
            "rotation every {}",
            args.rotate_every,
            "rotation_km",
            lambda x: amount(x, "distance", "--rotate-every"),
        ),
        ("{} a year", args.a_year, "km_per_year", lambda x: amount(x, "distance", "--a-year")),
        ("removal at {}", args.off_at, "removal_depth_mm", parse_depth),
    ]
    said = [(text.format(given), field, read(given)) for text, given, field, read in others if given]
    out += [Otherwise(name, **{field: value}) for name, field, value in said]
    if not out:
        raise misused(Wrong.NO_CHANGE)
    if not args.together:
        return out
    name = ", ".join(change.name for change in out)
    all_wear = Change(name, **{k: v for _, what in wear for k, v in what.items()}) if wear else None
    return [replace(Otherwise(name, wear=all_wear), **{field: value for _, field, value in said})]


def amount(text: str, kind: str, option: str) -> float:
    """Read a number with its unit, such as ``65mph`` or ``8000 km``, in the unit used inside.

    Examples
    --------
    >>> amount("100 kmh", "speed", "--top-speed")
    27.77777777777778
    """
    units = "|".join(sorted(KINDS[kind], key=len, reverse=True))
    from tirelife.logbook.number import told_number

    found = re.fullmatch(rf"\s*(\d[\d.,]*)\s*({units})\s*", text.lower().replace("km/h", "kmh"))
    if not found:
        raise misused(Wrong.OPTION_UNIT, option=option, text=text, known=", ".join(KINDS[kind]))
    value = told_number(option, found.group(1), ask_points=kind == "distance")
    return float(convert(value, found.group(2), next(iter(KINDS[kind]))))


def shown(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Turn distances gained and depths read into the logbook's units, in values and names.

    Added is ``told_apart``: whether the middle 80 % of a gain's draws lie on one side of 0.
    """
    low, high = table["km_gained_p10"], table["km_gained_p90"]
    out = table.assign(told_apart=(low > 0) | (high < 0))
    if units != "us":
        return out
    gained = [str(name) for name in table if str(name).startswith("km_gained")]
    out[gained] = convert(table[gained], "km", "mi")
    names = {name: name.replace("km_gained", "miles_gained") for name in gained}
    for name in ("read_mm", "read_raw_mm"):
        out[name] = convert(table[name].astype(float), "mm", "32nds")
        names[name] = name.replace("_mm", "_32nds")
    return out.rename(columns=names)


def _with_decisions(
    table: pd.DataFrame, now: FleetDecisions, then: Mapping[str, FleetDecisions], units: str
) -> pd.DataFrame:
    """Put with each row what to do were its change made, and, as ``do_now``, as things are."""
    out = with_decisions(table, now, units)
    out = out.rename(columns={"do": "do_now"}).drop(columns=["do_severity", "do_words"])
    told = out.assign(do="", do_severity="", do_words="")
    for name, found in then.items():
        rows = out["change"] == name
        if rows.any():
            told.loc[rows, list(DECISION_COLUMNS)] = with_decisions(out[rows], found, units)[
                list(DECISION_COLUMNS)
            ]
    return told


def _text(table: pd.DataFrame, units: str) -> str:
    """Table for a reader: a row a tire and change; gains in distance and months, 8 chances in 10."""
    from tirelife.cli.table import Column, place, signed_span, unit_of
    from tirelife.cli.table import table as set_table
    from tirelife.sheet.quantities import rounded

    if table.empty:
        return "nothing to compare: no tire with a distance left"
    unit = unit_of("distance", units)
    km = {p: convert(table[f"km_gained_{p}"], "km", SHOWN[units]["distance"]) for p in ("p10", "p50", "p90")}
    middle = [
        "" if m != m else f"{rounded(m, high - low):+,.0f}".replace("+0", "0").replace("-0", "0")
        for low, m, high in zip(km["p10"], km["p50"], km["p90"], strict=True)
    ]
    return set_table(
        [
            Column("vehicle", table["vehicle_id"].astype(str).tolist()),
            Column("tire", [place(p) for p in table["position"]]),
            Column("change", table["change"].astype(str).tolist()),
            Column(f"gains,\n{unit}", middle, right=True),
            Column("\n8 times in 10", [signed_span(a, b) for a, b in zip(km["p10"], km["p90"], strict=True)]),
            Column("", [_told(a, b) for a, b in zip(km["p10"], km["p90"], strict=True)]),
            Column("gains,\nmonths", [_months(m) for m in table["months_gained_p50"]], right=True),
        ]
    )


def _told(low: float, high: float) -> str:
    """Say where a gain is none, or smaller than what is not known of it."""
    if low == high == 0:
        return "none"
    return "too small to tell" if low <= 0 <= high else ""


def _months(value: float) -> str:
    return "" if value != value else f"{value:+.1f}" if abs(value) >= 0.05 else "0"

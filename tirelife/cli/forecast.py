"""``tirelife forecast``: miles left and replacement dates, a row a tire."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from tirelife.cli.decision import all_rows, with_decisions
from tirelife.cli.limits import add_limits, parse_depth, removal_for
from tirelife.cli.prior import add_fresh, add_prior, prior_of
from tirelife.cli.sets import add_shares, told_book
from tirelife.cli.trust import say_trust
from tirelife.cli.values import json_rows, known_vehicles
from tirelife.cli.verdict import say_first, told_verdicts, with_words
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["add", "add_formats", "add_parts", "deliver", "parts_or_file", "run", "shown"]

EPILOG = """examples:
  tirelife forecast data_synthetic/logbook --as-of 2026-06-30 --out forecast.csv
  tirelife forecast LOGBOOK --removal-depth 4/32 --json
  tirelife forecast LOGBOOK --place EU/Austria --limits mine.csv
The columns do, do_severity and do_words say what to do about each tire, most urgent first. --json is an
object: rows under "tires", and each vehicle's "decisions" with codes, figures, words and what would change
them. A folder of parts says what to do with --decisions yes. With the same --as-of nothing dated later is
used. A projection is no inspection: cords, bulges, cuts, cracks, age, and a depth at or under the limit go
to a qualified person now. Legal limits differ by place and vehicle."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", action="append", metavar="ID", help="only this one; may be given again")
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    add_shares(parser)
    add_limits(parser)
    add_prior(parser)
    add_fresh(parser)
    add_parts(parser)
    add_formats(parser)


def add_parts(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say where a table goes, whole or in parts."""
    parser.add_argument(
        "--out",
        metavar="FILE",
        help="write .csv or .parquet here; or a folder (FOLDER/) of Parquet parts, resumable",
    )
    parser.add_argument(
        "--chunk",
        type=int,
        default=5_000,
        metavar="N",
        help="vehicles at a time in a folder of parts, which bounds the memory (default 5000)",
    )
    parser.add_argument(
        "--decisions",
        choices=("yes", "no"),
        help="whether data say what to do (default: yes; no in a folder of parts, where it takes longest)",
    )


def parts_or_file(args: argparse.Namespace) -> bool:
    """Whether a folder of parts is wanted; raise InputError if the name or the size of a part is wrong."""
    if args.chunk < 1:
        raise misused(Wrong.CHUNK, given=args.chunk)
    if args.out and str(args.out).endswith(("/", "\\")):
        return True
    if args.out and not str(args.out).lower().endswith((".csv", ".parquet")):
        raise misused(Wrong.OUT_PARTS, out=args.out)
    return False


def run(args: argparse.Namespace) -> int:
    """Forecast and write the table."""
    if args.removal_depth:
        parse_depth(args.removal_depth)
    parts = parts_or_file(args)
    from tirelife.advice import fleet_decisions
    from tirelife.logbook import read_logbook
    from tirelife.outlook import forecast, kept_fit

    prior = prior_of(args)
    book = told_book(args, read_logbook(args.logbook, as_of=args.as_of))
    removal, rule = removal_for(args, book.as_of, book)

    known_vehicles(book, args.vehicle)
    say_first(told_verdicts(book, removal, args.vehicle))

    def told_why(table: pd.DataFrame) -> pd.DataFrame:
        said = with_words(table, book.units, rule)
        return shown(said[[*(c for c in said if c != "fit"), "fit"]], book.units)

    def with_all(table: pd.DataFrame, part: Logbook, known: WearFit) -> pd.DataFrame:
        if args.decisions != "yes":
            return told_why(table)
        found = fleet_decisions(part, known, removal_depth_mm=removal)
        return with_decisions(told_why(table), found, book.units)

    if parts:
        if args.vehicle:
            raise misused(Wrong.PARTS_VEHICLE)
        from tirelife.cli.progress import progress
        from tirelife.outlook import forecast_fleet

        with progress("vehicles") as tell:
            tell(0, len(book.vehicles))
            fit = kept_fit(book, prior, fresh=args.fresh)
            done = forecast_fleet(
                book,
                fit,
                args.out,
                removal_depth_mm=removal,
                chunk=args.chunk,
                shape=with_all,
                shaped=f"{rule} {args.decisions}",
                progress=tell,
            )
        say_trust(fit.verdict)
        print(f"{len(book.vehicles)} vehicles in {done}.", file=sys.stderr)
        return 0
    from tirelife.cli.forecast_text import forecast_text

    fit = kept_fit(book, prior, fresh=args.fresh)
    say_trust(fit.verdict)
    found = forecast(book, fit, removal_depth_mm=removal)
    if args.vehicle:
        found = found[found["vehicle_id"].isin(args.vehicle)].reset_index(drop=True)
    if found.empty:
        print(f"no tire is on a vehicle on {book.as_of:%Y-%m-%d}: nothing to forecast", file=sys.stderr)

    if args.decisions == "no" or found.empty:
        deliver(told_why(found), args, "tires", lambda: forecast_text(found, book.units, rule))
        return 0
    decisions = fleet_decisions(book, fit, args.vehicle, removal_depth_mm=removal)
    if args.json:
        deliver(told_why(found), args, "tires", str, decisions=all_rows(decisions, book.units))
        return 0
    table = with_decisions(told_why(found), decisions, book.units)
    deliver(table, args, "tires", lambda: forecast_text(found, book.units, rule, decisions))
    return 0


def add_formats(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that print data for a program in place of the table for a reader."""
    parser.add_argument("--csv", action="store_true", help="print CSV with every column, for a program")
    parser.add_argument("--json", action="store_true", help="print a JSON object, for a program")


def deliver(
    table: pd.DataFrame, args: argparse.Namespace, rows: str, text: Callable[[], str], **more: object
) -> None:
    """Write a table to ``--out``, or print it as ``--json``, ``--csv`` or, made by ``text``, for a reader.

    ``rows`` says what its rows are, and is their name in the JSON object; ``more`` stands beside them there.
    """
    from tirelife.logbook import csv_text
    from tirelife.outlook.files import plain_dates, write_table

    if args.out:
        write_table(table, args.out, for_spreadsheet=args.for_spreadsheet)
        print(f"{len(table)} {rows} written to {args.out}", file=sys.stderr)
    elif args.json:
        told = json.loads(json_rows(plain_dates(table)))
        print(json.dumps({rows: told, **more}, ensure_ascii=False))
    elif args.csv:
        print(csv_text(plain_dates(table), for_spreadsheet=args.for_spreadsheet), end="")
    elif said := text():
        print(said)


def shown(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Turn a forecast's inside units into the logbook's, in values and names.

    Parameters
    ----------
    table : DataFrame
        As from :func:`tirelife.outlook.forecast`.
    units : str
        ``us`` or ``metric``.
    """
    if units != "us":
        return table.copy()
    out = table.copy()
    names = {}
    for name in table.columns:
        if name == "odometer_km" or name.startswith("km_left_"):
            out[name] = convert(table[name], "km", "mi")
            names[name] = "odometer_mi" if name == "odometer_km" else name.replace("km_left", "miles_left")
        elif name.endswith("_mm"):
            out[name] = convert(table[name], "mm", "32nds")
            names[name] = name.replace("_mm", "_32nds")
    return out.rename(columns=names)

"""``tirelife groups``: compare driver groups fairly, and what they cost."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from tirelife.cli.numbers import number
from tirelife.cli.values import json_rows
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.groups import GroupComparison
    from tirelife.logbook import Logbook

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife groups data_synthetic/logbook
  tirelife groups LOGBOOK --by tire_line --out lines.csv
  tirelife groups LOGBOOK --fitting 20 --rotation 25 --budget --json
Ratios are adjusted for tire line, drive, mass, slow roads, axle and season, and for site, route, depot or
region where the vehicles table has them. A group differs for many reasons; recorded habits explain some.
Use no figure of this kind alone to judge a person."""

CAUTIONS = (
    "A group's wear is not its drivers' doing alone: routes, loads, cars and readings differ too, and many "
    "are not recorded.",
    "Do not use these figures alone to reward, discipline or dismiss anyone; show drivers what is recorded "
    "and ask them first.",
    "Groups of few vehicles point at persons and are not shown. Local law on data about workers rules.",
)


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument(
        "--by", metavar="COLUMN", default="driver_group",
        help="column of the vehicles or tires table (default: driver_group)",
    )  # fmt: skip
    parser.add_argument(
        "--adjust",
        metavar="COLUMN",
        nargs="*",
        help="adjust for these columns (also axle, season, slow_road_share) and no others",
    )
    parser.add_argument(
        "--min-vehicles", type=int, metavar="N", help="show no smaller group (default: 3; 1 for tire columns)"
    )
    parser.add_argument("--level", type=number, default=0.95, help="of the ranges (default: 0.95)")
    parser.add_argument("--fitting", type=number, default=0.0, metavar="MONEY", help="fitting, a tire")
    parser.add_argument("--rotation", type=number, default=0.0, metavar="MONEY", help="one rotation of a set")
    parser.add_argument(
        "--interval",
        type=number,
        metavar="DISTANCE",
        help="between rotations (default: 5000 miles, or 8000 km)",
    )
    parser.add_argument("--budget", action="store_true", help="add the tires to buy in the coming 12 months")
    parser.add_argument("--as-of", metavar="DATE", help="the last day that counts")
    parser.add_argument("--out", metavar="FILE", help="write the pairs to this .csv or .parquet")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(args: argparse.Namespace) -> int:
    """Compare and write."""
    if args.out and not str(args.out).lower().endswith((".csv", ".parquet")):
        raise misused(Wrong.OUT_TABLE, out=args.out)
    if args.interval is not None and not 0 < args.interval < 1e6:
        raise misused(Wrong.INTERVAL, given=f"{args.interval:g}")
    from tirelife.groups import compare_groups, in_units
    from tirelife.logbook import read_logbook

    book = read_logbook(args.logbook, as_of=args.as_of)
    from tirelife.outlook import kept_fit

    factors = kept_fit(book).factors
    comparison = compare_groups(book, args.by, args.adjust, args.level, args.min_vehicles, factors=factors)
    inside = _tables(book, comparison, args)
    tables = {name: in_units(table, book.units) for name, table in inside.items()}
    if args.out:
        from tirelife.outlook.files import write_table

        write_table(tables["pairs"], args.out, for_spreadsheet=args.for_spreadsheet)
        print(f"{len(tables['pairs'])} pairs written to {args.out}", file=sys.stderr)
    if args.json:
        print(json.dumps(_plain(book, comparison, tables), indent=2, ensure_ascii=False))
    elif not args.out:
        print(_text(book, comparison, inside))
    return 0


def _tables(book: Logbook, comparison: GroupComparison, args: argparse.Namespace) -> dict[str, pd.DataFrame]:
    """Everything that is written, in inside units."""
    import numpy as np

    from tirelife.groups import Costs, break_even, cost_table, replacements_by_month, savings

    behind = comparison.groups.set_index("group")[["tires", "vehicles", "distance_km"]]
    pairs = comparison.pairs.copy()
    for side in ("group", "other"):
        for name in behind:
            pairs[f"{side}_{name}"] = pairs[side].map(behind[name]).to_numpy()
    tables = {"groups": comparison.groups, "pairs": pairs, "why": comparison.why, "checks": comparison.checks}
    default = (5000.0, "mi") if book.units == "us" else (8000.0, "km")
    interval = convert(args.interval or default[0], default[1], "km")
    costs = Costs(args.fitting, args.rotation, interval)
    cost = cost_table(comparison, costs)
    if cost["cost_per_1000km"].notna().any():
        tables["costs"] = cost
        if comparison.by == "tire_line":
            tables["break_even"] = break_even(comparison, costs)
        else:
            tables["savings"] = savings(book, comparison, costs)
    if args.budget:
        tables["budget"] = replacements_by_month(book, rng=np.random.default_rng(0))
    return tables


def _plain(book: Logbook, comparison: GroupComparison, tables: dict[str, pd.DataFrame]) -> dict[str, Any]:
    return {
        "by": comparison.by,
        "adjusted_for": list(comparison.adjusted_for),
        "level": comparison.level,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "units": book.units,
        "groups_not_shown": comparison.hidden,
        **{name: json.loads(json_rows(table)) for name, table in tables.items()},
        "cautions": list(CAUTIONS),
    }


def _text(book: Logbook, comparison: GroupComparison, tables: dict[str, pd.DataFrame]) -> str:
    """The answer, then what it rests on; ``tables`` in inside units."""
    from tirelife.cli.table import framed
    from tirelife.sheet import group_tables as words
    from tirelife.sheet.fit_tables import check_table

    units = book.units
    adjusted = ", ".join(comparison.adjusted_for).replace("_", " ") or "nothing"
    lines = [
        f"{comparison.by.replace('_', ' ').capitalize()}, to {book.as_of:%Y-%m-%d}; adjusted for {adjusted}",
        "",
        *(str(said) for said in comparison.pairs["words"]),
    ]
    if comparison.hidden:
        lines.append(f"{comparison.hidden} smaller group(s) not shown.")
    parts = {
        "Wear, the fastest first": words.group_table(comparison, units),
        "Pair by pair": words.pair_table(comparison),
        "Why (the parts multiply to the whole)": words.why_table(comparison),
    }
    if "costs" in tables:
        parts["Tire cost, a vehicle"] = words.cost_table(tables["costs"], units)
    if "savings" in tables:
        parts["What a year would save"] = words.saving_table(tables["savings"])
    if "budget" in tables:
        parts["Tires to buy"] = words.budget_table(tables["budget"])
    parts["Checks that failed"] = check_table(comparison.checks, failed=True).drop(columns="Passed")
    for title, table in parts.items():
        if len(table):
            lines += ["", title, framed(table)]
    if "break_even" in tables:
        lines += ["", "Break-even", *(str(said) for said in tables["break_even"]["words"])]
    if comparison.checks["passed"].astype(bool).all():
        lines += ["", "All checks passed."]
    return "\n".join([*lines, "", *CAUTIONS])

"""``tirelife groups``: compare driver groups fairly, and what they cost."""

from __future__ import annotations

import argparse

from tirelife import groups, outlook, terminal
from tirelife.cli.asked import interval_km, read
from tirelife.cli.numbers import number
from tirelife.cli.options import option
from tirelife.cli.printed import aside, print_json, table_name
from tirelife.rotation import USUAL_INTERVAL
from tirelife.units import convert

OPTIONS = (
    "for-spreadsheet", "logbook",
    option("--by COLUMN", "column of the vehicles or tires table (default: driver_group)",
           default="driver_group"),
    option("--adjust COLUMN", "adjust for these columns (also axle, season, slow_road_share) and no "
           "others", nargs="*"),
    option("--min-vehicles N", "show no smaller group (default: 3; 1 for tire columns)", type=int),
    option("--level LEVEL", "of the ranges (default: 0.95)", type=number, default=0.95),
    "money", "interval", option("--budget", "add the tires to buy in the coming 12 months"), "as-of",
    option("--out FILE", "write the pairs to this .csv or .parquet"), "json", "language",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Compare and write."""
    table_name(args.out)
    book = read(args)
    every = interval_km(args, book.units) or float(convert(*USUAL_INTERVAL[book.units], "km"))
    found = groups.compare_groups(
        book, args.by, args.adjust, args.level, args.min_vehicles, factors=outlook.kept_fit(book).factors
    )
    costs = groups.Costs(args.fitting, args.rotation, every)
    tables = groups.comparison_tables(book, found, costs, budget=args.budget)
    if args.out:
        pairs = terminal.group_data(tables, book.units, args.language)["pairs"]
        outlook.write_table(pairs, args.out, for_spreadsheet=args.for_spreadsheet)
        aside(f"{len(pairs)} pairs written to {args.out}")
    if args.json:
        print_json(terminal.group_answer(book, found, tables, args.language))
    elif not args.out:
        print(terminal.group_text(book, found, tables, args.language))
    return 0

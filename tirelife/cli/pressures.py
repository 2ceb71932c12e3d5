"""``tirelife pressures``: how far below the placard tires ran and for how long, leaks, and what to set."""

from __future__ import annotations

import argparse

from tirelife import inflation, logbook, terminal
from tirelife.cli.asked import read
from tirelife.cli.options import option
from tirelife.cli.printed import print_json

OPTIONS = (
    "logbook", option("--vehicle ID", "one vehicle (default: all)"), "as-of", "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Sum up the pressures of the tires now on the road and print them."""
    book = read(args)
    logbook.known_vehicles(book, [args.vehicle] if args.vehicle is not None else [])
    summary = inflation.pressures_now(book)
    if args.vehicle is not None:
        summary = summary[summary["vehicle_id"] == args.vehicle]
    if args.json:
        print_json(terminal.pressure_answer(summary, book))
    else:
        print(terminal.pressure_text(summary, book.units))
    return 0

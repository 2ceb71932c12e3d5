"""``tirelife counter``: one page for the counter, which answers walk-ins with no Python."""

from __future__ import annotations

import argparse

from tirelife import outlook, sheet, terminal
from tirelife.cli.asked import file_name, prior_of, read
from tirelife.cli.options import option
from tirelife.cli.printed import aside, write_file
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

OPTIONS = (
    option("logbook", "folder (or SQLite file) with the tables", nargs="?"),
    option("--out FILE", "write the page here (.html)", required=True),
    option("--units", "what it opens in (default: the logbook's)", choices=("us", "metric")), "as-of",
    option("--with-vehicles", "put the log's vehicles in, by name, so that a car that comes back is "
           "answered with "
           "its history"),
    "language", "prior", "fresh",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Make the page and write it, whole or not at all."""
    file_name(args.out, ".html", ".htm")
    if args.with_vehicles and not args.logbook:
        raise misused(Wrong.VEHICLES_OF)
    prior, book, verdict, cars = prior_of(args), None, None, None
    units = args.units or "us"
    if args.logbook:
        book = read(args)
        fit = outlook.kept_fit(book, prior, fresh=args.fresh)
        units, verdict = args.units or book.units, fit.verdict
        if args.with_vehicles:
            cars = outlook.known_cars(book, fit, prior)
        prior = prior if verdict.refused else fit.posterior
        aside(*terminal.fit_lines(verdict))
    page = sheet.counter_page(prior, book, verdict, units=units, language=args.language, cars=cars)
    write_file(args.out, page)
    aside(f"page written to {args.out}")
    if book is not None and cars is not None:
        aside(f"with {len(cars['cars'])} of {len(book.vehicles)} vehicles by name: guard it as the log")
    return 0

"""``tirelife counter``: one page for the counter, which answers walk-ins with no Python."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tirelife.cli.prior import add_fresh, add_prior, prior_of
from tirelife.cli.tongue import add_language
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife counter data_synthetic/logbook --out counter.html
  tirelife counter --prior shop.json --units metric --out counter.html
  tirelife counter --out counter.html             # published figures, for a shop with no log yet
The page opens in a browser with no network, answers from what the log's fit learned, and keeps visits on its
own device until they are exported; read that file in with tirelife import. No plate, visit or name is in it,
unless you ask for --with-vehicles: then a car that comes back is answered with its own history.
Make it anew every few weeks. A projection is no inspection: cords, bulges, cuts, cracks, age, and a depth at
or under the limit go to a qualified person now; local codes rule."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", nargs="?", help="folder (or SQLite file) with the tables")
    parser.add_argument("--out", metavar="FILE", required=True, help="write the page here (.html)")
    parser.add_argument("--units", choices=("us", "metric"), help="what it opens in (default: the logbook's)")
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    parser.add_argument(
        "--with-vehicles",
        action="store_true",
        help="put the log's vehicles in, by name, so that a car that comes back is answered with its history",
    )
    add_language(parser)
    add_prior(parser)
    add_fresh(parser)


def run(args: argparse.Namespace) -> int:
    """Make the page and write it, whole or not at all."""
    if not args.out.lower().endswith((".html", ".htm")):
        raise misused(Wrong.HTML, name=args.out)
    if not Path(args.out).resolve().parent.is_dir():
        raise misused(Wrong.NO_FOLDER, name=args.out)
    from tirelife.logbook import read_logbook, whole_file
    from tirelife.outlook.returning import known_cars
    from tirelife.sheet.counter import counter_page

    if args.with_vehicles and not args.logbook:
        raise misused(Wrong.VEHICLES_OF)
    prior, book, verdict, cars = prior_of(args), None, None, None
    units = args.units or "us"
    if args.logbook:
        from tirelife.cli.trust import say_trust
        from tirelife.outlook import kept_fit

        book = read_logbook(args.logbook, as_of=args.as_of)
        fit = kept_fit(book, prior, fresh=args.fresh)
        units, verdict = args.units or book.units, fit.verdict
        if args.with_vehicles:
            cars = known_cars(book, fit, prior)
        prior = prior if verdict.refused else fit.posterior
        say_trust(verdict)
    html = counter_page(prior, book, verdict, units=units, language=args.language, cars=cars)
    with whole_file(args.out) as part:
        part.write_text(html, encoding="utf-8")
    print(f"page written to {args.out}", file=sys.stderr)
    if book is not None and cars is not None:
        print(
            f"with {len(cars['cars'])} of {len(book.vehicles)} vehicles by name: guard it as the log",
            file=sys.stderr,
        )
    return 0

"""``tirelife fleet``: one page for the owner, and its lists."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tirelife.cli.limits import add_limits, removal_for
from tirelife.cli.prior import add_prior, prior_of
from tirelife.cli.sets import add_shares, told_book
from tirelife.cli.tongue import add_language
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife fleet data_synthetic/logbook --out fleet.html
  tirelife fleet LOGBOOK --out fleet.html --pdf fleet.pdf --lists FOLDER --fitting 20 --rotation 25
  tirelife fleet LOGBOOK --by depot --name "North depot" --out north.html
Who cannot wait, whom to call in, what to buy, when each vehicle is due, what tires cost, and what to measure
next. The page is one file that opens with no network. It is an estimate and no inspection."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--out", metavar="FILE", help="write the page here (.html)")
    parser.add_argument("--pdf", metavar="FILE", help="print it to a PDF as well, with Chromium")
    parser.add_argument("--lists", metavar="FOLDER", help="write the page's lists here as CSV files")
    parser.add_argument("--name", default="", help="what to call the fleet")
    parser.add_argument(
        "--by", metavar="COLUMN", default="driver_group",
        help="column of the vehicles table that groups are compared by (default: driver_group)",
    )  # fmt: skip
    parser.add_argument("--fitting", type=float, default=0.0, metavar="MONEY", help="fitting, a tire")
    parser.add_argument("--rotation", type=float, default=0.0, metavar="MONEY", help="one rotation of a set")
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    add_limits(parser)
    add_shares(parser)
    add_language(parser)
    add_prior(parser)


def run(args: argparse.Namespace) -> int:
    """Make the page and write it, whole or not at all."""
    for name, ending in ((args.out, ".html"), (args.pdf, ".pdf")):
        if name and not name.lower().endswith(ending):
            raise misused(Wrong.ENDING, name=name, ending=ending)
        if name and not Path(name).resolve().parent.is_dir():
            raise misused(Wrong.NO_FOLDER, name=name)
    if not (args.out or args.pdf or args.lists):
        raise misused(Wrong.FLEET_WHERE)
    from tirelife.groups import Costs
    from tirelife.logbook import csv_text, folder_for, read_logbook, whole_file
    from tirelife.outlook import calibrated_fit
    from tirelife.outlook.files import plain_dates
    from tirelife.sheet.fleet import fleet_answer
    from tirelife.sheet.fleet_page import compose_fleet, fleet_lists

    prior = prior_of(args)
    book = told_book(args, read_logbook(args.logbook, as_of=args.as_of))
    removal, _ = removal_for(args, book.as_of, book)
    costs = Costs(args.fitting, args.rotation)
    answer = fleet_answer(
        book, calibrated_fit(book, prior), name=args.name, by=args.by, costs=costs, removal_depth_mm=removal
    )
    made: list[tuple[Path, bytes]] = []
    if args.out or args.pdf:
        html = compose_fleet(answer, language=args.language)
        if args.out:
            made.append((Path(args.out), html.encode()))
        if args.pdf:
            from tirelife.sheet.printing import print_page

            made.append((Path(args.pdf), print_page(html, "pdf")))
    if args.lists:
        with folder_for(Path(args.lists)):
            for name, table in fleet_lists(answer, args.language).items():
                made.append(
                    (
                        Path(args.lists) / f"{name}.csv",
                        csv_text(plain_dates(table), for_spreadsheet=args.for_spreadsheet).encode(),
                    )
                )
    for file, data in made:
        with whole_file(file) as part:
            part.write_bytes(data)
        print(f"written to {file}", file=sys.stderr)
    return 0

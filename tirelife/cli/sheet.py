"""``tirelife sheet``: a customer's page for one vehicle."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path

from tirelife.cli.limits import add_limits, removal_for, road_most
from tirelife.cli.prior import add_fresh, add_prior, prior_of
from tirelife.cli.sets import add_shares, told_book
from tirelife.cli.shop import add_shop, shop_of
from tirelife.cli.tongue import add_language
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife sheet data_synthetic/logbook --vehicle V03 --out page.html
  tirelife sheet LOGBOOK --vehicle V03 --out page.html --pdf page.pdf --png page.png
  tirelife sheet LOGBOOK --vehicle V03 --removal-depth 4/32 --as-of 2026-06-30 --out page.html
  tirelife sheet LOGBOOK --vehicle V03 --language es --out pagina.html
  tirelife sheet LOGBOOK --all --out FOLDER --pdfs
  tirelife sheet LOGBOOK --vehicle V03 --shop shop.toml --next-date 2027-02-01 --out page.html
  tirelife sheet LOGBOOK --vehicle V03 --place EU/Austria --limits mine.csv --out page.html
The page is one file that opens with no network, prints on one sheet, and has sliders on the screen. It is an
estimate and no inspection: cords, bulges, cuts, cracks, age, and a depth at or under the limit go to a
qualified person now. Legal limits differ by place and vehicle."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", metavar="ID", help="vehicle_id in the logbook")
    parser.add_argument(
        "--all",
        action="store_true",
        help="a page of every vehicle, into the folder that --out names; resumable",
    )
    parser.add_argument(
        "--pdfs", action="store_true", help="with --all: a PDF of each as well, with Chromium"
    )
    parser.add_argument("--out", metavar="FILE", help="write the page here (.html); with --all a folder")
    parser.add_argument("--pdf", metavar="FILE", help="print it to a PDF as well, with Chromium")
    parser.add_argument("--png", metavar="FILE", help="take a picture of it as well, with Chromium")
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    add_limits(parser)
    add_shares(parser)
    parser.add_argument("--paper", choices=("letter", "a4"), help="default: letter with US units, else a4")
    parser.add_argument(
        "--date-order",
        choices=("mdy", "dmy", "ymd"),
        help="order of day, month and year (default: mdy with US units, else dmy)",
    )
    add_shop(parser)
    add_language(parser)
    add_prior(parser)
    add_fresh(parser)


def run(args: argparse.Namespace) -> int:
    """Make the page and write it, whole or not at all."""
    if args.removal_depth:
        from tirelife.cli.limits import parse_depth

        parse_depth(args.removal_depth)
    if args.all:
        from tirelife.cli.sheet_all import all_pages

        if not args.out or args.vehicle or args.pdf or args.png:
            raise misused(Wrong.SHEET_ALL)
        return all_pages(args, None if args.as_of is None else _day(args.as_of))
    asked = {"html": args.out, "pdf": args.pdf, "png": args.png}
    for kind, name in asked.items():
        endings = (".html", ".htm") if kind == "html" else (f".{kind}",)
        if name and not name.lower().endswith(endings):
            raise misused(Wrong.ENDING, name=name, ending=endings[0])
        if name and not Path(name).resolve().parent.is_dir():
            raise misused(Wrong.NO_FOLDER, name=name)
    if not any(asked.values()):
        raise misused(Wrong.SHEET_WHERE)
    as_of = None if args.as_of is None else _day(args.as_of)
    shop = shop_of(args)
    from tirelife.sheet.bundle import start_bundle
    from tirelife.sheet.drawer import start_drawing

    # Both wait for nothing, so they start before anything heavy is imported here.
    drawing, bundle = start_drawing(), start_bundle()
    try:
        from tirelife.logbook import read_logbook, whole_file
        from tirelife.sheet.answer import check_vehicle

        book = told_book(args, read_logbook(args.logbook, as_of=as_of))
        check_vehicle(book, args.vehicle)
        removal, rule = removal_for(args, book.as_of, book)
        prior = prior_of(args)
        from tirelife.outlook import kept_fit
        from tirelife.sheet.page import customer_page

        html = customer_page(
            book,
            args.vehicle,
            kept_fit(book, prior, fresh=args.fresh),
            removal_mm=road_most(removal),  # a page has one line for all wheels: the stricter axle's
            stored_mm=removal,
            rule=rule,
            paper=args.paper,
            order=args.date_order,
            language=args.language,
            shop=shop,
            bundle=bundle,
            drawing=drawing,
        )
    finally:
        for helper in (drawing, bundle):
            if helper is not None:
                helper.kill()
                with helper:  # waits, and closes its pipes
                    pass
    made = {"html": html.encode()}
    for kind in ("pdf", "png"):
        if asked[kind]:
            from tirelife.sheet.printing import print_page

            made[kind] = print_page(html, kind)
    for kind, name in asked.items():
        if name:
            with whole_file(name) as part:
                part.write_bytes(made[kind])
            print(f"{args.vehicle}: page written to {name}", file=sys.stderr)
    return 0


def _day(word: str) -> str:
    try:
        return date.fromisoformat(word).isoformat()
    except ValueError:
        raise misused(Wrong.NO_DATE, word=word) from None

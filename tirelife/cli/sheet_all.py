"""Pages of all vehicles of a logbook from one fit, into a folder; what is there and unchanged is kept."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from tirelife.cli.limits import removal_for, road_most
from tirelife.cli.prior import prior_of
from tirelife.cli.sets import told_book
from tirelife.cli.shop import shop_of
from tirelife.errors import InputError

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["all_pages"]


def all_pages(args: argparse.Namespace, as_of: str | None) -> int:
    """Write each vehicle's page, and its PDF where asked for; one fit and one start of the browser serve all.

    Raises
    ------
    InputError
        If the folder cannot be used, or no vehicle has a page.
    """
    from tirelife.cli.progress import progress
    from tirelife.logbook import read_logbook
    from tirelife.logbook.parts import claim_folder, is_done, mark_of, write_part
    from tirelife.outlook import kept_fit
    from tirelife.sheet.one_browser import printer
    from tirelife.sheet.page import customer_page

    folder = Path(args.out)
    book = told_book(args, read_logbook(args.logbook, as_of=as_of))
    removal, rule = removal_for(args, book.as_of, book)
    prior = prior_of(args)
    settings = {
        "removal": road_most(removal),
        "rule": rule,
        "paper": args.paper,
        "order": args.date_order,
        "language": args.language,
    }
    claim_folder(folder, {"what": "pages"})
    shop = shop_of(args)
    mark = mark_of(
        **settings,
        stored=repr(removal.to_dict()),
        shop=repr(shop),
        logbook=_of(book),
        prior=repr(prior),
        as_of=f"{book.as_of:%Y-%m-%d}",
    )
    vehicles = sorted(book.vehicles["vehicle_id"])
    ends = (".html", ".pdf") if args.pdfs else (".html",)
    fit, kept, made, without = None, 0, 0, []
    with progress("vehicles") as tell, printer() if args.pdfs else nullcontext() as browser:
        for i, vehicle in enumerate(vehicles):
            tell(i, len(vehicles))
            files = [folder / f"{quote(vehicle, safe=' ')}{end}" for end in ends]
            if all(is_done(file, mark) for file in files):
                kept += 1
                continue
            if fit is None:
                fit = kept_fit(book, prior, fresh=args.fresh)
            try:
                html = customer_page(
                    book,
                    vehicle,
                    fit,
                    removal_mm=settings["removal"],
                    stored_mm=removal,
                    rule=rule,
                    paper=args.paper,
                    order=args.date_order,
                    language=args.language,
                    shop=shop,
                )
            except InputError as error:
                without.append(f"{vehicle}: no page: {error}")
                continue
            write_part(files[0], mark, _writer(html.encode()))
            if browser is not None:
                write_part(files[1], mark, _writer(browser.pdf(html)))
            made += 1
        tell(len(vehicles), len(vehicles))
    for line in without:
        print(line, file=sys.stderr)
    print(f"{folder}: {kept} vehicles' pages kept, {made} made.", file=sys.stderr)
    return 0 if kept + made else 2


def _of(book: Logbook) -> str:
    from tirelife.logbook.parts import content_digest

    return content_digest(book.tables.values())


def _writer(data: bytes) -> Callable[[Path], int]:
    return lambda part: part.write_bytes(data)

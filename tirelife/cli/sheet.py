"""``tirelife sheet``: a customer's page for one vehicle."""

from __future__ import annotations

import argparse
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from tirelife import sheet, terminal
from tirelife.cli.asked import asked, day, depth_of, file_name
from tirelife.cli.options import option
from tirelife.cli.printed import aside, write_file
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    from tirelife.sheet import Shop

OPTIONS = (
    "logbook", option("--vehicle ID", "vehicle_id in the logbook"),
    option("--all", "a page of every vehicle, into the folder that --out names; resumable"),
    option("--pdfs", "with --all: a PDF of each as well, with Chromium"),
    option("--out FILE", "write the page here (.html); with --all a folder"),
    option("--pdf FILE", "print it to a PDF as well, with Chromium"),
    option("--png FILE", "take a picture of it as well, with Chromium"), "as-of", "limits", "shares",
    option("--paper", "default: letter with US units, else a4", choices=("letter", "a4")),
    option("--date-order", "order of day, month and year (default: mdy with US units, else dmy)",
           choices=("mdy", "dmy", "ymd")),
    "shop", "language", "prior", "fresh",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Make the page and write it, whole or not at all."""
    depth_of(args)
    if args.all and (not args.out or args.vehicle or args.pdf or args.png):
        raise misused(Wrong.SHEET_ALL)
    asked_for = {"html": args.out, "pdf": args.pdf, "png": args.png}
    if not args.all:
        file_name(args.out, ".html", ".htm")
        for kind in ("pdf", "png"):
            file_name(asked_for[kind], f".{kind}")
        if not any(asked_for.values()):
            raise misused(Wrong.SHEET_WHERE)
    day(args.as_of, "--as-of")
    look: dict[str, Any] = {
        "paper": args.paper,
        "order": args.date_order,
        "language": args.language,
        "shop": _shop(args),
    }
    if args.all:
        return _all_pages(args, look)
    # The helpers wait for nothing, so they start before anything heavy is loaded here.
    with sheet.page_helpers() as helpers:
        on = asked(args)
        sheet.check_vehicle(on.book, args.vehicle)
        page = sheet.customer_page(
            on.book, args.vehicle, on.fit, removal_mm=on.limit,  # one line for all: the stricter axle's
            stored_mm=on.removal, rule=on.rule, **look, **helpers,
        )  # fmt: skip
    for kind, name in asked_for.items():
        if name:
            write_file(name, page if kind == "html" else sheet.print_page(page, kind))
            aside(f"{args.vehicle}: page written to {name}")
    return 0


def _all_pages(args: argparse.Namespace, look: dict[str, Any]) -> int:
    on = asked(args)
    with terminal.progress("vehicles") as tell:
        done = sheet.write_pages(
            on.book, args.out, lambda: on.fit, on.removal, prior=on.prior, pdfs=args.pdfs, progress=tell,
            rule=on.rule, **look,
        )  # fmt: skip
    aside(*(f"{vehicle}: no page: {error}" for vehicle, error in done.without.items()))
    aside(f"{args.out}: {done.kept} vehicles' pages kept, {done.made} made.")
    return 0 if done.kept + done.made else 2


def _shop(args: argparse.Namespace) -> Shop:
    """The shop that the page names; an option goes before the file."""
    shop = sheet.read_shop(args.shop) if args.shop else sheet.Shop()
    given: dict[str, Any] = {"name": args.shop_name, "telephone": args.telephone, "note": args.note}
    if next_date := day(args.next_date, "--next-date"):
        given["next_date"] = date.fromisoformat(next_date)
    return replace(shop, **{what: told for what, told in given.items() if told is not None})

"""``tirelife fleet``: one page for the owner, and its lists."""

from __future__ import annotations

import argparse
from pathlib import Path

from tirelife import groups, logbook, outlook, sheet
from tirelife.cli.asked import asked, file_name
from tirelife.cli.options import option
from tirelife.cli.printed import aside, write_file
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

OPTIONS = (
    "for-spreadsheet", "logbook", option("--out FILE", "write the page here (.html)"),
    option("--pdf FILE", "print it to a PDF as well, with Chromium"),
    option("--lists FOLDER", "write the page's lists here as CSV files"),
    option("--name NAME", "what to call the fleet", default=""),
    option("--by COLUMN", "column of the vehicles table that groups are compared by (default: driver_group)",
           default="driver_group"),
    "money", "as-of", "limits", "shares", "language", "prior",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Make the page and write it, whole or not at all."""
    file_name(args.out, ".html")
    file_name(args.pdf, ".pdf")
    if not (args.out or args.pdf or args.lists):
        raise misused(Wrong.FLEET_WHERE)
    on = asked(args)
    answer = sheet.fleet_answer(
        on.book, outlook.calibrated_fit(on.book, on.prior), name=args.name, by=args.by,
        costs=groups.Costs(args.fitting, args.rotation), removal_depth_mm=on.removal,
    )  # fmt: skip
    made: dict[str | Path, str | bytes] = {}
    page = sheet.compose_fleet(answer, language=args.language) if args.out or args.pdf else ""
    if args.out:
        made[args.out] = page
    if args.pdf:
        made[args.pdf] = sheet.print_page(page, "pdf")
    if args.lists:
        with logbook.folder_for(args.lists) as folder:
            for name, table in sheet.fleet_lists(answer, args.language).items():
                text = logbook.csv_text(outlook.plain_dates(table), for_spreadsheet=args.for_spreadsheet)
                made[folder / f"{name}.csv"] = text
    for file, what in made.items():
        write_file(file, what)
        aside(f"written to {file}")
    return 0

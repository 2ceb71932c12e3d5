"""``tirelife fit``: wear rates, how sure they are, and whether to trust them."""

from __future__ import annotations

import argparse
from pathlib import Path

from tirelife import logbook, outlook, rates, terminal
from tirelife.cli.asked import prior_of, read
from tirelife.cli.options import option
from tirelife.cli.printed import aside, print_json

OPTIONS = (
    "for-spreadsheet", "logbook", "as-of", "prior", option("--save FILE", "save what was learned as JSON"),
    option("--out DIR", "write the tables as CSV into this folder"), "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Fit, and write what was asked for."""
    prior, book = prior_of(args), read(args)
    fit = rates.fit_logbook(book, prior)
    tables = terminal.fit_data(fit, book.units)
    if args.save:
        rates.save_prior(fit, args.save)
        aside(f"what was learned is in {args.save}")
    if args.out:
        with logbook.folder_for(Path(args.out)) as folder:
            for name, table in tables.items():
                outlook.write_table(table, folder / f"{name}.csv", for_spreadsheet=args.for_spreadsheet)
        aside(f"{len(tables)} tables written to {args.out}")
    if args.json:
        rows = {name: terminal.rows_of(table) for name, table in tables.items()}
        print_json({"method": fit.method, "q": fit.q, **rows})
    else:
        print(terminal.fit_text(fit, book.units))
    return 0

"""``tirelife template``: an empty sheet to print or fill in."""

from __future__ import annotations

import argparse
import sys

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife template visits.xlsx
  tirelife template visits.csv --units metric
It has a row a visit and one made-up row to show how; delete that one. tirelife import takes the filled sheet
without a question, and so does any command in place of a logbook."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("out", metavar="FILE", help="to write, as .xlsx or .csv")
    parser.add_argument(
        "--units", choices=("us", "metric"), default="us", help="32nds and miles, or mm and km"
    )


def run(args: argparse.Namespace) -> int:
    """Write the sheet."""
    from tirelife.logbook.sheets.template import write_template

    write_template(args.out, args.units)
    print(f"empty sheet written to {args.out}", file=sys.stderr)
    return 0

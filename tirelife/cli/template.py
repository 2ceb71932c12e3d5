"""``tirelife template``: an empty sheet to print or fill in."""

from __future__ import annotations

import argparse

from tirelife import logbook
from tirelife.cli.options import option
from tirelife.cli.printed import aside

OPTIONS = (option("out FILE", "to write, as .xlsx or .csv"), "units")


def run(args: argparse.Namespace) -> int:
    """Write the sheet."""
    logbook.write_template(args.out, args.units)
    aside(f"empty sheet written to {args.out}")
    return 0

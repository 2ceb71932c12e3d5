"""``tirelife fit``: wear rates, how sure they are, and whether to trust them."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tirelife.cli.prior import add_prior, prior_of
from tirelife.cli.values import json_rows

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.rates import WearFit

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife fit data_synthetic/logbook
  tirelife fit LOGBOOK --save shop.json
  tirelife fit LOGBOOK --prior shop.json --out fitted
The report opens with whether to trust it. --out writes estimates, components, tires, vehicles, visits and
checks as CSV, in the logbook's units. --save writes what was learned (no customer in it) for --prior."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    add_prior(parser)
    parser.add_argument("--save", metavar="FILE", help="save what was learned as JSON")
    parser.add_argument("--out", metavar="DIR", help="write the tables as CSV into this folder")
    parser.add_argument("--json", action="store_true", help="all tables as JSON, in the logbook's units")


def run(args: argparse.Namespace) -> int:
    """Fit, and write what was asked for."""
    from tirelife.logbook import read_logbook
    from tirelife.rates import fit_logbook, save_prior

    prior = prior_of(args)
    book = read_logbook(args.logbook, as_of=args.as_of)
    fit = fit_logbook(book, prior)
    tables = shown(fit, book.units)
    if args.save:
        save_prior(fit, args.save)
        print(f"what was learned is in {args.save}", file=sys.stderr)
    if args.out:
        _write(tables, Path(args.out), args.for_spreadsheet)
        print(f"{len(tables)} tables written to {args.out}", file=sys.stderr)
    if args.json:
        made: dict[str, Any] = {"method": fit.method, "q": fit.q}
        made |= {name: json.loads(json_rows(t)) for name, t in tables.items()}
        print(json.dumps(made, ensure_ascii=False))
    else:
        from tirelife.cli.table import framed
        from tirelife.rates.reporting import report
        from tirelife.sheet.fit_words import fit_tables

        print(report(fit))
        for title, table in fit_tables(fit, book.units).items():
            print(f"\n{title}\n{framed(table)}")
    return 0


TIRES: Final = {"depth_mm": "fitted_mean_mm", "depth_sd_mm": "fitted_mean_sd_mm"}
"""Names of depths in the table of tires: by the fit on the day of the last visit, the mean of the grooves."""
VISITS: Final = {
    "depth_mm": "read_mean_mm", "fitted_mm": "fitted_mean_mm", "shallowest_mm": "read_least_groove_mm",
}  # fmt: skip
"""The same of visits: as read, less the gauge's bias; mean of the grooves, or one."""


def shown(fit: WearFit, units: str) -> dict[str, pd.DataFrame]:
    """A fit's tables in a logbook's units, without the columns that only a program can use.

    Parameters
    ----------
    fit : WearFit
    units : {"us", "metric"}
    """
    from tirelife.logbook import GROOVES
    from tirelife.rates.reporting import in_units
    from tirelife.units import convert

    keep = [
        "tire_id", "vehicle_id", "tire_line", "position", "visits", "last_date", "last_odometer_km",
        "depth_mm", "depth_sd_mm", "wear_mm_per_1000km", "std_error_mm_per_1000km",
        "straight_line_mm_per_1000km", "belongs", "reason",
    ]  # fmt: skip
    grooves = {f"{groove}_mm": f"read_{groove}_mm" for groove in GROOVES}
    tires = fit.tires.rename(columns={"std_error": "std_error_mm_per_1000km"})[keep].rename(columns=TIRES)
    tables = {
        "estimates": in_units(fit.estimates, units), "components": in_units(fit.components, units),
        "tires": tires, "vehicles": fit.vehicles, "checks": _with_words(fit.checks),
        "visits": fit.visits.rename(columns=VISITS | grooves),
    }  # fmt: skip
    for name in ("tires", "visits"):
        table = tables[name].copy()
        for column in table:
            if table[column].dtype.kind == "M":
                table[column] = table[column].dt.strftime("%Y-%m-%d")
        if units == "us":
            names = {}
            for column in map(str, table):
                if column.endswith("_mm_per_1000km"):
                    table[column] = convert(convert(table[column], "mm", "32nds"), "mi", "km")
                    names[column] = column.replace("_mm_per_1000km", "_32nds_per_1000mi")
                elif column.endswith("_mm"):
                    table[column] = convert(table[column], "mm", "32nds")
                    names[column] = column[:-2] + "32nds"
                elif column.endswith("_km"):
                    table[column] = convert(table[column], "km", "mi")
                    names[column] = column[:-2] + "mi"
            table = table.rename(columns=names)
        tables[name] = table
    return tables


def _write(tables: dict[str, pd.DataFrame], folder: Path, for_spreadsheet: bool) -> None:
    """Write each table whole, through a temporary file in the same folder."""
    from tirelife.logbook import folder_for
    from tirelife.outlook.files import write_table

    with folder_for(folder):
        for name, table in tables.items():
            write_table(table, folder / f"{name}.csv", for_spreadsheet=for_spreadsheet)


def _with_words(checks: pd.DataFrame) -> pd.DataFrame:
    """Checks of a fit with what each failed one asks for, said."""
    from tirelife.language import code_words

    told = zip(checks["advice"], checks["about"], strict=True)
    return checks.assign(words=[code_words(advice, {"about": about}) for advice, about in told])

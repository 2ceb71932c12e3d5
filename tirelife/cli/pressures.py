"""``tirelife pressures``: how far below the placard tires ran and for how long, leaks, and what to set."""

from __future__ import annotations

import argparse
import json
from typing import Any

from tirelife.cli.values import known_vehicles, plain
from tirelife.units import SHOWN

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife pressures data_synthetic/logbook --vehicle V03
  tirelife pressures LOGBOOK --json
A tire that loses more than 2 psi (14 kPa) a month is to be inspected, from 3 psi (21 kPa) before it is driven
far. "Set hot" is for a tire that cannot wait to be cold: 4 psi above the placard, checked again cold. Never
bleed a hot tire."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", metavar="ID", help="one vehicle (default: all)")
    parser.add_argument("--as-of", metavar="DATE", help="the last day that counts")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(args: argparse.Namespace) -> int:
    """Sum up the pressures of the tires now on the road and print them."""
    from tirelife.cli.table import rows_table
    from tirelife.inflation import pressure_summary
    from tirelife.logbook import read_logbook
    from tirelife.positions import ROAD
    from tirelife.sheet.pressures import caution, pressure_rows

    book = read_logbook(args.logbook, as_of=args.as_of)
    known_vehicles(book, None if args.vehicle is None else [args.vehicle])
    summary = pressure_summary(book)
    open_ = book.stretches[book.stretches["open"] & book.stretches["position"].isin(ROAD)]
    summary = summary[summary["tire_id"].isin(open_["tire_id"])]
    if args.vehicle is not None:
        summary = summary[summary["vehicle_id"] == args.vehicle]
    if args.json:
        unit = SHOWN[book.units]["pressure"]
        tires = [_row(record, unit) for record in summary.to_dict("records")]
        print(json.dumps({"as_of": f"{book.as_of:%Y-%m-%d}", "tires": tires, "caution": caution()}, indent=2))
    else:
        heads, rows, notes = pressure_rows(summary, book.units)
        set_out = rows_table(heads, rows, right=range(2, len(heads)))
        print("\n".join([*notes, *([""] if notes else []), set_out, "", caution()]))
    return 0


def _row(record: dict[Any, Any], unit: str) -> dict[str, Any]:
    """Plain values, pressures in the logbook's unit with it in the name, notes as codes."""
    out: dict[str, Any] = {}
    for name, value in record.items():
        word = str(name)
        if word == "notes":
            out[word] = [{"code": note.code.value, "severity": note.severity.name.lower()} for note in value]
        elif word == "last_date":
            out[word] = None if value != value else f"{value:%Y-%m-%d}"
        elif isinstance(value, float):
            known = plain(value, "kpa", unit) if "_kpa" in word else plain(value)
            out[word.replace("_kpa", f"_{unit}")] = known
        else:
            out[word] = value if isinstance(value, str | bool) else str(value)
    return out

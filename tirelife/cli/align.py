"""``tirelife align``: the alignment worksheet of one axle."""

from __future__ import annotations

import argparse
import json
import math
from typing import TYPE_CHECKING

from tirelife.cli.numbers import distance, number
from tirelife.cli.tongue import add_language
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife align --axle front --distances 1498 1503 --turned 1502 1503 --toe-spec 0 2
  tirelife align --axle rear --unit in --distances 58.98 59.11 --diameter 26 --miles-a-year 12000
  tirelife align --checklist
Distances are those between the scribed lines at hub height, in front of the wheels and behind them; --turned
gives them again after half a turn of the wheels, which averages out run-out. The specification is the
vehicle's own: copy it from its manual. Setting angles is a job for a qualified person."""

_SPECIFIED = ("toe_mm", "camber_left_deg", "camber_right_deg")
"""What a vehicle has a specification of."""
_NAMED = ("toe_mm", "runout_mm", "camber_left_deg", "camber_right_deg", "slip_m_per_km", "wear_ratio")
"""Rows with a name before them; the others say the one above in another unit."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    pair = ("FRONT", "REAR")
    parser.add_argument("--checklist", action="store_true", help="print the steps before measuring, and stop")
    parser.add_argument("--axle", choices=["front", "rear"], default="front", help="default: front")
    parser.add_argument("--unit", choices=["mm", "in"], default="mm", help="of all lengths; default: mm")
    parser.add_argument("--distances", nargs=2, type=number, metavar=pair, help="between the lines")
    parser.add_argument("--turned", nargs=2, type=number, metavar=pair, help="the same after half a turn")
    parser.add_argument("--diameter", type=number, help="of the tread; default: 660 mm (26 in)")
    for side in ("left", "right"):
        parser.add_argument(
            f"--camber-{side}",
            nargs="+",
            type=number,
            metavar="DEG",
            help="one reading, or two half a turn apart",
        )
    parser.add_argument("--toe-spec", nargs=2, type=number, metavar=("LOW", "HIGH"), help="the vehicle's own")
    parser.add_argument(
        "--camber-spec", nargs=2, type=number, metavar=("LOW", "HIGH"), help="the vehicle's own"
    )
    parser.add_argument("--miles-a-year", type=distance, help="to say how far toe drags the tires in a year")
    add_language(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(args: argparse.Namespace) -> int:
    """Fill in the worksheet and print it."""
    from tirelife.language import code_words
    from tirelife.wear import PREPARATION

    if args.checklist:
        print("\n".join(f"[ ] {code_words(step, language=args.language)}" for step in PREPARATION))
        return 0
    sheet = _sheet(args)
    if args.json:
        words = [code_words(code, language=args.language) for code in sheet["note"]]
        told = sheet.assign(words=words).to_dict("records")
        rows = [{k: _plain(v) for k, v in row.items()} for row in told]
        print(json.dumps({"axle": args.axle, "rows": rows}, indent=2, ensure_ascii=False))
    else:
        print(_text(sheet, args.axle, args.language))
    return 0


def _sheet(args: argparse.Namespace) -> pd.DataFrame:
    from tirelife.cli.wrong import Wrong
    from tirelife.errors import misused
    from tirelife.wear import Measured, Range, worksheet

    if args.distances is None:
        raise misused(Wrong.NO_DISTANCES)
    for side in ("left", "right"):
        if len(getattr(args, f"camber_{side}") or []) > 2:
            raise misused(Wrong.CAMBER, side=side)

    def mm(value: float) -> float:
        return float(convert(value, args.unit, "mm"))

    front, rear = map(mm, args.distances)
    front_turned, rear_turned = map(mm, args.turned) if args.turned else (None, None)
    camber: dict[str, float] = {}
    for side in ("left", "right"):
        readings = getattr(args, f"camber_{side}") or []
        names = (f"camber_{side}_deg", f"camber_{side}_turned_deg")
        camber |= dict(zip(names, readings, strict=False))
    measured = Measured(front, rear, front_turned, rear_turned, **camber)
    if args.diameter is not None:
        from dataclasses import replace

        measured = replace(measured, diameter_mm=mm(args.diameter))
    limits = {}
    if args.toe_spec:
        limits["toe_mm"] = Range(*map(mm, args.toe_spec))
    if args.camber_spec:
        limits["camber_left_deg"] = limits["camber_right_deg"] = Range(*args.camber_spec)
    year = None if args.miles_a_year is None else float(convert(args.miles_a_year, "mi", "km"))
    sheet = worksheet(measured, args.axle, limits, km_per_year=year)
    dragged = sheet["quantity"] == "slip_km_per_year"
    if dragged.any():
        sheet.loc[dragged, "found"] = convert(sheet.loc[dragged, "found"], "km", "mi")
        sheet.loc[dragged, "quantity"] = "slip_mi_per_year"
    return sheet


def _text(sheet: pd.DataFrame, axle: str, language: str) -> str:
    from tirelife.language import code_words

    def say(code: str, **values: object) -> str:
        return code_words(f"align-{code}", values, language)

    lines = [say(f"{axle}-axle")]
    for row in sheet.to_dict("records"):
        name = str(row["quantity"])
        word = say(f"name-{name}") if name in _NAMED else ""
        said = f"  {word:30}{float(row['found']):9.3f} {say(f'unit-{name}')}"
        note = code_words(str(row["note"]), language=language)
        if name == "wear_ratio":
            said += say("range", low=f"{row['low']:.2f}", high=f"{row['high']:.2f}")
        elif math.isfinite(row["low"]):
            within = say("specification", low=f"{row['low']:g}", high=f"{row['high']:g}")
            said += f"  {within}: {note}"
        elif name in _SPECIFIED:
            said += f"  {note}"
        lines.append(said.rstrip())
    return "\n".join([*lines, say("ends")])


def _plain(value: object) -> object:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value if value is None or isinstance(value, str | bool) else float(value)  # type: ignore[arg-type]

"""``tirelife align``: the alignment worksheet of one axle."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from tirelife import language, terminal, wear
from tirelife.cli.numbers import distance, number
from tirelife.cli.options import option
from tirelife.cli.printed import print_json
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

SIDES = ("left", "right")
OPTIONS = (
    option("--checklist", "print the steps before measuring, and stop"),
    option("--axle", "default: front", choices=["front", "rear"], default="front"),
    option("--unit", "of all lengths; default: mm", choices=["mm", "in"], default="mm"),
    option("--distances", "between the lines", nargs=2, type=number, metavar=("FRONT", "REAR")),
    option("--turned", "the same after half a turn", nargs=2, type=number, metavar=("FRONT", "REAR")),
    option("--diameter DIAMETER", "of the tread; default: 660 mm (26 in)", type=number),
    *(option(f"--camber-{side} DEG", "one reading, or two half a turn apart", nargs="+",
             type=number) for side in SIDES),
    option("--toe-spec", "the vehicle's own", nargs=2, type=number, metavar=("LOW", "HIGH")),
    option("--camber-spec", "the vehicle's own", nargs=2, type=number, metavar=("LOW", "HIGH")),
    option("--miles-a-year MILES_A_YEAR", "to say how far toe drags the tires in a year", type=distance),
    "language", "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Fill in the worksheet and print it."""
    if args.checklist:
        print(
            "\n".join(f"[ ] {language.code_words(step, language=args.language)}" for step in wear.PREPARATION)
        )
        return 0
    sheet = _worksheet(args)
    if args.json:
        print_json(terminal.alignment_answer(sheet, args.axle, args.language))
    else:
        print(terminal.alignment_text(sheet, args.axle, args.language))
    return 0


def _worksheet(args: argparse.Namespace) -> pd.DataFrame:
    if args.distances is None:
        raise misused(Wrong.NO_DISTANCES)
    camber: dict[str, float] = {}
    for side in SIDES:
        readings = getattr(args, f"camber_{side}") or []
        if len(readings) > 2:
            raise misused(Wrong.CAMBER, side=side)
        camber |= dict(zip((f"camber_{side}_deg", f"camber_{side}_turned_deg"), readings, strict=False))

    def mm(value: float) -> float:
        return float(convert(value, args.unit, "mm"))

    measured = wear.Measured(*map(mm, args.distances), *map(mm, args.turned or ()), **camber)
    if args.diameter is not None:
        measured = replace(measured, diameter_mm=mm(args.diameter))
    limits = {}
    if args.toe_spec:
        limits["toe_mm"] = wear.Range(*map(mm, args.toe_spec))
    if args.camber_spec:
        limits |= dict.fromkeys(("camber_left_deg", "camber_right_deg"), wear.Range(*args.camber_spec))
    year = None if args.miles_a_year is None else float(convert(args.miles_a_year, "mi", "km"))
    return wear.worksheet(measured, args.axle, limits, km_per_year=year)

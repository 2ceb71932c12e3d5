"""``tirelife align``: the alignment worksheet of one axle."""

from __future__ import annotations

import argparse

from tirelife import language, terminal, wear
from tirelife.cli.numbers import distance, number
from tirelife.cli.options import option
from tirelife.cli.printed import print_json

OPTIONS = (
    option("--checklist", "print the steps before measuring, and stop"),
    option("--axle", "default: front", choices=["front", "rear"], default="front"),
    option("--unit", "of all lengths; default: mm", choices=["mm", "in"], default="mm"),
    option("--distances", "between the lines", nargs=2, type=number, metavar=("FRONT", "REAR")),
    option("--turned", "the same after half a turn", nargs=2, type=number, metavar=("FRONT", "REAR")),
    option("--diameter DIAMETER", "of the tread; default: 660 mm (26 in)", type=number),
    *(option(f"--camber-{side} DEG", "one reading, or two half a turn apart", nargs="+",
             type=number) for side in ("left", "right")),
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
    sheet = wear.worksheet_typed(vars(args))
    if args.json:
        print_json(terminal.alignment_answer(sheet, args.axle, args.language))
    else:
        print(terminal.alignment_text(sheet, args.axle, args.language))
    return 0

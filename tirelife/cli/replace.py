"""``tirelife replace``: one tire, a pair or four, now or later, with what: cost a distance, with its
range.
"""

from __future__ import annotations

import argparse
import math

from tirelife import advice, rotation, terminal
from tirelife.cli.asked import asked
from tirelife.cli.numbers import distance
from tirelife.cli.options import option
from tirelife.cli.printed import show
from tirelife.positions import ROAD
from tirelife.units import SHOWN, convert

OVER = {"us": 50_000.0, "metric": 80_000.0}
OPTIONS = (
    "logbook", "vehicle", option("--line LINE", "what can be bought (repeat)", many=True), "money",
    option("--rotate-every DISTANCE", "default: not rotated", type=distance),
    option("--over DISTANCE", "ahead (default: 50,000 miles, or 80,000 km)", type=distance),
    "as-of", "json", "limits", "shares",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Weigh the ways to replace and print them."""
    on = asked(args)
    book, units = on.book, on.book.units
    far = SHOWN[units]["distance"]
    over = float(convert(args.over or OVER[units], far, "km"))
    every = float(convert(args.rotate_every, far, "km")) if args.rotate_every else math.inf
    now = rotation.vehicle_set(book, args.vehicle, on.fit, on.removal)
    ways = rotation.vehicle_ways(
        book, now, float(on.removal[list(ROAD)].max()),
        [rotation.line_typed(text, units) for text in args.line], over_km=over, fitting=args.fitting,
        rotation=args.rotation, rotate_km=every,
    )  # fmt: skip
    found = advice.fleet_decisions(book, on.fit, [args.vehicle], removal_depth_mm=on.removal).decisions
    answer = terminal.replace_answer(ways, now, found.get(args.vehicle), over, book)
    return show(args, answer, terminal.replace_text)

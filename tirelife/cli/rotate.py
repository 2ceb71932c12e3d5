"""``tirelife rotate``: compare rotation plans for a vehicle's set and write out the moves."""

from __future__ import annotations

import argparse

from tirelife import advice, logbook, terminal
from tirelife.cli.asked import asked, interval_km
from tirelife.cli.numbers import number
from tirelife.cli.options import option
from tirelife.cli.printed import show
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

OPTIONS = (
    "logbook", "vehicle", "interval",
    option("--plan NAME", "a pattern's trade name, or moves such as LF>RR,RR>LF"),
    option("--aim", "weigh plans by distance to the first tire down, by how much rubber is worn off then, "
           "or by "
           "distance for the money", choices=("life", "together", "cost"), default="life"),
    option("--set-price MONEY", "of the tires, for --aim cost", type=number),
    option("--rotation-price MONEY", "of one rotation, for --aim cost", type=number, default=0.0),
    option("--match-drive DEPTH", "what the maker allows between driven wheels (default: 3/32, common "
           "practice)"),
    option("--directional", "the tires must turn one way"),
    option("--temporary-spare", "the spare is a temporary one"),
    "limits", "shares", "as-of", "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Compare plans and print them."""
    on = asked(args)
    found = advice.advise_rotation(
        on.book, args.vehicle, on.fit, on.removal, plan=args.plan,
        interval_km=interval_km(args, on.book.units), aim=args.aim, rotation_price=args.rotation_price,
        set_price=args.set_price,
        drive_apart_mm=logbook.told_depth(args.match_drive) if args.match_drive else None,
        directional=args.directional, temporary_spare=args.temporary_spare,
    )  # fmt: skip
    answer = terminal.rotation_answer(found, on.book, on.fit.verdict, on.rule)
    if not answer["chosen"]["allowed"]:
        raise misused(Wrong.NOT_THESE, name=found.plan.name, why=answer["chosen"]["reason"])
    return show(args, answer, terminal.rotation_text)

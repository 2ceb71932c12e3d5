"""``tirelife tread``: the tread of one vehicle's tires, what wore it so, and what to check next."""

from __future__ import annotations

import argparse

from tirelife import advice, logbook, outlook, terminal, tread
from tirelife.cli.asked import read
from tirelife.cli.options import option
from tirelife.cli.printed import show
from tirelife.cli.wrong import Wrong
from tirelife.errors import InputError, misused

OPTIONS = (
    "logbook", "vehicle",
    option("--date --as-of DATE", "the last day that counts (default: the last record's)", dest="as_of"),
    option("--finding WHAT", "felt or seen, such as LR:cups (repeat)", many=True),
    option("--roads", "what the driver says of the roads: crowned ones fall to one side and wear one edge",
           choices=("crowned", "level"), default=""),
    option("--gauge-step DEPTH", "step of the depth gauge, such as 1/32 (default: from the readings)"),
    option("--across-tread DEPTH", "difference between edges that calls for a look at the angles (default: "
           "2/32, "
           "common practice)", default="2/32"),
    option("--place PLACE", "whose removal depth counts, such as US or EU/Austria", default="US"),
    option("--limits FILE", "a CSV of removal depths that adds to the built-in ones"),
    "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Read the tread of one vehicle and print it."""
    findings = [tread.parse_finding(text) for text in args.finding]
    across = _depth("--across-tread", args.across_tread)
    step = _depth("--gauge-step", args.gauge_step) if args.gauge_step else None
    book = read(args)
    reading = advice.read_tread(
        book, args.vehicle, outlook.kept_fit(book), findings, roads=args.roads, gauge_step_mm=step,
        across_tread_mm=across, place=args.place, limits=args.limits,
    )  # fmt: skip
    answer = terminal.tread_answer(reading, book)
    return show(args, answer, terminal.tread_text)


def _depth(option: str, text: str) -> float:
    try:
        return logbook.told_depth(text)
    except InputError:
        raise misused(Wrong.ERROR_DEPTH, option=option, text=text) from None

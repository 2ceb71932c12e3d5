"""``tirelife walkin``: an answer from one visit, with no history."""

from __future__ import annotations

import argparse

from tirelife import advice, logbook, outlook, sheet, terminal
from tirelife.cli.asked import day, file_name, prior_of
from tirelife.cli.numbers import depth, distance, number
from tirelife.cli.options import option
from tirelife.cli.printed import aside, print_json, write_file
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

EVENTS = ("starts", "stops", "turns")
OPTIONS = (
    option("--depths DEPTH", "by wheel, LF RF LR RR [SP]", nargs="+", required=True), "units",
    option("--new-depth DEPTH", "depth when new", type=depth),
    *(option(f"--{unit}-{name} N", f"{unit} {what}", type=distance)
      for unit in ("miles", "km") for name, what in (("on", "on these tires"), ("per-year", "a year"))),
    option("--grade N", "treadwear grade on the sidewall", type=number),
    option("--drive", "driven wheels (default: front)", choices=("front", "rear", "all")),
    option("--season", "kind of tire; never guessed", choices=("summer", "winter", "all_season")),
    option("--region PLACE", "whose published lives count, such as US or EU/Austria"),
    option("--rotated", "whether the tires take turns on both axles", choices=("yes", "no")),
    option("--speed-shares S", "shares of distance under 25, 25-40, 40-55, 55-70 and over 70 mph",
           nargs=5, type=number),
    *(option(f"--hard-{event} N", "per 100 miles (metric: per 100 km)", type=number) for event in EVENTS),
    option("--removal-depth DEPTH", "such as 2/32 (default) or 3mm", default="2/32"),
    option("--as-of DATE", "day of the visit (default: today)"), "language", "prior",
    option("--out FILE", "write the customer's page here, as .html"), "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Answer, and print it or write its page."""
    removal = logbook.told_depth(args.removal_depth)
    if args.out and args.json:
        raise misused(Wrong.OUT_JSON)
    file_name(args.out, ".html", ".htm")
    prior = prior_of(args)
    depths_mm, facts = outlook.walkin_typed(vars(args))
    facts |= {"prior": prior, "as_of": day(args.as_of, "--as-of")}
    if args.out:
        page = sheet.walkin_page(
            depths_mm, units=args.units, language=args.language, removal_mm=removal, **facts
        )
        write_file(args.out, page)
        left_out = "; it leaves out the spare" if len(depths_mm) > 4 else ""
        aside(f"page written to {args.out}{left_out}")
        return 0
    found = outlook.walk_in(depths_mm, removal_depth_mm=removal, **facts)
    decision = advice.decide(advice.walkin_facts(found, removal, args.drive or ""))
    answer = terminal.walkin_answer(found, decision, args.units, args.language)
    if args.json:
        print_json(answer)
    else:
        print(terminal.walkin_text(answer, found.forecast, args.units))
    return 0

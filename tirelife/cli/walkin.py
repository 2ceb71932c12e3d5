"""``tirelife walkin``: an answer from one visit, with no history."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tirelife import advice, driving, logbook, outlook, sheet, terminal
from tirelife.cli.asked import day, file_name, prior_of
from tirelife.cli.numbers import DEEPEST, depth, distance, number
from tirelife.cli.options import option
from tirelife.cli.printed import aside, print_json, write_file
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.driving import DrivingProfile

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
    unit = SHOWN[args.units]["depth"]
    prior = prior_of(args)
    depths_mm = [[convert(value, unit, "mm") for value in _numbers(word)] for word in args.depths]
    facts = {
        "new_depth_mm": None if args.new_depth is None else convert(args.new_depth, unit, "mm"),
        "distance_km": _distance(args, "on"),
        "km_per_year": _distance(args, "per_year"),
        "treadwear_grade": args.grade,
        "drive": args.drive,
        "season": args.season,
        "region": args.region,
        "profile": _profile(args),
        "rotated": None if args.rotated is None else args.rotated == "yes",
        "prior": prior,
        "as_of": day(args.as_of, "--as-of"),
    }
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


def _numbers(word: str) -> list[float]:
    words = logbook.depth_words("--depths", word)
    return [logbook.told_number("--depths", one, low=0, high=DEEPEST) for one in words]


def _distance(args: argparse.Namespace, what: str) -> float | None:
    miles, km = getattr(args, f"miles_{what}"), getattr(args, f"km_{what}")
    if miles is not None and km is not None:
        raise misused(Wrong.MILES_KM, miles=what.replace("_", "-"), km=what.replace("_", "-"))
    return km if miles is None else float(convert(miles, "mi", "km"))


def _profile(args: argparse.Namespace) -> DrivingProfile | None:
    events = [getattr(args, f"hard_{event}") for event in EVENTS]
    if args.speed_shares is None and all(value is None for value in events):
        return None
    unit = "per_100mi" if args.units == "us" else "per_100km"
    hard = (None if value is None else float(convert(value, unit, "per_100km")) for value in events)
    return driving.profile_from_answers(args.speed_shares, *hard)

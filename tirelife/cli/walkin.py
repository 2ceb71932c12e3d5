"""``tirelife walkin``: an answer from one visit, with no history."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife.cli.decision import decision_rows, long_lines
from tirelife.cli.numbers import DEEPEST, depth, distance, number
from tirelife.cli.prior import add_prior, prior_of
from tirelife.cli.tongue import add_language
from tirelife.cli.trust import told_trust, trust_lines
from tirelife.cli.values import json_rows, plain
from tirelife.cli.verdict import note_rows, verdict_lines, with_words
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import LABELS, SHOWN, convert

if TYPE_CHECKING:
    from tirelife.driving import DrivingProfile
    from tirelife.outlook import WalkIn

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife walkin --depths 6 6 5 6
  tirelife walkin --depths 6,6,5 6,6,6 7 7 --new-depth 10 --miles-on 21000 --miles-per-year 12000
  tirelife walkin --units metric --depths 5 5 4.5 4.5 --new-depth 8 --km-on 30000 --removal-depth 3mm
  tirelife walkin --depths 6 6 5 6 --miles-on 21000 --out page.html
Depths go by wheel, LF RF LR RR and then the spare; several grooves of one wheel from the outside inwards,
as 6,6,5 or "6.5 6 5.5". Only the depths are needed; each fact more narrows the range. A projection is no
inspection: cords, bulges, cuts, cracks, age, and a depth at or under the limit go to a qualified person
now; local codes rule."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument(
        "--depths", nargs="+", required=True, metavar="DEPTH", help="by wheel, LF RF LR RR [SP]"
    )
    parser.add_argument(
        "--units", choices=("us", "metric"), default="us", help="32nds and miles, or mm and km"
    )
    parser.add_argument("--new-depth", type=depth, metavar="DEPTH", help="depth when new")
    for unit in ("miles", "km"):
        parser.add_argument(f"--{unit}-on", type=distance, metavar="N", help=f"{unit} on these tires")
        parser.add_argument(f"--{unit}-per-year", type=distance, metavar="N", help=f"{unit} a year")
    parser.add_argument("--grade", type=number, metavar="N", help="treadwear grade on the sidewall")
    parser.add_argument("--drive", choices=("front", "rear", "all"), help="driven wheels (default: front)")
    parser.add_argument(
        "--season", choices=("summer", "winter", "all_season"), help="kind of tire; never guessed"
    )
    parser.add_argument(
        "--region", metavar="PLACE", help="whose published lives count, such as US or EU/Austria"
    )
    parser.add_argument("--rotated", choices=("yes", "no"), help="whether the tires take turns on both axles")
    parser.add_argument(
        "--speed-shares", nargs=5, type=number, metavar="S",
        help="shares of distance under 25, 25-40, 40-55, 55-70 and over 70 mph",
    )  # fmt: skip
    for what in ("starts", "stops", "turns"):
        parser.add_argument(
            f"--hard-{what}", type=number, metavar="N", help="per 100 miles (metric: per 100 km)"
        )
    parser.add_argument(
        "--removal-depth", metavar="DEPTH", default="2/32", help="such as 2/32 (default) or 3mm"
    )
    parser.add_argument("--as-of", metavar="DATE", help="day of the visit (default: today)")
    add_language(parser)
    add_prior(parser)
    parser.add_argument("--out", metavar="FILE", help="write the customer's page here, as .html")
    parser.add_argument("--json", action="store_true", help="forecast and assumptions as JSON")


def run(args: argparse.Namespace) -> int:
    """Answer, and print it or write its page."""
    from tirelife.cli.forecast import shown
    from tirelife.cli.limits import parse_depth

    removal = parse_depth(args.removal_depth)
    if args.out and args.json:
        raise misused(Wrong.OUT_JSON)
    if args.out and not args.out.lower().endswith((".html", ".htm")):
        raise misused(Wrong.HTML, name=args.out)
    if args.out and not Path(args.out).resolve().parent.is_dir():
        raise misused(Wrong.NO_FOLDER, name=args.out)
    depth = "32nds" if args.units == "us" else "mm"
    prior = prior_of(args)
    depths_mm = [[convert(value, depth, "mm") for value in _numbers(word)] for word in args.depths]
    facts: dict[str, Any] = {
        "new_depth_mm": None if args.new_depth is None else convert(args.new_depth, depth, "mm"),
        "distance_km": _distance(args, "on"),
        "km_per_year": _distance(args, "per_year"),
        "treadwear_grade": args.grade,
        "drive": args.drive,
        "season": args.season,
        "region": args.region,
        "profile": _profile(args),
        "rotated": None if args.rotated is None else args.rotated == "yes",
        "prior": prior,
        "as_of": _day(args.as_of),
    }
    if args.out:
        from tirelife.logbook import whole_file
        from tirelife.sheet import walkin_page

        html = walkin_page(depths_mm, units=args.units, language=args.language, removal_mm=removal, **facts)
        with whole_file(args.out) as part:
            part.write_text(html, encoding="utf-8")
        left_out = "; it leaves out the spare" if len(depths_mm) > 4 else ""
        print(f"page written to {args.out}{left_out}", file=sys.stderr)
        return 0
    from tirelife.advice import decide, walkin_facts
    from tirelife.outlook import walk_in
    from tirelife.outlook.files import plain_dates
    from tirelife.tread import verdict_notes

    answer = walk_in(depths_mm, removal_depth_mm=removal, **facts)
    actions = decision_rows(decide(walkin_facts(answer, removal, facts["drive"] or "")), args.units)
    told = note_rows(verdict_notes(answer.verdicts), args.units)
    if args.json:
        table = plain_dates(shown(with_words(answer.forecast, args.units), args.units))
        rows = json.loads(json_rows(table))
        given = _told(answer, args.language)
        print(
            json.dumps(
                {
                    **told,
                    "fit": told_trust(answer.verdict),
                    "decision": actions,
                    "forecast": rows,
                    "assumptions": given,
                    "narrowed": plain(answer.narrowed),
                },
                ensure_ascii=False,
            )
        )
    else:
        print(
            "\n".join(
                [
                    *verdict_lines(told),
                    *trust_lines(told_trust(answer.verdict)),
                    "What to do",
                    *long_lines(actions),
                    "",
                    _words(answer, args.units, args.language),
                ]
            )
        )
    return 0


def _numbers(word: str) -> list[float]:
    from tirelife.logbook.number import depth_words, told_number

    return [told_number("--depths", one, low=0, high=DEEPEST) for one in depth_words("--depths", word)]


def _day(word: str | None) -> str | None:
    if word is None:
        return None
    from datetime import date

    try:
        return date.fromisoformat(word).isoformat()
    except ValueError:
        raise misused(Wrong.NO_DATE, word=word) from None


def _distance(args: argparse.Namespace, what: str) -> float | None:
    miles, km = getattr(args, f"miles_{what}"), getattr(args, f"km_{what}")
    if miles is not None and km is not None:
        raise misused(Wrong.MILES_KM, miles=what.replace("_", "-"), km=what.replace("_", "-"))
    return km if miles is None else float(convert(miles, "mi", "km"))


def _profile(args: argparse.Namespace) -> DrivingProfile | None:
    events = [args.hard_starts, args.hard_stops, args.hard_turns]
    if args.speed_shares is None and all(value is None for value in events):
        return None
    from tirelife.driving import default_profile, profile_from_answers
    from tirelife.logbook import BANDS

    usual = default_profile()
    shares = args.speed_shares or [getattr(usual, band) for band in BANDS]
    unit = "per_100mi" if args.units == "us" else "per_100km"
    per_100km = [
        getattr(usual, f"hard_{what}_per_100km")
        if value is None
        else float(convert(value, unit, "per_100km"))
        for what, value in zip(("starts", "stops", "turns"), events, strict=True)
    ]
    return profile_from_answers(shares, *per_100km)


def _words(answer: WalkIn, units: str, language: str) -> str:
    """Table for people: rounded to what the range supports."""
    from tirelife.cli.table import far_span
    from tirelife.sheet.language import say_short
    from tirelife.sheet.quantities import depth as depth_words
    from tirelife.sheet.quantities import far_within

    unit = SHOWN[units]["distance"]
    far = LABELS[unit]
    lines = [
        f"{'wheel':6}{'least today, estimate':>21}{far + ' left, middle (8 in 10)':>36}  by about (8 in 10)"
    ]
    for row in answer.forecast.to_dict("records"):
        said = depth_words(row["depth_now_mm"], units)
        if row["km_left_p50"] != row["km_left_p50"]:
            lines.append(f"{row['position']:6}{said:>21}{'not known':>36}  {say_short(row['notes'], units)}")
            continue
        low, middle, high = (row[f"km_left_{p}"] for p in ("p10", "p50", "p90"))
        days = [f"{row[f'date_{p}']:%Y-%m}" if row[f"date_{p}"] == row[f"date_{p}"] else "later" for p in
                ("p10", "p50", "p90")]  # fmt: skip
        left = f"{far_within(middle, units, high - low)} ({far_span(low, high, units)})"
        lines.append(f"{row['position']:6}{said:>21}{left:>36}  {days[1]} ({days[0]} to {days[2]})")
    by_note: dict[str, list[str]] = {}
    for position, notes in zip(answer.forecast["position"], answer.forecast["notes"], strict=True):
        by_note.setdefault(say_short(notes, units), []).append(position)
    lines += ["", *(f"{', '.join(places)}: {note}." for note, places in by_note.items() if note)]
    lines += ["", "It rests on:"]
    return "\n".join([*lines, *(f"  {row['words']}" for row in _told(answer, language))])


def _told(answer: WalkIn, language: str) -> list[dict[str, Any]]:
    """What an answer rests on, as codes and in words."""
    from tirelife.language import code_words

    rows: list[dict[str, Any]] = []
    for row in answer.assumptions.to_dict("records"):
        name, value, source = (
            code_words(row[column], row["about"], language) for column in ("assumption", "value", "source")
        )
        held = {str(column): of for column, of in row.items()}
        rows.append({**held, "words": f"{name}: {value}" + (f" ({source})" if source else "")})
    return rows

"""``tirelife replace``: one tire, a pair or four, now or later, with what: cost a distance, with its
range.
"""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING, Any, Final

from tirelife.cli.decision import decided
from tirelife.cli.limits import add_limits, removal_for
from tirelife.cli.numbers import distance, number
from tirelife.cli.sets import add_shares, told_book
from tirelife.cli.table import place
from tirelife.cli.values import plain
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import LABELS, convert

if TYPE_CHECKING:
    from tirelife.rotation.replace import Line

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife replace data_synthetic/logbook --vehicle V03 --line touring=140 --fitting 25
  tirelife replace LOGBOOK --vehicle V03 --line "long life=180/11/0.8" --line basic=95/10 --rotation 30
A line is NAME=PRICE, NAME=PRICE/NEW_DEPTH or NAME=PRICE/NEW_DEPTH/PACE: new depth in the logbook's unit,
pace its wear over that of the tires now on the car. Without a line, the logbook's own prices. Tread that
comes off unused is counted as thrown away. A tire at or near its limit goes first, whatever is cheaper."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", required=True, metavar="ID", help="the vehicle")
    parser.add_argument(
        "--line", action="append", default=[], metavar="LINE", help="what can be bought (repeat)"
    )
    parser.add_argument("--fitting", type=number, default=0.0, metavar="MONEY", help="for each tire fitted")
    parser.add_argument("--rotation", type=number, default=0.0, metavar="MONEY", help="for each rotation")
    parser.add_argument("--rotate-every", type=distance, metavar="DISTANCE", help="default: not rotated")
    parser.add_argument(
        "--over", type=distance, metavar="DISTANCE", help="ahead (default: 50,000 miles, or 80,000 km)"
    )
    parser.add_argument("--as-of", metavar="DATE", help="the last day that counts")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    add_limits(parser)
    add_shares(parser)


def run(args: argparse.Namespace) -> int:
    """Weigh the ways to replace and print them."""
    import numpy as np

    from tirelife.logbook import read_logbook
    from tirelife.outlook import kept_fit
    from tirelife.positions import ROAD
    from tirelife.rotation import vehicle_set
    from tirelife.rotation.replace import ways_to_replace
    from tirelife.tread import Verdict

    book = told_book(args, read_logbook(args.logbook, as_of=args.as_of))
    far, deep = ("mi", "32nds") if book.units == "us" else ("km", "mm")
    limits, _ = removal_for(args, book.as_of, book)
    limit = float(limits[list(ROAD)].max())
    fit = kept_fit(book, None, fresh=False)
    now = vehicle_set(book, args.vehicle, fit, limits)
    tires = book.tires.set_index("tire_id").reindex(now.tires["tire_id"].loc[list(ROAD)])
    new = float(tires["new_depth_mm"].mean())
    own = float(tires["price"].astype(float).mean()) if "price" in tires else float("nan")
    lines = [_line(text, deep, new) for text in args.line] or _own(own, new, str(tires["tire_line"].iloc[0]))
    depth, rates = now.drawn_depths, now.drawn_rates
    keep = [list(now.tires.index).index(p) for p in ROAD]
    over = float(convert(args.over or (50_000 if far == "mi" else 80_000), far, "km"))
    table = ways_to_replace(
        depth[:, keep], np.stack([rates[:, i, i] for i in keep], axis=1), limit, lines,
        over_km=over, fitting=args.fitting, rotation=args.rotation,
        rotate_km=float(convert(args.rotate_every, far, "km")) if args.rotate_every else np.inf,
        drive=str(book.vehicles.set_index("vehicle_id").loc[args.vehicle, "drive"]),
        now_price=own if own == own else None, now_new_mm=new if new == new else None,
        usable_mm=now.left(limit)[:, keep],
    )  # fmt: skip
    rows = [_row(record, far) for record in table.to_dict("records")]
    answer = {
        "vehicle_id": args.vehicle,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "over": {"distance": plain(over, "km", far), "unit": far},
        "decision": decided(book, fit, args.vehicle, limits),
        "at_limit": [p for p, v in now.verdicts.items() if v == Verdict.AT_OR_UNDER],
        "ways": rows,
    }
    print(json.dumps(answer, indent=2, ensure_ascii=False) if args.json else _text(answer, far))
    return 0


def _line(text: str, deep: str, new_mm: float) -> Line:
    from tirelife.rotation.replace import Line

    name, _, rest = text.partition("=")
    parts = rest.split("/")
    try:
        price, *more = [float(part) for part in parts]
        depth = float(convert(more[0], deep, "mm")) if more else new_mm
        return Line(name.strip(), price, depth, more[1] if len(more) > 1 else 1.0)
    except (ValueError, IndexError):
        raise misused(Wrong.LINE, text=text) from None


def _own(price: float, new_mm: float, name: str) -> list[Line]:
    from tirelife.rotation.replace import Line

    if not price > 0:
        raise misused(Wrong.NO_PRICE)
    return [Line(name, price, new_mm)]


def _row(record: dict[Any, Any], far: str) -> dict[str, Any]:
    """One way, money a 1,000 of the logbook's distance."""
    factor = float(convert(1.0, far, "km"))
    note = record["note"]
    out: dict[str, Any] = {k: record[k] for k in ("scope", "when", "line", "positions", "allowed")}
    out["why_not"] = None if note is None or note != note else note.code.value
    for name in ("cost_per_1000km", "cost_per_1000km_p10", "cost_per_1000km_p90"):
        out[name.replace("1000km", f"1000{far}")] = plain(float(record[name]) * factor)
    for name in ("paid_now", "thrown_away", "tires", "chance_cheapest", "chance_dearer"):
        out[name] = plain(record[name])
    return out


_TIE: Final = "not told from the cheapest"
_WHY_NOT: Final = {
    "match-axle": "the other tire of the axle would differ too much",
    "match-drive": "what stays would differ too much for all-wheel drive",
    "due-stays": "a tire at its limit would stay on",
}


def _text(answer: dict[str, Any], far: str) -> str:
    over = f"{answer['over']['distance']:,.0f}"
    from tirelife.cli.table import day_words, rows_table
    from tirelife.sheet.fit_words import ranged
    from tirelife.sheet.language import texts
    from tirelife.sheet.language.decisions import place_words

    heads = (
        "replace", "when", "kind of tire", f"money a\n1,000 {LABELS[far]}", "8 chances\nin 10", "first\nbill",
        "tread\nthrown away", "chance that it\nis cheapest, %",
    )  # fmt: skip
    day = day_words(answer["as_of"], "us" if far == "mi" else "metric")
    rows: list[tuple[str, ...]] = []
    closed: list[str] = []
    lines = [
        "What to do",
        *(f"  {action['words']}" for action in answer["decision"]),
        "",
        f"{answer['vehicle_id']}, {day}: cost a 1,000 {LABELS[far]} over the next {over}",
        "",
    ]
    for way in answer["ways"]:
        what = place_words(tuple(way["positions"].split()), texts())
        head = (what, way["when"], way["line"] or "as on the car")
        if not way["allowed"]:
            closed.append(f"Not open: {what}, {way['when']}: {_WHY_NOT[way['why_not']]}.")
            continue
        cost, span = ranged(
            way[f"cost_per_1000{far}"], *(way[f"cost_per_1000{far}_{p}"] for p in ("p10", "p90"))
        )
        money = (f"{way[name]:,.0f}" for name in ("paid_now", "thrown_away"))
        chance = f"{100 * way['chance_cheapest']:.0f}" + (f", {_TIE}" if _ties(way) else "")
        rows.append((*head, cost, span, *money, chance))
    lines.append(rows_table(heads, rows, right=range(3, 7)))
    lines += ["", *closed] if closed else []
    if answer["at_limit"]:
        at = ", ".join(place(p) for p in answer["at_limit"])
        lines += ["", f"Read at or under the removal depth: {at}. Have it seen to now."]
    return "\n".join([*lines, "", "Money as in the prices. Local codes and the vehicle's placard rule."])


def _ties(way: dict[str, Any]) -> bool:
    """Whether a way cannot be told from the one that is cheapest on average."""
    from tirelife.rotation.worth import SURE

    return bool(0 < way["chance_dearer"] < SURE)

"""``tirelife rotate``: compare rotation plans for a vehicle's set and write out the moves."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING, Any

from tirelife.cli.decision import decision_rows
from tirelife.cli.limits import add_limits, parse_depth, removal_for, road_most
from tirelife.cli.numbers import distance, number
from tirelife.cli.sets import add_shares, told_book
from tirelife.cli.table import place
from tirelife.cli.trust import told_trust, trust_lines
from tirelife.cli.values import plain
from tirelife.cli.verdict import told_verdicts, verdict_lines
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.language import code_words
from tirelife.sheet.quantities import DEEP, distance_step, half_up
from tirelife.units import LABELS, convert

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife rotate data_synthetic/logbook --vehicle V03
  tirelife rotate LOGBOOK --vehicle V03 --interval 6000 --plan "rearward cross" --json
  tirelife rotate LOGBOOK --vehicle V03 --plan "LF>LR,LR>LF,RF>RR,RR>RF" --directional
Distances and depths are in the logbook's units. Whether the set is rotated is what every command says of
this vehicle; which moves, if so: a usual pattern at a usual interval, unless another order is worth 5 % more
with 9 chances in 10. Distances count from a first rotation when it is due to the set's first tire at the
removal depth. The vehicle's manual and placard rule."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", required=True, metavar="ID", help="the vehicle")
    parser.add_argument(
        "--interval",
        type=distance,
        metavar="DISTANCE",
        help="between rotations (default: 5000 miles, or 8000 km)",
    )
    parser.add_argument("--plan", metavar="NAME", help="a pattern's trade name, or moves such as LF>RR,RR>LF")
    parser.add_argument(
        "--aim", choices=("life", "together", "cost"), default="life",
        help="weigh plans by distance to the first tire down, by how much rubber is worn off then, or by "
        "distance for the money",
    )  # fmt: skip
    parser.add_argument("--set-price", type=number, metavar="MONEY", help="of the tires, for --aim cost")
    parser.add_argument(
        "--rotation-price", type=number, default=0.0, metavar="MONEY", help="of one rotation, for --aim cost"
    )
    parser.add_argument(
        "--match-drive",
        metavar="DEPTH",
        help="what the maker allows between driven wheels (default: 3/32, common practice)",
    )
    parser.add_argument("--directional", action="store_true", help="the tires must turn one way")
    parser.add_argument("--temporary-spare", action="store_true", help="the spare is a temporary one")
    add_limits(parser)
    add_shares(parser)
    parser.add_argument("--as-of", metavar="DATE", help="the last day that counts")
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(args: argparse.Namespace) -> int:
    """Compare plans and print them."""
    if args.removal_depth:
        parse_depth(args.removal_depth)
    if args.interval is not None and not 0 < args.interval < 1e6:
        raise misused(Wrong.INTERVAL, given=f"{args.interval:g}")
    from tirelife.logbook import read_logbook

    book = told_book(args, read_logbook(args.logbook, as_of=args.as_of))
    removal, rule = removal_for(args, book.as_of, book)
    # Tires go from axle to axle: the stricter axle's depth counts for all.
    answer = {**_answer(book, args, removal, road_most(removal)), "rule": rule}
    print(json.dumps(answer, indent=2, ensure_ascii=False) if args.json else _text(answer))
    return 0


def _answer(book: Any, args: argparse.Namespace, removal: pd.Series, limit: float) -> dict[str, Any]:
    import numpy as np

    from tirelife.advice import Kind, fleet_decisions, rotation_due
    from tirelife.outlook import kept_fit
    from tirelife.rotation import (
        CAUTIONS,
        advise_set,
        compare_plans,
        directional_vehicles,
        moves,
        parse_plan,
        stay,
        vehicle_set,
    )
    from tirelife.rotation.worth import USUAL_INTERVALS_KM
    from tirelife.sheet.language import say, say_short

    us = book.units == "us"
    far, deep, press = ("mi", "32nds", "psi") if us else ("km", "mm", "kpa")
    interval = convert(args.interval if args.interval else (5000.0 if us else 8000.0), far, "km")
    fit = kept_fit(book, None, fresh=False)
    now = vehicle_set(book, args.vehicle, fit, limit)
    drive = str(book.vehicles.set_index("vehicle_id").loc[args.vehicle, "drive"])
    one_way = args.directional or args.vehicle in directional_vehicles(book)
    rules = {"directional": one_way, "temporary_spare": args.temporary_spare}
    found = fleet_decisions(book, fit, [args.vehicle], removal_depth_mm=removal)
    decision, facts = found.decisions[args.vehicle], found.facts[args.vehicle]
    due = decision.of(Kind.ROTATE) or rotation_due(facts)
    first = 0.0 if due else max(float(interval) - facts.rotation.since_km, 0.0)
    table = compare_plans(now, limit, interval, first_km=first, **rules)
    advice = advise_set(
        now, limit, drive, aim=args.aim, intervals_km=[interval] if args.interval else USUAL_INTERVALS_KM,
        rotation_price=args.rotation_price, set_price=args.set_price or float("nan"),
        first_km=first, drive_apart_mm=parse_depth(args.match_drive) if args.match_drive else None, **rules,
    )  # fmt: skip
    wheels = 5 if "SP" in now.tires.index and not args.temporary_spare else 4
    if args.plan:
        plan = parse_plan(args.plan, interval)
    else:
        plan = (decision.may_rotate and advice.plan) or stay(wheels).every(interval)
    leaves = [row for row in decision_rows(decision, book.units) if row["do"] == Kind.LEAVE]
    why = [{"code": n.code.value, "words": say(n, book.units)} for n in advice.notes]
    if not decision.may_rotate:
        why = [{"code": row["why"][0]["code"], "words": row["words"]} for row in leaves]
    chosen = compare_plans(now, limit, plan.interval_km, plans=[plan], first_km=first, **rules)
    if not chosen["allowed"].iloc[0]:
        refusal = say_short(chosen["refusals"].iloc[0], book.units)
        raise misused(Wrong.NOT_THESE, name=plan.name, why=refusal)
    days = now.tires["read_date"].dt.strftime("%Y-%m-%d").fillna("")
    steps = moves(plan, now.tire_ids, now.placard_kpa)
    steps["words"] = [_move(a, b) for a, b in plan.goes_to]
    factor = {"km": ("km", far), "mm": ("mm", deep), "kpa": ("kpa", press)}
    return {
        "vehicle_id": now.vehicle_id,
        **told_verdicts(book, removal, [args.vehicle]),
        "fit": told_trust(fit.verdict),
        "decision": decision_rows(decision, book.units),
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "units": {"distance": far, "depth": deep, "pressure": press},
        "removal_depth": plain(limit, "mm", deep),
        "set": _rows(_tires(now.tires).assign(read_date=days).reset_index(), factor),
        "plans": _rows(_worded(table, book.units), factor),
        # The first plan is to leave them; where no other is allowed, no rotation comes.
        f"first_{far}": plain(first, "km", far) if table["allowed"].iloc[1:].any() else None,
        "asked": bool(args.plan),
        "chosen": {
            **_rows(_worded(chosen, book.units), factor)[0],
            "goes_to": dict(plan.goes_to),
            "order": plan.order,
        },
        "bound": plain(float(np.nanmax([*table["bound_km"], *chosen["bound_km"]])), "km", far),
        "why": [] if args.plan else why,
        "usual": None
        if advice.usual is None
        else {"plan": advice.usual.name, f"interval_{far}": plain(advice.usual.interval_km, "km", far)},
        "moves": _rows(steps, factor),
        "cautions": [code_words(code) for code in CAUTIONS],
    }


def _move(at: str, to: str) -> str:
    """A wheel's move in words."""
    return code_words("move-stays" if at == to else "move-goes", {"place": place(at), "to": place(to)})


def _tires(tires: pd.DataFrame) -> pd.DataFrame:
    """The set's tires under the names that every command has for depths."""
    names = {"depth_mm": "depth_now_mm", "depth_sd_mm": "depth_now_sd_mm"}
    return tires.drop(columns=["note", "usable_mm"]).rename(columns=names)


def _worded(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Plans with what stands against each as codes and in words."""
    from tirelife.sheet.language import say_short

    out = table.drop(columns="refusals")
    out["codes"] = [[str(note.code.value) for note in notes] for notes in table["refusals"]]
    out["reason"] = [say_short(notes, units) for notes in table["refusals"]]
    out["use"] = [code_words(use) for use in out["use"]]
    return out


def _rows(table: pd.DataFrame, factor: dict[str, tuple[str, str]]) -> list[dict[str, Any]]:
    """Rows in the logbook's units, units in the names."""
    out = []
    for record in table.to_dict("records"):
        row: dict[str, Any] = {}
        for name, value in record.items():
            word = str(name)
            if word == "wear_mm_per_1000km":
                unit, far = factor["mm"][1], factor["km"][1]
                wear = convert(value, "mm", unit) / convert(1.0, "km", far)
                row[f"wear_{unit}_per_1000{far}"] = plain(wear)
            elif (unit := next((u for u in factor if f"_{u}" in word), "")) and value is not None:
                row[word.replace(f"_{unit}", f"_{factor[unit][1]}")] = plain(value, *factor[unit])
            elif isinstance(value, float):
                row[word] = plain(value)
            else:
                row[word] = value
        out.append(row)
    return out


def _text(answer: dict[str, Any]) -> str:
    from tirelife.advice import Kind
    from tirelife.cli.table import Column, day_words, table

    far, deep, press = answer["units"]["distance"], answer["units"]["depth"], answer["units"]["pressure"]
    say = LABELS[far]
    units = "us" if far == "mi" else "metric"
    limit = f"{round(answer['removal_depth'], 2):g}{DEEP[units]}"
    lines = [
        *verdict_lines(answer),
        *trust_lines(answer["fit"]),
        "What to do",
        *(f"  {action['words']}" for action in answer["decision"]),
        "",
        f"{answer['vehicle_id']}, {day_words(answer['as_of'], units)}: {say} left in the set, to {limit}",
        *([answer["rule"]] if answer["rule"] else []),
        "",
    ]
    tires = answer["set"]
    lines += [
        table(
            [
                Column("tire", [t["tire_id"] for t in tires]),
                Column("where it is", [place(t["position"]) for t in tires]),
                Column(
                    f"{LABELS[deep]}, least\ntoday, estimate",
                    [_digits(t[f"depth_now_{deep}"], 1) for t in tires],
                    right=True,
                ),
                Column(
                    f"{LABELS[deep]} worn\na 1,000 {say}",
                    [_digits(t[f"wear_{deep}_per_1000{far}"], 2) for t in tires],
                    right=True,
                ),
            ]
        ),
        "",
        *_plan_lines(answer["plans"], far, deep),
    ]
    when = f"in {answer[f'first_{far}']:,.0f} {say}, when it is due" if answer[f"first_{far}"] else "now"
    if answer[f"first_{far}"] is not None:
        lines.append(f"The first rotation: {when}.")
    chosen = answer["chosen"]
    stays = chosen["order"] == 1
    leaves = any(action["do"] == Kind.LEAVE for action in answer["decision"])
    due = "when rotation is due, " if leaves else ""
    head = due + ("as asked: " if answer["asked"] else "most worth: ")
    lines += [
        "",
        "most worth: the tires stay where they are"
        if stays
        else f"{head}{chosen['plan']}, every {chosen[f'interval_{far}']:,.0f} {say}",
        *([] if stays else _plan_lines([chosen], far, deep)),
        *(f"  {note['words']}" for note in answer["why"]),
        f"No order of moves of these tires gives more than {_within(answer['bound'], chosen, far)} {say} "
        "(a median as well).",
    ]
    if stays:
        return "\n".join([*lines, "", *answer["cautions"]])
    lines += ["", "its moves, from today's places:"]
    for move in answer["moves"]:
        set_to = move[f"set_to_{press}"]
        pressure = (
            f"; set to {_digits(set_to, 1 if press == 'psi' else 0)} {LABELS[press]} cold"
            if set_to
            else "; set to its placard pressure"
        )
        lines.append(f"  {move['words']} ({move['tire_id']}){pressure}")
    return "\n".join([*lines, "", *answer["cautions"]])


def _digits(value: float | None, digits: int) -> str:
    """A number as people read it, or a dash."""
    return "-" if value is None else f"{value + 0.0:.{digits}f}"


def _share(part: float | None) -> str:
    """A share, or a dash where there is no distance left to take it of."""
    return "-" if part is None else f"{part:.0%}"


def _within(value: float, p: dict[str, Any], far: str) -> str:
    """A distance, rounded by the range of a plan's."""
    return f"{half_up(value, distance_step(p[f'life_{far}_p90'] - p[f'life_{far}_p10'])):,.0f}"


def _plan_lines(plans: list[dict[str, Any]], far: str, deep: str) -> list[str]:
    """Plans as a table, the longest first; below it what is not allowed, and why."""
    from tirelife.cli.table import Column, table
    from tirelife.rotation.worth import SURE

    say = LABELS[far]
    rows = sorted((p for p in plans if p["allowed"]), key=lambda p: -p[f"life_{far}_p50"])
    ties = ["not told from the longest" if 0 < p["chance_shorter"] < SURE else "" for p in rows]
    within = {q: [_within(p[f"life_{far}_{q}"], p, far) for p in rows] for q in ("p10", "p50", "p90")}
    spans = [
        low if low == high else f"{low} to {high}"
        for low, high in zip(within["p10"], within["p90"], strict=True)
    ]
    columns = [
        Column("plan", [p["plan"] for p in rows]),
        Column(f"every,\n{say}", [f"{p[f'interval_{far}']:,.0f}" for p in rows], right=True),
        Column(f"{say} left,\nmiddle", within["p50"], right=True),
        Column("8 times in 10", spans, right=True),
        Column("of the most that\nmoving could give", [_share(p["of_bound"]) for p in rows], right=True),
        Column(
            f"axle differs\nat most, {LABELS[deep]}",
            [_digits(p[f"axle_difference_{deep}"], 1) for p in rows],
            right=True,
        ),
        Column("", ties),
    ]
    return [
        *([table(columns)] if rows else []),
        *(f"Not allowed, {p['plan']}: {p['reason']}" for p in plans if not p["allowed"]),
    ]

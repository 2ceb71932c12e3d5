"""Rotation plans of a set and the moves of one, as an object for a program and in lines for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from tirelife.advice import Kind
from tirelife.language import code_words
from tirelife.logbook import assumed_facts
from tirelife.rotation import CAUTIONS, SURE
from tirelife.sheet import DEEP, distance_step, half_up
from tirelife.sheet.language import say, say_short
from tirelife.terminal.decision import decision_rows
from tirelife.terminal.table import Column, day_words, place, table
from tirelife.terminal.trust import told_trust, trust_lines
from tirelife.terminal.values import plain, rows_of
from tirelife.terminal.verdict import note_rows, verdict_lines
from tirelife.units import LABELS, SHOWN, shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import RotationAnswer
    from tirelife.logbook import Logbook
    from tirelife.rates import FitVerdict

__all__ = ["rotation_answer", "rotation_text"]

ASSUMED_DRIVE: Final = (
    "The log does not say which wheels are driven: the front ones, as on most cars, is an assumption. Look",
    "at the vehicle, and write its drive down, before tires are moved: for another drive another is usual.",
)


def rotation_answer(found: RotationAnswer, book: Logbook, verdict: FitVerdict, rule: str) -> dict[str, Any]:
    """The answer for a program: numbers in the logbook's units, codes, and their words.

    Parameters
    ----------
    found : RotationAnswer
        From :func:`tirelife.advice.advise_rotation`.
    book : Logbook
    verdict : FitVerdict
        Whether the fit behind it is to be trusted.
    rule : str
        What says at which depth a tire comes off; empty if no place was named.
    """
    units, now, plan = book.units, found.now, found.plan
    far, deep = SHOWN[units]["distance"], SHOWN[units]["depth"]
    decision = decision_rows(found.decision, units)
    why = [{"code": note.code.value, "words": say(note, units)} for note in found.advice.notes]
    if not found.decision.may_rotate:
        leaves = [row for row in decision if row["do"] == Kind.LEAVE]
        why = [{"code": row["why"][0]["code"], "words": row["words"]} for row in leaves]
    tires = now.tires.drop(columns=["note", "usable_mm"]).rename(
        columns={"depth_mm": "depth_now_mm", "depth_sd_mm": "depth_now_sd_mm"}
    )
    days = tires["read_date"].dt.strftime("%Y-%m-%d").fillna("")
    steps = found.moves.assign(words=[_move(at, to) for at, to in plan.goes_to])
    usual = found.advice.usual
    return {
        "vehicle_id": now.vehicle_id,
        **note_rows(found.notes, units),
        "fit": told_trust(verdict),
        "decision": decision,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "drive": str(book.vehicles.set_index("vehicle_id").loc[now.vehicle_id, "drive"]),
        "drive_assumed": "drive" in assumed_facts(book.vehicles, now.vehicle_id),
        "units": {kind: SHOWN[units][kind] for kind in ("distance", "depth", "pressure")},
        "removal_depth": plain(found.limit_mm, "mm", deep),
        "set": rows_of(shown(tires.assign(read_date=days).reset_index(), units)),
        "plans": _plans(found.plans, units),
        f"first_{far}": plain(found.first_km, "km", far),
        "asked": found.asked,
        "chosen": {**_plans(found.chosen, units)[0], "goes_to": dict(plan.goes_to), "order": plan.order},
        "bound": plain(found.bound_km, "km", far),
        "why": [] if found.asked else why,
        "usual": None
        if usual is None
        else {"plan": usual.name, f"interval_{far}": plain(usual.interval_km, "km", far)},
        "moves": rows_of(shown(steps, units)),
        "cautions": [code_words(code) for code in CAUTIONS],
        "rule": rule,
    }


def _move(at: str, to: str) -> str:
    """A wheel's move in words."""
    return code_words("move-stays" if at == to else "move-goes", {"place": place(at), "to": place(to)})


def _plans(plans: pd.DataFrame, units: str) -> list[dict[str, Any]]:
    """Plans with what stands against each as codes and in words."""
    out = shown(plans.drop(columns="refusals"), units).assign(
        codes=plans["refusals"].map(lambda notes: [note.code.value for note in notes]),
        reason=[say_short(notes, units) for notes in plans["refusals"]],
        use=[code_words(use) for use in plans["use"]],
    )
    return rows_of(out)


def rotation_text(answer: Mapping[str, Any]) -> str:
    """The same answer in lines for people."""
    far, deep, press = (answer["units"][kind] for kind in ("distance", "depth", "pressure"))
    units, miles = "us" if far == "mi" else "metric", LABELS[far]
    limit = f"{round(answer['removal_depth'], 2):g}{DEEP[units]}"
    tires, chosen, first = answer["set"], answer["chosen"], answer[f"first_{far}"]
    lines = [
        *verdict_lines(answer),
        *trust_lines(answer["fit"]),
        "What to do",
        *(f"  {action['words']}" for action in answer["decision"]),
        "",
        f"{answer['vehicle_id']}, {day_words(answer['as_of'], units)}: {miles} left in the set, to {limit}",
        *([answer["rule"]] if answer["rule"] else []),
        "",
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
                    f"{LABELS[deep]} worn\na 1,000 {miles}",
                    [_digits(t[f"wear_{deep}_per_1000{far}"], 2) for t in tires],
                    right=True,
                ),
            ]
        ),
        "",
        *_plan_lines(answer["plans"], far, deep),
    ]
    if first is not None:
        when = f"in {first:,.0f} {miles}, when it is due" if first else "now"
        lines.append(f"The first rotation: {when}.")
    stays = chosen["order"] == 1
    due = "when rotation is due, " if any(row["do"] == Kind.LEAVE for row in answer["decision"]) else ""
    head = due + ("as asked: " if answer["asked"] else "most worth: ")
    lines += [
        "",
        "most worth: the tires stay where they are"
        if stays
        else f"{head}{chosen['plan']}, every {chosen[f'interval_{far}']:,.0f} {miles}",
        *([] if stays else _plan_lines([chosen], far, deep)),
        *(f"  {note['words']}" for note in answer["why"]),
        f"No order of moves of these tires gives more than {_within(answer['bound'], chosen, far)} {miles} "
        "(a median as well).",
    ]
    if not stays:
        lines += ["", "its moves, from today's places:"]
        lines += [
            f"  {move['words']} ({move['tire_id']}); set to {_pressure(move[f'set_to_{press}'], press)}"
            for move in answer["moves"]
        ]
    if answer["drive_assumed"]:
        lines += ["", *ASSUMED_DRIVE]
    return "\n".join([*lines, "", *answer["cautions"]])


def _pressure(value: float | None, unit: str) -> str:
    if not value:
        return "its placard pressure"
    return f"{_digits(value, 1 if unit == 'psi' else 0)} {LABELS[unit]} cold"


def _digits(value: float | None, digits: int) -> str:
    """A number as people read it, or a dash."""
    return "-" if value is None else f"{value + 0.0:.{digits}f}"


def _within(value: float, plan: Mapping[str, Any], far: str) -> str:
    """A distance, rounded by the range of a plan's."""
    return f"{half_up(value, distance_step(plan[f'life_{far}_p90'] - plan[f'life_{far}_p10'])):,.0f}"


def _plan_lines(plans: Sequence[Mapping[str, Any]], far: str, deep: str) -> list[str]:
    """Plans as a table, the longest first; below it what is not allowed, and why."""
    miles = LABELS[far]
    rows = sorted((p for p in plans if p["allowed"]), key=lambda p: -p[f"life_{far}_p50"])
    ties = ["not told from the longest" if 0 < p["chance_shorter"] < SURE else "" for p in rows]
    ends = {q: [_within(p[f"life_{far}_{q}"], p, far) for p in rows] for q in ("p10", "p50", "p90")}
    spans = [a if a == b else f"{a} to {b}" for a, b in zip(ends["p10"], ends["p90"], strict=True)]
    shares = ["-" if p["of_bound"] is None else f"{p['of_bound']:.0%}" for p in rows]
    apart = [_digits(p[f"axle_difference_{deep}"], 1) for p in rows]
    columns = [
        Column("plan", [p["plan"] for p in rows]),
        Column(f"every,\n{miles}", [f"{p[f'interval_{far}']:,.0f}" for p in rows], right=True),
        Column(f"{miles} left,\nmiddle", ends["p50"], right=True),
        Column("8 times in 10", spans, right=True),
        Column("of the most that\nmoving could give", shares, right=True),
        Column(f"axle differs\nat most, {LABELS[deep]}", apart, right=True),
        Column("", ties),
    ]
    refused = [f"Not allowed, {p['plan']}: {p['reason']}" for p in plans if not p["allowed"]]
    return [*([table(columns)] if rows else []), *refused]

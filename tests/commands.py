"""Commands asked in this process over one logbook and one fit, and what they say of a vehicle set side by side."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Iterator, Sequence
from typing import Any
from unittest import mock

import pandas as pd

from tests.stand_ins import standing_in
from tirelife.advice import Kind
from tirelife.cli import main
from tirelife.logbook import Logbook, read_logbook
from tirelife.outlook import calibrated_fit, kept_fit
from tirelife.positions import ROAD
from tirelife.rates import WearFit
from tirelife.sheet.answer import answer_for
from tirelife.sheet.fleet import FleetAnswer, fleet_answer

CHANGE = ("--pressures-kept",)


@contextlib.contextmanager
def sharing(book: Logbook, fit: WearFit) -> Iterator[None]:
    """Every command reads this logbook and takes this fit."""
    given = {read_logbook: book, kept_fit: fit, calibrated_fit: fit}
    with standing_in({function: mock.Mock(return_value=one) for function, one in given.items()}):
        yield


def asked(*words: str) -> Any:
    """JSON answer of a command."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        code = main([*words, "--json"])
    assert code == 0, words
    return json.loads(out.getvalue())


def between(book: Logbook, fit: WearFit, vehicles: Sequence[str] | None = None) -> list[str]:
    """Where forecast, whatif, tread, rotate, replace, the vehicle's page and the fleet's page disagree.

    Compared are depths, distances, dates, order, urgency and advice; none where all agree. The commands that
    answer for a fleet are compared on every vehicle, those that answer for one on ``vehicles`` (all by default).
    """
    return compare(*ask(book, fit, vehicles), units=book.units)


def ask(book: Logbook, fit: WearFit, vehicles: Sequence[str] | None = None) -> tuple[Any, Any, Any, Any]:
    """What forecast, whatif and the fleet's page say, and by vehicle what every other says."""
    with sharing(book, fit):
        whole = asked("forecast", "a logbook")
        what_if = asked("whatif", "a logbook", *CHANGE)
        fleet = fleet_answer(book, fit)
        told = {
            vehicle: {
                "page": answer_for(book, vehicle, fit),
                **{
                    name: asked(name, "a logbook", "--vehicle", vehicle, *more)
                    for name, more in (("tread", ()), ("rotate", ()), ("replace", ("--line", "x=100")))
                },
            }
            for vehicle in (whole["decisions"] if vehicles is None else vehicles)
        }
    return whole, what_if, fleet, told


def compare(
    whole: Any, what_if: Any, fleet: FleetAnswer, told: dict[str, dict[str, Any]], *, units: str
) -> list[str]:
    """Where the answers of :func:`ask` disagree."""
    out = _fleets(whole, what_if, fleet)
    for vehicle, own in told.items():
        all_of_it = {
            **own,
            "forecast": [r for r in whole["tires"] if r["vehicle_id"] == vehicle],
            "decision": whole["decisions"][vehicle],
            "whatif": [r for r in what_if["rows"] if r["vehicle_id"] == vehicle],
            "fleet": fleet.vehicles.set_index("vehicle_id").loc[vehicle],
        }
        said = (*_depths(all_of_it, units), *_miles(all_of_it, units), *_advice(all_of_it))
        out += [f"{vehicle}: {one}" for one in said]
    return out


def _fleets(whole: dict[str, Any], what_if: dict[str, Any], fleet: FleetAnswer) -> list[str]:
    """Where the commands for fleets disagree on a vehicle."""
    out = []
    order = list(whole["decisions"])
    if order != list(what_if["decisions"]) or order != list(fleet.vehicles["vehicle_id"]):
        out.append("forecast, whatif and fleet in another order")
    level = dict(zip(fleet.vehicles["vehicle_id"], fleet.vehicles["severity"], strict=True))
    for vehicle, rows in whole["decisions"].items():
        if what_if["decisions"][vehicle] != rows:
            out.append(f"{vehicle}: whatif decides otherwise than forecast")
        mine = fleet.decisions[vehicle]
        if [(a.kind, a.severity.name.lower(), " ".join(a.positions)) for a in mine.actions] != [
            (r["do"], r["severity"], " ".join(r["positions"])) for r in rows
        ]:
            out.append(f"{vehicle}: the fleet's page decides otherwise than forecast")
        if level[vehicle] != mine.severity:
            out.append(f"{vehicle}: not as urgent in the fleet's list")
    read = {(r["vehicle_id"], r["position"]): r["verdict"] for r in whole["tires"]}
    for row in what_if["rows"]:
        if read.get((row["vehicle_id"], row["position"]), row["verdict"]) != row["verdict"]:
            out.append(f"{row['vehicle_id']} {row['position']}: {row['verdict']} in whatif")
    hands = set(fleet.hands["vehicle_id"])
    urgent = {v for v, rows in whole["decisions"].items() if rows[0]["severity"] == "urgent"}
    if not urgent <= hands:
        out.append(f"urgent {urgent - hands} not among what cannot wait")
    return out


def _apart(one: Any, other: Any, share: float, least: float) -> bool:
    if pd.isna(one) or pd.isna(other):
        return bool(pd.isna(one) != pd.isna(other))
    return abs(float(one) - float(other)) > max(least, share * abs(float(other)))


def _depths(told: dict[str, Any], units: str) -> list[str]:
    u, mm = ("32nds", 25.4 / 32) if units == "us" else ("mm", 1.0)
    out = []
    page = told["page"].tires.set_index("position")
    turn = {r["position"]: r for r in told["rotate"]["set"]}
    gain = {r["position"]: r for r in told["whatif"]}
    wheel = {w["position"]: w for w in told["tread"]["wheels"]}
    for row in (r for r in told["forecast"] if r["position"] in ROAD):
        p = row["position"]
        for name in ("read", "read_raw"):
            said = {"rotate": turn[p][f"{name}_{u}"], "page": page.loc[p, f"{name}_mm"] / mm,
                    **({"whatif": gain[p][f"{name}_{u}"]} if p in gain else {})}  # fmt: skip
            out += [f"{p} {name} {v} in {who}, {row[f'{name}_{u}']} in forecast"
                    for who, v in said.items() if _apart(v, row[f"{name}_{u}"], 0, 0.006)]  # fmt: skip
        said = {"rotate": turn[p][f"depth_now_{u}"], "page": page.loc[p, "depth_now_mm"] / mm}
        out += [f"{p} today {v} in {who}, {row[f'depth_now_{u}']} in forecast"
                for who, v in said.items() if _apart(v, row[f"depth_now_{u}"], 0, 0.006)]  # fmt: skip
        said = {"rotate": turn[p]["verdict"], "page": page.loc[p, "verdict"]}
        if p in wheel and wheel[p]["now_at"] not in (
            "",
            *(q for q, w in turn.items() if w["tire_id"] == wheel[p]["tire_id"]),
        ):
            out.append(f"{wheel[p]['tire_id']} now at {wheel[p]['now_at']} in tread, elsewhere in rotate")
        if p in wheel and wheel[p]["tire_id"] == row["tire_id"] and row["verdict"] != "not-read":
            said["tread"] = wheel[p]["verdict"]
            same = row["read_at"] == p and row["read_date"] == wheel[p]["date"]
            if same and _apart(wheel[p][f"read_raw_{u}"], row[f"read_raw_{u}"], 0, 0.006):
                out.append(
                    f"{p} least {wheel[p][f'read_raw_{u}']} in tread, {row[f'read_raw_{u}']} in forecast"
                )
        out += [
            f"{p} {v} in {who}, {row['verdict']} in forecast"
            for who, v in said.items()
            if v != row["verdict"]
        ]
    return out


def _miles(told: dict[str, Any], units: str) -> list[str]:
    far, km = ("miles_left", 1.609344) if units == "us" else ("km_left", 1.0)
    out = []
    page = told["page"].tires.set_index("position")
    for row in (r for r in told["forecast"] if r["position"] in ROAD):
        for q in ("p10", "p25", "p50", "p75", "p90"):
            one, other = page.loc[row["position"], f"km_left_{q}"] / km, row[f"{far}_{q}"]
            if _apart(one, other, 1e-6, 1e-3):
                out.append(f"{row['position']} {q} {one} on the page, {other} in forecast")
            days = page.loc[row["position"], f"date_{q}"], pd.Timestamp(row[f"date_{q}"])
            if not (pd.isna(days[0]) and pd.isna(days[1])) and days[0] != days[1]:
                out.append(f"{row['position']} date {q} {days[0]} on the page, {days[1]} in forecast")
    for q in ("p10", "p50", "p90"):
        one, other = told["page"].overall[f"km_left_{q}"], told["fleet"][f"km_left_{q}"]
        if _apart(one, other, 0.01, 80.0):
            out.append(f"the set's {q} {one} km on its page, {other} on the fleet's")
    plans = {r["plan"]: r for r in told["rotate"]["plans"]}
    unit = "mi" if units == "us" else "km"
    for note in (n for a in told["decision"] for n in a["why"] if f"stay_{unit}" in n):
        lone = plans["no rotation"][f"life_{unit}_p50"]
        # Rotating early is weighed against rotating when it is due.
        if note["code"] != "lengthens" and _apart(lone, note[f"stay_{unit}"], 1e-4, 1.0):
            out.append(f"left in place {lone} in rotate, {note[f'stay_{unit}']} decided")
        # The command's interval in kilometres is a round one; the decision's is not.
        usual = [plans[name][f"life_{unit}_p50"] for name in ("X", "forward cross") if name in plans]
        asked = note[f"rotate_{unit}"]
        if usual and all(_apart(v, asked, 1e-4 if units == "us" else 0.02, 1.0) for v in usual):
            out.append(f"rotated as usual {usual} in rotate, {asked} decided")
    most = told["rotate"]["bound"]
    over = {
        name: r[f"life_{unit}_p50"] for name, r in plans.items() if (r[f"life_{unit}_p50"] or 0) > most + 1e-6
    }
    if over:
        out.append(f"rotate has {over}, where no order of moves gives more than {most}")
    return out


def _advice(told: dict[str, Any]) -> list[str]:
    out = []
    rows, page = told["decision"], told["page"]
    said = {
        "tread": [{k: v for k, v in r.items() if k != "order"} for r in told["tread"]["next"]],
        "rotate": told["rotate"]["decision"],
        "replace": told["replace"]["decision"],
    }
    for who, other in said.items():
        unlike = [(a["words"], b["words"]) for a, b in zip(rows, other, strict=False) if a != b]
        if unlike or len(rows) != len(other):
            out.append(f"{who} decides otherwise than forecast: {unlike[:1]}")
    words = [r["words"] for r in rows]
    if [*page.said.urgent, *page.said.steps] != words:
        out.append(f"the page says {[*page.said.urgent, *page.said.steps]}, forecast {words}")
    if told["fleet"]["place"] != " ".join(page.decision.first):
        out.append(f"first due {page.decision.first} on the page, {told['fleet']['place']} on the fleet's")
    if page.decision.first and page.overall["first"] not in page.decision.first:
        out.append(f"first due {page.overall['first']} in numbers, {page.decision.first} in words")
    level = max(("note", "doubt", "warning", "urgent").index(r["severity"]) for r in rows)
    if level != told["fleet"]["severity"] or (level == 3) != bool(page.said.urgent):
        out.append("not as urgent everywhere")
    down = {p for r in rows if r["do"] == Kind.INSPECT for n in r["why"] if n["code"] == "at-limit"
            for p in [n["position"]]}  # fmt: skip
    for who in ("tread", "rotate"):
        urgent = {r["position"] for r in told[who]["urgent"]} & {*ROAD}
        if urgent != down:
            out.append(f"{who} heads with {urgent}, {down} inspected")
    if {*told["replace"]["at_limit"]} & {*ROAD} != down:
        out.append(f"replace has {told['replace']['at_limit']} at the limit, {down} inspected")
    leave = [
        r for r in rows if r["do"] == Kind.LEAVE and r["why"][0]["code"] not in ("not-due", "as-assumed")
    ]
    if (told["rotate"]["chosen"]["order"] == 1) != bool(leave):
        out.append(f"rotate chooses {told['rotate']['chosen']['plan']}: {leave or 'rotation is decided'}")
    return out

"""``tirelife tread``: the tread of one vehicle's tires, what wore it so, and what to check next."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING, Any, Literal

from tirelife.cli.limits import parse_depth
from tirelife.cli.tread_text import POSITION_WORDS, as_text
from tirelife.cli.values import plain
from tirelife.cli.verdict import told_verdicts
from tirelife.cli.wrong import Wrong
from tirelife.errors import InputError, misused
from tirelife.language import code_words, codes_words, doubt_words
from tirelife.positions import FRONT, MOUNTED, ROAD
from tirelife.units import LABELS, convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit
    from tirelife.tread import Finding, WheelHistory

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife tread data_synthetic/logbook --vehicle V06
  tirelife tread LOGBOOK --vehicle V06 --finding LF:feathered_edge:inward --finding LR:cups --json
  tirelife tread LOGBOOK --vehicle V06 --date 2026-06-30 --place EU/Austria --limits mine.csv
A finding is POSITION:KIND or POSITION:KIND:DETAIL. Kinds: feathered_edge (inward: the sharp, high edges of
the ribs point toward the vehicle's middle; outward: away from it), smooth (felt both ways: none), cups,
diagonal (low patches slantwise across the tread), flat_spot, rounded_shoulder (outside shoulder rounded and
rough), heel_and_toe, erosion (with its depth, such as 2/32in or 1.6mm), cut, cords, bulge, crack, object.
Depths are in the logbook's units; each ± is a 95 % bound from the gauge."""

DECIDED = ("rotate",)
"""Steps of the tread that are the decision's alone to say."""
_MEANING = {
    "level": "mean of the grooves",
    "tilt": "outer less inner",
    "crown": "center less edges",
    "dip": "grooves next to the edges, below the curve",
    "around": "spread from spot to spot",
}
CAUTIONS = (
    "A reading of the tread is no inspection. Cords, bulges, cuts, cracks, or a tire that loses more than "
    "2 psi (14 kPa) a month go to a qualified person now, whatever is said here.",
    "Legal depth differs by place, season and vehicle: the local code and the vehicle's placard rule.",
    "Set pressures cold, to the placard. Never bleed a hot tire.",
)


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument("--vehicle", required=True, metavar="ID", help="the vehicle")
    parser.add_argument("--date", "--as-of", dest="date", metavar="DATE", help="the last day that counts")
    parser.add_argument(
        "--finding",
        action="append",
        default=[],
        metavar="WHAT",
        help="felt or seen, such as LR:cups (repeat)",
    )
    parser.add_argument(
        "--roads",
        choices=("crowned", "level"),
        default="",
        help="what the driver says of the roads: crowned ones fall to one side and wear one edge",
    )
    parser.add_argument(
        "--gauge-step",
        metavar="DEPTH",
        help="step of the depth gauge, such as 1/32 (default: from the readings)",
    )
    parser.add_argument(
        "--across-tread",
        metavar="DEPTH",
        default="2/32",
        help="difference between edges that calls for a look at the angles (default: 2/32, common practice)",
    )
    parser.add_argument("--place", default="US", help="whose removal depth counts, such as US or EU/Austria")
    parser.add_argument(
        "--limits", metavar="FILE", help="a CSV of removal depths that adds to the built-in ones"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(args: argparse.Namespace) -> int:
    """Read the tread of one vehicle and print it."""
    from tirelife.logbook import read_logbook
    from tirelife.tread import parse_finding, removal_depths

    findings = [parse_finding(text) for text in args.finding]
    across = _depth("--across-tread", args.across_tread)
    step = _depth("--gauge-step", args.gauge_step) if args.gauge_step else None
    limits = removal_depths(args.limits)
    book = read_logbook(args.logbook, as_of=args.date)
    answer = _answer(book, args, findings, across, step, limits)
    print(json.dumps(answer, indent=2, ensure_ascii=False) if args.json else as_text(answer))
    return 0


def _depth(option: str, text: str) -> float:
    try:
        return parse_depth(text)
    except InputError:
        raise misused(Wrong.ERROR_DEPTH, option=option, text=text) from None


def _answer(
    book: Logbook,
    args: argparse.Namespace,
    findings: list[Finding],
    across_mm: float,
    step_mm: float | None,
    limits: pd.DataFrame,
) -> dict[str, Any]:
    import pandas as pd

    from tirelife.advice import checks_of
    from tirelife.cli.decision import decided
    from tirelife.outlook import kept_fit
    from tirelife.rates.present import mounted_now
    from tirelife.sheet.tread_words import step_words
    from tirelife.tread import (
        MEASURE_FROM,
        correction_factors,
        latest_profiles,
        measured_toe,
        next_steps,
        remaining_ratios,
        removal_depth,
        weigh_causes,
        wheel_histories,
    )

    if args.vehicle not in set(book.vehicles["vehicle_id"]):
        weigh_causes(book, [args.vehicle])  # names the vehicles there are
    histories = wheel_histories(book, [args.vehicle], resolution_mm=step_mm)
    wheels = histories[args.vehicle]
    rows = _profiles(book, args.vehicle, step_mm)
    if not rows:
        raise misused(Wrong.NOT_READ, vehicle=args.vehicle, day=f"{book.as_of:%Y-%m-%d}")
    causes = weigh_causes(
        book, [args.vehicle], findings, roads=args.roads, resolution_mm=step_mm, histories=histories
    )
    drive = str(book.vehicles.set_index("vehicle_id").loc[args.vehicle, "drive"])
    steps = next_steps(
        causes,
        drive,
        findings,
        roads=args.roads,
        histories=wheels,
        toe_mm=measured_toe(book).get(args.vehicle),
        across_tread_mm=across_mm,
    )
    depths = {p: removal_depth(args.place, _axle_of(p), book.as_of, limits=limits).depth_mm for p in MOUNTED}
    told = told_verdicts(book, pd.Series(depths), [args.vehicle])
    by_tire = {row["tire_id"]: row for row in (*told["urgent"], *told["near"])}
    shown = [_wheel(book, args, row, causes, wheels, limits, by_tire) for row in rows]
    mounted = mounted_now(book)
    places = mounted[mounted["vehicle_id"] == args.vehicle].set_index("tire_id")["position"]
    shown = [{**wheel, "now_at": str(places.get(wheel["tire_id"], ""))} for wheel in shown]
    fit = kept_fit(book, None, fresh=False)
    limit = pd.Series(depths).fillna(max(d for d in depths.values() if d == d))
    asked = decided(book, fit, args.vehicle, limit, checks_of(steps))
    why = [
        {
            "step": str(row["step"]),
            "where": row["where"],
            "why": row["note"].code.value,
            "words": step_words(row["note"], book.units),
        }
        for row in steps.to_dict("records")
        if row["step"] not in DECIDED
    ]
    why += [
        {"step": "inspect now", "where": w["position"], "why": "at-or-under", "words": w["removal_note"]}
        for w in shown
        if w["worn_out"] and not w["tire_id"]
    ]
    likely = causes[causes["probability"] >= MEASURE_FROM]
    factors = correction_factors(likely, histories, {args.vehicle: drive})
    legal = removal_depth(args.place, on=book.as_of, limits=limits).depth_mm
    gains = remaining_ratios(factors, histories, latest_profiles(book, args.vehicle), legal)
    for wheel in shown:
        wheel["if_corrected"] = _gains(gains[gains["position"] == wheel["position"]])
    return {
        "vehicle_id": args.vehicle,
        **told,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "drive": drive,
        "depth_unit": "32nds" if book.units == "us" else "mm",
        "wheels": shown,
        "gauges": _gauges(book, args.vehicle),
        "corrections": _corrections(book, fit, args.vehicle, histories, causes, limit),
        "next": [{"order": i + 1, **action} for i, action in enumerate(asked)],
        "pattern": why,
        "cautions": list(CAUTIONS),
    }


def _profiles(book: Logbook, vehicle: str, step_mm: float | None) -> list[dict[str, Any]]:
    """Last profile read at each position, as plain rows."""
    import pandas as pd

    from tirelife.tread import groove_states, profiles_of

    rows = []
    states = groove_states(book, step_mm)
    states = states[states["vehicle_id"] == vehicle].reset_index(drop=True)
    parts = profiles_of(states, book.depths)
    both = pd.concat([states, parts.drop(columns=[c for c in parts if c in states])], axis=1).sort_values(
        "date"
    )
    for position in ROAD:
        here = both[both["position"] == position]
        if len(here):
            rows.append(dict(here.iloc[-1]))
    return rows


def _wheel(
    book: Logbook,
    args: argparse.Namespace,
    row: dict[str, Any],
    causes: pd.DataFrame,
    histories: dict[str, WheelHistory],
    limits: pd.DataFrame,
    told: dict[str, dict[str, Any]],
) -> dict[str, Any]:
    from tirelife.logbook import GROOVES
    from tirelife.sheet.tread_words import CHECKS, WEAK, evidence_words
    from tirelife.tread import CAUSE_NAMES, Step, Verdict, removal_depth

    unit = "32nds" if book.units == "us" else "mm"
    position, history = row["position"], histories.get(row["position"])
    limit = removal_depth(args.place, _axle_of(position), book.as_of, limits=limits)
    verdict = told.get(row["tire_id"], {"verdict": "over"})["verdict"]
    if not row["tire_id"] and row["least_mm"] <= limit.depth_mm + 1e-6:  # whose reading is not known
        verdict = Verdict.AT_OR_UNDER.value
    worn_out = verdict == Verdict.AT_OR_UNDER
    mine = causes[causes["position"] == position]
    note = (
        f"{POSITION_WORDS[position]}: {_show(row['least_mm'], unit)} {LABELS[unit]} in the "
        f"{row['least_groove']} groove, at or under the removal depth of "
        f"{_show(limit.depth_mm, unit)} {LABELS[unit]} ({limit.source}). "
        "Have it looked at by a qualified person before it is driven far."
    )
    return {
        "position": position,
        "tire_id": row["tire_id"],
        "date": f"{row['date']:%Y-%m-%d}",
        f"profile_{unit}": {g: plain(row[f"{g}_mm"], "mm", unit) for g in GROOVES},
        f"read_raw_{unit}": plain(row["least_mm"] + row["bias_mm"], "mm", unit),
        f"read_{unit}": plain(row["least_mm"], "mm", unit),
        "read_groove": row["least_groove"],
        f"shallowest_{unit}": plain(row["shallowest_mm"], "mm", unit),
        "shallowest_groove": row["shallowest_groove"],
        "components": [
            {
                "component": name,
                f"value_{unit}": plain(row[f"{name}_mm"], "mm", unit),
                f"std_error_{unit}": plain(row[f"{name}_se_mm"], "mm", unit),
                "meaning": meaning,
            }
            for name, meaning in _MEANING.items()
        ],
        "not_known": codes_words(row["reason"]),
        "doubt": doubt_words(row["doubt"]),
        f"gauge_bias_{unit}": plain(row["bias_mm"], "mm", unit),
        f"removal_depth_{unit}": plain(limit.depth_mm, "mm", unit),
        f"advised_depth_{unit}": plain(limit.advised_mm, "mm", unit),
        "removal_source": f"{limit.source} ({limit.standing})" if limit.source else "",
        "removal_note": note if worn_out else _rule(limit.rule),
        "verdict": verdict,
        "worn_out": worn_out,
        "age": _age(book, row["tire_id"]),
        "pattern_from": f"{history.from_date:%Y-%m-%d}" if history else "",
        "pattern_to": f"{history.to_date:%Y-%m-%d}" if history else "",
        "pattern_tires": list(history.tires) if history else [],
        "pattern_note": (
            "no tire that was read has run here yet"
            if history is None
            else WEAK[history.weak]
            if history.weak
            else ""
        ),
        "causes": [
            {
                "cause": cause,
                "name": CAUSE_NAMES[cause] + (f" ({side} edge)" if side else ""),
                "probability": plain(chance),
                "evidence": evidence_words(seen, book.units),
                "check": str(check),
                "next_check": CHECKS[Step(check)],
            }
            for cause, side, chance, seen, check in zip(
                mine["cause"],
                mine["side"],
                mine["probability"],
                mine["evidence"],
                mine["next_check"],
                strict=True,
            )
        ],
    }


def _gains(table: pd.DataFrame) -> list[dict[str, Any]]:
    """How much further a tire would go with each likely cause corrected; where that can be told."""
    return [
        {
            "cause": cause,
            "groove_now": now,
            "groove_then": then,
            "distance_ratio": plain(ratio),
            "expected_distance_ratio": plain(expected),
        }
        for cause, now, then, ratio, expected in zip(
            table["cause"],
            table["groove_now"],
            table["groove_then"],
            table["ratio"],
            table["expected_ratio"],
            strict=True,
        )
        if ratio == ratio and ratio > 1.005
    ]


def _corrections(
    book: Logbook,
    fit: WearFit,
    vehicle: str,
    histories: dict[str, dict[str, WheelHistory]],
    causes: pd.DataFrame,
    limit: pd.Series,
) -> list[dict[str, Any]]:
    """Distance and months that each correction would buy, by tire and for the set."""
    from tirelife.outlook import correct_causes, correction_ratios

    ratios = correction_ratios(book, [vehicle], limit, histories=histories, causes=causes)
    if ratios.empty:
        return []
    table = correct_causes(book, fit, [vehicle], limit, ratios=ratios)
    unit = "mi" if book.units == "us" else "km"
    out = []
    for row in table[table["km_gained_p50"].notna()].to_dict("records"):
        out.append(
            {
                "change": row["change"],
                "position": row["position"],
                "cause": row["cause"],
                "probability": None if row["position"] == "set" else plain(row["probability"]),
                **{
                    f"{unit}_gained_{p}": plain(row[f"km_gained_{p}"], "km", unit)
                    for p in ("p10", "p50", "p90")
                },
                **{f"months_gained_{p}": plain(row[f"months_gained_{p}"]) for p in ("p10", "p50", "p90")},
            }
        )
    return out


def _axle_of(position: str) -> Literal["front", "rear"]:
    return "front" if position in FRONT else "rear"


def _age(book: Logbook, tire_id: str) -> str:
    """Age advice for a tire, or why there is none."""
    from tirelife.logbook import doubted
    from tirelife.tread import age_advice

    tires = book.tires.set_index("tire_id")
    code = str(tires.loc[tire_id, "made_week"]) if tire_id in tires.index else ""
    if not code or code == "nan":
        return ""
    if doubted(tires.loc[[tire_id]], "made_week").any():
        return f"its date code {code} is doubtful: read it on the sidewall"
    try:
        found = age_advice(code, book.as_of)
    except InputError as error:
        return str(error)
    return code_words(found.advice)


def _rule(rule: str) -> str:
    """The rule behind a removal depth, and that the local code decides."""
    from tirelife.sheet.language import upper_first

    return code_words("limit-rule" if rule else "limit-none", {"rule": upper_first(rule)})


def _gauges(book: Logbook, vehicle: str) -> list[dict[str, Any]]:
    """Depth gauges that read this vehicle: bias, repeatability, and what is wrong with them."""
    from tirelife.logbook import gauge_study
    from tirelife.sheet.tread_tables import gauge_asks

    depths = book.depths
    used = set(depths.loc[depths["vehicle_id"] == vehicle, "gauge_id"].astype(str)) - {""}
    study = gauge_study(book)
    study = study[(study["kind"] == "depth") & study["gauge_id"].isin(used)]
    unit = "32nds" if book.units == "us" else "mm"
    out = []
    for row in study.to_dict("records"):
        said = gauge_asks(row, book.units)
        out.append(
            {
                "gauge_id": row["gauge_id"],
                f"bias_{unit}": plain(row["bias"], "mm", unit),
                f"repeatability_{unit}": plain(row["repeatability"], "mm", unit),
                "comparisons": int(row["comparisons"]),
                "codes": [code for code, _ in said],
                "advice": " ".join(code_words(code, values) for code, values in said),
            }
        )
    return out


def _show(mm: float, unit: str) -> str:
    return f"{convert(mm, 'mm', unit):.1f}"

"""What the tread of a vehicle's tires says, as an object for a program and in lines for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from tirelife.errors import InputError
from tirelife.language import code_words, codes_words, doubt_words
from tirelife.logbook import GROOVES, assumed_facts, doubted
from tirelife.sheet import CHECKS, WEAK, evidence_words, gauge_asks, ranged, step_words
from tirelife.sheet.language import upper_first
from tirelife.terminal.decision import decision_rows, long_lines
from tirelife.terminal.table import day_words, place
from tirelife.terminal.values import plain, rows_of
from tirelife.terminal.verdict import note_rows, verdict_lines
from tirelife.tread import CAUSE_NAMES, Step, Verdict, age_advice
from tirelife.units import LABELS, SHOWN, convert, shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import TreadReading
    from tirelife.logbook import Logbook

__all__ = ["tread_answer", "tread_text"]

DECIDED: Final = ("rotate",)
"""Steps of the tread that are the decision's alone to say."""
SHOWN_FROM: Final = 0.05
"""Probability from which a cause is told."""
CAUTIONS: Final = (
    "A reading of the tread is no inspection. Cords, bulges, cuts, cracks, or a tire that loses more than "
    "2 psi (14 kPa) a month go to a qualified person now, whatever is said here.",
    "Legal depth differs by place, season and vehicle: the local code and the vehicle's placard rule.",
    "Set pressures cold, to the placard. Never bleed a hot tire.",
)
_MEANING: Final = {
    "level": "mean of the grooves",
    "tilt": "outer less inner",
    "crown": "center less edges",
    "dip": "grooves next to the edges, below the curve",
    "around": "spread from spot to spot",
}


def tread_answer(reading: TreadReading, book: Logbook) -> dict[str, Any]:
    """The answer for a program: numbers in the logbook's units, codes, and their words.

    Parameters
    ----------
    reading : TreadReading
        From :func:`tirelife.advice.read_tread`.
    book : Logbook
        The same one.
    """
    units = book.units
    wheels = [_wheel(row, reading, book) for row in reading.wheels.to_dict("records")]
    asked = [] if reading.decision is None else decision_rows(reading.decision, units)
    why = [
        {"step": str(row["step"]), "where": row["where"], "why": row["note"].code.value,
         "words": step_words(row["note"], units)}
        for row in reading.steps.to_dict("records")
        if row["step"] not in DECIDED
    ]  # fmt: skip
    why += [
        {"step": "inspect now", "where": w["position"], "why": "at-or-under", "words": w["removal_note"]}
        for w in wheels
        if w["worn_out"] and not w["tire_id"]
    ]
    return {
        "vehicle_id": reading.vehicle_id,
        **note_rows(reading.notes, units),
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "drive": reading.drive,
        "drive_assumed": "drive" in assumed_facts(book.vehicles, reading.vehicle_id),
        "depth_unit": SHOWN[units]["depth"],
        "wheels": wheels,
        "gauges": [_gauge(row, units) for row in reading.gauges.to_dict("records")],
        "corrections": _corrections(reading.corrections, units),
        "next": [{"order": i + 1, **action} for i, action in enumerate(asked)],
        "pattern": why,
        "cautions": list(CAUTIONS),
    }


def _wheel(row: Mapping[Any, Any], reading: TreadReading, book: Logbook) -> dict[str, Any]:
    unit, position = SHOWN[book.units]["depth"], row["position"]
    limit, history = reading.limits[position], reading.histories.get(position)
    worn_out = row["verdict"] == Verdict.AT_OR_UNDER
    causes = reading.causes[reading.causes["position"] == position]
    gains = reading.gains[(reading.gains["position"] == position) & (reading.gains["ratio"] > 1.005)]
    rule = code_words("limit-rule" if limit.rule else "limit-none", {"rule": upper_first(limit.rule)})
    note = (
        f"{_wheel_words(position)}: {_depth(row['least_mm'], unit)} in the {row['least_groove']} groove, at "
        f"or under the removal depth of {_depth(limit.depth_mm, unit)} ({limit.source}). "
        "Have it looked at by a qualified person before it is driven far."
    )

    def deep(mm: float) -> float | None:
        return plain(mm, "mm", unit)

    return {
        "position": position,
        "tire_id": row["tire_id"],
        "date": f"{row['date']:%Y-%m-%d}",
        f"profile_{unit}": {g: deep(row[f"{g}_mm"]) for g in GROOVES},
        f"read_raw_{unit}": deep(row["least_mm"] + row["bias_mm"]),
        f"read_{unit}": deep(row["least_mm"]),
        "read_groove": row["least_groove"],
        f"shallowest_{unit}": deep(row["shallowest_mm"]),
        "shallowest_groove": row["shallowest_groove"],
        "components": [
            {"component": name, f"value_{unit}": deep(row[f"{name}_mm"]),
             f"std_error_{unit}": deep(row[f"{name}_se_mm"]), "meaning": meaning}
            for name, meaning in _MEANING.items()
        ],
        "not_known": codes_words(row["reason"]),
        "doubt": doubt_words(row["doubt"]),
        f"gauge_bias_{unit}": deep(row["bias_mm"]),
        f"removal_depth_{unit}": deep(limit.depth_mm),
        f"advised_depth_{unit}": deep(limit.advised_mm),
        "removal_source": f"{limit.source} ({limit.standing})" if limit.source else "",
        "removal_note": note if worn_out else rule,
        "verdict": str(row["verdict"]),
        "worn_out": worn_out,
        "age": _age(book, row["tire_id"]),
        "pattern_from": f"{history.from_date:%Y-%m-%d}" if history else "",
        "pattern_to": f"{history.to_date:%Y-%m-%d}" if history else "",
        "pattern_tires": list(history.tires) if history else [],
        "pattern_note": "no tire that was read has run here yet" if history is None
        else WEAK[history.weak] if history.weak else "",
        "causes": [
            {"cause": one["cause"],
             "name": CAUSE_NAMES[one["cause"]] + (f" ({one['side']} edge)" if one["side"] else ""),
             "probability": plain(one["probability"]),
             "evidence": evidence_words(one["evidence"], book.units), "check": str(one["next_check"]),
             "next_check": CHECKS[Step(one["next_check"])]}
            for one in causes.to_dict("records")
        ],
        "now_at": row["now_at"],
        "if_corrected": [
            {"cause": one["cause"], "groove_now": one["groove_now"], "groove_then": one["groove_then"],
             "distance_ratio": plain(one["ratio"]), "expected_distance_ratio": plain(one["expected_ratio"])}
            for one in gains.to_dict("records")
        ],
    }  # fmt: skip


def _corrections(table: pd.DataFrame, units: str) -> list[dict[str, Any]]:
    """Distance and months that each correction would buy, by tire and for the set."""
    if table.empty:
        return []
    names = [f"{what}_gained_{p}" for what in ("km", "months") for p in ("p10", "p50", "p90")]
    known = table.loc[table["km_gained_p50"].notna(), ["change", "position", "cause", "probability", *names]]
    known = known.assign(probability=known["probability"].where(known["position"] != "set"))
    return rows_of(shown(known, units))


def _gauge(row: Mapping[Any, Any], units: str) -> dict[str, Any]:
    """A depth gauge: bias, repeatability, and what is wrong with it."""
    said, unit = gauge_asks(row, units), SHOWN[units]["depth"]
    return {
        "gauge_id": row["gauge_id"],
        f"bias_{unit}": plain(row["bias"], "mm", unit),
        f"repeatability_{unit}": plain(row["repeatability"], "mm", unit),
        "comparisons": int(row["comparisons"]),
        "codes": [code for code, _ in said],
        "advice": " ".join(code_words(code, values) for code, values in said),
    }


def _age(book: Logbook, tire_id: str) -> str:
    """Age advice for a tire, or why there is none."""
    tires = book.tires.set_index("tire_id")
    code = str(tires.loc[tire_id, "made_week"]) if tire_id in tires.index else ""
    if not code or code == "nan":
        return ""
    if doubted(tires.loc[[tire_id]], "made_week").any():
        return f"its date code {code} is doubtful: read it on the sidewall"
    try:
        return code_words(age_advice(code, book.as_of).advice)
    except InputError as error:
        return str(error)


def _depth(mm: float, unit: str) -> str:
    return f"{convert(mm, 'mm', unit):.1f} {LABELS[unit]}"


def _wheel_words(position: str) -> str:
    return upper_first(place(position))


def tread_text(answer: Mapping[str, Any]) -> str:
    """The answer of ``tirelife tread`` in lines for people."""
    unit = answer["depth_unit"]
    units = "us" if unit == "32nds" else "metric"
    day = day_words(answer["as_of"], units)
    told = " (assumed: the log does not say)" if answer["drive_assumed"] else ""
    lines = [
        *verdict_lines(answer),
        f"{answer['vehicle_id']}, {answer['drive']} drive{told}, as of {day}; depths in {LABELS[unit]}, "
        "corrected for the gauge",
    ]
    for wheel in answer["wheels"]:
        lines += ["", *_wheel_lines(wheel, unit, units)]
    for gauge in answer["gauges"]:
        bias = gauge[f"bias_{unit}"]
        if bias:
            side = "deep" if bias > 0 else "shallow"
            lines += ["", f"Gauge {gauge['gauge_id']} reads {abs(bias):.2f} {side}; that was taken off."]
        if gauge["advice"]:
            lines += ["", f"Gauge {gauge['gauge_id']}: {gauge['advice']}"]
    if answer["corrections"]:
        lines += ["", "What each correction would buy (8 chances in 10), by the probability of its cause"]
        lines += [_correction_line(row) for row in answer["corrections"]]
    lines += [
        "",
        "What to do next",
        *long_lines(answer["next"], numbered=True),
    ]
    if answer["pattern"]:
        lines += ["", "What the tread's pattern asks for, and what would tell its causes apart"]
        lines += [f"  {s['step'].capitalize()}, {s['where']}: {s['words']}" for s in answer["pattern"]]
    lines += ["", "Cautions", *(f"  {words}" for words in answer["cautions"])]
    return "\n".join(lines)


def _correction_line(row: Mapping[str, Any]) -> str:
    unit = "mi" if "mi_gained_p50" in row else "km"
    far, long = (
        ranged(*(row[f"{name}_gained_{p}"] for p in ("p50", "p10", "p90"))) for name in (unit, "months")
    )
    where = "the set" if row["position"] == "set" else place(row["position"])
    word = "miles" if unit == "mi" else "km"
    return f"  {row['change']}, {where}: {far[0]} {word} ({far[1]}), {long[0]} months ({long[1]})"


def _wheel_lines(wheel: Mapping[str, Any], unit: str, units: str) -> list[str]:
    read = day_words(wheel["date"], units)
    head = f"{_wheel_words(wheel['position'])}, tire {wheel['tire_id'] or 'not known'}, read {read}"
    if wheel["tire_id"] and wheel["now_at"] != wheel["position"]:
        now = {"": "off this car", "SP": "the spare"}.get(
            wheel["now_at"]
        ) or f"at the {place(wheel['now_at'])}"
        head += f"; now {now}"
    grooves = {g: d for g, d in wheel[f"profile_{unit}"].items() if d is not None}
    lines = [head, "  " + "   ".join(f"{g.replace('_', ' ')} {d:.1f}" for g, d in grooves.items())]
    lines.append(
        f"  least   {wheel[f'read_{unit}']:6.1f}         single reading, "
        f"{wheel['read_groove'].replace('_', ' ')} groove"
    )
    for part in wheel["components"]:
        value, error = part[f"value_{unit}"], part[f"std_error_{unit}"]
        if value is not None:
            lines.append(f"  {part['component']:<7}{value:6.1f} ± {1.96 * error:.1f}   {part['meaning']}")
    if wheel["not_known"]:
        lines.append(f"  not known: {wheel['not_known']}")
    if wheel["doubt"]:
        lines.append(f"  doubtful: {wheel['doubt']}")
    if wheel["pattern_from"]:
        since, until = (day_words(wheel[f"pattern_{end}"], units) for end in ("from", "to"))
        lines.append(f"  Wear here from {since} to {until}:")
    if wheel["pattern_note"]:
        lines.append(f"  {wheel['pattern_note'][0].upper()}{wheel['pattern_note'][1:]}.")
    told = [c for c in wheel["causes"] if c["probability"] >= SHOWN_FROM]
    lines += [f"  {c['probability']:5.0%}  {c['name']}: {c['evidence']}. {c['next_check']}" for c in told]
    for gain in wheel["if_corrected"]:
        lines.append(
            f"  With {CAUSE_NAMES[gain['cause']]} corrected, and if it is the cause, this tire goes "
            f"{gain['distance_ratio']:.2f} times as far from here "
            f"({gain['groove_now'].replace('_', ' ')} groove first now)."
        )
    if wheel["age"]:
        lines.append(f"  Age: {wheel['age']}")
    return lines

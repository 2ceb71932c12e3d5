"""What ``tirelife tread`` found, in lines for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from tirelife.cli.decision import long_lines
from tirelife.cli.table import day_words
from tirelife.cli.verdict import verdict_lines
from tirelife.units import LABELS

__all__ = ["POSITION_WORDS", "as_text"]

POSITION_WORDS: Final = {"LF": "Left front", "RF": "Right front", "LR": "Left rear", "RR": "Right rear"}
SHOWN_FROM: Final = 0.05
"""Probability from which a cause is told."""


def as_text(answer: Mapping[str, Any]) -> str:
    """The answer of ``tirelife tread`` in lines for people."""
    unit = answer["depth_unit"]
    units = "us" if unit == "32nds" else "metric"
    day = day_words(answer["as_of"], units)
    lines = [
        *verdict_lines(answer),
        f"{answer['vehicle_id']}, {answer['drive']} drive, as of {day}; depths in {LABELS[unit]}, "
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
    from tirelife.sheet.fit_words import ranged

    unit = "mi" if "mi_gained_p50" in row else "km"
    far, long = (
        ranged(*(row[f"{name}_gained_{p}"] for p in ("p50", "p10", "p90"))) for name in (unit, "months")
    )
    where = "the set" if row["position"] == "set" else POSITION_WORDS[row["position"]].lower()
    word = "miles" if unit == "mi" else "km"
    return f"  {row['change']}, {where}: {far[0]} {word} ({far[1]}), {long[0]} months ({long[1]})"


def _wheel_lines(wheel: Mapping[str, Any], unit: str, units: str) -> list[str]:
    from tirelife.tread import CAUSE_NAMES

    read = day_words(wheel["date"], units)
    head = f"{POSITION_WORDS[wheel['position']]}, tire {wheel['tire_id'] or 'not known'}, read {read}"
    if wheel["tire_id"] and wheel["now_at"] != wheel["position"]:
        now = {**{p: f"at the {w.lower()}" for p, w in POSITION_WORDS.items()}, "SP": "the spare"}
        head += f"; now {now.get(wheel['now_at'], 'off this car')}"
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

"""An answer from one visit, as an object for a program and in lines for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tirelife.language import code_words
from tirelife.sheet import depth, far_within
from tirelife.sheet.language import say_short
from tirelife.terminal.decision import decision_rows, long_lines
from tirelife.terminal.forecast import forecast_data
from tirelife.terminal.table import far_span, unit_of
from tirelife.terminal.trust import told_trust, trust_lines
from tirelife.terminal.values import plain, rows_of
from tirelife.terminal.verdict import note_rows, verdict_lines
from tirelife.tread import verdict_notes

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import Decision
    from tirelife.outlook import WalkIn

__all__ = ["walkin_answer", "walkin_text"]


def walkin_answer(found: WalkIn, decision: Decision, units: str, language: str = "en") -> dict[str, Any]:
    """The answer for a program.

    Parameters
    ----------
    found : WalkIn
        From :func:`tirelife.outlook.walk_in`.
    decision : Decision
    units, language : str
    """
    return {
        **note_rows(verdict_notes(found.verdicts), units),
        "fit": told_trust(found.verdict),
        "decision": decision_rows(decision, units),
        "forecast": rows_of(forecast_data(found.forecast, units)),
        "assumptions": [_assumed(row, language) for row in found.assumptions.to_dict("records")],
        "narrowed": plain(found.narrowed),
    }


def _assumed(row: Mapping[Any, Any], language: str) -> dict[str, Any]:
    """What an answer rests on, as codes and in words."""
    name, value, source = (
        code_words(row[column], row["about"], language) for column in ("assumption", "value", "source")
    )
    held = {str(column): of for column, of in row.items()}
    return {**held, "words": f"{name}: {value}" + (f" ({source})" if source else "")}


def walkin_text(answer: Mapping[str, Any], forecast: pd.DataFrame, units: str) -> str:
    """The same answer in lines for people, its table rounded to what the range supports."""
    far = unit_of("distance", units)
    lines = [
        *verdict_lines(answer),
        *trust_lines(answer["fit"]),
        "What to do",
        *long_lines(answer["decision"]),
        "",
        f"{'wheel':6}{'least today, estimate':>21}{far + ' left, middle (8 in 10)':>36}  by about (8 in 10)",
    ]
    by_note: dict[str, list[str]] = {}
    for row in forecast.to_dict("records"):
        noted = say_short(row["notes"], units)
        by_note.setdefault(noted, []).append(row["position"])
        head = f"{row['position']:6}{depth(row['depth_now_mm'], units):>21}"
        low, middle, high = (row[f"km_left_{p}"] for p in ("p10", "p50", "p90"))
        if middle != middle:
            lines.append(f"{head}{'not known':>36}  {noted}")
            continue
        left = f"{far_within(middle, units, high - low)} ({far_span(low, high, units)})"
        soon, about, late = (
            f"{day:%Y-%m}" if day == day else "later"
            for day in (row[f"date_{p}"] for p in ("p10", "p50", "p90"))
        )
        lines.append(f"{head}{left:>36}  {about} ({soon} to {late})")
    lines += ["", *(f"{', '.join(places)}: {note}." for note, places in by_note.items() if note)]
    return "\n".join([*lines, "", "It rests on:", *(f"  {row['words']}" for row in answer["assumptions"])])

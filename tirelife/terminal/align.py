"""The alignment worksheet of an axle, as an object for a program and in lines for people."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from tirelife.language import code_words
from tirelife.terminal.values import rows_of
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["alignment_answer", "alignment_text"]

_SPECIFIED: Final = ("toe_mm", "camber_left_deg", "camber_right_deg")
"""What a vehicle has a specification of."""
_NAMED: Final = ("toe_mm", "runout_mm", "camber_left_deg", "camber_right_deg", "slip_m_per_km", "wear_ratio")
"""Rows with a name before them; the others say the one above in another unit."""


def alignment_answer(sheet: pd.DataFrame, axle: str, language: str = "en") -> dict[str, Any]:
    """The worksheet for a program, with the words of its notes."""
    words = [code_words(code, language=language) for code in sheet["note"]]
    return {"axle": axle, "rows": rows_of(_in_miles(sheet).assign(words=words))}


def _in_miles(sheet: pd.DataFrame) -> pd.DataFrame:
    """The worksheet with the distance that tires are dragged in a year as it is asked for: in miles."""
    dragged = sheet["quantity"] == "slip_km_per_year"
    return sheet.assign(
        found=sheet["found"].where(~dragged, convert(sheet["found"], "km", "mi")),
        quantity=sheet["quantity"].where(~dragged, "slip_mi_per_year"),
    )


def alignment_text(sheet: pd.DataFrame, axle: str, language: str = "en") -> str:
    """The worksheet in lines for people."""

    def say(code: str, **values: object) -> str:
        return code_words(f"align-{code}", values, language)

    lines = [say(f"{axle}-axle")]
    for row in _in_miles(sheet).to_dict("records"):
        name = str(row["quantity"])
        word = say(f"name-{name}") if name in _NAMED else ""
        said = f"  {word:30}{float(row['found']):9.3f} {say(f'unit-{name}')}"
        note = code_words(str(row["note"]), language=language)
        if name == "wear_ratio":
            said += say("range", low=f"{row['low']:.2f}", high=f"{row['high']:.2f}")
        elif math.isfinite(row["low"]):
            within = say("specification", low=f"{row['low']:g}", high=f"{row['high']:g}")
            said += f"  {within}: {note}"
        elif name in _SPECIFIED:
            said += f"  {note}"
        lines.append(said.rstrip())
    return "\n".join([*lines, say("ends")])

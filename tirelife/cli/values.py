"""Notes as rows of a JSON answer: code, arguments in the logbook's units, units in their names."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from tirelife.codes import Note
from tirelife.units import SHOWN, convert

__all__ = ["note_row", "shown_values"]

_KINDS: Final = {"mm": "depth", "km": "distance", "kpa": "pressure"}


def note_row(note: Note, units: str, name: str = "code") -> dict[str, Any]:
    """A note's code under ``name``, and its arguments."""
    return {name: note.code.value, **shown_values(dict(note.values), units)}


def shown_values(values: dict[str, object], units: str) -> dict[str, Any]:
    """Arguments of a note in the logbook's units, renamed accordingly; null where a number is not known.

    Examples
    --------
    >>> shown_values({"over_mm": 1.5875, "km_p50": 1609.344, "position": "LF"}, "us")
    {'over_32nds': 2.0, 'mi_p50': 1000.0, 'position': 'LF'}
    """
    out: dict[str, Any] = {}
    for name, value in values.items():
        parts = name.split("_")
        unit = next((part for part in parts if part in _KINDS), "")
        if isinstance(value, date):
            out[name] = None if value != value else f"{value:%Y-%m-%d}"
        elif isinstance(value, bool) or not isinstance(value, float):
            out[name] = value
        elif value != value:
            out["_".join(_to(part, units) for part in parts)] = None
        else:
            number = float(convert(value, unit, _to(unit, units))) if unit else value
            out["_".join(_to(part, units) for part in parts)] = round(number, 4)
    return out


def _to(part: str, units: str) -> str:
    return SHOWN[units][_KINDS[part]] if part in _KINDS else part

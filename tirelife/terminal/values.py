"""Numbers and notes of a JSON answer: as exact as they are, in the logbook's units, units in their names."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Any

from tirelife.codes import Note
from tirelife.units import convert, shown_as

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["note_row", "plain", "rows_of", "shown_values"]


def plain(value: float, unit: str = "", to: str = "") -> float | None:
    """A number for a program: in another unit if one is given, to twelve digits; None where it is not known.

    Whoever reads it may convert it: a program's numbers are rounded where people read them, not here.

    Examples
    --------
    >>> plain(1.5875, "mm", "32nds"), plain(0.1 + 0.2), plain(float("nan"))
    (2.0, 0.3, None)
    """
    number = float(convert(value, unit, to)) if unit else float(value)
    return float(f"{number:.12g}") if math.isfinite(number) else None


def rows_of(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a table for a program: numbers as :func:`plain` has them, ISO days, None for what is not known.

    Examples
    --------
    >>> import pandas as pd
    >>> rows_of(pd.DataFrame({"day": [pd.Timestamp("2026-03-14")], "depth_mm": [float("nan")], "n": [3]}))
    [{'day': '2026-03-14', 'depth_mm': None, 'n': 3}]
    """
    return [{str(name): _plain(value) for name, value in row.items()} for row in table.to_dict("records")]


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return plain(value)
    if isinstance(value, date):
        return None if value != value else f"{value:%Y-%m-%d}"
    return value


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
        called, factors = shown_as(name, units) if isinstance(value, float) else (name, ())
        out[called] = _plain(value * math.prod(factors) if isinstance(value, float) else value)
    return out

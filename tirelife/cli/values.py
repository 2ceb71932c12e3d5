"""Numbers and notes of a JSON answer: as exact as they are, in the logbook's units, units in their names."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from tirelife.cli.wrong import Wrong
from tirelife.codes import Note
from tirelife.errors import misused
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook

__all__ = ["json_rows", "known_vehicles", "note_row", "plain", "shown_values"]

_KINDS: Final = {"mm": "depth", "km": "distance", "kpa": "pressure"}


def plain(value: float, unit: str = "", to: str = "") -> float | None:
    """A number for a program: in another unit if one is given, to twelve digits; None where it is not known.

    Whoever reads it may convert it: a program's numbers are rounded where people read them, not here.

    Examples
    --------
    >>> plain(1.5875, "mm", "32nds"), plain(0.1 + 0.2), plain(float("nan"))
    (2.0, 0.3, None)
    """
    number = float(convert(value, unit, to)) if unit else float(value)
    return None if number != number else float(f"{number:.12g}")


def known_vehicles(book: Logbook, names: Sequence[str] | None) -> None:
    """Raise InputError for the first name that no vehicle of a logbook has."""
    known = [str(vehicle) for vehicle in book.vehicles["vehicle_id"]]
    for name in names or ():
        if name not in known:
            raise misused(Wrong.NO_VEHICLE, vehicle=name, known=", ".join(known[:12]))


def json_rows(table: pd.DataFrame) -> str:
    """A table's rows as JSON text, numbers as exact as :func:`plain` has them."""
    told = table.copy()
    for name in table.columns[[kind.kind == "f" for kind in table.dtypes]]:
        told[name] = [float(f"{value:.12g}") for value in table[name]]
    return str(told.to_json(orient="records", date_format="iso", double_precision=15, force_ascii=False))


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
        else:
            out["_".join(_to(part, units) for part in parts)] = plain(value, unit, _to(unit, units))
    return out


def _to(part: str, units: str) -> str:
    return SHOWN[units][_KINDS[part]] if part in _KINDS else part

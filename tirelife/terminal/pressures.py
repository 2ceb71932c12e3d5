"""Pressures of tires, as an object for a program and in lines for people."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from tirelife.codes import Note
from tirelife.sheet import caution, pressure_rows
from tirelife.terminal.table import rows_table
from tirelife.terminal.values import rows_of
from tirelife.units import shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook

__all__ = ["pressure_answer", "pressure_text"]


def pressure_answer(summary: pd.DataFrame, book: Logbook) -> dict[str, Any]:
    """Rows of :func:`tirelife.inflation.pressure_summary` for a program."""
    tires = rows_of(shown(summary.assign(notes=summary["notes"].map(_notes)), book.units))
    return {"as_of": f"{book.as_of:%Y-%m-%d}", "tires": tires, "caution": caution()}


def _notes(notes: Iterable[Note]) -> list[dict[str, str]]:
    return [{"code": note.code.value, "severity": note.severity.name.lower()} for note in notes]


def pressure_text(summary: pd.DataFrame, units: str) -> str:
    """The same rows in lines for people, what asks for a look first."""
    heads, rows, notes = pressure_rows(summary, units)
    set_out = rows_table(heads, rows, right=range(2, len(heads)))
    return "\n".join([*notes, *([""] if notes else []), set_out, "", caution()])

"""What every command says first: the tires that were read at their limit, or near it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

from tirelife.codes import Note
from tirelife.language import list_words
from tirelife.sheet.language import say
from tirelife.terminal.values import note_row
from tirelife.tread import Verdict, verdict_notes, verdicts

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook

MOST: Final = 12
"""Tires named one by one where a table goes to standard output."""

__all__ = ["first_lines", "note_rows", "told_verdicts", "verdict_lines"]


def told_verdicts(
    book: Logbook,
    removal_depth_mm: float | pd.Series,
    vehicles: Iterable[str] | None = None,
    language: str = "en",
) -> dict[str, Any]:
    """Verdicts that ask for something, as the head of a JSON answer: ``urgent`` and ``near``.

    Each is a list of rows: what :func:`tirelife.tread.verdict_notes` says, in the logbook's units, and the
    sentence.
    """
    return note_rows(verdict_notes(verdicts(book, removal_depth_mm, vehicles)), book.units, language)


def note_rows(notes: Iterable[Note], units: str, language: str = "en") -> dict[str, Any]:
    """Notes of verdicts as the head of a JSON answer; see :func:`told_verdicts`."""
    out: dict[str, Any] = {"urgent": [], "near": []}
    for note in notes:
        row = note_row(note, units, "verdict")
        row["words"] = say(note, units, language)
        out["urgent" if note.code == Verdict.AT_OR_UNDER else "near"].append(row)
    return out


def verdict_lines(told: Mapping[str, Any], language: str = "en") -> list[str]:
    """Lines for people that stand above everything else; none where no tire is near its limit."""
    lines, table = [], list_words(language)
    for title, name in (("now", "urgent"), ("near", "near")):
        if told[name]:
            lines += [table[title], *(f"  {row['words']}" for row in told[name]), ""]
    return lines


def first_lines(told: Mapping[str, Any]) -> list[str]:
    """Those lines beside a long table: some of many, and how many there are."""
    lines = verdict_lines({name: told[name][:MOST] for name in ("urgent", "near")})
    for name, what in (("urgent", "at or under the limit"), ("near", "near it")):
        more = len(told[name]) - MOST
        lines += [f"  … and {more:,} more {what}: see the column verdict"] if more > 0 else []
    return lines

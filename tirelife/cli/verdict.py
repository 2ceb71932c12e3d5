"""What every command says first: the tires that were read at their limit, or near it."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

from tirelife.cli.values import note_row
from tirelife.codes import Note

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook

MOST: Final = 12
"""Tires named one by one where a table goes to standard output."""

__all__ = ["note_rows", "say_first", "told_verdicts", "verdict_lines", "with_words"]


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
    from tirelife.tread import verdict_notes, verdicts

    return note_rows(verdict_notes(verdicts(book, removal_depth_mm, vehicles)), book.units, language)


def note_rows(notes: Iterable[Note], units: str, language: str = "en") -> dict[str, Any]:
    """Notes of verdicts as the head of a JSON answer; see :func:`told_verdicts`."""
    from tirelife.sheet.language import say
    from tirelife.tread import Verdict

    out: dict[str, Any] = {"urgent": [], "near": []}
    for note in notes:
        row = note_row(note, units, "verdict")
        row["words"] = say(note, units, language)
        out["urgent" if note.code == Verdict.AT_OR_UNDER else "near"].append(row)
    return out


def verdict_lines(told: Mapping[str, Any], language: str = "en") -> list[str]:
    """Lines for people that stand above everything else; none where no tire is near its limit."""
    from tirelife.language import list_words

    lines, table = [], list_words(language)
    for title, name in (("now", "urgent"), ("near", "near")):
        if told[name]:
            lines += [table[title], *(f"  {row['words']}" for row in told[name]), ""]
    return lines


def with_words(table: pd.DataFrame, units: str, rule: str = "") -> pd.DataFrame:
    """Put a forecast's notes as ``codes`` and, in words, as ``note``; ``rule`` is said of every tire."""
    from tirelife.sheet.language import say_short

    notes = table["notes"]
    short = {found: say_short(found, units) for found in notes.unique()}
    codes = {found: "; ".join(note.code.value for note in found) for found in short}
    words = {found: "; ".join(part for part in (said, rule) if part) for found, said in short.items()}
    out = table.drop(columns="notes")
    return out.assign(codes=notes.map(codes).astype("str"), note=notes.map(words).astype("str"))


def say_first(told: Mapping[str, Any]) -> None:
    """Print those lines to standard error: some of many, and how many there are."""
    shown = {name: told[name][:MOST] for name in ("urgent", "near")}
    for line in verdict_lines(shown):
        if line:
            print(line, file=sys.stderr)
    for name, what in (("urgent", "at or under the limit"), ("near", "near it")):
        more = len(told[name]) - MOST
        if more > 0:
            print(f"  … and {more:,} more {what}: see the column verdict", file=sys.stderr)

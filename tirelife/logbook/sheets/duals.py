"""Two wheels side by side at one end of an axle: told and refused; a logbook keeps four wheels a vehicle."""

from __future__ import annotations

import re
from typing import Final

from tirelife.errors import InputError, Problem
from tirelife.logbook.codes import Ask
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.cells import is_blank
from tirelife.logbook.sheets.columns import Column, Table
from tirelife.logbook.sheets.told import How
from tirelife.logbook.sheets.words import folded, wheel_of
from tirelife.positions import REAR, ROAD

__all__ = ["is_dual", "refuse_duals"]

_CODE: Final = re.compile(
    r"(?:lr|rr|rl|br|bl|[2-9] ?[lr]|[lr] ?[2-9])(?: ?[oi]| ?(?:out|in)(?:er|side)? ?duals?)"
)
_WORDS: Final = (
    "dual",
    "duals",
    "twin",
    "twins",
    "zwilling",
    "zwillingsreifen",
    "jumele",
    "jumelee",
    "gemelo",
)


def is_dual(text: str) -> bool:
    """Whether a text names one of two wheels side by side.

    Examples
    --------
    >>> [is_dual(text) for text in ("LRO", "2 RI", "RR inside dual", "LR outer", "LR")]
    [True, True, True, False, False]
    """
    plain = folded(text)
    named = wheel_of(text)[0] in (*REAR, "rear") and any(word in plain.split() for word in _WORDS)
    return named or _CODE.fullmatch(plain) is not None


def refuse_duals(name: str, table: Table) -> None:
    """Refuse a tab that names wheels side by side, or may do so; what a mapping says of a column wins.

    Raises
    ------
    InputError
        Naming row and column, and what to do.
    """
    where = f"{name}: {table.grid.tab}"
    head = table.header_rows[-1] + 1
    said = [c for c in table.columns if c.how != How.GIVEN]
    problems = [
        Problem(where, head, c.letter, c.header, code=NoSheet.DUAL, values=(("header", c.header),))
        for c in said
        if is_dual(c.header) and c.field.role in ("", "depth", "pressure")
    ]
    wheels: dict[str, list[Column]] = {}
    for c in said:
        if c.field.role == "depth":
            wheels.setdefault(c.field.wheel, []).append(c)
    pairs = [{c.field.groove for c in wheels.get(wheel, [])} for wheel in ROAD]
    if not problems and pairs == [{""}, {""}, {"outer", "inner"}, {"outer", "inner"}]:
        first = wheels["LR"][0]
        values = (("header", first.header), ("groove", first.field.groove))
        problems.append(
            Problem(where, head, first.letter, first.header, code=NoSheet.DUAL_OR_GROOVE, values=values)
        )
    for c in table.of("wheel"):
        for number, row in enumerate(table.grid.cells[table.first :], table.first):
            cell = row[c.index] if c.index < len(row) else None
            if not is_blank(cell) and is_dual(str(cell)):
                place = table.grid.place(number)
                problems.append(
                    Problem(where, place, c.letter, str(cell), code=NoSheet.DUAL, ask=Ask.DUAL_ROWS)
                )
                break
    if problems:
        raise InputError(problems[:1])

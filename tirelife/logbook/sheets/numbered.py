"""Wheels numbered 1 to 4: shops number them in more than one order, so the order is asked for."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any, Final

from tirelife.errors import misused
from tirelife.logbook.sheets.cells import is_blank
from tirelife.logbook.sheets.columns import Table
from tirelife.logbook.sheets.files import Grid, column_letter
from tirelife.logbook.sheets.headers import Field
from tirelife.logbook.sheets.told import Asked, Question
from tirelife.logbook.wrong import Wrong

__all__ = ["ORDERS", "QUESTION", "check_order", "name_headers", "number_of", "number_rows"]

ORDERS: Final = ("lf-rf-lr-rr", "lf-rf-rr-lr", "lf-lr-rf-rr", "lf-lr-rr-rf")
"""Wheels 1 to 4 in the orders in use; common practice, no source. Any other is said column by column."""
QUESTION: Final = Question(
    "wheel_numbers", Asked.WHEEL_NUMBERS, tuple(f"--wheel-numbers {order}" for order in ORDERS)
)
_NUMBERED: Final = re.compile(
    r"(?:tire|tyre|wheel|position|pos|no|nr|t|w|p|reifen|rad|llanta|rueda|pneu|roue)?[\s.#:_-]*([1-9])(?:\.0)?"
    r"[\s(]*(?:depth|tread|mm|32nds?|/32\"?)?\)?"
)
_TOP: Final = 30


def number_of(cell: Any) -> str:
    """The number that a cell calls a wheel by, or a blank; more than 4 is of a vehicle that is not kept.

    Examples
    --------
    >>> [number_of(cell) for cell in (1, "Tire 2", "#3", "Pos. 4 (mm)", "LF", 10, None)]
    ['1', '2', '3', '4', '', '', '']
    """
    found = _NUMBERED.fullmatch(str(cell).strip().lower())
    return found[1] if found else ""


def check_order(order: str | None) -> None:
    """Raise unless an order of wheels is one that is known."""
    if order is not None and order not in ORDERS:
        raise misused(Wrong.NUMBERS, order=order, known=", ".join(ORDERS))


def name_headers(grid: Grid, order: str) -> dict[str, str]:
    """Find four columns headed 1 to 4, and say what each holds in that order of wheels; none: empty.

    Headers that are bare numbers are written as words, as a header is.
    """
    for row in grid.cells[:_TOP]:
        numbers = [number_of(cell) for cell in row]
        first = "".join(n or "-" for n in numbers).find("1234")
        others = [cell for i, cell in enumerate(row) if not first <= i < first + 4 and not is_blank(cell)]
        if (
            first < 0
            or sum(n != "" for n in numbers) > 4
            or len(others) < 2
            or not all(isinstance(cell, str) for cell in others)
        ):
            continue
        out = {}
        for i, wheel in enumerate(order.upper().split("-"), first):
            if str(row[i]).strip() == numbers[i] or not isinstance(row[i], str):
                row[i] = f"Wheel {numbers[i]}"
            out[column_letter(i)] = f"depth {wheel}"
        return out
    return {}


def number_rows(table: Table) -> bool:
    """Whether the rows of a tab number the wheels; one that does so under another name is the wheel's."""
    named = table.of("wheel")
    if not named and any(column.field.wheel for column in table.of("depth")):
        return False
    for i, column in enumerate(table.columns):
        if column.field.role != "wheel" and (named or column.field.role not in ("", "product", "tire_id")):
            continue
        rows = table.grid.cells[table.first :]
        cells = [r[column.index] for r in rows if column.index < len(r) and not is_blank(r[column.index])]
        numbers = {number_of(cell) for cell in cells}
        if numbers == {"1", "2", "3", "4"}:
            table.columns[i] = replace(column, field=Field("wheel"))
            return True
    return False

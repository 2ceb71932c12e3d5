"""A day in words: written here alone, in the order that its reader is used to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Final

from tirelife.errors import misused
from tirelife.sheet.wrong import Wrong

__all__ = ["DATE_ORDERS", "day_said", "in_order"]

DATE_ORDERS: Final = ("mdy", "dmy", "ymd")
"""Orders of day, month and year that a reader may be used to."""


def day_said(day: dt.date, order: str, say: Mapping[str, str]) -> str:
    """Write a day in the reader's order; the month is a word, so no order can be misread.

    Parameters
    ----------
    day : date
    order : str
        One of :data:`DATE_ORDERS`.
    say : mapping
        From :func:`tirelife.sheet.language.texts`.

    Raises
    ------
    InputError
        If the order is none of them.
    """
    if order not in DATE_ORDERS:
        raise misused(Wrong.DATE_ORDER, order=order, known=", ".join(DATE_ORDERS))
    return say[f"day-{order}"].format(day=day.day, month=say[f"month-{day.month}"], year=day.year)


def in_order(units: str) -> str:
    """Usual date order of readers with these units: month first with US units, day first otherwise.

    Examples
    --------
    >>> in_order("metric")
    'dmy'
    """
    return "mdy" if units == "us" else "dmy"

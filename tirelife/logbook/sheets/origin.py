"""Whose log a counter's page was made from: what its exported visits say, and an import looks at."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from tirelife.errors import refusal
from tirelife.logbook.refused import NoSheet

if TYPE_CHECKING:
    from tirelife.logbook.model import Logbook
    from tirelife.logbook.sheets.columns import Table
    from tirelife.logbook.sheets.visits import Entry

__all__ = ["ORIGIN_HEAD", "VERSION", "check_origin", "log_mark", "origin_of"]

ORIGIN_HEAD: Final = "Counter page"
VERSION: Final = 1
"""Of what a counter's page exports; raised when an older import could no longer read it."""


def _mark(vehicle: str, date: str) -> str:
    return hashlib.sha256(f"{date} {vehicle}".encode()).hexdigest()[:12]


def log_mark(book: Logbook) -> str:
    """What a log is known by however it grows: its earliest depths' vehicle and day, as a digest."""
    depths = book.depths
    if depths.empty:
        return ""
    first = min(zip(depths["date"], depths["vehicle_id"], strict=True))
    return _mark(str(first[1]), f"{first[0]:%Y-%m-%d}")


def origin_of(mark: str) -> str:
    """What stands beside every visit that a page of that log exports."""
    return f"{VERSION}:{mark}"


def check_origin(name: str, tables: Iterable[Table], before: Iterable[Entry]) -> None:
    """Refuse visits that a page of another log, or of another version, has exported.

    Parameters
    ----------
    name : str
        Of the file.
    tables : iterable of Table
    before : iterable of Entry
        Visits that the log had from sheets before; of an empty log nothing can be said.
    """
    known = min(((v.date.isoformat(), v.vehicle) for v in before if v.depths), default=None)
    for table in tables:
        for column in table.columns:
            if column.header.strip() != ORIGIN_HEAD:
                continue
            cells = [row[column.index] for row in table.grid.cells[table.first :] if len(row) > column.index]
            told = {str(cell).strip() for cell in cells if cell}
            for origin in sorted(told):
                version, _, mark = origin.partition(":")
                if version != str(VERSION):
                    raise refusal(name, NoSheet.OTHER_VERSION, version=version, known=VERSION)
                if mark and known is not None and mark != _mark(known[1], known[0]):
                    raise refusal(name, NoSheet.OTHER_SHOP)

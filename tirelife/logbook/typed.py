"""What a person types of a visit, and of a record to correct, word by word."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tirelife.errors import misused
from tirelife.logbook.arrivals import depths_typed, moved_by_name, new_set
from tirelife.logbook.record import Visit, store_path
from tirelife.logbook.wrong import Wrong

__all__ = ["place_typed", "values_typed", "visit_typed"]


def visit_typed(logbook: str | Path, given: Mapping[str, Any]) -> Visit:
    """Make a visit of what was typed of it, in the logbook's own units.

    Parameters
    ----------
    logbook : str or Path
        A logbook in one file, which names new tires and knows where tires are that a pattern moves.
    given : mapping
        By the name of an option of ``tirelife record``: texts ``vehicle``, ``odometer``, ``date`` (today if
        blank), ``gauge``, ``state``, ``ambient``, ``pressure_gauge``, ``note``; lists of words ``depth``,
        ``pressure``, ``mount``, ``off``, ``new_tire``; ``new_vehicle``, ``set``, ``rotated`` or None.

    Raises
    ------
    InputError
        If the vehicle or the odometer is missing, words are too few or too many, or a set is both new and
        rotated.
    """
    missing = [f"--{name}" for name in ("vehicle", "odometer") if not given[name]]
    if missing:
        raise misused(Wrong.VISIT_NEEDS, missing=", ".join(missing))
    if any(len(words) not in (2, 3) for words in given["pressure"]):
        raise misused(Wrong.PRESSURE)
    known = given["new_vehicle"]
    if known is not None and len(known) not in (0, 1, 3):
        raise misused(Wrong.NEW_VEHICLE)
    vehicle, day = given["vehicle"], given["date"] or dt.date.today().isoformat()  # noqa: DTZ011  a shop's own
    tires, moved = _arrival(logbook, vehicle, day, given["set"], given["rotated"])
    return Visit(
        vehicle_id=vehicle,
        date=day,
        odometer=given["odometer"],
        depths=[depth for words in given["depth"] for depth in depths_typed(words)],
        pressures=[(words[0], words[1], words[2] if len(words) > 2 else "") for words in given["pressure"]],
        mounts=[(tire, "OFF") for tire in given["off"]] + [(t, place) for t, place in given["mount"]] + moved,
        new_tires=[*((tire, line, depth) for tire, line, depth in given["new_tire"]), *tires],
        new_vehicle=None if known is None else tuple([*known, "", "", ""][:3]),
        state=given["state"],
        ambient=given["ambient"],
        gauge_id=given["gauge"],
        pressure_gauge_id=given["pressure_gauge"],
        note=given["note"],
    )


def _arrival(
    logbook: str | Path, vehicle: str, day: str, new: Sequence[str] | None, rotated: str | None
) -> tuple[list[tuple[str, str, str]], list[tuple[str, str]]]:
    """What a whole set put on, or a rotation by name, comes to."""
    if new and rotated:
        raise misused(Wrong.SET_ROTATED)
    if new:
        return new_set(store_path(logbook), vehicle, day, new[0], new[1])
    return [], moved_by_name(store_path(logbook), vehicle, day, rotated) if rotated else []


def place_typed(text: str) -> tuple[str, int]:
    """Table and row of a record.

    Raises
    ------
    InputError
        If it is no ``TABLE:ROW``.

    Examples
    --------
    >>> place_typed("depths:1056")
    ('depths', 1056)
    """
    match = re.fullmatch(r"([a-z]+):(\d{1,15})", text)
    if match is None:
        raise misused(Wrong.TABLE_ROW, text=text)
    return match[1], int(match[2])


def values_typed(texts: Sequence[str]) -> dict[str, str]:
    """New values of a record, by column.

    Raises
    ------
    InputError
        If there is none, or one is no ``COLUMN=VALUE``.

    Examples
    --------
    >>> values_typed(["depth_32nds=7", "note=a=b"])
    {'depth_32nds': '7', 'note': 'a=b'}
    """
    values = {}
    for text in texts:
        column, sign, value = text.partition("=")
        if not sign:
            raise misused(Wrong.COLUMN_VALUE, text=text)
        values[column] = value
    if not values:
        raise misused(Wrong.CORRECT)
    return values

"""The causes that there are, found by their modules."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules
from typing import Final

from tirelife.wear.cause.record import Cause

__all__ = ["CAUSES", "CAUSE_LOG_SD", "RECORDS"]


def _found() -> tuple[Cause, ...]:
    room = import_module("tirelife.wear.cause")
    names = [one.name for one in iter_modules(room.__path__) if one.name not in ("found", "record")]
    records = [import_module(f"tirelife.wear.cause.{name}").CAUSE for name in names]
    # A cause that multiplies the others comes after them.
    return tuple(sorted(records, key=lambda cause: (cause.of_whole is not None, cause.order, cause.name)))


RECORDS: Final = _found()
"""All causes in order."""
CAUSES: Final = tuple(cause.name for cause in RECORDS)
"""Their names: rolling and the drive against it (``base``, with the part of wear that needs no force), air
drag (``speed``), speeding up, braking, bends, steering at parking speed, toe, and pressure."""
CAUSE_LOG_SD: Final = {cause.name: cause.log_sd for cause in RECORDS}
"""Standard deviation of the logarithm of each cause's factor before any log."""

"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    FACTOR = "terminal-factor"
    ONE_SPEED = "terminal-one-speed"
    NO_CHANGE = "terminal-no-change"

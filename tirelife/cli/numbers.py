"""Numbers as options take them: by the grammar of the tables, so a comma means the same everywhere."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from tirelife.errors import InputError

__all__ = ["DEEPEST", "depth", "distance", "number"]

DEEPEST = 51.0
"""No tread is deeper, in mm or in 32nds: 7,125 can be no thousands."""


def number(word: str) -> float:
    """Read an option's number; argparse shows the question that a doubtful one raises."""
    return _reader(ask_points=False)(word)


def distance(word: str) -> float:
    """Read an option's distance: 21.000 may be thousands here."""
    return _reader(ask_points=True)(word)


def depth(word: str) -> float:
    """Read an option's depth."""
    return _reader(ask_points=False, high=DEEPEST)(word)


def _reader(*, ask_points: bool, high: float = float("inf")) -> Callable[[str], float]:
    from tirelife.logbook.number import told_number

    def read(word: str) -> float:
        try:
            return told_number("", word, ask_points=ask_points, high=high)
        except InputError as error:
            raise argparse.ArgumentTypeError(str(error).strip()) from None

    return read

"""Numbers as options take them: by the grammar of the tables, so a comma means the same everywhere."""

from __future__ import annotations

import argparse

from tirelife import logbook
from tirelife.errors import InputError

__all__ = ["depth", "distance", "number"]


def number(word: str, *, ask_points: bool = False, high: float = float("inf")) -> float:
    """Read an option's number; argparse shows the question that a doubtful one raises."""
    try:
        return logbook.told_number("", word, ask_points=ask_points, high=high)
    except InputError as error:
        raise argparse.ArgumentTypeError(str(error).strip()) from None


def distance(word: str) -> float:
    """Read an option's distance: 21.000 may be thousands here."""
    return number(word, ask_points=True)


def depth(word: str) -> float:
    """Read an option's depth."""
    return number(word, high=logbook.DEEPEST)

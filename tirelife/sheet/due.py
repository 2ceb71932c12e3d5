"""The cars due next, for the counter: the soonest first, those that cannot wait above all."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.advice import fleet_decisions
from tirelife.outlook import REMOVAL_DEPTH_MM
from tirelife.sheet.fleet import vehicles_due
from tirelife.sheet.fleet_tables import heading, window_texts
from tirelife.sheet.language import action_words, texts

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["due_next"]

_HEADS: Final = ("vehicle", "first", "read", "between", "what")


def due_next(
    book: Logbook,
    fit: WearFit,
    most: int = 8,
    *,
    removal_depth_mm: float | pd.Series | None = None,
    language: str = "en",
) -> pd.DataFrame:
    """List the vehicles due next, each with its window and the first thing to do.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        From :func:`tirelife.outlook.calibrated_fit`.
    most : int
        Rows.
    removal_depth_mm : float or Series, optional
        For all, or by position; 2/32 in by default. [mm]
    language : str

    Returns
    -------
    DataFrame
        Text under headings in words, a row a vehicle, whose name is the index.
    """
    say = texts(language)
    removal = REMOVAL_DEPTH_MM if removal_depth_mm is None else removal_depth_mm
    found = fleet_decisions(book, fit, removal_depth_mm=removal)
    rows, names = [], []
    for row in vehicles_due(book, found).head(most).to_dict("records"):
        name, _, first, read, _, between = window_texts(row, book.units, say)
        action = found.decisions[row["vehicle_id"]].actions[0]
        rows.append((name, first, read, between, action_words(action, book.units, language, brief=True)))
        names.append(str(row["vehicle_id"]))
    return pd.DataFrame(rows, columns=[heading(code, book.units, say) for code in _HEADS], index=names)

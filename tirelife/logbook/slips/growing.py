"""Tires whose depth grows from visit to visit, which no tread does."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.depths import ASKED
from tirelife.logbook.slips.predict import Law
from tirelife.logbook.slips.visits import WHEELS, Visits

__all__ = ["judge_growing"]

_PRIOR = float(np.log(1 / 300))
"""Log prior of a tire whose readings grow; our assumption."""
_LEAST_WEAR = 0.3
"""A tire wears at least this share of the log's usual; our assumption."""
_READING, _VISIT = 0.25, 0.12
_FASTEST = 5.0
"""Growth is taken to be anything up to so many times the usual wear; our assumption."""


def judge_growing(visits: Visits, law: Law, but: NDArray[np.bool_]) -> dict[int, Note]:
    """Readings of tires that are likelier to grow than to fall over three or four visits, by 100 to 1.

    Parameters
    ----------
    visits : Visits
    law : Law
    but : ndarray of bool, shape (visits,)
        Visits that are asked about as a whole; they count for nothing.

    Returns
    -------
    dict of int to Note
        By visit and wheel (4 times the visit, plus the wheel); ``depth_mm`` is the growth.

    Notes
    -----
    The slope through visits that follow each other, each deeper than the one before, is held against 0.3 of
    the usual wear.
    """
    life = visits.life.ravel()
    use = np.flatnonzero((life >= 0) & np.isfinite(visits.depth.ravel()) & ~np.repeat(but, WHEELS))
    use = use[np.lexsort((visits.run.ravel()[use], life[use]))]
    life, x, y = life[use], visits.run.ravel()[use], visits.depth.ravel()[use]
    grooves = visits.grooves.ravel()[use]
    out: dict[int, Note] = {}
    for many in (4, 3):
        if len(use) < many:
            continue
        index = np.arange(len(use) - many + 1)[:, None] + np.arange(many)
        index = index[(life[index] == life[index[:, :1]]).all(axis=1)]
        index = index[(np.diff(y[index], axis=1) > 0).all(axis=1)]
        apart = x[index] - x[index].mean(axis=1, keepdims=True)
        spread = (apart**2).sum(axis=1)
        ok = spread > 1000.0**2
        index, apart, spread = index[ok], apart[ok], spread[ok]
        slope = (apart * y[index]).sum(axis=1) / spread
        reading = _READING**2 / np.maximum(grooves[index].mean(axis=1), 1) + _VISIT**2 + visits.step**2 / 12
        error = law.scale * np.sqrt(reading / spread)
        low = -_LEAST_WEAR * law.wear
        plain = -0.5 * ((slope - low) / error) ** 2 - np.log(error) - 0.5 * np.log(2 * np.pi)
        odds = _PRIOR - np.log(_FASTEST * law.wear) - plain
        for row in np.flatnonzero(odds > ASKED):
            grown = float(y[index[row, -1]] - y[index[row, 0]])
            told = (("odds", float(np.exp(min(odds[row], 50.0)))), ("depth_mm", grown))
            for cell in use[index[row]]:
                out.setdefault(int(cell), Note(Slip.GROWS, Severity.DOUBT, told))
    return out

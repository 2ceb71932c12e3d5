"""Visits of two vehicles on one day whose depths fit the other vehicle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.depths import ASKED, RARE, TAIL, Judged
from tirelife.logbook.slips.predict import Left
from tirelife.logbook.slips.visits import Visits

__all__ = ["judge_pairs"]

_MOST = 12
"""Visits of a day beyond which only those asked about by themselves are paired, to bound the work."""


def judge_pairs(
    visits: Visits, left: Left, asked: NDArray[np.intp], ids: NDArray[np.object_]
) -> list[Judged]:
    """Pairs of visits of a day that are likelier exchanged than as typed, by 100 to 1 or more.

    Parameters
    ----------
    visits : Visits
    left : Left
    asked : ndarray of int
        Visits that are asked about by themselves.
    ids : ndarray of str
        Vehicles by number.

    Returns
    -------
    list of Judged
        Two a pair.
    """
    order = np.argsort(visits.day, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(visits.day[order]) != 0])
    ends = np.r_[starts[1:], len(order)]
    out: dict[int, Judged] = {}
    for a, b in zip(starts, ends, strict=True):
        if b - a < 2:
            continue
        day = order[a:b]
        first = day if len(day) <= _MOST else np.intersect1d(day, asked)
        for i in first:
            for j in day:
                if visits.vehicle[i] == visits.vehicle[j] or (j in first and j <= i):
                    continue
                odds = _exchanged(visits, left, int(i), int(j))
                if odds > max(ASKED, *(out[k].odds if k in out else 0.0 for k in (int(i), int(j)))):
                    for one, other in ((int(i), int(j)), (int(j), int(i))):
                        vehicle = str(ids[visits.vehicle[other]])
                        told = (("odds", float(np.exp(min(odds, 50.0)))), ("vehicle_id", vehicle))
                        out[one] = Judged(one, odds, Note(Slip.CARS_SWAPPED, Severity.DOUBT, told))
    return list(out.values())


def _exchanged(visits: Visits, left: Left, i: int, j: int) -> float:
    """Log odds of two visits' depths exchanged, against both as typed."""
    if not (np.isfinite(left.expected[[i, j]]).all() and np.isfinite(visits.depth[[i, j]]).all()):
        return -np.inf

    def normal(at: int, value: NDArray[np.float64]) -> float:
        gap = value - left.expected[at]
        return float(-0.5 * gap @ left.precision[at] @ gap)

    def typed(at: int) -> float:
        plain = normal(at, visits.depth[at])
        return float(np.logaddexp(plain + np.log1p(-TAIL), plain / 9 - 4 * np.log(3) + np.log(TAIL)))

    return normal(i, visits.depth[j]) + normal(j, visits.depth[i]) + RARE - typed(i) - typed(j)

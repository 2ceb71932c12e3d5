"""Tread depths, which only fall: the fewest readings that do not fit."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.codes import Ask
from tirelife.logbook.findings import around
from tirelife.units import convert

__all__ = ["GAUGE_TOLERANCE", "ask_growth", "find_growth", "swapped_with"]

GAUGE_TOLERANCE = 1.0
"""Depths further apart than this are no accident of the gauge [mm].

Users of hand gauges add about 0.039 in (1.0 mm) to the range of readings of one tread (ASNT gauge study).
"""


_MOST_ASKED = 2000
"""With more odd readings than this the log has another fault than two places swapped."""


def find_growth(
    tire: NDArray[np.intp], moment: NDArray[np.int64], mean: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Groove means that break a fall by more than a gauge can err; the fewest that explain it.

    Parameters
    ----------
    tire, moment : ndarray, shape (visits,)
    mean : ndarray, shape (visits, grooves)
        NaN for a groove not read. [mm]

    Returns
    -------
    before, after : ndarray, shape (visits, grooves)
        The means before and after each odd one that hold; NaN for none. [mm]
    odd : ndarray of bool, shape (visits, grooves)
    """
    before, after = np.full(mean.shape, np.nan), np.full(mean.shape, np.nan)
    odd = np.zeros(mean.shape, dtype=bool)
    order = np.lexsort((moment, tire))
    tire, mean = tire[order], mean[order]
    filled = pd.DataFrame(np.where(np.isnan(mean), np.inf, mean))
    lowest = filled.groupby(tire).cummin().to_numpy()
    grows = (mean[1:] > lowest[:-1] + GAUGE_TOLERANCE) & (tire[1:] == tire[:-1])[:, None]
    late, groove_of = grows.nonzero()
    series = {(int(a), int(g)) for a, g in zip(np.searchsorted(tire, tire[1:][late]), groove_of, strict=True)}
    for start, groove in sorted(series):
        end = np.searchsorted(tire, tire[start], side="right")
        read = start + np.flatnonzero(~np.isnan(mean[start:end, groove]))
        values = mean[read, groove]
        kept = _longest_fall(values)
        for i in np.setdiff1d(np.arange(len(read)), kept):
            at, visit = int(np.searchsorted(kept, i)), order[read[i]]
            odd[visit, groove] = True
            before[visit, groove] = values[kept[at - 1]] if at else np.nan
            after[visit, groove] = values[kept[at]] if at < len(kept) else np.nan
    return before, after, odd


def swapped_with(
    tire: NDArray[np.intp],
    vehicle: NDArray[np.intp],
    moment: NDArray[np.int64],
    mean: NDArray[np.float64],
    before: NDArray[np.float64],
    after: NDArray[np.float64],
    at: tuple[NDArray[np.intp], NDArray[np.intp]],
) -> NDArray[np.intp]:
    """Which other visit of the same vehicle and moment an odd reading was probably swapped with.

    Two readings were probably swapped if each fits where the other stands, and not where it stands itself.

    Parameters
    ----------
    tire, vehicle, moment : ndarray, shape (visits,)
    mean : ndarray, shape (visits, grooves)
        [mm]
    before, after : ndarray, shape (visits, grooves)
        From :func:`find_growth`. [mm]
    at : pair of ndarray
        Visits and grooves of the odd readings.

    Returns
    -------
    ndarray of int, shape (number of odd readings,)
        -1 for none.
    """
    out = np.full(len(at[0]), -1)
    if len(out) > _MOST_ASKED:
        return out
    answers: dict[tuple[int, int], int] = {}
    for i, (visit, groove) in enumerate(zip(*at, strict=True)):
        key = (int(visit), int(groove))
        if key not in answers:
            answers[key] = -1
            here = (vehicle == vehicle[visit]) & (moment == moment[visit]) & ~np.isnan(mean[:, groove])
            for other in np.flatnonzero(here):
                own = np.flatnonzero((tire == tire[other]) & ~np.isnan(mean[:, groove]))
                own = own[np.argsort(moment[own])]
                k = int(np.flatnonzero(own == other)[0])
                earlier = mean[own[k - 1], groove] if k else np.nan
                later = mean[own[k + 1], groove] if k + 1 < len(own) else np.nan
                theirs, mine = mean[other, groove], mean[visit, groove]
                if (
                    other != visit
                    and _between(theirs, before[visit, groove], after[visit, groove])
                    and _between(mine, earlier, later)
                    and abs(theirs - mine) > GAUGE_TOLERANCE
                ):
                    answers[key] = int(other)
                    break
        out[i] = answers[key]
    return out


def _between(value: float, before: float, after: float) -> bool:
    slack = GAUGE_TOLERANCE / 2
    known = not (np.isnan(before) and np.isnan(after))
    return known and not (value > before + slack or value < after - slack)


def _longest_fall(values: NDArray[np.float64]) -> NDArray[np.intp]:
    """Indices of the longest run of means that never grow by more than a gauge can err."""
    n = len(values)
    if n > 2000:  # a groove read on 2,000 days: flag what tops all before it
        lowest = np.minimum.accumulate(values)
        return np.flatnonzero(values <= np.r_[values[0], lowest[:-1]] + GAUGE_TOLERANCE)
    length, change, parent = np.ones(n, dtype=int), np.zeros(n), np.full(n, -1)
    for i in range(1, n):
        fits = np.flatnonzero(values[:i] >= values[i] - GAUGE_TOLERANCE)
        if len(fits):
            total = change[fits] + np.abs(values[fits] - values[i])
            best = np.lexsort((total, -length[fits]))[0]  # of the longest runs, the one that changes least
            length[i], change[i], parent[i] = length[fits[best]] + 1, total[best], fits[best]
    i, out = int(np.lexsort((change, -length))[0]), []
    while i >= 0:
        out.append(i)
        i = int(parent[i])
    return np.array(out[::-1], dtype=np.intp)


def ask_growth(value: float, before: float, after: float, unit: str) -> tuple[Ask | None, dict[str, object]]:
    """What to do about a depth that does not fit its neighbours [mm], and the arguments of the words."""

    def shown(mm: float) -> str:
        return f"{convert(mm, 'mm', unit):.3g}"

    said: dict[str, object] = {**around(before, after, shown)}
    typed = convert(value, "mm", unit)
    other = "mm" if unit == "32nds" else "32nds"
    meant = convert(typed, other, "mm")
    high = (np.inf if np.isnan(before) else before) + GAUGE_TOLERANCE / 2
    low = (0.0 if np.isnan(after) else after) - GAUGE_TOLERANCE / 2
    if low <= meant <= high and unit in ("mm", "32nds"):
        told = {"unit": other, "typed": f"{typed:.4g}", "meant": shown(meant), "column_unit": unit}
        return Ask.DEPTH_TYPED_UNIT, {**said, **told}
    return None, said

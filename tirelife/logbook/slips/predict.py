"""What a visit should read, given the vehicle's other visits: a Gaussian distribution, each visit left
out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tirelife.logbook.slips.visits import WHEELS, Visits

__all__ = ["Law", "Left", "covariance", "learn", "leave_out", "mean_of", "spreads_rule", "windows"]

MOST = 12
"""Visits of one vehicle that are judged together; a longer log is cut into windows."""
OVERLAP = 3
USUAL_WEAR = 8.78e-5
"""Tread lost by an average tire [mm/km]: 45,000 miles over 8/32 in (FMVSS 138 impact analysis)."""
_READING, _VISIT = 0.25, 0.12
"""Standard deviations of one reading, and of the effect that a visit's readings share [mm]; our assumptions,
scaled by what the log shows (:func:`learn`), as are those below."""
_VEHICLE, _TIRE = 0.15, 0.2
"""Standard deviations of log wear between vehicles, and between tires of one; our assumptions."""
_WANDER_KM = 3000.0
"""Over this distance a tire's wear may be off its own rate by :data:`_TIRE` [km]; our assumption."""
_MEDIAN = 3.357
"""Median of chi-square with a degree of freedom for each of four wheels."""
_NEW, _UNKNOWN = 0.25, 1.2
"""Standard deviations of a tire's start: about its new depth, and where that is not known [mm]."""


@dataclass(frozen=True)
class Law:
    """``wear`` [mm/km], ``start`` of tires of unknown new depth, its ``spread`` [mm], ``scale`` of errors."""

    wear: float
    start: float
    scale: float = 1.0
    spread: float = 1.2


@dataclass(frozen=True)
class Left:
    """Each visit against the others: shapes (visits, 4) and (visits, 4, 4).

    ``expected`` [mm], NaN where nothing was read; ``precision`` [1/mm²], the identity there.
    """

    expected: NDArray[np.float64]
    precision: NDArray[np.float64]


def law_of(visits: Visits) -> Law:
    """Wear and start of the log's tires; what a small log does not say is taken as usual."""
    order = np.lexsort((visits.run.ravel(), visits.life.ravel()))
    life, run, depth = (a.ravel()[order] for a in (visits.life, visits.run, visits.depth))
    ok = (life[1:] == life[:-1]) & (life[1:] >= 0) & (np.diff(run) > 2000)
    rate = -np.diff(depth)[ok] / np.diff(run)[ok]
    from_new = visits.new - visits.depth
    with np.errstate(invalid="ignore", divide="ignore"):
        since = np.where((visits.run > 5000) & np.isfinite(from_new), from_new / visits.run, np.nan).ravel()
    rate = np.r_[rate, since[np.isfinite(since)]]
    wear = USUAL_WEAR
    if len(rate):
        middle = float(np.clip(np.median(rate), USUAL_WEAR / 3, USUAL_WEAR * 4))
        share = len(rate) / (len(rate) + 12)
        wear = float(np.exp(share * np.log(middle) + (1 - share) * np.log(USUAL_WEAR)))
    start = visits.new[np.isfinite(visits.new)]
    if len(start):
        return Law(wear, float(np.median(start)))
    with np.errstate(invalid="ignore"):
        begun = (visits.depth + wear * visits.run).ravel()
    begun = begun[np.isfinite(begun)]
    if not len(begun):
        return Law(wear, 8.0)
    middle, many = float(np.median(begun)), len(begun)
    seen = 1.48 * float(np.median(np.abs(begun - middle)))
    spread = np.sqrt((many * max(seen, 0.4) ** 2 + 40 * _UNKNOWN**2) / (many + 40))
    return Law(wear, (middle * many + 8.0 * 8) / (many + 8), spread=float(spread))


def windows(vehicle: NDArray[np.intp]) -> list[tuple[NDArray[np.intp], NDArray[np.bool_]]]:
    """Cut each vehicle's visits into windows; one entry a length.

    Returns
    -------
    list of (index, own)
        ``index``: visits of each window, shape (windows, length); ``own``: those judged in it. A visit is
        judged in one window.
    """
    starts = np.flatnonzero(np.r_[True, vehicle[1:] != vehicle[:-1]])
    ends = np.r_[starts[1:], len(vehicle)]
    begin, skip, stop = [], [], []
    length = ends - starts
    short = length <= MOST
    begin.append(starts[short])
    skip.append(np.zeros(short.sum(), dtype=np.intp))
    stop.append(ends[short])
    for a, b in zip(starts[~short], ends[~short], strict=True):
        cuts = np.arange(a, b, MOST - OVERLAP)
        cuts = cuts[(cuts == a) | (cuts + OVERLAP < b)]
        begin.append(cuts)
        skip.append(np.where(cuts == a, 0, OVERLAP))
        stop.append(np.minimum(cuts + MOST, b))
    first, skipped, last = (np.concatenate(part).astype(np.intp) for part in (begin, skip, stop))
    out = []
    for size in np.unique(last - first):
        mine = last - first == size
        index = first[mine][:, None] + np.arange(size)
        out.append((index, np.arange(size) >= skipped[mine][:, None]))
    return out


def mean_of(visits: Visits, law: Law, index: NDArray[np.intp]) -> NDArray[np.float64]:
    """Depth expected before any reading [mm]."""
    start = np.where(np.isfinite(visits.new[index]), visits.new[index], law.start)
    return np.asarray(np.maximum(start - law.wear * visits.run[index], 0.5))


def covariance(
    visits: Visits, law: Law, index: NDArray[np.intp], left_out: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Covariance of all readings of each window [mm²]: shape (windows, 4 length, 4 length).

    A wheel that was not read, and a visit that is left out, stands for itself alone.
    """
    w, size = index.shape
    n = size * WHEELS
    life = visits.life[index].reshape(w, n)
    run = visits.run[index].reshape(w, n) * law.wear
    far = np.repeat(visits.km[index] - visits.km[index][:, :1], WHEELS, axis=1) * law.wear
    known = np.isfinite(visits.new[index].reshape(w, n))
    read = (life >= 0) & ~np.repeat(left_out[index], WHEELS, axis=1)
    grooves = np.maximum(visits.grooves[index].reshape(w, n), 1)
    walk = law.wear * _WANDER_KM
    one = run[:, :, None], run[:, None, :]
    same = life[:, :, None] == life[:, None, :]
    start = np.where(known, _NEW, law.spread) ** 2
    low, high = np.minimum(*one), np.minimum(far[:, :, None], far[:, None, :])
    out = same * (0.6 * start[:, :, None] + _TIRE**2 * (one[0] * one[1] + walk * low))
    out += 0.4 * np.minimum(start[:, :, None], start[:, None, :])
    out += _VEHICLE**2 * (one[0] * one[1] + walk * np.maximum(high, 0.0))
    visit = np.repeat(np.arange(size), WHEELS)
    out += _VISIT**2 * (visit[:, None] == visit[None, :])
    out *= read[:, :, None] & read[:, None, :]
    diagonal = np.arange(n)
    own = _READING**2 / grooves + visits.step**2 / 12 * (0.5 + 0.5 / grooves)
    out[:, diagonal, diagonal] += np.where(read, own, 1.0)
    return np.asarray(out)


def leave_out(visits: Visits, law: Law, left_out: NDArray[np.bool_], only: NDArray[np.bool_]) -> Left:
    """Predict each visit from the vehicle's other ones.

    Parameters
    ----------
    visits : Visits
    law : Law
    left_out : ndarray of bool, shape (visits,)
        Visits that nothing is learned from.
    only : ndarray of bool, shape (visits,)
        Visits of vehicles to work on; the rest stays NaN.
    """
    expected = np.full(visits.depth.shape, np.nan)
    precision = np.broadcast_to(np.eye(WHEELS), (len(visits), WHEELS, WHEELS)).copy()
    for index, own in windows(visits.vehicle):
        mine = only[index].any(axis=1)
        size = index.shape[1]
        chunk = max(1, 4_000_000 // (size * WHEELS) ** 2)
        picked = np.flatnonzero(mine)
        for a in range(0, len(picked), chunk):
            part = picked[a : a + chunk]
            idx = index[part]
            inverse = np.linalg.inv(covariance(visits, law, idx, left_out))
            mean = mean_of(visits, law, idx)
            counts = (visits.life[idx] >= 0) & ~left_out[idx][:, :, None]
            gap = np.where(counts, visits.depth[idx] - mean, 0.0)
            weighed = np.einsum("wij,wj->wi", inverse, gap.reshape(len(part), -1)).reshape(gap.shape)
            blocks = inverse.reshape(len(part), size, WHEELS, size, WHEELS)
            at = np.arange(size)
            blocks = np.moveaxis(blocks[:, at, :, at, :], 0, 1)
            error = np.linalg.solve(blocks, weighed[..., None])[..., 0]
            where = own[part]
            expected[idx[where]] = np.where(counts, visits.depth[idx] - error, np.nan)[where]
            precision[idx[where]] = blocks[where]
    return Left(expected, precision / law.scale**2)


def learn(visits: Visits) -> tuple[Law, Left]:
    """The distribution of a log, its errors scaled to how far visits are off, and each visit left out."""
    law = law_of(visits)
    none = np.zeros(len(visits), dtype=bool)
    left = leave_out(visits, law, none, ~none)
    full = np.isfinite(left.expected).all(axis=1)
    if full.any():
        gap = (visits.depth - left.expected)[full]
        off = np.einsum("vi,vij,vj->v", gap, left.precision[full], gap)
        ratio = max(float(np.median(off)) / _MEDIAN, 1e-3)
        n = len(off)
        scale = np.sqrt(np.clip(np.exp(np.log(ratio) * n / (n + 20)), 0.4, 9.0))
        law = replace(law, scale=float(scale))
    return law, Left(left.expected, left.precision / law.scale**2)


def spreads_rule() -> dict[str, float]:
    """Spreads of :func:`covariance`, as plain numbers: for a twin in another language."""
    return {
        "reading": _READING, "visit": _VISIT, "vehicle": _VEHICLE, "tire": _TIRE, "wander_km": _WANDER_KM,
        "new_sd": _NEW,
    }  # fmt: skip

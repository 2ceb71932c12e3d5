"""What each wheel position takes from each groove, from tires that were moved between positions.

The depth of groove g of a tire at a visit is the tire's own starting profile, less what every position
took from that groove by the distance the tire ran there, plus a level that is left free, plus the gauge's
error. A tire mounted new starts even; one first seen worn starts anywhere. Weighted least squares with
these priors gives the pattern of each position and its covariance: with one visit and no moves it is the
reading itself, and where tires go round it parts the positions as well as the log allows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["PositionPatterns", "position_patterns"]

Floats = NDArray[np.float64]

MOULD_SD_MM: Final = 0.06
"""How far the grooves of a new tire differ from one another [mm]; our assumption."""
WORN_SD_MM: Final = 2.0
"""The same for a tire first seen worn."""
_RATE_SHARE: Final = 0.5
"""Spread of the wear rates of positions about the vehicle's, as a share of it; our assumption."""
_LEVEL_SD_MM: Final = 0.3
"""How far a mean depth may lie off a straight line of distance [mm]; our assumption."""


@dataclass(frozen=True, eq=False)
class PositionPatterns:
    """What each of p positions took from the grooves of tires that ran its whole distance there.

    Attributes
    ----------
    depth_mm : ndarray, shape (p, 5)
        Depth lost, negative; only differences between grooves count.
    covariance_mm2 : ndarray, shape (p, 5, 5)
    wear_mm : ndarray, shape (p,)
        Mean wear over the distance; NaN where it cannot be told.
    """

    depth_mm: Floats
    covariance_mm2: Floats
    wear_mm: Floats


def position_patterns(
    depth_mm: Floats, variance_mm2: Floats, run_km: Floats, tire: NDArray[np.int64], start_mm: Floats
) -> PositionPatterns:
    """Lay the profiles of a vehicle's tires to the distances they ran at each position.

    Parameters
    ----------
    depth_mm, variance_mm2 : ndarray, shape (n, 5)
        Groove depths at each visit of each tire, and their error variances; NaN where not read.
    run_km : ndarray, shape (n, p)
        Distance that the tire had run at each position since it started.
    tire : ndarray of int, shape (n,)
        Number of the tire, from 0.
    start_mm : ndarray, shape (tires,)
        Depth a tire started with; NaN for one first seen worn, inf for one that was new, of depth unknown.

    Returns
    -------
    PositionPatterns
        For the distance in ``run_km`` at each position: that of the tire that ran furthest there, or the
        sum over tires where several did one after the other.
    """
    tires, places = len(start_mm), run_km.shape[1]
    total = _distance(run_km, tire, tires)
    wear = _wear(depth_mm, run_km, tire, start_mm, total)
    size = np.where(np.isnan(wear), 2.5, np.maximum(wear, 0.3))
    prior = np.concatenate([1 / size**2, 1 / np.where(np.isnan(start_mm), WORN_SD_MM, MOULD_SD_MM) ** 2])
    normal = np.kron(np.diag(prior), np.eye(5))
    read = np.isfinite(depth_mm) & (variance_mm2 > 0)
    seen = read.any(axis=1)
    read = read[seen]
    weight = np.where(read, 1 / np.where(read, variance_mm2[seen], 1.0), 0.0)
    # The level of each visit is left free.
    free = (
        weight[:, :, None] * np.eye(5)
        - weight[:, :, None] * weight[:, None, :] / weight.sum(axis=1)[:, None, None]
    )
    row = np.column_stack([run_km[seen] / np.where(total > 0, total, 1.0), np.eye(tires)[tire[seen]]])
    squares = np.einsum("vi,vj,vab->iajb", row, row, free, optimize=True)
    normal += squares.reshape(normal.shape)
    lost = np.einsum("vab,vb->va", free, np.where(read, depth_mm[seen], 0.0))
    pulled = np.einsum("vi,va->ia", row, lost).ravel()
    covariance = np.linalg.inv(normal)
    mean = (covariance @ pulled)[: 5 * places].reshape(places, 5)
    blocks = np.stack([covariance[5 * i : 5 * i + 5, 5 * i : 5 * i + 5] for i in range(places)])
    return PositionPatterns(mean, blocks, wear)


def _distance(run_km: Floats, tire: NDArray[np.int64], tires: int) -> Floats:
    """Distance run at each position, one tire after another."""
    most = np.zeros((tires, run_km.shape[1]))
    np.maximum.at(most, tire, run_km)
    return np.asarray(most.sum(axis=0))


def _wear(
    depth_mm: Floats, run_km: Floats, tire: NDArray[np.int64], start_mm: Floats, total: Floats
) -> Floats:
    """Mean wear over the whole distance at each position; rates lean on the vehicle's own [mm]."""
    level = np.array([np.nanmean(d) if np.isfinite(d).any() else np.nan for d in depth_mm])
    lost, run = [], []
    for i in range(len(start_mm)):
        rows = np.flatnonzero((tire == i) & np.isfinite(level))
        if not len(rows):
            continue
        if np.isfinite(start_mm[i]):
            lost.append(start_mm[i] - level[rows])
            run.append(run_km[rows])
        else:
            lost.append(level[rows[0]] - level[rows[1:]])
            run.append(run_km[rows[1:]] - run_km[rows[0]])
    drop = np.concatenate(lost) if lost else np.empty(0)
    exposure = np.concatenate(run) if run else np.empty((0, len(total)))
    whole = exposure.sum(axis=1)
    if not (whole > 0).any():
        return np.full(len(total), np.nan)
    rate = max(float(whole @ drop / (whole @ whole)), 1e-7)
    precision = np.diag(np.full(len(total), 1 / (_RATE_SHARE * rate) ** 2))
    normal = precision + exposure.T @ exposure / _LEVEL_SD_MM**2
    rates = np.linalg.solve(
        normal, precision @ np.full(len(total), rate) + exposure.T @ drop / _LEVEL_SD_MM**2
    )
    return np.asarray(np.maximum(rates, 0.0) * total)

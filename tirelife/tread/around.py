"""Readings round one tire: nothing but the gauge, cupping, or one flat spot?"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import GROOVES
from tirelife.tread import patterns as p

__all__ = ["spot_likelihoods"]

_NOISE: Final = ((0.8, 0.25), (1.0, 0.5), (1.35, 0.25))
"""Factors by which the gauge's spread may differ from what was assumed, and their chances."""
_LOCAL_MM: Final = 0.06
"""Unevenness from place to place of a tread that wears evenly [mm]; our assumption."""
_WIDE: Final = 0.3
_REACH: Final = 0.6
"""Share of flat spots that reach two spots read, and how deep they are at the second; our assumption."""
_CUPS: Final = (
    ((1.0, 1.0, 1.0, 1.0, 1.0), 0.4),
    ((1.0, 0.6, 0.0, 0.0, 0.0), 0.2),
    ((0.0, 0.0, 0.0, 0.6, 1.0), 0.2),
    ((1.0, 0.6, 0.0, 0.6, 1.0), 0.2),
)
"""Where cups are, outer to inner, and how often: across the tread, at one edge, at both; our assumption."""


def spot_likelihoods(spots: pd.DataFrame | None, reading_sd_mm: float) -> dict[str, float]:
    """Likelihood of the depths round a tire where nothing, cupping or a flat spot is at work.

    Parameters
    ----------
    spots : DataFrame or None
        Depths by spot and groove, from :func:`tirelife.tread.profile.spot_table`. [mm]
    reading_sd_mm : float
        Spread of single readings.

    Returns
    -------
    dict
        none, cupping, flat_spot: relative likelihoods, the largest 1; all 1 where there is nothing to go by.

    Notes
    -----
    Groove means are free. With spots s and grooves g, the residual is gauge error alone; gauge error plus
    a common departure of each spot, normal with a spread of :data:`~tirelife.tread.patterns.AROUND_MM`,
    across the tread or at its edges; or gauge error plus one spot that is lower by one of
    :data:`~tirelife.tread.patterns.FLAT_MM`.
    """
    if spots is None or len(spots) < 2:
        return {"none": 1.0, "cupping": 1.0, "flat_spot": 1.0}
    depth = spots.to_numpy(float)
    left = depth - depth.mean(axis=0)
    at = [GROOVES.index(name) for name in spots.columns]
    parts: dict[str, list[tuple[float, float]]] = {"none": [], "cupping": [], "flat_spot": []}
    for factor, chance in _NOISE:
        var = (factor * reading_sd_mm) ** 2 + _LOCAL_MM**2
        parts["none"].append((chance, _scatter(left, var, np.zeros(len(at)))))
        for where, share in _CUPS:
            load = np.array(where)[at]
            for around in p.AROUND_MM:
                weight = chance * share / len(p.AROUND_MM)
                parts["cupping"].append((weight, _scatter(left, var, around * load)))
        for shapes, share in _flats(len(left)):
            logs = _lowered(left, var, p.FLAT_MM, shapes)
            parts["flat_spot"] += [(chance * share / logs.size, float(log)) for log in logs.ravel()]
    top = max(log for terms in parts.values() for _, log in terms)
    found = {name: sum(w * float(np.exp(log - top)) for w, log in terms) for name, terms in parts.items()}
    largest = max(found.values())
    return {name: value / largest for name, value in found.items()}


def _scatter(left: NDArray[np.float64], var: float, load: NDArray[np.float64]) -> float:
    """Log likelihood of residuals with covariance var I + load load' between the grooves of each spot."""
    free = len(left) - 1
    size = float(load @ load)
    total = float(np.square(left).sum())
    along = float(np.square(left @ load).sum())
    spread = along / (var * (var + size))
    scale = free * (left.shape[1] * np.log(var) + np.log1p(size / var))
    return float(-0.5 * (scale + total / var - spread))


def _flats(spots: int) -> list[tuple[NDArray[np.float64], float]]:
    """Where a flat spot may lie: at one spot that was read, or reaching the next one; and how often."""
    alone = np.eye(spots)
    if spots < 5:
        return [(alone, 1.0)]
    wide = [alone + _REACH * np.roll(alone, side, axis=1) for side in (-1, 1)]
    return [(alone, 1 - _WIDE), (np.concatenate(wide), _WIDE)]


def _lowered(
    left: NDArray[np.float64], var: float, low: NDArray[np.float64], shapes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Log likelihood of residuals where a shape round the tire (rows) is lower by some depths (columns)."""
    spots, grooves = left.shape
    away = shapes - shapes.mean(axis=1, keepdims=True)
    total = np.square(left).sum() + 2 * np.outer(away @ left.sum(axis=1), low)
    total = total + grooves * np.outer(np.square(away).sum(axis=1), low**2)
    return np.asarray(-0.5 * ((spots - 1) * grooves * np.log(var) + total / var))

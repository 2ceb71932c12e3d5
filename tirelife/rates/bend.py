"""Whether a tire's own readings bend away from its fitted path."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.normal import ndtri

__all__ = ["own_bend"]

VISITS: Final = 4
"""Fewer visits than this cannot show a bend beside their noise; a straight line and a bend need three."""
SHOWN: Final = 3.0
"""Standard errors from which a bend is said to be shown, at the least."""
FALSE: Final = 0.05
"""Chance that any tire of a fleet that wears as fitted is said to bend (Bonferroni): of hundreds some reach 3
standard errors by chance, and the range of each would be of no use."""

CHANGE_SD: Final = 0.3
"""Share by which a tire's wear may come to differ within its life, before its own readings tell: as far as
two vehicles' wear lies apart; an assumption. A handful of readings can look as if wear had stopped."""


def own_bend(visits: pd.DataFrame, tires: pd.Series) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Log of each tire's present wear rate over its fitted one, where its own readings show a difference.

    Parameters
    ----------
    visits : DataFrame
        ``WearFit.visits``: tire_id, reference_km, depth_mm, fitted_mm, weight.
    tires : Series of str
        The tires asked about.

    Returns
    -------
    bend, log_sd : ndarray, shape (n,)
        Negative where wear is slower now than fitted; 0 where nothing is shown. ``log_sd`` is what to add
        to the log rate's spread: the bend may go on or stop, so it is as wide as the bend itself.

    Notes
    -----
    A parabola through what the fit left over (depth - fitted), by weighted least squares on reference
    distance scaled to 0..1; its slope at the last reading over the fitted slope there gives the ratio, drawn
    to 1 by its error beside :data:`CHANGE_SD`. The residual spread is pooled over all tires with enough
    visits. Our own check.
    """
    count = len(tires)
    bend, sd = np.zeros(count), np.zeros(count)
    need = {"reference_km", "depth_mm", "fitted_mm", "weight"}
    if not need <= set(visits.columns) or visits.empty or not count:
        return bend, sd
    tire = pd.Index(tires).get_indexer(visits["tire_id"])
    x = visits["reference_km"].to_numpy(dtype=float)
    depth, fitted_mm = (visits[name].to_numpy(dtype=float) for name in ("depth_mm", "fitted_mm"))
    tire = np.where(np.isfinite(x + depth + fitted_mm), tire, -1)
    number = np.bincount(tire[tire >= 0], minlength=count)
    chosen = np.flatnonzero((tire >= 0) & (number >= VISITS)[tire])
    if not len(chosen):
        return bend, sd
    tire, x, depth, fitted_mm = tire[chosen], x[chosen], depth[chosen], fitted_mm[chosen]
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, tire, x)
    np.maximum.at(high, tire, x)
    x = (x - low[tire]) / np.maximum(high - low, 1e-9)[tire]
    weight = np.clip(visits["weight"].to_numpy(dtype=float)[chosen], 1e-3, None)
    left = depth - fitted_mm
    powers = np.stack([x**0, x, x**2], axis=1)
    gram = np.zeros((count, 3, 3))
    moment = np.zeros((count, 3))
    np.add.at(gram, tire, weight[:, None, None] * powers[:, :, None] * powers[:, None, :])
    np.add.at(moment, tire, (weight * left)[:, None] * powers)
    have = np.flatnonzero(np.abs(np.linalg.det(gram)) > 1e-12)
    inverse = np.linalg.inv(gram[have])
    beta = np.zeros((count, 3))
    beta[have] = np.einsum("nij,nj->ni", inverse, moment[have])
    rest = left - np.einsum("ni,ni->n", powers, beta[tire])
    free = max(len(chosen) - 3 * len(have), 1)
    noise = float(np.sum(weight * rest**2) / free)
    at_end = np.array([0.0, 1.0, 2.0])
    slope = beta[have] @ at_end
    error = np.sqrt(np.maximum(noise * np.einsum("nij,i,j->n", inverse, at_end, at_end), 1e-12))
    fitted = _fitted_slope(fitted_mm, tire, x, count)[have]
    shrinkage = CHANGE_SD**2 / (CHANGE_SD**2 + (error / fitted) ** 2)
    ratio = np.maximum(1 - shrinkage * slope / fitted, 0.1)  # depth falls: a rise over the fit is slower wear
    curve = beta[have, 2] / np.sqrt(np.maximum(noise * inverse[:, 2, 2], 1e-12))
    least = max(SHOWN, float(ndtri(1 - FALSE / 2 / max(len(have), 1))))
    shown = (np.abs(curve) > least) & (np.abs(slope) > least * error) & (fitted > 0)
    bend[have[shown]] = np.log(ratio[shown])
    sd[have[shown]] = np.abs(bend[have[shown]])
    return bend, sd


def _fitted_slope(
    y: NDArray[np.float64], tire: NDArray[np.intp], x: NDArray[np.float64], count: int
) -> NDArray[np.float64]:
    """Fitted wear over the whole span, by the line through the fitted depths [mm per span]."""
    n = np.maximum(np.bincount(tire, minlength=count), 1)
    mean_x, mean_y = np.bincount(tire, x, count) / n, np.bincount(tire, y, count) / n
    dx = x - mean_x[tire]
    xx = np.maximum(np.bincount(tire, dx**2, count), 1e-12)
    return np.asarray(-np.bincount(tire, dx * (y - mean_y[tire]), count) / xx)

"""Scores of forecasts: coverage, interval score, CRPS."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

__all__ = ["covered", "crps_normal", "interval_score"]

Floats = NDArray[np.float64]


def covered(observed: ArrayLike, lower: ArrayLike, upper: ArrayLike) -> NDArray[np.bool_]:
    """Whether each observation lies in its range, ends included.

    Parameters
    ----------
    observed, lower, upper : array_like, shape (n,)
        In one unit.

    Examples
    --------
    >>> covered([1.0, 5.0], [0.0, 0.0], [1.0, 4.0])
    array([ True, False])
    """
    value = np.asarray(observed, dtype=float)
    return np.asarray((value >= np.asarray(lower)) & (value <= np.asarray(upper)))


def interval_score(observed: ArrayLike, lower: ArrayLike, upper: ArrayLike, level: float) -> Floats:
    """Width of a range plus a penalty for missing it: smaller is better, in the observation's unit.

    Parameters
    ----------
    observed, lower, upper : array_like, shape (n,)
    level : float
        The range's nominal coverage, such as 0.8.

    Returns
    -------
    ndarray, shape (n,)

    References
    ----------
    .. [1] T. Gneiting and A. E. Raftery, "Strictly proper scoring rules, prediction, and estimation",
       Journal of the American Statistical Association 102, 2007, section 6.2 (from memory).

    Examples
    --------
    >>> float(interval_score(5.0, 1.0, 4.0, level=0.9).round(9))
    23.0
    """
    value, low, high = (np.asarray(v, dtype=float) for v in (observed, lower, upper))
    miss = np.maximum(low - value, 0) + np.maximum(value - high, 0)
    return np.asarray(high - low + 2 / (1 - level) * miss)


def crps_normal(observed: ArrayLike, mean: ArrayLike, sd: ArrayLike) -> Floats:
    """Continuous ranked probability score of a normal forecast, in the observation's unit; smaller is better.

    Parameters
    ----------
    observed, mean, sd : array_like, shape (n,)
        ``sd`` > 0.

    Returns
    -------
    ndarray, shape (n,)
        ``sd * (z (2 Phi(z) - 1) + 2 phi(z) - 1 / sqrt(pi))`` with z the standardised error.

    Examples
    --------
    >>> float(crps_normal(1.3, 0.2, 2.0).round(6))
    0.702845
    """
    spread = np.asarray(sd, dtype=float)
    z = (np.asarray(observed, dtype=float) - np.asarray(mean, dtype=float)) / spread
    density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi)
    return np.asarray(spread * (z * (2 * ndtr(z) - 1) + 2 * density - 1 / np.sqrt(np.pi)))

"""Scores of forecasts: coverage, interval score, CRPS."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

__all__ = ["clustered_error", "covered", "crps_normal", "interval_score", "pinball", "pit_band"]

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


def pinball(observed: ArrayLike, values: ArrayLike, quantile: ArrayLike) -> Floats:
    """Loss of a forecast quantile, in the observation's unit; smaller is better.

    Twice its mean over evenly chosen quantiles is the weighted interval score.

    Examples
    --------
    >>> pinball([3.0, 3.0], [1.0, 4.0], [0.9, 0.9]).round(9)
    array([1.8, 0.1])
    """
    miss = np.asarray(observed, dtype=float) - np.asarray(values, dtype=float)
    level = np.asarray(quantile, dtype=float)
    return np.asarray(np.maximum(level * miss, (level - 1) * miss))


def pit_band(count: float, level: float = 0.9) -> float:
    """Half width of the band that holds the whole curve of ranked probability integral transforms.

    Parameters
    ----------
    count : float
        Independent observations: vehicles rather than readings where those lean together.
    level : float

    Notes
    -----
    The inequality of Dvoretzky, Kiefer and Wolfowitz with Massart's constant (Ann. Probab. 18, 1990):
    ``sqrt(ln(2 / (1 - level)) / (2 n))``.

    Examples
    --------
    >>> round(pit_band(150), 4)
    0.0999
    """
    return float(np.sqrt(np.log(2 / (1 - level)) / (2 * max(count, 1))))


def clustered_error(values: ArrayLike, cluster: ArrayLike) -> float:
    """Standard error of a mean whose values lean together within clusters; NaN for fewer than two.

    Examples
    --------
    >>> round(clustered_error([1.0, 1.0, 0.0, 0.0], ["a", "a", "b", "b"]), 4)
    0.5
    """
    value = np.asarray(values, dtype=float)
    number, names = np.unique(np.asarray(cluster), return_inverse=True)
    if len(number) < 2:
        return float("nan")
    total = np.bincount(names, value - value.mean())
    groups = len(number)
    return float(np.sqrt(groups / (groups - 1) * (total**2).sum()) / len(value))

"""The normal distribution: chances and quantiles, of few values by the standard library, of many by SciPy.

SciPy's import takes as long as that of pandas: a page, which asks for some thousand values, need not wait.
"""

from __future__ import annotations

from collections.abc import Callable
from math import erfc, inf, nan
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["MANY", "ndtr", "ndtri"]

Array = NDArray[np.float64]

MANY: Final = 20_000
"""Values from which SciPy is used: a log of that size soon asks often enough to repay its import."""
_ROOT_HALF: Final = 0.5**0.5
_STANDARD: Final = NormalDist()


def ndtr(x: ArrayLike) -> Array:
    """Chance that a standard normal value is at most ``x``; in its shape, single where it is, NaN for NaN.

    Examples
    --------
    >>> ndtr([0.0, 1.959963984540054]).round(6)
    array([0.5  , 0.975])
    """
    given = np.asarray(x)
    if given.size >= MANY:
        from scipy.special import ndtr as by_scipy

        return np.asarray(by_scipy(given))
    out = _each(lambda value: 0.5 * erfc(-value * _ROOT_HALF), given)
    return out.astype(given.dtype) if given.dtype == np.float32 else out


def ndtri(p: ArrayLike) -> Array:
    """Value that a standard normal one stays under with chance ``p``; infinite at 0 and 1, NaN beyond.

    Examples
    --------
    >>> ndtri([0.5, 0.975]).round(6)
    array([0.      , 1.959964])
    """
    given = np.asarray(p, dtype=float)
    if given.size >= MANY:
        from scipy.special import ndtri as by_scipy

        return np.asarray(by_scipy(given))
    return _each(_quantile, given)


def _quantile(p: float) -> float:
    if 0 < p < 1:
        return _STANDARD.inv_cdf(p)
    return {0.0: -inf, 1.0: inf}.get(p, nan)


def _each(law: Callable[[float], float], values: NDArray[np.generic]) -> Array:
    """A function of one value for every one of an array."""
    flat = values.astype(float).ravel().tolist()
    return np.fromiter(map(law, flat), float, len(flat)).reshape(values.shape)

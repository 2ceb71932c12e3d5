"""Scores of forecasts given as quantiles: plain functions of arrays, one unit in and out.

Shapes: n forecasts, k quantile levels rising along a row. A forecast of what has not happened yet is
censored: ``observed`` is then how far it has got.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import misused
from tirelife.outlook.wrong import Wrong

__all__ = [
    "coverage",
    "effective_count",
    "grouped_error",
    "log_score",
    "pinball",
    "pit",
    "pit_band",
    "pit_curve",
    "sharpness",
    "weighted_interval_score",
]  # fmt: skip

Floats = NDArray[np.float64]

_GROUPS: Final = 50
"""Groups of clusters that are left out in turn; more cost time and tell no more."""
_MOST_EXACT: Final = 400
"""Values up to which the band is exact; beyond, it narrows as the root of their number."""
_LEAST_SHARE: Final = 1e-6
"""Of a forecast's own width, the least that neighbouring quantiles are taken to be apart."""


def pinball(observed: ArrayLike, values: ArrayLike, level: ArrayLike) -> Floats:
    """Loss of a forecast quantile; smaller is better.

    Examples
    --------
    >>> pinball([3.0, 3.0], [1.0, 4.0], [0.9, 0.9]).round(9)
    array([1.8, 0.1])
    """
    miss = np.asarray(observed, dtype=float) - np.asarray(values, dtype=float)
    p = np.asarray(level, dtype=float)
    return np.asarray(np.maximum(p * miss, (p - 1) * miss))


def weighted_interval_score(
    observed: ArrayLike, values: ArrayLike, levels: ArrayLike, horizon: ArrayLike = np.inf
) -> Floats:
    """Weighted interval score; smaller is better.

    Parameters
    ----------
    observed : array_like, shape (n,)
    values : array_like, shape (n, k)
    levels : array_like, shape (k,)
        With each level its mirror image, and 0.5.
    horizon : array_like, shape (n,)
        Beyond it nothing could be observed: scored is the forecast of the lesser of the two.

    Returns
    -------
    ndarray, shape (n,)

    Notes
    -----
    [1]_, equations 1 and 2, with weights half of each range's miss level and 1/2 for the median: twice the
    mean pinball loss of the quantiles. The score stays proper with a horizon that is known beforehand, as
    that of any function of what is observed does.

    References
    ----------
    .. [1] J. Bracher, E. L. Ray, T. Gneiting and N. G. Reich, "Evaluating epidemic forecasts in an interval
       format", PLOS Computational Biology 17, 2021, e1008618.

    Examples
    --------
    The range 1 to 4 at 80 % and median 3, seen 5: (0.5 * 2 + 0.1 * (3 + 10)) / 1.5.

    >>> weighted_interval_score([5.0], [[1.0, 3.0, 4.0]], [0.1, 0.5, 0.9]).round(6)
    array([1.533333])
    """
    far = np.asarray(horizon, dtype=float)
    seen = np.minimum(np.asarray(observed, dtype=float), far)
    value = np.minimum(np.asarray(values, dtype=float), far[..., None] if far.ndim else far)
    return np.asarray(2 * pinball(seen[:, None], value, levels).mean(axis=1))


def pit(observed: ArrayLike, values: ArrayLike, levels: ArrayLike) -> Floats:
    """Probability integral transform: the forecast's probability of no more than what was observed.

    Parameters
    ----------
    observed : array_like, shape (n,)
    values : array_like, shape (n, k)
    levels : array_like, shape (k,)

    Returns
    -------
    ndarray, shape (n,)
        Straight between quantiles, exponential beyond the outer two with the slope that they have there.

    Examples
    --------
    >>> pit([2.0, 3.5], [[1.0, 3.0, 4.0]] * 2, [0.1, 0.5, 0.9]).round(6)
    array([0.3, 0.7])
    """
    return _law(observed, values, levels)[0]


def log_score(
    observed: ArrayLike, values: ArrayLike, levels: ArrayLike, censored: ArrayLike | None = None
) -> Floats:
    """Minus the log of the forecast's density at what was observed; smaller is better.

    Parameters
    ----------
    observed, values, levels
        As for :func:`pit`, whose slope the density is.
    censored : array_like of bool, shape (n,), optional
        There the probability of more than that takes the density's place.

    References
    ----------
    .. [1] T. Gneiting and A. E. Raftery, "Strictly proper scoring rules, prediction, and estimation", Journal
       of the American Statistical Association 102, 2007, section 4.1 (from memory).

    Examples
    --------
    A density of 0.4 / 2:

    >>> log_score([2.0], [[1.0, 3.0, 4.0]], [0.1, 0.5, 0.9]).round(4)
    array([1.6094])
    """
    under, density = _law(observed, values, levels)
    if censored is not None:
        density = np.where(np.asarray(censored, dtype=bool), np.maximum(1 - under, 1e-12), density)
    return np.asarray(-np.log(density))


def _law(observed: ArrayLike, values: ArrayLike, levels: ArrayLike) -> tuple[Floats, Floats]:
    """Distribution function and density at what was observed, of the distribution with those quantiles."""
    seen = np.asarray(observed, dtype=float)
    value, level = np.asarray(values, dtype=float), np.asarray(levels, dtype=float)
    count, known = len(seen), np.isfinite(value).all(axis=1) & np.isfinite(seen)
    wide = np.maximum(value[:, -1] - value[:, 0], 1e-12)[:, None]
    gap = np.maximum(np.diff(value, axis=1), _LEAST_SHARE * wide)
    at = np.clip((value <= seen[:, None]).sum(axis=1) - 1, 0, len(level) - 2)
    each = np.arange(count)
    slope = np.diff(level)[at] / gap[each, at]
    under = np.clip(level[at] + slope * (seen - value[each, at]), level[at], level[at + 1])
    low, high = seen < value[:, 0], seen > value[:, -1]
    with np.errstate(over="ignore", invalid="ignore"):
        first, last = level[0], 1 - level[-1]
        tail = first * np.exp(-slope / first * (value[:, 0] - seen))
        under, slope = np.where(low, tail, under), np.where(low, slope * tail / first, slope)
        tail = last * np.exp(-slope / last * (seen - value[:, -1]))
        under, slope = np.where(high, 1 - tail, under), np.where(high, slope * tail / last, slope)
    slope = np.maximum(slope, 1e-300)
    return np.where(known, under, np.nan), np.where(known, slope, np.nan)


def pit_curve(values: ArrayLike, at: ArrayLike, censored: ArrayLike | None = None) -> Floats:
    """Share of probability integral transforms at or under given points; even forecasts give the points
    again.

    Parameters
    ----------
    values : array_like, shape (n,)
        From :func:`pit`.
    at : array_like, shape (m,)
        Between 0 and 1, rising.
    censored : array_like of bool, shape (n,), optional
        Known only to be above their values: then the product-limit estimate of Kaplan and Meier (Journal of
        the American Statistical Association 53, 1958), NaN beyond the last value if that is censored.

    Examples
    --------
    >>> pit_curve([0.1, 0.3, 0.6, 0.8], [0.25, 0.5, 1.0])
    array([0.25, 0.5 , 1.  ])
    >>> pit_curve([0.1, 0.3, 0.6, 0.8], [0.25, 0.5, 0.7], [False, True, False, False])
    array([0.25 , 0.25 , 0.625])
    """
    value, point = np.asarray(values, dtype=float), np.asarray(at, dtype=float)
    gone = np.zeros(len(value), bool) if censored is None else np.asarray(censored, dtype=bool)
    if not len(value):
        return np.full(len(point), np.nan)
    order = np.lexsort((gone, value))
    value, gone = value[order], gone[order]
    left = len(value) - np.arange(len(value))
    survive = np.append(1.0, np.cumprod(np.where(gone, 1.0, 1 - 1 / left)))
    out = 1 - survive[np.searchsorted(value, point, side="right")]
    return np.where(gone[-1] & (point > value[-1]), np.nan, out)


def coverage(
    observed: ArrayLike, values: ArrayLike, levels: ArrayLike, share: float, censored: ArrayLike | None = None
) -> float:
    """How often the middle range of a share held.

    Parameters
    ----------
    observed : array_like, shape (n,)
    values : array_like, shape (n, k)
    levels : array_like, shape (k,)
        With both ends of the range: 0.1 and 0.9 for 0.8.
    share : float
    censored : array_like of bool, shape (n,), optional
        Then from :func:`pit_curve`; NaN where too few went far enough to tell.

    Returns
    -------
    float

    Examples
    --------
    >>> coverage([2.0, 5.0], [[1.0, 3.0, 4.0]] * 2, [0.1, 0.5, 0.9], 0.8)
    0.5
    """
    level = np.asarray(levels, dtype=float)
    ends = [int(np.argmin(np.abs(level - p))) for p in ((1 - share) / 2, (1 + share) / 2)]
    if np.abs(level[ends] - [(1 - share) / 2, (1 + share) / 2]).max() > 1e-9:
        raise misused(Wrong.NO_QUANTILES, share=f"{share:.0%}")
    seen, value = np.asarray(observed, dtype=float), np.asarray(values, dtype=float)
    if not len(seen):
        return float("nan")
    if censored is None or not np.any(censored):
        return float(((seen >= value[:, ends[0]]) & (seen <= value[:, ends[1]])).mean())
    low, high = pit_curve(pit(seen, value, level), level[ends], censored)
    return float(high - low)


def sharpness(values: ArrayLike, levels: ArrayLike, share: float = 0.8) -> float:
    """Median width of the middle range of a share.

    Examples
    --------
    >>> sharpness([[1.0, 3.0, 4.0], [0.0, 1.0, 5.0]], [0.1, 0.5, 0.9])
    4.0
    """
    level, value = np.asarray(levels, dtype=float), np.asarray(values, dtype=float)
    low, high = (int(np.argmin(np.abs(level - p))) for p in ((1 - share) / 2, (1 + share) / 2))
    return float(np.median(value[:, high] - value[:, low])) if len(value) else float("nan")


@lru_cache(maxsize=64)
def pit_band(count: int, points: int = 20, level: float = 0.9) -> tuple[Floats, Floats]:
    """Band that holds the whole curve of probability integral transforms of an even forecast.

    Parameters
    ----------
    count : int
        Independent observations: fewer than readings where those are correlated (:func:`effective_count`).
    points : int
        The curve is watched at 1/points, 2/points and so on.
    level : float
        Chance that the curve stays inside at all points at once.

    Returns
    -------
    lower, upper : ndarray, shape (points - 1,)

    Notes
    -----
    [1]_, section 2: at each point the middle binomial range of one and the same level, that level chosen so
    that all hold together with the chance asked for. The chance is exact: numbers of values under the
    points are a Markov chain, run from point to point inside the band. Numbers are whole, so the chance is
    that or a little more.

    References
    ----------
    .. [1] T. Säilynoja, P.-C. Bürkner and A. Vehtari, "Graphical test for discrete uniformity and its
       applications in goodness-of-fit evaluation and multiple sample comparison", Statistics and Computing
       32, 2022, 32.

    Examples
    --------
    >>> lower, upper = pit_band(50)
    >>> lower[9], upper[9]
    (np.float64(0.34), np.float64(0.66))
    """
    from scipy.stats import binom

    at, used = np.arange(1, points) / points, min(count, _MOST_EXACT)
    number = np.arange(used + 1)
    first = binom.pmf(number, used, at[0])
    more, left = number[None, :] - number[:, None], (used - number)[:, None]
    steps = [binom.pmf(more, left, (b - a) / (1 - a)) for a, b in pairwise(at)]

    def bounds(tail: float) -> tuple[Floats, Floats]:
        return binom.ppf(tail / 2, used, at), binom.ppf(1 - tail / 2, used, at)

    low, high = 1e-9, 1 - level  # outside at each point: more of it makes a narrower band
    for _ in range(30):
        middle = (low + high) / 2
        lower, upper = bounds(middle)
        inside = (number >= lower[:, None]) & (number <= upper[:, None])
        chance = first * inside[0]
        for step, stays in zip(steps, inside[1:], strict=True):
            chance = (chance @ step) * stays
        if chance.sum() >= level:
            low = middle
        else:
            high = middle
    wider = np.sqrt(used / count)
    lower, upper = ((at + (ends / used - at) * wider) for ends in bounds(low))
    for ends in (lower, upper):
        ends.setflags(write=False)
    return lower, upper


def grouped_error(statistic: Callable[[NDArray[np.bool_]], float], cluster: ArrayLike) -> float:
    """Standard error of a statistic of values correlated within clusters; NaN for fewer than two.

    Parameters
    ----------
    statistic : callable
        Of a mask of shape (n,): the statistic of those values.
    cluster : array_like, shape (n,)

    Notes
    -----
    The jackknife that leaves out a cluster at a time, or a group of clusters where there are many.

    Examples
    --------
    >>> value = np.array([1.0, 1.0, 0.0, 0.0])
    >>> round(grouped_error(lambda some: value[some].mean(), ["a", "a", "b", "b"]), 4)
    0.5
    """
    _, code = np.unique(np.asarray(cluster), return_inverse=True)
    count = min(int(code.max()) + 1 if len(code) else 0, _GROUPS)
    if count < 2:
        return float("nan")
    without = np.array([statistic(code % count != group) for group in range(count)])
    return float(np.sqrt((count - 1) / count * ((without - without.mean()) ** 2).sum()))


def effective_count(values: ArrayLike, cluster: ArrayLike) -> float:
    """How many independent values as many that are correlated within clusters are worth.

    Parameters
    ----------
    values : array_like, shape (n,)
    cluster : array_like, shape (n,)

    Returns
    -------
    float
        Between the number of clusters and n: ``n / (1 + (m - 1) r)``, with m the mean size of a value's
        cluster and r the correlation within clusters by analysis of variance, between 0 and 1.

    References
    ----------
    .. [1] L. Kish, Survey Sampling, 1965, section 5.4 (from memory).

    Examples
    --------
    >>> effective_count([1.0, 1.0, 0.0, 0.0], ["a", "a", "b", "b"])
    2.0
    """
    value = np.asarray(values, dtype=float)
    names, code = np.unique(np.asarray(cluster), return_inverse=True)
    n, groups = len(value), len(names)
    if groups < 2 or n == groups:
        return float(groups)
    size = np.bincount(code).astype(float)
    mean = np.bincount(code, value) / size
    within = float(((value - mean[code]) ** 2).sum()) / (n - groups)
    between = float((size * (mean - value.mean()) ** 2).sum()) / (groups - 1)
    usual = (n - (size**2).sum() / n) / (groups - 1)
    shared = max((between - within) / usual, 0.0)
    r = shared / (shared + within) if shared + within > 0 else 1.0
    return float(n / (1 + ((size**2).sum() / n - 1) * r))

"""When an uncertain depth, worn at an uncertain rate, reaches the removal depth."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import boxcox, inv_boxcox, ndtr, ndtri

__all__ = ["INPUTS", "PROBABILITIES", "crossing_probability", "crossing_quantiles"]

Floats = NDArray[np.float64]

PROBABILITIES: Final = (0.10, 0.25, 0.50, 0.75, 0.90)
"""What a forecast reports: a median, a 50 % and an 80 % range."""
INPUTS: Final = (
    "mean_depth_mm", "mean_depth_sd_mm", "limit_mm", "log_wear", "log_wear_sd", "depth_log_wear_cov", "q",
)  # fmt: skip
"""Columns that the two functions read; see :func:`crossing_probability`."""

# Gauss-Hermite nodes for a standard normal: 9 give the probability to 1e-4 where the other factor is wider.
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
_CHUNK: Final = 20_000
_STEPS: Final = 12
_TOLERANCE: Final = 1e-9


def crossing_probability(tires: pd.DataFrame, distance_km: Floats) -> Floats:
    """Probability that each tire is down to its removal depth within a distance.

    Parameters
    ----------
    tires : DataFrame
        One row a tire: mean_depth_mm and mean_depth_sd_mm (normal), limit_mm, log_wear (log of mm per km
        at the present depth on the present axle) and log_wear_sd (normal), depth_log_wear_cov, and q (wear
        goes as (depth / present depth) ** q).
    distance_km : ndarray, shape (n,) or (n, k)
        On the present axle.

    Returns
    -------
    ndarray, shape of ``distance_km``

    Notes
    -----
    The tire is down within x when ``G(depth) <= exp(log wear) * x``, where
    ``G(d) = integral of (present depth / u) ** q du from the limit to d``, which is ``d - limit`` for q =
    0. One of the two normals is integrated by Gauss-Hermite nodes and the other exactly: the nodes go to
    the one that matters less, so the sum stays smooth.
    """
    one = distance_km.ndim == 1
    at = distance_km[:, None] if one else distance_km
    out = np.empty(at.shape)
    for rows in _chunks(len(tires)):
        # Floor and range keep the logarithm and the square root defined; neither shows in a result.
        out[rows] = _Tires(tires.iloc[rows]).probability(np.log(np.maximum(at[rows], 1e-9)))
    return out[:, 0] if one else out


def crossing_quantiles(tires: pd.DataFrame, probabilities: tuple[float, ...] = PROBABILITIES) -> Floats:
    """Distances by which each tire is down to its removal depth with the given probabilities.

    Parameters
    ----------
    tires : DataFrame
        As for :func:`crossing_probability`; a row with a value that is not finite gives NaN.
    probabilities : tuple of float
        Rising, in (0, 1).

    Returns
    -------
    ndarray, shape (n, len(probabilities))
        Rising along a row; 0 where the tire may already be down with that probability. [km]
    """
    out = np.full((len(tires), len(probabilities)), np.nan)
    usable = np.isfinite(tires[list(INPUTS)].to_numpy(dtype=float)).all(axis=1)
    rows_left = np.flatnonzero(usable)
    for rows in _chunks(len(rows_left)):
        part = rows_left[rows]
        out[part] = _solve(_Tires(tires.iloc[part]), np.array(probabilities))
    return np.maximum.accumulate(out, axis=1)


def _chunks(count: int) -> list[slice]:
    return [slice(start, min(start + _CHUNK, count)) for start in range(0, count, _CHUNK)]


class _Tires:
    """The inputs as columns, with what does not depend on the distance worked out once."""

    def __init__(self, tires: pd.DataFrame) -> None:
        get = {name: tires[name].to_numpy(dtype=float)[:, None] for name in INPUTS}
        self.depth, self.limit = get["mean_depth_mm"], get["limit_mm"]
        self.sd = np.maximum(get["mean_depth_sd_mm"], 1e-6)
        self.rate, self.rate_var = get["log_wear"], np.maximum(get["log_wear_sd"], 1e-6) ** 2
        top = 0.999 * self.sd * np.sqrt(self.rate_var)
        self.cov = np.clip(get["depth_log_wear_cov"], -top, top)
        self.power = 1 - get["q"]
        self.straight = bool(np.all(self.power == 1))
        self.scale = np.maximum(self.depth, self.limit) ** get["q"]
        self.low = self.limit if self.straight else boxcox(self.limit, self.power)
        left = np.maximum(self.depth - self.limit, 0.2 * self.sd)
        self.need = np.maximum(self.to_wear(self.depth), 0.3 * self.sd)
        # Which of the two spreads moves the log distance more decides what the nodes integrate.
        self.depth_matters = ((self.sd / left) ** 2 > self.rate_var)[:, 0]

    def to_wear(self, depth: Floats) -> Floats:
        """G of a depth: wear at new-depth rate from that depth to the limit [mm]."""
        above = np.maximum(depth, self.limit)
        if self.straight:
            return np.asarray(above - self.limit)
        return np.asarray(self.scale * (boxcox(above, self.power) - self.low))

    def to_depth(self, worn: Floats) -> Floats:
        """Depth from which that much wear ends at the limit; infinite past the pole that q > 1 has."""
        if self.straight:
            return np.asarray(self.limit + worn)
        reach = self.low + worn / self.scale
        return np.where(self.power * reach <= -1, np.inf, inv_boxcox(reach, self.power))

    def probability(self, log_x: Floats) -> Floats:
        out = np.empty(log_x.shape)
        for deep in (False, True):
            rows = np.flatnonzero(self.depth_matters == deep)
            if len(rows):
                part = self.rows(rows)
                out[rows] = part.over_rate(log_x[rows]) if deep else part.over_depth(log_x[rows])
        return out

    def rows(self, rows: NDArray[np.intp]) -> _Tires:
        part = object.__new__(_Tires)
        for name, value in self.__dict__.items():
            part.__dict__[name] = value[rows] if isinstance(value, np.ndarray) else value
        return part

    def over_depth(self, log_x: Floats) -> Floats:
        """Nodes over the depth; the log rate given the depth is normal."""
        root = 1 / np.sqrt(self.rate_var - (self.cov / self.sd) ** 2)
        total = np.zeros(log_x.shape)
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            need = self.to_wear(self.depth + self.sd * node)
            rate = self.rate + self.cov / self.sd * node
            with np.errstate(divide="ignore"):
                total += weight * ndtr((log_x - np.log(need) + rate) * root)
        return total

    def over_rate(self, log_x: Floats) -> Floats:
        """Nodes over the log rate; the depth given the rate is normal."""
        slope = self.cov / self.rate_var
        root = 1 / np.sqrt(self.sd**2 - self.cov * slope)
        spread = np.sqrt(self.rate_var)
        total = np.zeros(log_x.shape)
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            bound = self.to_depth(np.exp(np.minimum(self.rate + spread * node + log_x, 60.0)))
            miss = np.minimum(bound - self.depth, 1e3) - slope * spread * node
            total += weight * ndtr(miss * root)
        return total


def _solve(tires: _Tires, probabilities: Floats) -> Floats:
    """Secant steps on the probit scale, where the probability is nearly straight, inside a bracket.

    Each tire goes on until its own steps are small, so its answer does not depend on its company.
    """
    target = ndtri(probabilities)[None, :]
    spread = np.sqrt(tires.rate_var + np.minimum((tires.sd / tires.need) ** 2, 1.0))
    center = np.log(tires.need) - tires.rate
    shape = (len(center), target.shape[1])
    found = np.empty(shape)
    left, going = np.arange(len(center)), tires  # the tires that go on
    low, high = (np.broadcast_to(center + reach, shape) for reach in (-14.0, 14.0))
    x = center + spread * target
    step = np.broadcast_to(spread, shape)
    last_x, last_z = x, np.broadcast_to(target, shape)
    for turn in range(_STEPS):
        p = np.clip(going.probability(x), 1e-300, 1 - 1e-16)
        z = ndtri(p)
        miss = z - target
        low, high = np.where(miss < 0, x, low), np.where(miss >= 0, x, high)
        if turn:
            moved = x - last_x
            with np.errstate(divide="ignore", invalid="ignore"):
                slope = (z - last_z) / moved
            fine = np.isfinite(slope) & (slope > 1e-3)
            step = np.where(fine, 1 / np.where(fine, slope, 1.0), step)
        guess = x - miss * step
        # A bound is the last x on its side: a guess may touch it, or it would be thrown out when found.
        next_x = np.where((guess >= low) & (guess <= high), guess, (low + high) / 2)
        found[left] = next_x
        on = np.flatnonzero((np.abs(next_x - x) >= _TOLERANCE).any(axis=1))
        if not len(on):
            break
        last_x, last_z, x = x[on], z[on], next_x[on]
        if len(on) < len(left):
            left, going = left[on], going.rows(on)
            low, high, step = low[on], high[on], step[on]
    # The depth may already be at the limit with at least that probability.
    down = ndtr((tires.limit - tires.depth) / tires.sd)
    return np.where(probabilities[None, :] <= down, 0.0, np.exp(found))

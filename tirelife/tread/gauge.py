"""What a depth gauge adds to a reading: its step, its spread, its bias.

A reading is the groove's depth, plus the gauge's bias, plus a random part, rounded to the gauge's step.
Repeating helps little where the random part is small against the step: readings in one groove then round
the same way. :func:`rounding_variance` says how much of the rounding error they share.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.units import INCH_32ND_MM

__all__ = [
    "STEPS_MM",
    "infer_resolution",
    "learned_spread",
    "reading_variances",
    "rounding_variance",
    "usual_spread",
]

STEPS_MM: Final = (INCH_32ND_MM, 1.0, INCH_32ND_MM / 2, 0.5, 0.2, INCH_32ND_MM / 10, 0.1, 0.0254, 0.01)
"""Steps that depth gauges are marked in, coarsest first: 1/32 in, 1 mm, parts of these, 0.001 in, 0.01 mm."""

HAND_SD_MM: Final = 0.2
"""Spread of single readings of one groove with a hand gauge [mm]; our assumption, where the log has too few
repeated readings to tell and no study of the gauge. A study of ordinary users found that operators add about
1.0 mm to the range of readings of one tread (ASNT gauge study), which is an upper bound: the range of twelve
normal readings is 3.26 of their spreads, that of six 2.53 (from memory), so 0.31 to 0.39 mm at most."""

FINE_SD_MM: Final = 0.045
"""The same for a gauge read to 0.001 in or finer: averages of six readings by one operator differ
significantly from 0.05 mm (Tire Science and Technology 4(2):59), so 0.05 sqrt(6) / (1.96 sqrt(2)) = 0.044
[mm]."""

_TERMS: Final = np.arange(1, 21)


def infer_resolution(depth_mm: ArrayLike, weight: ArrayLike | None = None) -> float:
    """Coarsest step of a gauge that at least 99 in 100 readings are multiples of [mm]; NaN if none fits.

    Parameters
    ----------
    depth_mm : array_like, shape (n,)
        Readings. [mm]
    weight : array_like, shape (n,), optional
        How many readings each stands for.

    Examples
    --------
    >>> infer_resolution([5.0, 6.1, 7.3, 4.4])
    0.1
    """
    depth = np.asarray(depth_mm, dtype=float)
    times = np.ones(depth.shape) if weight is None else np.asarray(weight, dtype=float)
    depth, times = depth[np.isfinite(depth)], times[np.isfinite(depth)]
    for step in STEPS_MM:
        off = np.abs(depth / step - np.round(depth / step))
        if times.sum() and np.sum(times * (off < 0.01)) >= 0.99 * times.sum():
            return float(step)
    return float("nan")


def usual_spread(resolution_mm: float) -> float:
    """Spread of single readings that is assumed of a gauge nobody has studied [mm]."""
    return FINE_SD_MM if resolution_mm < 0.05 else HAND_SD_MM


def rounding_variance(step_mm: ArrayLike, spread_mm: ArrayLike) -> NDArray[np.float64]:
    """Variance of the rounding error that all readings of one groove share [mm²].

    Parameters
    ----------
    step_mm, spread_mm : array_like, one shape
        Step of the gauge, and standard deviation of a reading before it is rounded. [mm]

    Notes
    -----
    For a depth anywhere between two marks with equal chance, the mean of the rounding error given the depth
    is a Fourier series whose terms shrink as exp(-2 (pi k spread/step)²), the theory of dither (Widrow and
    Kollar, Quantization Noise, 2008, from memory). With no spread it is the whole step²/12; with a spread of
    half a step it is nothing.

    Examples
    --------
    >>> float(rounding_variance(0.6, 0.0).round(3)), float(rounding_variance(0.6, 0.3).round(3))
    (0.03, 0.0)
    """
    step, spread = np.broadcast_arrays(np.asarray(step_mm, float), np.asarray(spread_mm, float))
    ratio = np.divide(spread, step, out=np.full(step.shape, np.inf), where=step > 0)
    terms = (np.exp(-4 * (np.pi * _TERMS * ratio[..., None]) ** 2) / _TERMS**2).sum(axis=-1)
    return np.asarray(step**2 / (2 * np.pi**2) * np.where(ratio == 0, np.pi**2 / 6, terms))


def reading_variances(step_mm: float, usual_mm: float, learned_mm: float) -> tuple[float, float]:
    """Variance of single readings about their groove's mean, and of the rounding error they share [mm²].

    Parameters
    ----------
    step_mm : float
        Step of the gauge. [mm]
    usual_mm : float
        Spread before rounding that is assumed where none was learned. [mm]
    learned_mm : float
        Spread of repeated readings about their mean, rounding included; NaN if not known. [mm]

    Examples
    --------
    >>> [round(v, 4) for v in reading_variances(0.0, 0.2, float("nan"))]
    [0.04, 0.0]
    """
    if np.isnan(learned_mm):
        shared = float(rounding_variance(step_mm, usual_mm))
        return usual_mm**2 + step_mm**2 / 12 - shared, shared
    single = max(learned_mm, 0.02) ** 2
    shared = float(rounding_variance(step_mm, usual_mm))
    for _ in range(20):  # the spread before rounding that shows as the learned one after it
        before = max(single - step_mm**2 / 12 + shared, 0.0) ** 0.5
        shared = 0.5 * (shared + float(rounding_variance(step_mm, before)))
    return single, shared


def learned_spread(sums: pd.DataFrame) -> pd.Series:
    """Spread of single readings by gauge, from repeated readings of one groove on one day [mm].

    Parameters
    ----------
    sums : DataFrame
        gauge_id, within_mm2 (sum of squares about the groove means), free (readings beyond one a groove).

    Returns
    -------
    Series
        By gauge_id: the pooled spread, rounding and the usual unevenness of treads included, since a depth
        is the mean round the tire; NaN with fewer than 20 readings beyond the first of their groove.
    """
    known = sums[sums["free"] > 0]
    single = known["within_mm2"] / known["free"]
    usual = single.groupby(known["gauge_id"]).transform("median").to_numpy()
    # A cupped tire shows its own unevenness: no visit counts for more than four times the usual, nor, where
    # most readings of a coarse gauge repeat to the mark, than four times what is assumed of one.
    bound = 4 * np.where(usual > 0, usual, HAND_SD_MM**2)
    capped = np.minimum(single, bound) * known["free"]
    pooled = capped.groupby(known["gauge_id"]).sum() / known["free"].groupby(known["gauge_id"]).sum()
    enough = known["free"].groupby(known["gauge_id"]).sum() >= 20
    return pd.Series(np.where(enough, pooled.to_numpy(float) ** 0.5, np.nan), pooled.index)

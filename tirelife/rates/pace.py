"""A vehicle's level of distance a day, and how it drifts: learned from the odometers of the fleet."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "DRIFT_LOG_SD",
    "HELD_SD",
    "NOISE_LOG_SD",
    "Steps",
    "evidence",
    "gain_of",
    "levels",
    "pace_spreads",
]

Floats = NDArray[np.float64]

DRIFT_LOG_SD: Final = 0.08
"""Log-sd by which a vehicle's distance a year moves from one year to the next, before the log tells; an
assumption, no source."""
NOISE_LOG_SD: Final = 0.12
"""Log-sd of one year's distance about its level before the log tells; an assumption, no source."""
HELD_SD: Final = 0.7
"""Sd of the logs of both: two-fold either way is not unlikely; an assumption."""
SAMPLE: Final = 500
"""Vehicles that the spreads are learned from, where a logbook has more."""
_TOGETHER: Final = 16
"""Steps whose variances are multiplied before their logarithm is taken."""
_DRIFTS: Final = np.geomspace(0.004, 0.8, 15)
_NOISES: Final = np.geomspace(0.01, 1.2, 15)


class Steps(NamedTuple):
    """Distances between readings that follow each other, a row a vehicle, oldest first; padded with 0 years.

    Attributes
    ----------
    pace : ndarray, shape (n, k)
        Distance a day over the vehicle's own mean.
    years : ndarray, shape (n, k)
        How long it took. [year]
    idle : ndarray, shape (n, k)
        Time before it of which nothing is known. [year]
    """

    pace: Floats
    years: Floats
    idle: Floats


def levels(steps: Steps, noise_sd: Floats | float, drift_sd: Floats | float) -> tuple[Floats, Floats, Floats]:
    """Level of each vehicle at its last reading, its variance, and the log likelihood of the steps.

    Parameters
    ----------
    steps : Steps
    noise_sd, drift_sd : float or ndarray, shape (g, 1)
        Spread of one year's distance about its level, and by which the level moves in a year.

    Returns
    -------
    level, variance, log_likelihood : ndarray, shape (n,) or (g, n)
        Level over the vehicle's own mean; NaN and infinite where there is no step. The likelihood is
        restricted: of what a vehicle's first step leaves to say.

    Notes
    -----
    The level walks: over t years it moves by variance ``d² t``. What was run in t years is the mean of the
    level on the way, with variance ``d² t / 3`` about where it began and covariance ``d² t / 2`` with where
    it ends, and noise ``s² / t``. One pass of the filter that follows; its gain is held to 1 at most, so that
    a level never runs ahead of what was driven.
    """
    noise, drift = np.square(noise_sd), np.square(drift_sd)
    shape = np.broadcast_shapes(np.shape(noise), (len(steps.pace),))
    level, variance = np.full(shape, np.nan), np.full(shape, np.inf)
    said, product = np.zeros(shape), np.ones(shape)
    for at, (pace, years, idle) in enumerate(zip(steps.pace.T, steps.years.T, steps.idle.T, strict=True)):
        real, first = years > 0, np.isinf(variance)
        t = np.where(real, years, 1.0)
        before = np.where(first, 0.0, variance + drift * idle)
        gain, total, after = gain_of(before, t, noise, drift)
        miss = pace - np.where(first, pace, level)
        told = real & ~first
        said -= np.where(told, 0.5 * miss**2 / total, 0.0)
        product *= np.where(told, total, 1.0)  # one logarithm of some variances together
        if at % _TOGETHER == _TOGETHER - 1:
            said -= 0.5 * np.log(product)
            product = np.ones(shape)
        level = np.where(real, np.where(first, pace, level + gain * miss), level)
        variance = np.where(real, np.where(first, total, after), variance)
    return level, variance, said - 0.5 * np.log(product)


def gain_of(
    before: Floats | float, years: Floats | float, noise: Floats | float, drift: Floats | float
) -> tuple[Floats, Floats, Floats]:
    """Share of its miss by which a step moves the level; variance of the step about it, of the level after.

    Parameters
    ----------
    before : ndarray, shape (n,) or (g, n)
        Variance of the level as the step begins.
    years : ndarray, shape (n,)
        How long the step took.
    noise, drift : float or ndarray, shape (g, 1)
        Variances of a year's distance about its level, and by which the level moves in a year.
    """
    total = np.asarray(before + drift * years / 3 + noise / years)
    gain = np.minimum((before + drift * years / 2) / total, 1.0)
    after = np.asarray(before) + drift * years - 2 * gain * (before + drift * years / 2) + gain**2 * total
    return gain, total, after


def pace_spreads(steps: Steps) -> tuple[float, float]:
    """Noise of one year's distance and drift of its level from year to year, pooled over the fleet.

    Posterior means over a grid, under lognormal distributions about :data:`NOISE_LOG_SD` and
    :data:`DRIFT_LOG_SD`, which answer where steps are few.
    """
    steps = _some(steps)
    grids = _NOISES, _DRIFTS
    for last in (False, True):
        noise, drift, said = _over(steps, *grids)
        weight = np.exp(said - said.max())
        weight = weight / weight.sum()
        if not last:  # once more, where the weight lies
            table = weight.reshape(len(grids[0]), len(grids[1]))
            grids = _finer(grids[0], table.sum(axis=1)), _finer(grids[1], table.sum(axis=0))
    return float(weight @ noise[:, 0]), float(weight @ drift[:, 0])


def evidence(steps: Steps) -> float:
    """Log of how likely the steps are, over what noise and drift may be; a constant apart."""
    said = _over(_some(steps), _NOISES[::2], _DRIFTS[::2])[2]
    return float(said.max() + np.log(np.exp(said - said.max()).sum()))


def _some(steps: Steps) -> Steps:
    if len(steps.pace) <= SAMPLE:
        return steps
    chosen = np.linspace(0, len(steps.pace) - 1, SAMPLE).astype(int)
    return Steps(*(part[chosen] for part in steps))


def _over(steps: Steps, noises: Floats, drifts: Floats) -> tuple[Floats, Floats, Floats]:
    """Noise and drift, shape (g, 1), at all pairs of a grid, and the log posterior there, shape (g,)."""
    noise, drift = (grid.ravel()[:, None] for grid in np.meshgrid(noises, drifts, indexing="ij"))
    log_law = -0.5 * (np.log(noise / NOISE_LOG_SD) ** 2 + np.log(drift / DRIFT_LOG_SD) ** 2)[:, 0]
    return noise, drift, levels(steps, noise, drift)[2].sum(axis=1) + log_law / HELD_SD**2


def _finer(grid: Floats, weight: Floats) -> Floats:
    """As many points over the part of a grid that has weight, a cell more on either side."""
    there = np.flatnonzero(weight > 1e-4)
    low, high = max(int(there[0]) - 1, 0), min(int(there[-1]) + 1, len(grid) - 1)
    return np.geomspace(grid[low], grid[high], len(grid))

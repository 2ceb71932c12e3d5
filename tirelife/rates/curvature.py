"""Curvature from within tires: how each tire's own readings bend, whatever its neighbours do."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.likelihood import Evaluation, Units
from tirelife.rates.mixture import Mixture
from tirelife.rates.wearing import settle

if TYPE_CHECKING:
    from tirelife.rates.blocks import Blocks, Columns
    from tirelife.rates.wearing import Laws, Readings

__all__ = ["LAW_SD", "hold_bend", "spread_bend", "within_bend"]

Array = NDArray[np.float64]
STRAIGHT: Final = 0.1
"""Spread of q among treads that wear straight, over that among those that bend."""
BENT_SHARE: Final = 0.05
"""How many in one bend, before their readings are seen: the 27 tires of the controlled study wore straight
(Brenner, Scheiner and Kondo 1975), one published series of nine points bends strongly (Tamhane and Dunlop
2000); one and a half of 29. The spreads are our choice."""
LAW_SD: Final = 0.10867
"""Spread that the 80 % range of both together has, over that of those that bend."""
_HELD = 1e8  # precision of a curvature that is held


def hold_bend(blocks: Blocks, laws: Laws, value: float) -> Laws:
    """The same laws with the curvature held at a value."""
    mean, precision = laws.mean.copy(), laws.precision.copy()
    mean[blocks.bend_fixed], precision[blocks.bend_fixed] = value, _HELD
    return replace(laws, mean=mean, precision=precision)


def within_bend(
    blocks: Blocks, data: Readings, laws: Laws, spreads: Array, turns: int = 8
) -> tuple[Mixture, float]:
    """Curvature, from how each unit's readings bend about its own line.

    Parameters
    ----------
    blocks, data, laws : the model; ``laws`` holds the prior of the curvature
    spreads : ndarray, shape (9,)
        Variances, see :data:`~tirelife.rates.blocks.SPREADS`.
    turns : int
        Steps of Newton's method.

    Returns
    -------
    q : Mixture
        Of treads that wear straight and that bend.
    told : float
        What the readings left of the law's spread: 0 where they say all, 1 where nothing.

    Notes
    -----
    In the likelihood of all readings, differences between units speak of curvature too, by the shape of their
    law alone: fast tires are the worn ones. Here each unit's own start and
    rate are projected out of what is left over and of the derivative by q, with its start as one more
    reading, and q follows by least squares; its error is clustered by block, and no less than noise and
    visits alone would give. The prior's law is then combined with it: most treads wear straight, with a
    small spread about the prior's middle, and some bend, with the sd stated. The answer is over both, each as
    likely as the readings make it.
    """
    at = blocks.bend_fixed
    prior_mean, widest = float(laws.mean[at]), 1 / float(laws.precision[at])
    law, told = untold = _under_law(0.0, np.inf, prior_mean, widest), 1.0
    q = prior_mean
    # A rate that may wander bends by itself, and leaves nothing to see: about smooth paths, then.
    smooth = spreads.copy()
    smooth[[2, 3, 8]] = 0.0
    for _ in range(turns):
        held = hold_bend(blocks, laws, q)
        try:
            found, units, columns, _, _ = settle(blocks, data, held, smooth, wandering=False)
        except np.linalg.LinAlgError:  # a path so bent that it ends before its last reading
            return untold
        step, own_error = _newton(blocks, found, units, columns, spreads, laws)
        if not np.isfinite(own_error):
            return untold
        before = q
        law = _under_law(q + step, own_error, prior_mean, widest)
        told = own_error / math.hypot(own_error, widest**0.5)
        q = float(np.clip(law.middle, before - 0.5, before + 0.5))
        if abs(q - before) < 0.1 * law.spread:
            break
    return law, told


def _under_law(own: float, own_error: float, middle: float, widest: float) -> Mixture:
    """Curvature by its own estimate taken together with the law held before."""
    spread = np.array([STRAIGHT**2, 1.0]) * widest
    share = np.array([1 - BENT_SHARE, BENT_SHARE])
    if not np.isfinite(own_error):
        return Mixture(tuple(share), (middle, middle), tuple(np.sqrt(spread)))
    off = own - middle
    seen = spread + own_error**2
    weight = share * np.exp(-0.5 * (off**2 / seen - off**2 / seen.max())) / np.sqrt(seen)
    mean, var = middle + spread / seen * off, spread / seen * own_error**2
    return Mixture(tuple(weight / weight.sum()), tuple(mean), tuple(np.sqrt(var)))


def _newton(
    blocks: Blocks, found: Evaluation, units: Units, columns: Columns, spreads: Array, laws: Laws
) -> tuple[float, float]:
    """Step of q from where it is held, and its standard error; infinite where nothing tells."""
    unit, count = blocks.row_unit, len(blocks.unit_block)
    block = blocks.unit_block[unit]
    fits = {"start": units.start[unit], "rate": units.rate[unit], "axle": units.axle[block]}
    left = columns.response[:-1] - sum(getattr(columns, name)[:-1] * fits[name] for name in fits)
    left = left - columns.bend[:-1] * found.mean[blocks.bend_fixed]
    # One more row a unit: its start, which its tire line's other tires tell.
    mean = np.append(found.mean, 0.0)
    everyone = np.arange(count)
    row = np.concatenate([unit, everyone])
    own = columns.share[:-1] + columns.doubt[:-1] / max(float(spreads[0]), 1e-12)
    weight = np.concatenate([1 / own, spreads[0] / np.maximum(spreads[4] + blocks.start_extra, 1e-8)])
    zeros, ones = np.zeros(count), np.ones(count)
    by_start = np.concatenate([columns.start[:-1], ones])
    by_rate = np.concatenate([columns.rate[:-1], zeros])
    by_bend = np.concatenate([columns.bend[:-1], zeros])
    left = np.concatenate([left, mean[blocks.start_fixed] - units.start])

    def total(values: Array) -> Array:
        return np.asarray(np.bincount(row, weight * values, count), dtype=float)

    aa, ab, bb = total(by_start**2), total(by_start * by_rate), total(by_rate**2)
    det = aa * bb - ab**2
    det = np.where(det > 1e-9 * aa * bb, det, np.inf)

    def apart(values: Array) -> Array:
        a, b = total(by_start * values), total(by_rate * values)
        gone = by_start * ((bb * a - ab * b) / det)[row] + by_rate * ((aa * b - ab * a) / det)[row]
        return np.asarray(values - gone)

    several = np.bincount(unit, minlength=count) >= 2
    bend = np.where(several[row], apart(by_bend), 0.0)
    rest = apart(left)
    square = float(np.sum(weight * bend**2))
    if square <= 0:
        return 0.0, np.inf
    step = float(np.sum(weight * bend * rest)) / square
    where = blocks.unit_block[row]
    blocks_count = len(blocks.axle_fixed)
    score = np.bincount(where, weight * bend * (rest - bend * step), blocks_count)
    clusters = int(np.sum(np.bincount(where, bend != 0, blocks_count) > 0))
    clustered = float(np.sum(score**2)) * clusters / max(clusters - 1, 1)
    noise, visit, together = spreads[0], spreads[1], 1.0
    if clusters < 10:
        # Few blocks tell little of their own scatter: visits are taken to lean on all of a block's units.
        # Noise about straight paths holds what they bend; what is left about bent ones stands in for it.
        together = count / blocks_count
        free = max(float(np.sum(bend != 0)) - 3.0 * np.unique(row[bend != 0]).size, 0.0)
        gone = float(np.sum(weight * np.where(bend != 0, rest - bend * step, 0.0) ** 2))
        worth, held = 2 / laws.spread_sd[0] ** 2, np.exp(laws.spread_mean[:2])
        level = (worth * held.sum() + gone) / (worth + free)
        noise, visit = level * held / held.sum()
    plain = (noise + visit * together) * square
    return step, float(np.sqrt(max(clustered, plain)) / square)


def spread_bend(
    blocks: Blocks, result: Evaluation, units: Units, columns: Columns, error: float
) -> tuple[Evaluation, Units]:
    """Give a held curvature back its uncertainty, in the fixed effects and in every unit's posterior.

    A unit's log rate moves with q so that the depth at its last reading stays: that is what was read.
    """
    at = blocks.bend_fixed
    cov = result.cov.copy()
    cov[at, :], cov[:, at] = 0.0, 0.0
    cov[at, at] = error**2
    count = len(blocks.unit_block)
    last = np.cumsum(np.bincount(blocks.row_unit, minlength=count)) - 1
    read = np.bincount(blocks.row_unit, minlength=count) > 0
    row = np.where(read, last, len(blocks.row_unit))
    by_rate, by_bend = columns.rate[row], columns.bend[row]
    moves = np.where(by_rate < -1e-6, -by_bend / np.where(by_rate < -1e-6, by_rate, -1.0), 0.0)
    joint = units.joint.copy()
    joint[:, 3, :], joint[:, :, 3] = 0.0, 0.0
    joint[:, 3, 3] = error**2
    joint[:, 1, 3] = joint[:, 3, 1] = moves * error**2
    joint[:, 1, 1] += moves**2 * error**2
    return replace(result, cov=cov), replace(units, joint=joint)

"""Curvature from within tires: how each tire's own readings bend, whatever its neighbours do."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.blocks import VARIANCES, split
from tirelife.rates.likelihood import Evaluation, Fixed, Units, add_local, add_square, to_local
from tirelife.rates.mixture import Mixture
from tirelife.rates.moments import block_moments
from tirelife.rates.wearing import Paths

if TYPE_CHECKING:
    from tirelife.rates.blocks import Blocks, Columns
    from tirelife.rates.wearing import Priors, Readings

__all__ = ["PRIOR_SD", "fix_bend", "spread_bend", "within_bend"]

Array = NDArray[np.float64]
STRAIGHT: Final = 0.1
"""Spread of q among treads that wear straight, over that among those that bend."""
BENT_SHARE: Final = 0.05
"""How many in one bend, before their readings are seen: the 27 tires of the controlled study wore straight
(Brenner, Scheiner and Kondo 1975), one published series of nine points bends strongly (Tamhane and Dunlop
2000); one and a half of 29. The variances are our choice."""
PRIOR_SD: Final = 0.10867
"""Spread that the 80 % range of both together has, over that of those that bend."""
_FIXED = 1e8  # precision of a curvature that is held
_FREE = 1e3  # variance of a log rate of which nothing is held
_LEAST = 1e-6  # precision of a curvature of which nothing is held
_END: Final = 0.1
"""Of the start: under that a path's bend hangs on where it ends, which its own reading moves; our choice."""
_NOTHING_MM2 = 1e4  # variance of a reading that says nothing


def fix_bend(blocks: Blocks, priors: Priors, value: float) -> Priors:
    """The same priors with the curvature held at a value."""
    mean, precision = priors.mean.copy(), priors.precision.copy()
    mean[blocks.bend_fixed], precision[blocks.bend_fixed] = value, _FIXED
    return replace(priors, mean=mean, precision=precision)


def within_bend(
    blocks: Blocks, data: Readings, priors: Priors, variances: Array, turns: int = 8
) -> tuple[Mixture, float]:
    """Curvature, from how each unit's readings bend about its own line.

    Parameters
    ----------
    blocks, data, priors : the model; ``priors`` holds the prior of the curvature
    variances : ndarray, shape (9,)
        Variances, see :data:`~tirelife.rates.blocks.VARIANCES`.
    turns : int
        Steps of Newton's method.

    Returns
    -------
    q : Mixture
        Of treads that wear straight and that bend.
    sd_ratio : float
        What the readings left of the prior's spread: 0 where they say all, 1 where nothing.

    Notes
    -----
    In the likelihood of all readings, differences between units speak of curvature too, by the shape of their
    prior alone: fast tires are the worn ones. Here each unit's log rate is free, and q follows by generalised
    least squares from how each bends about its own line: what a visit adds is told from what tires of a
    block bend, and the level of a line's starts is learned beside it. Its error is clustered by block, and
    no less than noise and visits alone would give. The prior is then combined with it: most treads wear
    straight, with a small spread about the prior's middle, and some bend, with the sd stated. The answer is
    over both, each as likely as the readings make it.
    """
    at = blocks.bend_fixed
    prior_mean, widest = float(priors.mean[at]), 1 / float(priors.precision[at])
    posterior, sd_ratio = unchanged = _posterior(0.0, np.inf, prior_mean, widest), 1.0
    q = prior_mean
    # A rate that may wander bends by itself, and leaves nothing to see: about smooth paths, then.
    smooth = variances.copy()
    smooth[[2, 3, 8]] = 0.0
    paths = Paths.initial(blocks, data, fix_bend(blocks, priors, q))
    for turn in range(turns):
        fixed = fix_bend(blocks, priors, q)
        try:
            for _ in range(1 if turn else 3):  # later ones go on from the last one's paths
                fitted = paths.iterate(fixed, smooth, True, False)
            units, columns = paths.units, paths.columns
            left = fitted / np.maximum((data.start + units.start)[blocks.row_unit], 0.1)
            own, own_error = _generalised(blocks, _but_the_end(columns, left), smooth, priors)
        except np.linalg.LinAlgError:  # a path so bent that it ends before its last reading
            return unchanged
        if not np.isfinite(own_error):
            return unchanged
        before = q
        posterior = _posterior(own, own_error, prior_mean, widest)
        sd_ratio = own_error / math.hypot(own_error, widest**0.5)
        q = float(np.clip(posterior.middle, before - 0.5, before + 0.5))
        if abs(q - before) < 0.1 * posterior.spread:
            break
    return posterior, sd_ratio


def _posterior(own: float, own_error: float, middle: float, widest: float) -> Mixture:
    """Curvature by its own estimate taken together with its prior."""
    spread = np.array([STRAIGHT**2, 1.0]) * widest
    share = np.array([1 - BENT_SHARE, BENT_SHARE])
    if not np.isfinite(own_error):
        return Mixture(tuple(share), (middle, middle), tuple(np.sqrt(spread)))
    off = own - middle
    seen = spread + own_error**2
    weight = share * np.exp(-0.5 * (off**2 / seen - off**2 / seen.max())) / np.sqrt(seen)
    mean, var = middle + spread / seen * off, spread / seen * own_error**2
    return Mixture(tuple(weight / weight.sum()), tuple(mean), tuple(np.sqrt(var)))


def _but_the_end(columns: Columns, left: Array) -> Columns:
    """The same columns, where readings of which less than :data:`_END` of the tread is left say nothing."""
    doubt = columns.doubt.copy()
    doubt[:-1] += np.where(left < _END, _NOTHING_MM2, 0.0)
    return replace(columns, doubt=doubt)


def _generalised(blocks: Blocks, columns: Columns, variances: Array, priors: Priors) -> tuple[float, float]:
    """Curvature by generalised least squares, every unit's rate free, and its standard error; infinite where
    nothing tells.
    """
    at, p = blocks.bend_fixed, blocks.fixed
    number = np.bincount(blocks.row_unit, minlength=len(blocks.unit_block))
    several = number >= 2
    if not several.any():
        return 0.0, np.inf
    free = variances.copy()
    free[VARIANCES.index("unit")] = _FREE
    precision = priors.precision.copy()
    precision[at] = _LEAST
    moments = [block_moments(blocks, part, columns, free, wandering=False) for part in split(blocks)]
    normal, right = np.zeros((p + 1, p + 1)), np.zeros(p + 1)
    for one in moments:
        normal += add_square(one.part, one.cross, p)
        right += add_local(one.part, one.right, p)
    found = Fixed.solve(normal, right, priors.mean, precision)
    weight = np.append(found.cov[at], 0.0)  # what each effect's score does to q
    square, clusters, left = float(weight[:p] ** 2 @ precision), 0, 0.0
    for one in moments:
        part, beta = one.part, to_local(one.part, found.mean, one.cross.shape[1])
        pull = one.right - (one.cross @ beta[..., None])[..., 0]
        score = (weight[part.fixed] * part.value * pull[:, part.entry]).sum(axis=1)
        clusters += int(np.append(several, False)[part.units].any(axis=1).sum())
        square += float(score @ score)
        left += one.square - float((beta * (one.right + pull)).sum())
    plain = float(found.cov[at, at])
    if clusters < 10:
        # Few blocks tell little of their own scatter. Noise about straight paths holds what they bend; what
        # is left about bent ones stands in for it.
        worth, whole = 2 / priors.log_variance_sd[0] ** 2, float(variances[0] + variances[1])
        freedom = max(float((number[several] - 2).sum()), 0.0)
        level = (worth * float(np.exp(priors.log_variance_mean[:2]).sum()) / whole + left) / (worth + freedom)
        plain *= level
    clustered = square * clusters / max(clusters - 1, 1)
    return float(found.mean[at]), float(np.sqrt(max(clustered, plain)))


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
    shared = units.shared.copy()
    shared[:, 0] += moves**2 * error**2  # q is the same for all
    return replace(result, cov=cov), replace(units, joint=joint, shared=shared)

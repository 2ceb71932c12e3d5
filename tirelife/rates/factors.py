"""Factors of the causes, learned from a log: how much more or less each took here than the physics says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.driving import Z80
from tirelife.rates.blocks import Blocks, split
from tirelife.rates.likelihood import evaluate, posterior
from tirelife.rates.wearing import (
    Estimate,
    Priors,
    Readings,
    estimate,
    linearize,
    next_state,
    robust_noise_ratios,
)

if TYPE_CHECKING:
    from tirelife.wear import Factors

__all__ = ["Shares", "among", "learn", "marginals", "ranges", "share_spread"]

Array = NDArray[np.float64]

BELIEF_SD: Final = 0.3
"""How far from 1 the share of recorded differences in habits that is real may lie (our assumption)."""
_DRAWS: Final = 4000
_ROUNDS: Final = 12
_FIRST_ROUNDS: Final = 3
_MOST_ROUNDS: Final = 60
_CLOSE: Final = 0.01
_MOST: Final = 0.5  # how far a log factor may move in one round


@dataclass(frozen=True)
class Shares:
    """Reference distance by cause, front and rear: shape (2, rows, causes) each. [km]

    ``own`` is under the habits as recorded, ``usual`` with the usual ones in their place; ``weight`` is what
    both hold for severity 1, by cause: the shares at the reference. ``error``, shape (rows, causes), is the
    variance of the log of what is recorded of each cause's habit; none by default.
    """

    own: Array
    usual: Array
    weight: Array
    error: Array | None = None

    def parts(self, log_factor: Array, belief: float) -> Array:
        """Distance on either axle by cause, shape (2, rows, causes)."""
        factor = np.exp(log_factor)
        return np.asarray((self.usual + belief * (self.own - self.usual)) * (factor / (factor @ self.weight)))

    def clocks(self, log_factor: Array, belief: float) -> tuple[Array, Array]:
        """Distance on either axle, shape (2, rows), and its derivatives by log factors and belief.

        The derivatives have the shape (2, causes + 1, rows).
        """
        factor = np.exp(log_factor)
        level = float(factor @ self.weight)
        gap = self.own - self.usual
        parts = self.parts(log_factor, belief)
        clock = parts.sum(axis=2)
        slope = parts.transpose(0, 2, 1) - clock[:, None, :] * (factor * self.weight / level)[None, :, None]
        by_belief = (gap * (factor / level)).sum(axis=2)
        return clock, np.concatenate([slope, by_belief[:, None, :]], axis=1)

    def doubt(self, blocks: Blocks, log_factor: Array, belief: float) -> Array | None:
        """What errors of the recorded habits do to each vehicle, shape (blocks, 3) as ``Blocks.own``.

        Notes
        -----
        Errors in the variables (Fuller 1987, from memory): with r = h + e, the log of a habit as recorded, as
        it is and the record's error, and belief b = var(h) / var(r), h given r has mean b r and variance
        b var(e). To first order that moves the log of the wear on an axle by the share that the cause takes
        of it, and so the more the larger its factor. Over a vehicle's causes it makes a variance of its log
        rate, one of the ratio of its axles, and what both share. Errors of different habits are taken to be
        independent; what all of a vehicle's habits are off by together is left to what sets vehicles apart.
        """
        if self.error is None or not self.error.any():
            return None
        parts = self.parts(log_factor, belief)
        unit = blocks.row_unit
        last = np.flatnonzero(np.append(unit[1:] != unit[:-1], True))
        block, count = blocks.unit_block[unit[last]], len(blocks.axle_fixed)
        run = np.zeros((2, count, parts.shape[2]))
        for axle in range(2):
            np.add.at(run[axle], block, parts[axle, last])
        whole = run.sum(axis=2, keepdims=True)
        front, rear = np.divide(run, whole, out=np.zeros_like(run), where=whole > 0)
        square, seen = np.zeros((count, parts.shape[2])), np.bincount(block, minlength=count)
        np.add.at(square, block, self.error[last])
        square *= max(belief, 0.0) / np.maximum(seen, 1)[:, None]
        middle, apart = (front + rear) / 2, front - rear
        return np.column_stack([(square * by).sum(axis=1) for by in (middle**2, apart**2, middle * apart)])


def marginals(
    mode: Array, sd: Array, prior_mean: Array, prior_sd: Array, share: Array
) -> tuple[Array, Array]:
    """Law of each log factor: values, rising, and the chance of less, shape (causes, n) each.

    Parameters
    ----------
    mode, sd : ndarray, shape (causes,)
        Where the posterior is highest, and the standard deviation by its curvature there.
    prior_mean, prior_sd : ndarray, shape (causes,)
        Mean and standard deviation before the log.
    share : ndarray, shape (causes,)
        Of all wear, at the mode.

    Notes
    -----
    The reference distance is linear in the share that a cause takes of it, the other causes in their
    proportions; so the log's readings speak of that share by a normal distribution, and hardly tell a factor
    of a tenth from a hundredth. Centre and width of the distribution follow from the mode and the curvature
    there; times the prior it is the density of each log factor, taken on a grid.
    """
    grid = prior_mean[:, None] + prior_sd[:, None] * np.linspace(-5.0, 5.0, 801)
    information = np.maximum(1 / sd**2 - 1 / prior_sd**2, 1e-9)
    share = np.clip(share, 1e-6, 1 - 1e-6)
    slope = share * (1 - share)
    centre = share + slope * (mode - prior_mean) / prior_sd**2 / information
    odds = np.log(share / (1 - share))[:, None] + grid - mode[:, None]
    off = (1 / (1 + np.exp(-odds)) - centre[:, None]) / slope[:, None]
    log_density = (
        -(off**2) * information[:, None] / 2 - ((grid - prior_mean[:, None]) / prior_sd[:, None]) ** 2 / 2
    )
    mass = np.cumsum(np.exp(log_density - log_density.max(axis=1, keepdims=True)), axis=1)
    return grid, mass / mass[:, -1:]


def ranges(mode: Array, sd: Array, prior_mean: Array, prior_sd: Array, share: Array) -> Array:
    """80 % range of each log factor, shape (causes, 2), by the distribution of :func:`marginals`."""
    grid, below = marginals(mode, sd, prior_mean, prior_sd, share)
    return np.array([np.interp([0.1, 0.9], own, line) for own, line in zip(below, grid, strict=True)])


def share_spread(mode: Array, sd: Array, prior_mean: Array, prior_sd: Array, share: Array) -> Array:
    """Standard deviation of each log factor that makes its share of wear as wide as it is, shape (causes,).

    Notes
    -----
    What rests on factors (severities, what a change buys, shares of the wear) is near linear in the shares
    and takes a log factor's spread to first order, times the share's slope. A range of logarithms reaches
    further down than up, for a small share is hardly told from none; that is no width of a share. So the
    80 % range of the share, by the distribution of :func:`marginals`, over the slope at the mode.
    """
    odds = (
        np.log(share / (1 - share))[:, None] + ranges(mode, sd, prior_mean, prior_sd, share) - mode[:, None]
    )
    low, high = (1 / (1 + np.exp(-odds))).T
    return np.asarray((high - low) / (2 * Z80 * share * (1 - share)))


def among(grid: Array, below: Array, cov: Array) -> Array:
    """80 % range of each log factor less the median of all, shape (causes, 2).

    Parameters
    ----------
    grid, below : ndarray, shape (causes, n)
        Law of each log factor, as :func:`marginals` gives it.
    cov : ndarray, shape (causes, causes)
        Their covariance.

    Notes
    -----
    A factor is told beside the others: their median is 1, whichever it is. That median is not known either,
    and where several factors are far from 1 its error is about as large as theirs. Taken from draws of a
    normal copula (of a fixed seed), each mapped to its distribution by its rank.
    """
    normal = np.random.default_rng(575).standard_normal((_DRAWS, len(cov)))
    sd = np.sqrt(np.diag(cov))
    root = np.linalg.cholesky(cov / np.outer(sd, sd) + 1e-9 * np.eye(len(sd)))
    chance = (np.argsort(np.argsort(normal @ root.T, axis=0), axis=0) + 0.5) / _DRAWS
    drawn = np.column_stack(
        [np.interp(one, own, line) for one, own, line in zip(chance.T, below, grid, strict=True)]
    )
    off = drawn - np.median(drawn, axis=1, keepdims=True)
    return np.asarray(np.quantile(off, [0.1, 0.9], axis=0).T)


def learn(
    blocks: Blocks, data: Readings, priors: Priors, shares: Shares, prior: Factors
) -> tuple[Factors, Estimate]:
    """Factors of the causes and how far recorded habits are believed, with what was held of them before.

    Parameters
    ----------
    blocks, data, priors
        The model, its curvature held.
    shares : Shares
        Of the rows of ``data``.
    prior : Factors

    Returns
    -------
    Factors
        Posterior mean, covariance (as the shares of wear are known) and ranges; ``usual`` as in ``prior``.
    Estimate
        Of the model's variances, with the paths at the end.

    Notes
    -----
    The reference distance is a sum over causes of factor times distance, so the logarithms of the factors are
    more fixed effects of the linearized model, each with a column of its own; Gauss and Newton's method,
    each round at the present conditional modes of the tires' rates. Variances are estimated before and in
    between, each time from where the last step left the paths. Linear in rows and causes. What all factors
    have in common is no part of severity: it is set so that their median is 1, which one cause far from what
    the physics says does not move as it would their mean (our choice). The belief is a share and stays within
    0 and 1: beyond 1 the mildest habits would turn into less than none.
    """
    count = len(prior.log_mean)
    mean = np.append(prior.log_mean, prior.belief)
    cov = np.zeros((count + 1, count + 1))
    cov[:count, :count] = prior.covariance
    told = bool(np.abs(shares.own - shares.usual).max(initial=0.0) > 1e-9)
    cov[count, count] = max(prior.belief_sd, BELIEF_SD) ** 2 if told else 1e-12
    at = mean
    found_cov = cov
    guess: Estimate | None = None
    for rounds, most in ((_FIRST_ROUNDS, _FIRST_ROUNDS), (_ROUNDS, _MOST_ROUNDS)):
        now, _ = shares.clocks(at[:count], at[count])
        here = replace(data, front_km=now[0], rear_km=now[1])
        blocks = replace(blocks, own=shares.doubt(blocks, at[:count], at[count]))
        guess = estimate(blocks, here, priors, tolerance=0.2, after=guess, most=most)
        at, found_cov, guess = _search(blocks, data, guess, shares, mean, cov, at, rounds)
    assert guess is not None
    middle, sd = at[:count], np.sqrt(np.diag(found_cov)[:count])
    made = shares.parts(middle, float(at[count])).sum(axis=(0, 1))
    share = np.clip(made / made.sum(), 1e-6, 1 - 1e-6)
    one = (middle, sd, mean[:count], np.sqrt(np.diag(cov)[:count]), share)
    said = among(*marginals(*one), found_cov[:count, :count])
    wide = share_spread(*one) / sd
    known = found_cov[:count, :count] * np.outer(wide, wide)
    middle = middle - float(np.median(middle))
    return (
        replace(
            prior,
            log_mean=tuple(middle.tolist()),
            cov=tuple(tuple(row) for row in known.tolist()),
            belief=float(at[count]),
            belief_sd=float(np.sqrt(found_cov[count, count])),
            ranges=tuple((float(low), float(high)) for low, high in said),
        ),
        guess,
    )


def _search(
    blocks: Blocks, data: Readings, guess: Estimate, shares: Shares, mean: Array, cov: Array, at: Array,
    rounds: int,
) -> tuple[Array, Array, Estimate]:  # fmt: skip
    """Factors and belief at an estimate's variances, their covariance, the estimate with the paths there."""
    more, p, priors, variances = len(mean), blocks.fixed, guess.priors, guess.variances
    wide = replace(
        blocks,
        unit_fixed=np.where(blocks.unit_fixed == p, p + more, blocks.unit_fixed),
        fixed=p + more,
        shared_fixed=np.arange(p, p + more),
    )
    parts = split(wide)
    # Correlated beforehand, once a log has been learned from: turned to parameters that are not.
    root = np.linalg.cholesky(cov)
    prior_mean = np.append(priors.mean, np.zeros(more))
    prior_precision = np.append(priors.precision, np.ones(more))
    state, noise = guess.state, guess.noise_ratio
    before, damp = np.zeros(more), np.ones(more)
    found_cov = cov
    for turn in range(rounds):
        clock, slope = shares.clocks(at[:-1], at[-1])
        wide = replace(wide, own=shares.doubt(blocks, at[:-1], at[-1]))
        here = replace(data, front_km=clock[0], rear_km=clock[1])
        columns, _ = linearize(blocks, here, state, noise)
        axle = state.axle[blocks.unit_block[blocks.row_unit]]
        moved = np.exp(axle / 2) * slope[0] + np.exp(-axle / 2) * slope[1]
        by = np.einsum("gr,gj->jr", -columns.slope[:-1] * moved, root)
        own = np.linalg.solve(root, at - mean)
        columns = replace(
            columns,
            response=columns.response + np.append(by.T @ own, 0.0),
            shared=np.append(by, np.zeros((more, 1)), axis=1),
        )
        found = evaluate(wide, parts, columns, variances, prior_mean, prior_precision, False, False)
        units = posterior(wide, columns, variances, found)
        wanted = mean + root @ found.mean[p:]
        found_cov = root @ found.cov[p:, p:] @ root.T
        past = wanted[-1] - min(max(wanted[-1], 0.0), 1.0)
        if past:  # a share: the others at their likeliest with it at the bound
            wanted = wanted - found_cov[:, -1] / found_cov[-1, -1] * past
        step = np.clip(wanted - at, -_MOST, _MOST)
        # Where a cause takes nearly nothing, or nearly all, its factor is hardly told, and would swing.
        damp = np.where(step * before < 0, damp / 2, np.minimum(1.0, damp * 1.3))
        before = step
        at = at + damp * step
        state, _ = next_state(state, units, float(found.mean[blocks.bend_fixed]), data)
        if turn:
            noise = robust_noise_ratios(columns, here, units, variances[0])
        if np.abs(step).max() < _CLOSE:
            break
    return at, found_cov, replace(guess, state=state, noise_ratio=noise)

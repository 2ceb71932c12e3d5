"""Wearing paths: the curve of a unit, and its fit by linearizing it again and again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.ahead import path_depth
from tirelife.rates.blocks import VARIANCES, Blocks, Columns, split
from tirelife.rates.likelihood import Evaluation, Units, evaluate, posterior
from tirelife.rates.profile import profile

__all__ = [
    "Estimate",
    "Paths",
    "Priors",
    "Readings",
    "averaged",
    "estimate",
    "initial_state",
    "linearize",
    "next_state",
    "posterior_modes",
    "prior_state",
    "robust_noise_ratios",
    "subset",
]

Array = NDArray[np.float64]

_MOST: Final = 60
_STEP: Final = 1.5
_LOOSE: Final = 0.6  # a log variance known less surely than this is averaged over
_GRID: Final = 7
_LEAST: Final = 8.0  # a variance is at least exp(-8), a spread a fiftieth, of what was held before
FAR_OFF: Final = 3.0
"""Standard deviations from which a reading, predicted from all others, no longer counts in full."""


@dataclass(frozen=True)
class Readings:
    """One row a unit and occasion.

    ``front_km`` and ``rear_km`` are the distances run on either axle, so the clock is ``exp(a/2) front +
    exp(-a/2) rear`` with the block's log axle ratio a; ``noise`` is each row's variance relative to the
    common one. ``start`` is what each unit is known to have started from. ``direction`` is -1 for wear, 1
    for growth. With ``log_link`` off a unit's rate itself is normal, not its log, and wandering is not
    scaled by it. ``habit``, shape (h, rows), holds the mean terms of the block's walking log rate over each
    row's distance since the unit's row before. ``doubt`` is variance that a row has besides its noise, known
    beforehand; none by default.
    """

    response: Array
    front_km: Array
    rear_km: Array
    noise: Array
    start: Array
    direction: float = -1.0
    log_link: bool = True
    habit: Array | None = None
    doubt: Array | None = None

    @property
    def doubts(self) -> Array:
        """Of every row, 0 where there is none."""
        return np.zeros(len(self.response)) if self.doubt is None else self.doubt


@dataclass(frozen=True)
class Priors:
    """What is held about the unknowns before the data: normal priors, on the log scale for variances.

    ``log_variance_mean, log_variance_sd`` are of the log variances, in the order of VARIANCES; an sd of 0
    holds one where it is, and a mean of minus infinity leaves it out. ``groups`` are sets of fixed effects
    that share one variance: their indices, a prior guess of the variance, and how many effects that guess is
    worth.
    """

    mean: Array
    precision: Array
    log_variance_mean: Array
    log_variance_sd: Array
    groups: tuple[tuple[NDArray[np.int64], float, float], ...] = ()


@dataclass
class _State:
    """Where the curves are linearized; the log rates' last step, and the share of it that was taken."""

    start: Array
    rate: Array
    axle: Array
    bend: float
    step: Array
    damp: Array


@dataclass(frozen=True)
class Estimate:
    """Variances found, and how surely."""

    variances: Array  # (9,)
    log_sd: Array  # (9,), of the log variances; NaN where there is none
    groups: Array  # variance of each group of fixed effects
    priors: Priors  # with the groups' precision filled in
    mean: Array  # fixed effects
    criterion: float
    converged: bool
    rounds: int
    decrement: float  # expected drop of the criterion by one more step
    blocks: int  # how many were used
    columns: Columns  # linearized at the end
    state: _State  # where
    noise_ratio: Array  # noise of each row there, as a multiple of its own
    most: int = _MOST


def clock_km(data: Readings, axle: Array) -> Array:
    """Distance run, brought to the middle of the two axles [km]."""
    return np.asarray(np.exp(axle / 2) * data.front_km + np.exp(-axle / 2) * data.rear_km)


def linearize(blocks: Blocks, data: Readings, state: _State, noise_ratio: Array) -> tuple[Columns, Array]:
    """Derivatives of every path about the present state, and the paths themselves."""
    unit = blocks.row_unit
    axle = state.axle[blocks.unit_block[unit]]
    ahead, back = np.exp(axle / 2) * data.front_km, np.exp(-axle / 2) * data.rear_km
    clock = ahead + back
    rate, q = np.exp(state.rate[unit]) if data.log_link else state.rate[unit], state.bend
    start = data.start[unit] + state.start[unit]
    if q == 0:
        fitted = start + data.direction * rate * clock
        steep, by_start, by_bend = np.ones(len(unit)), np.ones(len(unit)), np.zeros(len(unit))
        known = start > 0
        if known.any():  # limit of the derivative by q at q = 0
            worn = -data.direction * rate * clock / np.where(known, start, 1.0)
            inside = np.maximum(1 - worn, 1e-6)
            by_bend = np.where(known, start * inside * (worn / inside + np.log(inside)), 0.0)
    else:
        start = np.maximum(start, 1e-3)
        worn = -data.direction * rate * clock
        fitted = path_depth(start, worn, q)
        # Near the end of a tread the slope of a bent path runs away: held from a tenth of the start on.
        steep = np.maximum(fitted / start, 0.1) ** q
        by_start = fitted / start + steep * worn / start
        step = 1e-4
        by_bend = (path_depth(start, worn, q + step) - path_depth(start, worn, q - step)) / (2 * step)
    scale = rate if data.log_link else np.ones(len(unit))
    by_rate = data.direction * scale * clock * steep
    by_axle = data.direction * rate * steep * (ahead - back) / 2
    response = data.response - fitted + by_start * state.start[unit] + by_rate * state.rate[unit]
    response = response + by_axle * axle + by_bend * q
    slope = -data.direction * scale * steep
    by_habit = np.zeros((0 if data.habit is None else len(data.habit), len(unit) + 1))
    if data.habit is not None and len(unit):
        first = np.append(True, unit[1:] != unit[:-1])
        gone = np.where(first, clock, clock - np.append(0.0, clock[:-1]))
        first_row = np.maximum.accumulate(np.where(first, np.arange(len(unit)), 0))
        for j, level in enumerate(data.habit):
            run = np.cumsum(gone * level)
            by_habit[j, :-1] = -slope * (run - (run - gone * level)[first_row])
    turn = np.zeros((3, len(unit) + 1))
    if data.log_link:
        turn[1, :-1] = 1.0
        positive = start > 0
        new = np.where(positive, start, 1.0)
        left = np.maximum(np.where(positive, fitted, 1.0), 0.1 * new)
        turn[2, :-1] = np.log(left / new) + q * by_bend / left
        if q != 0:
            turn[0, :-1] = q * (by_start / left - 1 / new)
            turn[1, :-1] = np.clip(1 + q * by_rate / left, 0.0, 2.0)
    made = (response, by_start, by_rate, by_axle, by_bend, slope, clock, data.noise * noise_ratio)
    a, b, c, d, e, f, g, h = (np.append(v, pad) for v, pad in zip(made, [0.0] * 7 + [1.0], strict=True))
    return Columns(a, b, c, d, e, f, g, h, turn, by_habit, np.append(data.doubts, 0.0)), fitted


def subset(blocks: Blocks, data: Readings, chosen: NDArray[np.int64]) -> tuple[Blocks, Readings]:
    """The same model on some of the blocks (indices, rising)."""
    number = np.full(len(blocks.axle_fixed), -1)
    number[chosen] = np.arange(len(chosen))
    unit = np.flatnonzero(number[blocks.unit_block] >= 0)
    new_unit = np.full(len(blocks.unit_block), -1)
    new_unit[unit] = np.arange(len(unit))
    row = np.flatnonzero(new_unit[blocks.row_unit] >= 0)
    fewer = replace(
        blocks,
        row_unit=new_unit[blocks.row_unit[row]],
        row_occasion=blocks.row_occasion[row],
        unit_block=number[blocks.unit_block[unit]],
        unit_fixed=blocks.unit_fixed[unit],
        unit_value=blocks.unit_value[unit],
        start_fixed=blocks.start_fixed[unit],
        start_extra=blocks.start_extra[unit],
        axle_fixed=blocks.axle_fixed[chosen],
        block_km=blocks.block_km[chosen],
        own=None if blocks.own is None else blocks.own[chosen],
    )
    return fewer, Readings(
        data.response[row], data.front_km[row], data.rear_km[row], data.noise[row], data.start[unit],
        data.direction, data.log_link, None if data.habit is None else data.habit[:, row],
        None if data.doubt is None else data.doubt[row],
    )  # fmt: skip


def prior_state(blocks: Blocks, priors: Priors) -> _State:
    """Every unit at what was prior_rate of it before its readings."""
    mean = np.append(priors.mean, 0.0)
    prior_rate = (mean[blocks.unit_fixed] * blocks.unit_value).sum(axis=1)
    still = np.zeros(len(prior_rate)), np.ones(len(prior_rate))
    bend = float(mean[blocks.bend_fixed])
    return _State(mean[blocks.start_fixed], prior_rate, mean[blocks.axle_fixed], bend, *still)


def initial_state(blocks: Blocks, data: Readings, priors: Priors) -> _State:
    """A first state: each unit's own rate, drawn towards what was prior_rate before."""
    state = prior_state(blocks, priors)
    if not data.log_link:
        return state
    unit, prior_rate = blocks.row_unit, state.rate
    clock = clock_km(data, state.axle[blocks.unit_block[unit]])
    lost = data.direction * (data.response - (data.start + state.start)[unit])
    count = len(prior_rate)
    worth = 2 * np.exp(2 * -prior_rate)  # as if 2 mm of known wear lay in the prior
    top = np.bincount(unit, lost * clock, count) + worth * np.exp(prior_rate)
    rate = top / (np.bincount(unit, clock**2, count) + worth)
    return replace(state, rate=np.clip(np.log(np.maximum(rate, 1e-12)), prior_rate - 1.5, prior_rate + 1.5))


def next_state(state: _State, units: Units, bend: float, data: Readings) -> tuple[_State, float]:
    """The next state, and by how much log rates changed at most; straight models go all the way."""
    most = 1.0 if data.log_link else np.inf
    step = np.clip(units.rate - state.rate, -most, most)
    # Where a tire hardly wore, its log rate and its visit effect could swing for ever.
    damp = np.where(step * state.step < 0, np.maximum(state.damp / 2, 0.1), np.minimum(1.0, state.damp * 1.3))
    if np.isfinite(most):
        step = step * damp
    axle = state.axle + np.clip(units.axle - state.axle, -0.5, 0.5)
    bend = state.bend + float(np.clip(bend - state.bend, -0.5, 0.5))
    change = float(np.abs(step).max(initial=0.0)) + abs(bend - state.bend)
    return _State(units.start, state.rate + step, axle, bend, step, damp), change


def robust_noise_ratios(columns: Columns, data: Readings, units: Units, noise: float) -> Array:
    """Noise of each row as a multiple of its own: over 1 for readings that are far off.

    A reading z standard deviations from what all others predict keeps its noise up to z = FAR_OFF. From
    there it gets the noise that makes it fewer standard deviations off, down to one for z = 1.5 FAR_OFF
    and beyond: it pulls less the further off it is, and does not widen the others' noise. That others
    predict it keeps one bad reading from hiding itself.
    """
    own = noise * data.noise
    # Of the prediction from all others, and what was known beforehand.
    rest = np.maximum(units.residual_var - columns.noise_ratio[:-1] * noise, data.doubts)
    off = np.abs(units.residual) / np.sqrt(own + rest)
    wanted = (units.residual / np.clip(FAR_OFF - 4 / 3 * (off - FAR_OFF), 1.0, FAR_OFF)) ** 2 - rest
    return np.where(off > FAR_OFF, np.clip(wanted / own, 1.0, 1e6), 1.0)


def estimate(
    blocks: Blocks,
    data: Readings,
    priors: Priors,
    robust: bool = True,
    tolerance: float = 0.02,
    near: Array | None = None,
    after: Estimate | None = None,
    most: int = _MOST,
) -> Estimate:
    """Estimate the variances by restricted likelihood with weak priors for their logarithms.

    Parameters
    ----------
    blocks, data, priors
        The model.
    robust : bool
        Let readings that are far off count less.
    tolerance : float
        Largest step at the end: of a log variance in its own standard errors, of a log rate as it is.

    near : ndarray, shape (9,), optional
        Variances to begin at; the priors' middles by default.
    after : Estimate, optional
        Of the same blocks and readings under other priors: where to begin altogether.
    most : int
        Rounds at most.

    Notes
    -----
    Lindstrom and Bates (1990): linearize the curves about the present conditional modes, one
    average-information step on the linear model, repeat.
    """
    parts = split(blocks)
    free = np.isfinite(priors.log_variance_mean) & (priors.log_variance_sd > 0)
    log_variance = priors.log_variance_mean.copy()
    center = np.where(free, priors.log_variance_mean, 0.0)
    state, noise_ratio = initial_state(blocks, data, priors), np.ones(len(data.response))
    if after is not None:
        near, state, noise_ratio = after.variances, after.state, after.noise_ratio
    if near is not None:
        log_variance = np.where(free, np.log(np.maximum(near, 1e-300)), log_variance)
    groups = np.array([guess for _, guess, _ in priors.groups])
    priors = _with_groups(priors, groups)
    pull = np.where(free, 2 / np.maximum(priors.log_variance_sd, 1e-9) ** 2, 0.0)
    converged, rounds, decrement = False, 0, 0.0
    before, damp = np.zeros(len(VARIANCES)), np.ones(len(VARIANCES))
    log_sd = np.full(len(VARIANCES), np.nan)
    found: Evaluation | None = None
    for rounds in range(1, most + 1):
        variances = np.where(np.isfinite(log_variance), np.exp(log_variance), 0.0)
        columns, _ = linearize(blocks, data, state, noise_ratio)
        found = evaluate(blocks, parts, columns, variances, priors.mean, priors.precision, wandering=False)
        slope = variances * found.gradient + pull * (np.where(free, log_variance, 0.0) - center)
        bowl = variances[:, None] * found.information * variances[None, :] + np.diag(pull)
        bowl = bowl[np.ix_(free, free)]
        step = np.zeros(len(VARIANCES))
        if free.any():
            lowest = float(np.linalg.eigvalsh(bowl)[0])
            if lowest <= 0:
                bowl = bowl + np.diag(np.full(len(bowl), 1e-3 - lowest))
            step[free] = -np.linalg.solve(bowl, slope[free])
            decrement = float(-slope @ step)
            log_sd[free] = np.sqrt(np.diag(np.linalg.inv(bowl)) * 2) if lowest > 0 else np.nan
        at_least = free & (log_variance <= center - _LEAST) & (step < 0)
        step = np.where(at_least, 0.0, step)
        # The average information is too small near zero: halve the steps of a variance that swings.
        damp = np.where(step * before < 0, damp / 2, np.minimum(1.0, damp * 1.3))
        before = step
        largest_step = float(np.nan_to_num(np.abs(step[free]) / log_sd[free], nan=9.0).max(initial=0.0))
        step = np.clip(step * damp, -_STEP, _STEP)
        units = posterior(blocks, columns, variances, found)
        state, change = next_state(state, units, float(found.mean[blocks.bend_fixed]), data)
        new_groups = _group_variances(priors, found)
        shift = np.abs(np.log(new_groups / groups)).max(initial=0.0)
        groups, priors = new_groups, _with_groups(priors, new_groups)
        new_ratio = noise_ratio
        if robust and rounds > 2:  # in ever smaller steps: near the edge a weight could swing for ever
            wanted = robust_noise_ratios(columns, data, units, variances[0])
            new_ratio = noise_ratio * (wanted / noise_ratio) ** min(1.0, (10 / rounds) ** 2)
        swing = float(np.abs(np.log(new_ratio / noise_ratio)).max(initial=0.0)) if rounds > 2 else 9.0
        noise_ratio = new_ratio
        if max(largest_step, change, shift) < tolerance and (not robust or swing < 0.3):
            converged = True
            break
        # Readings entered twice have no noise: its variance may not run away to nothing.
        log_variance = np.where(free, np.maximum(log_variance + step, center - _LEAST), log_variance)
    assert found is not None
    return Estimate(
        np.where(np.isfinite(log_variance), np.exp(log_variance), 0.0), log_sd, groups, priors, found.mean,
        found.criterion, converged, rounds, decrement, len(blocks.axle_fixed), columns, state, noise_ratio,
    )  # fmt: skip


def averaged(blocks: Blocks, found: Estimate, which: Sequence[int]) -> Estimate:
    """Average some log variances over their distribution and the likelihood, one after the other, the others
    held.

    Parameters
    ----------
    blocks : Blocks
    found : Estimate
        Of these blocks.
    which : sequence of int
        Positions in VARIANCES. What the readings tell well stays at the mode.

    Notes
    -----
    The mode answers badly where readings say only that a variance is small: it stands at the edge of what
    they allow, and everything under it is as likely.
    """
    parts, priors = split(blocks), found.priors
    variances, log_sd = found.variances.copy(), found.log_sd.copy()
    free = np.isfinite(priors.log_variance_mean) & (priors.log_variance_sd > 0)
    for j in which:
        if not free[j] or log_sd[j] < _LOOSE:
            continue
        center, sd = priors.log_variance_mean[j], priors.log_variance_sd[j]
        high = math.log(variances[j]) + 3 * (log_sd[j] if math.isfinite(log_sd[j]) else sd)
        grid = np.linspace(center - 2.5 * sd, min(high, center + 3 * sd), _GRID)
        said = profile(
            blocks,
            parts,
            found.columns,
            variances,
            priors.mean,
            priors.precision,
            j,
            np.asarray(np.exp(grid)),
        )
        log_weight = -0.5 * (said + ((grid - center) / sd) ** 2)
        if not np.isfinite(log_weight).all():
            raise np.linalg.LinAlgError("infinite")
        weight = np.exp(log_weight - log_weight.max())
        weight /= weight.sum()
        mean = float(weight @ grid)
        variances[j], log_sd[j] = math.exp(mean), math.sqrt(weight @ (grid - mean) ** 2)
    return replace(found, variances=variances, log_sd=log_sd)


def _with_groups(priors: Priors, groups: Array) -> Priors:
    precision = priors.precision.copy()
    for (index, _, _), variance in zip(priors.groups, groups, strict=True):
        precision[index] = 1 / variance
    return replace(priors, precision=precision)


def _group_variances(priors: Priors, found: Evaluation) -> Array:
    """One step towards the variance shared by a set of effects (expectation step, with a prior guess)."""
    out = []
    for index, guess, worth in priors.groups:
        square = float(((found.mean - priors.mean)[index] ** 2 + np.diag(found.cov)[index]).sum())
        out.append((square + worth * guess) / (len(index) + worth))
    return np.array(out)


def posterior_modes(
    blocks: Blocks,
    data: Readings,
    priors: Priors,
    variances: Array,
    rounds: int = 3,
    robust: bool = True,
    mean: Array | None = None,
) -> tuple[Evaluation, Units, Columns, Array, float]:
    """Fixed effects and every unit's posterior at given variances.

    ``mean`` are the fixed effects to begin at, as found from some of the blocks; those of the priors if not
    given. Beginning there takes a round less.

    Returns
    -------
    found, units, columns, fitted, q
        The linear fit, the posteriors, the columns used last, each row's path, and the curvature about which
        it was linearized.
    """
    paths = Paths.initial(blocks, data, priors, mean)
    for turn in range(rounds):
        paths.found = None  # a large logbook's pass fills gigabytes: let go of the last one first
        fitted = paths.iterate(priors, variances, robust, turn == rounds - 1)
    assert paths.found is not None
    return paths.found, paths.units, paths.columns, fitted, paths.state.bend


class Paths:
    """Conditional modes of all paths at given variances, found by linearizing them again and again."""

    found: Evaluation | None
    units: Units
    columns: Columns
    _noise: float
    _bend: float
    _rough = 1  # rounds after which readings are not judged yet

    def __init__(self, blocks: Blocks, data: Readings, state: _State) -> None:
        self.blocks, self.data, self.parts = blocks, data, split(blocks)
        self.state, self.noise_ratio = state, np.ones(len(data.response))
        self.found, self._turn = None, 0

    @classmethod
    def initial(cls, blocks: Blocks, data: Readings, priors: Priors, mean: Array | None = None) -> Paths:
        """Paths at their first guess; ``mean`` as :func:`posterior_modes` takes it."""
        if mean is None:
            return cls(blocks, data, initial_state(blocks, data, priors))
        at = mean.copy()
        at[blocks.bend_fixed] = priors.mean[blocks.bend_fixed]
        paths = cls(blocks, data, initial_state(blocks, data, replace(priors, mean=at)))
        paths._rough = 0
        return paths

    def iterate(self, priors: Priors, variances: Array, robust: bool, wandering: bool) -> Array:
        """One more round; what it found is in ``found, units, columns``, each row's path is given back."""
        if self._turn:
            self.state, _ = next_state(self.state, self.units, self._bend, self.data)
            if robust and self._turn > self._rough:
                self.noise_ratio = robust_noise_ratios(self.columns, self.data, self.units, self._noise)
        self._turn += 1
        self.columns, fitted = linearize(self.blocks, self.data, self.state, self.noise_ratio)
        self.found = evaluate(
            self.blocks, self.parts, self.columns, variances, priors.mean, priors.precision, False, wandering
        )
        self._bend, self._noise = float(self.found.mean[self.blocks.bend_fixed]), float(variances[0])
        self.units = posterior(self.blocks, self.columns, variances, self.found)
        return fitted

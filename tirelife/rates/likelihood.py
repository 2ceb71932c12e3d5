"""Restricted likelihood of the blocks' model, its gradient, and the posterior of every unit."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.blocks import VARIANCES, Blocks, Columns, Part
from tirelife.rates.moments import Moments, block_moments

__all__ = [
    "Evaluation",
    "Fixed",
    "Units",
    "add_local",
    "add_square",
    "evaluate",
    "in_turn",
    "local_cov",
    "posterior",
    "to_local",
]

Array = NDArray[np.float64]
_T = TypeVar("_T")
_U = TypeVar("_U")


@dataclass
class Evaluation:
    """The criterion at given variances, and the fixed effects there.

    ``criterion`` is -2 log restricted likelihood, the fixed effects' normal distribution included;
    ``gradient`` and ``information`` (average information, Gilmour, Thompson and Cullis 1995) are by the
    variances themselves.
    """

    criterion: float
    mean: Array  # (p,), with the bias of linearization taken off
    cov: Array  # (p, p)
    gradient: Array  # (9,)
    information: Array  # (9, 9)
    moments: list[Moments]


@dataclass
class Units:
    """Posterior of rows, units and blocks, in their order."""

    start: Array  # (units,)
    rate: Array  # (units,), log rate
    axle: Array  # (blocks,)
    effect: Array  # (blocks,), shift of the log rates
    effect_var: Array
    own: Array  # (units,), the unit's own part of its log rate
    own_var: Array
    # (units, 6 + h, 6 + h): start, log rate, axle, bend, terms of the block's walking log rate, then wander
    # at the last row and drift of the log rate there
    joint: Array
    wander: Array  # (units, 2), means of the last two
    # (units, 3), on average over those of the block seen last when it was: covariance of its log rate at the
    # block's end with theirs, of its depth at its last row with their log rates and vice versa, of the depths
    shared: Array
    habit: Array  # (blocks, h), means of the terms of the walking log rate
    residual: Array  # (rows,), residual of each row from the prediction that leaves it out
    residual_var: Array


def in_turn(work: Callable[[_T], _U], items: Sequence[_T]) -> list[_U]:
    """Work on parts side by side: nearly all the time goes into array code that lets other threads run."""
    threads = min(2, os.cpu_count() or 1)
    if threads < 2 or len(items) < 4:
        return [work(item) for item in items]
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(work, items))


def evaluate(
    blocks: Blocks,
    parts: Sequence[Part],
    columns: Columns,
    variances: Array,
    prior_mean: Array,
    prior_precision: Array,
    gradient: bool = True,
    wandering: bool = True,
) -> Evaluation:
    """Evaluate the criterion at given variances.

    Parameters
    ----------
    blocks, parts, columns
        The model.
    variances : ndarray, shape (9,)
        Variances, see :data:`~tirelife.rates.blocks.VARIANCES`.
    prior_mean, prior_precision : ndarray, shape (p,)
        Normal distribution of the fixed effects; precision 0 for a flat one.
    gradient : bool
        Work out gradient and information too (one more pass).
    wandering : bool
        Keep what the posterior of each unit's wandering needs.
    """
    p = blocks.fixed
    moments = in_turn(
        lambda part: block_moments(blocks, part, columns, variances, gradient, wandering), parts
    )
    normal, right, bias = np.zeros((p + 1, p + 1)), np.zeros(p + 1), np.zeros(p + 1)
    for found in moments:
        normal += add_square(found.part, found.cross, p)
        right += add_local(found.part, found.right, p)
        bias += add_local(found.part, found.bias, p)
    at = Fixed.solve(normal, right, prior_mean, prior_precision)
    mean, cov = at.mean, at.cov
    criterion = sum(found.log_det + found.square for found in moments)
    if any(math.isinf(found.square) for found in moments):
        raise np.linalg.LinAlgError("infinite")
    criterion += at.criterion + (len(blocks.row_unit) - int((prior_precision <= 0).sum())) * np.log(2 * np.pi)
    answer = mean - cov @ bias[:p]
    slope, information = np.zeros(len(VARIANCES)), np.zeros((len(VARIANCES), len(VARIANCES)))
    if gradient:
        through = np.zeros((len(VARIANCES), p + 1))
        for by, square, fixed in in_turn(lambda found: _slopes(blocks, found, columns, mean, cov), moments):
            slope += by
            information += square
            through += fixed
        information -= through[:, :p] @ cov @ through[:, :p].T
    return Evaluation(float(criterion), answer, cov, slope, information, moments)


@dataclass(frozen=True)
class Fixed:
    """The fixed effects, and what they add to the criterion."""

    mean: Array  # (p,)
    cov: Array  # (p, p)
    criterion: float

    @classmethod
    def solve(cls, normal: Array, right: Array, prior_mean: Array, prior_precision: Array) -> Fixed:
        """From X' V^-1 X and X' V^-1 z over all blocks, with one more effect for none, and the priors."""
        p = len(prior_mean)
        precision = normal[:p, :p] + np.diag(prior_precision)
        scale = 1 / np.sqrt(np.maximum(np.diag(precision), 1e-300))
        factor = np.linalg.cholesky(precision * scale[:, None] * scale[None, :])
        root = np.linalg.inv(factor) * scale
        cov = root.T @ root
        mean = cov @ (right[:p] + prior_precision * prior_mean)
        criterion = float(prior_mean @ (prior_precision * prior_mean) - mean @ precision @ mean)
        criterion += float(2 * np.log(np.diag(factor) / scale).sum())
        return cls(mean, cov, criterion - float(np.log(prior_precision[prior_precision > 0]).sum()))


def add_square(part: Part, cross: Array, p: int) -> Array:
    """Sum over a part's blocks of what is by pairs of local parameters, by pairs of fixed effects."""
    pick = cross[:, part.entry[:, None], part.entry[None, :]]
    if not part.plain:  # what has no fixed effect falls on the one for none
        pick = pick * part.value[:, :, None] * part.value[:, None, :]
    flat = part.fixed[:, :, None] * (p + 1) + part.fixed[:, None, :]
    total = np.bincount(flat.ravel(), pick.ravel(), minlength=(p + 1) ** 2)
    return np.asarray(total, dtype=float).reshape(p + 1, p + 1)


def add_local(part: Part, local: Array, p: int) -> Array:
    """Sum over a part's blocks of what is by local parameters, by fixed effects."""
    pick = local[:, part.entry] * part.value
    return np.asarray(np.bincount(part.fixed.ravel(), pick.ravel(), minlength=p + 1), dtype=float)


def to_local(part: Part, values: Array, m: int) -> Array:
    """Fixed effects summed onto each block's local parameters, shape (B, m)."""
    add = np.zeros((m, len(part.entry)))
    add[part.entry, np.arange(len(part.entry))] = 1.0
    return (np.append(values, 0.0)[part.fixed] * part.value) @ add.T


def local_cov(part: Part, cov: Array, m: int) -> Array:
    """Covariance of the fixed effects, as it falls on the local parameters, shape (B, m, m)."""
    p = len(cov)
    wide = np.zeros((p + 1, p + 1))
    wide[:p, :p] = cov
    add = np.zeros((len(part.entry), m))
    add[np.arange(len(part.entry)), part.entry] = 1.0
    pick = wide.take(part.fixed[:, :, None] * (p + 1) + part.fixed[:, None, :])
    if not part.plain:
        pick *= part.value[:, :, None] * part.value[:, None, :]
    return np.asarray(add.T @ (pick @ add))


def _slopes(
    blocks: Blocks, found: Moments, columns: Columns, mean: Array, cov: Array
) -> tuple[Array, Array, Array]:
    """A part's share of gradient, information, and the fixed effects' part of the information."""
    part, detail = found.part, found.detail
    assert detail is not None
    size, k, w, m = found.weighted.shape
    seen = part.occasions
    spread = found.spread = local_cov(part, cov, m)
    beta = to_local(part, mean, m)
    alpha = found.solved - (found.weighted.reshape(size, -1, m) @ beta[..., None]).reshape(size, k, w)
    noise_ratio = np.where(part.occasion < 0, 0.0, columns.noise_ratio[part.rows])
    # Diagonal blocks of P = V^-1 - V^-1 X S cov S' X' V^-1, one a unit.
    project = detail.shared @ detail.shared.copy().transpose(0, 1, 3, 2)
    project += found.weighted @ (spread[:, None] @ found.weighted.transpose(0, 1, 3, 2))
    np.subtract(detail.own, project, out=project)
    row = np.arange(w)
    inner = found.cross - found.cross @ spread @ found.cross  # X' P X
    pull = found.right - (found.cross @ beta[..., None])[..., 0]  # X' alpha
    even, odd = np.arange(k) * 2, np.arange(k) * 2 + 1
    walk, far = 2 * k + 1 + np.arange(len(columns.habit)), blocks.block_km[part.block]
    of_visit = detail.of_visits.sum() - np.sum(detail.visits @ spread * detail.visits)
    trace = np.array(
        [
            np.sum(noise_ratio * project[..., row, row]),
            of_visit,
            np.einsum("bkij,bkij->", detail.scatter, project),  # a product would start threads of its own
            np.einsum("bkij,bkij->", detail.drift, project),
            inner[:, even, even].sum(),
            inner[:, odd, odd].sum(),
            inner[:, odd[:, None], odd[None, :]].sum(),
            inner[:, 2 * k, 2 * k].sum(),
            np.sum(far[:, None] * inner[:, walk, walk]),
        ]
    )
    start, rate, axle = (getattr(columns, name)[part.rows] for name in ("start", "rate", "axle"))
    flat = (
        np.arange(size)[:, None, None] * (seen + 1) + np.where(part.occasion < 0, seen, part.occasion)
    ).ravel()
    of_visits = np.bincount(flat, alpha.ravel(), size * (seen + 1)).reshape(size, seen + 1)
    of_visits[:, seen] = 0.0
    walked = np.zeros((size, k, w))
    for j, column in zip(walk, columns.habit, strict=True):
        walked += column[part.rows] * (far * pull[:, j])[:, None, None]
    sides = np.stack(  # each kernel times alpha
        [
            noise_ratio * alpha,
            of_visits.ravel()[flat].reshape(size, k, w),
            (detail.scatter @ alpha[..., None])[..., 0],
            (detail.drift @ alpha[..., None])[..., 0],
            start * pull[:, even, None],
            rate * pull[:, odd, None],
            rate * pull[:, odd].sum(axis=1)[:, None, None],
            axle * pull[:, 2 * k][:, None, None],
            walked,
        ],
        axis=3,
    )
    slope = trace - alpha.ravel() @ sides.reshape(-1, len(VARIANCES))
    long = sides.reshape(size, k * w, -1)
    reached = detail.shared.reshape(size, k * w, -1).transpose(0, 2, 1) @ long
    square = _gram(sides, detail.own @ sides) - _gram(reached, reached)
    p = len(mean)
    back = found.weighted.reshape(size, k * w, m).transpose(0, 2, 1) @ long  # (B, m, 9)
    pick = back[:, part.entry, :] * part.value[..., None]
    through = np.stack(
        [
            np.bincount(part.fixed.ravel(), pick[..., j].ravel(), minlength=p + 1)
            for j in range(len(VARIANCES))
        ]
    )
    return np.asarray(slope, float), square, np.asarray(through, float)


def _gram(left: Array, right: Array) -> Array:
    """Sum of left' right over all but the last axis."""
    return np.asarray(left.reshape(-1, left.shape[-1]).T @ right.reshape(-1, right.shape[-1]))


def posterior(blocks: Blocks, columns: Columns, variances: Array, found: Evaluation) -> Units:
    """Posterior of each unit and block, the fixed effects' uncertainty included.

    Parameters
    ----------
    blocks, columns, variances
        As they went into ``found``.
    found : Evaluation
        Made without ``wandering``, it gives ``start, rate, axle, residual, residual_var`` alone: what the
        next linearization needs; all else is NaN.
    """
    rows, units, count = len(blocks.row_unit), len(blocks.unit_block), len(blocks.axle_fixed)
    walks = len(columns.habit)

    def blank(*shape: int) -> Array:
        return np.full(shape, np.nan)

    out = Units(
        start=blank(units + 1), rate=blank(units + 1), axle=blank(count), effect=blank(count),
        effect_var=blank(count), own=blank(units + 1), own_var=blank(units + 1), shared=blank(units + 1, 3),
        joint=blank(units + 1, 6 + walks, 6 + walks),
        wander=blank(units + 1, 2), habit=blank(count, walks), residual=blank(rows + 1),
        residual_var=blank(rows + 1),
    )  # fmt: skip
    # Each part has rows, units and blocks of its own; what is padded goes to the last place, and out.
    in_turn(lambda moments: _fill(blocks, columns, variances, found, moments, out), found.moments)
    for name in ("start", "rate", "own", "own_var", "joint", "wander", "shared", "residual", "residual_var"):
        setattr(out, name, getattr(out, name)[:-1])
    return out


def _fill(
    blocks: Blocks, columns: Columns, variances: Array, found: Evaluation, at: Moments, out: Units
) -> None:
    part = at.part
    size, k, w, m = at.weighted.shape
    scatter, drift, block, unit = variances[2], variances[3], variances[6], variances[5]
    beta = to_local(part, found.mean, m)
    spread = local_cov(part, found.cov, m) if at.spread is None else at.spread
    pull = at.right - at.bias - (at.cross @ beta[..., None])[..., 0]
    alpha = at.solved - (at.weighted.reshape(size, -1, m) @ beta[..., None]).reshape(size, k, w)
    local = beta + (at.prior @ pull[..., None])[..., 0]
    odd = np.arange(k) * 2 + 1
    out.start[part.units], out.rate[part.units] = local[:, 0 : 2 * k : 2], local[:, odd]
    out.axle[part.block] = local[:, 2 * k]
    loss = np.einsum("bkwm,bkwm->bkw", at.weighted @ spread[:, None], at.weighted)
    free = np.maximum(at.precision - loss, 1e-12)
    out.residual[part.rows], out.residual_var[part.rows] = alpha / free, 1 / free
    if at.wander is None:
        return
    keep = np.eye(m) - at.prior @ at.cross
    cov = at.prior - at.prior @ at.cross @ at.prior + keep @ spread @ keep.transpose(0, 2, 1)
    bend = m - 1
    out.habit[part.block] = local[:, 2 * k + 1 : bend]
    out.shared[part.units] = _shared(cov, odd, _deep(part, columns, m), _mates(part, len(blocks.unit_block)))
    inner = at.cross - at.cross @ spread @ at.cross
    out.effect[part.block] = block * pull[:, odd].sum(axis=1)
    out.effect_var[part.block] = block - block**2 * inner[:, odd[:, None], odd[None, :]].sum(axis=(1, 2))
    out.own[part.units] = unit * pull[:, odd]
    out.own_var[part.units] = unit - unit**2 * inner[:, odd, odd]
    # Wandering at the last row: its posterior, and with the local parameters.
    out.wander[part.units] = (at.wander.state * alpha[..., None]).sum(axis=2)
    clock = columns.clock[part.rows]
    end = np.take_along_axis(clock, np.maximum(part.last, 0)[..., None], axis=2)[..., 0]
    end = np.where(part.last >= 0, end, 0.0)
    wander = np.zeros((size, k, 2, 2))
    wander[..., 0, 0] = scatter * end + drift * end**3 / 3
    wander[..., 0, 1] = wander[..., 1, 0] = drift * end**2 / 2
    wander[..., 1, 1] = drift * end
    held = at.wander.held
    spread_held = spread[:, None] @ held
    wander += held.transpose(0, 1, 3, 2) @ spread_held - at.wander.within
    with_local = -at.prior[:, None] @ held - keep[:, None] @ spread_held  # (B, k, m, 2)
    column = np.arange(k)
    of_block = [2 * k, bend, *range(2 * k + 1, bend)]
    mine = np.column_stack([2 * column, 2 * column + 1, np.tile(of_block, (k, 1))])
    wide = mine.shape[1]
    joint = np.empty((size, k, wide + 2, wide + 2))
    joint[..., :wide, :wide] = cov[:, mine[:, :, None], mine[:, None, :]]
    cross = with_local[:, column[:, None], mine]
    joint[..., :wide, wide:], joint[..., wide:, :wide] = cross, cross.transpose(0, 1, 3, 2)
    joint[..., wide:, wide:] = wander
    out.joint[part.units] = joint


def _deep(part: Part, columns: Columns, m: int) -> Array:
    """Derivatives of each unit's depth at its last row by its block's local parameters, shape (B, k, m).

    One never read stands at its start.
    """
    size, k, _ = part.rows.shape
    last = np.take_along_axis(part.rows, np.maximum(part.last, 0)[..., None], axis=2)[..., 0]
    read = part.last >= 0
    unit, out = np.arange(k), np.zeros((size, k, m))
    out[:, unit, 2 * unit] = np.where(read, columns.start[last], 1.0)
    out[:, unit, 2 * unit + 1] = np.where(read, columns.rate[last], 0.0)
    out[:, :, 2 * k] = np.where(read, columns.axle[last], 0.0)
    for j, column in enumerate(columns.habit):
        out[:, :, 2 * k + 1 + j] = np.where(read, column[last], 0.0)
    return out


def _mates(part: Part, units: int) -> Array:
    """How much of a unit's mates each other one is, shape (B, k, k): those seen last when it was, where there
    are any; one never seen goes with those seen last of all.
    """
    last = np.take_along_axis(part.occasion, np.maximum(part.last, 0)[..., None], axis=2)[..., 0]
    last = np.where(part.last >= 0, last, last.max(axis=1, keepdims=True))
    real = part.units < units
    others = real[:, :, None] & real[:, None, :] & ~np.eye(real.shape[1], dtype=bool)
    beside = others & (last[:, :, None] == last[:, None, :])
    mates = np.where(beside.any(axis=2, keepdims=True), beside, others)
    return np.asarray(mates / np.maximum(mates.sum(axis=2, keepdims=True), 1))


def _shared(cov: Array, rate: NDArray[np.intp], deep: Array, weight: Array) -> Array:
    """What each unit shares with its mates on average, shape (B, k, 3): see ``Units.shared``.

    ``cov`` (B, m, m) of the local parameters; ``deep`` (B, k, m), derivatives of the depths; ``weight``
    (B, k, k), from :func:`_mates`. The log rate is that at the block's end.
    """
    k, m = deep.shape[1:]
    walk = 2 * k + 1 + np.arange(m - 2 * k - 2)
    order = np.arange(len(walk))
    by = np.zeros((len(cov), 2, k, m))
    by[:, 0, np.arange(k), rate] = 1.0
    by[:, 0, :, walk] = (np.sqrt(2) * np.sin((order + 0.5) * np.pi) / ((order + 0.5) * np.pi))[:, None, None]
    by[:, 1] = deep
    flat = by.reshape(len(cov), 2 * k, m)
    total = (flat @ cov @ flat.transpose(0, 2, 1)).reshape(len(cov), 2, k, 2, k)
    cross = (total[:, 0, :, 1] + total[:, 1, :, 0]) / 2
    parts = (total[:, 0, :, 0], cross, total[:, 1, :, 1])
    return np.stack([(part * weight).sum(axis=2) for part in parts], axis=2)

"""Covariance of each block's rows, inverted: all that the likelihood and the posteriors need of a part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.batches import inverse, lower_inverse
from tirelife.rates.blocks import Blocks, Columns, Part, common_of, kernels_of, noise_of, own_of, prior_of

__all__ = ["Detail", "Moments", "Root", "Wander", "block_moments", "root_of"]

Array = NDArray[np.float64]


@dataclass
class Moments:
    """What is needed of a part, given the variances: B blocks of k units of w rows, m = 2k + 2 + g + h.

    Local parameters are in the order of :func:`~tirelife.rates.blocks.design_of`; X is their design, V the
    covariance of a block's rows.
    """

    part: Part
    log_det: float
    square: float  # z' V^-1 z
    solved: Array  # (B, k, w), V^-1 z
    weighted: Array  # (B, k, w, m), V^-1 X
    cross: Array  # (B, m, m), X' V^-1 X
    right: Array  # (B, m), X' V^-1 z
    bias: Array  # (B, m), what linearization at the readings adds to it: see _linearization_bias
    prior: Array  # (B, m, m), covariance of the local parameters about their fixed effects
    precision: Array  # (B, k, w), diagonal of V^-1
    wander: Wander | None  # kept where posteriors are wanted
    detail: Detail | None  # kept where the gradient is wanted
    spread: Array | None = (
        None  # (B, m, m), covariance of the fixed effects on the local parameters; likewise
    )


@dataclass
class Wander:
    """How the rows bear on each unit's wandering at its last row."""

    state: Array  # (B, k, w, 2), their covariance
    held: Array  # (B, k, m, 2), X' V^-1 state
    within: Array  # (B, k, 2, 2), state' V^-1 state


@dataclass
class Detail:
    """The parts of V^-1 = M - F F', M of one unit's rows each, F of what units and visits share (r terms)."""

    own: Array  # (B, k, w, w), M
    shared: Array  # (B, k, w, r), F
    of_visits: Array  # (B,), trace of E' V^-1 E, E a column a visit
    visits: Array  # (B, T, m), E' V^-1 X
    scatter: Array  # (B, k, w, w), kernel of the scatter
    drift: Array  # (B, k, w, w), kernel of the drift


@dataclass(frozen=True)
class Root:
    """S of G = S S, the covariance of what rows share; only terms that vary are kept, the first r of T + m.

    S is symmetric and diagonal but for log rates, of which those of one block have ``together`` in common,
    and what they have in common with its log axle ratio, ``across``.
    """

    scale: Array  # (B, r)
    rates: slice  # of the r terms; the axle ratio comes after them
    together: Array  # (B,)
    across: Array | None  # (B,); None where there is nothing in common

    def after(self, matrices: Array) -> Array:
        """Matrices (B, n, r) times S."""
        out: Array = matrices * self.scale[:, None, :]
        if self.together.any():
            whole = matrices[:, :, self.rates].sum(axis=2, keepdims=True)
            out[:, :, self.rates] += self.together[:, None, None] * whole
            if self.across is not None:
                axle, across = self.rates.stop, self.across[:, None, None]
                out[:, :, self.rates] += across * matrices[:, :, axle : axle + 1]
                out[:, :, axle : axle + 1] += across * whole
        return out

    def around(self, matrices: Array) -> Array:
        """S times symmetric matrices (B, r, r) times S."""
        half = self.after(matrices)
        out: Array = half * self.scale[:, :, None]
        if self.together.any():
            whole = half[:, self.rates].sum(axis=1, keepdims=True)
            out[:, self.rates] += self.together[:, None, None] * whole
            if self.across is not None:
                axle, across = self.rates.stop, self.across[:, None, None]
                out[:, self.rates] += across * half[:, axle : axle + 1]
                out[:, axle : axle + 1] += across * whole
        return out


def root_of(blocks: Blocks, part: Part, columns: Columns, variances: Array) -> Root:
    """Root of the covariance of what rows share: visits, starts, log rates, log axle ratio, walking."""
    visit = variances[1]
    start, unit, block, axle, habit = variances[4:]
    size, k, _ = part.rows.shape
    seen = part.occasions
    scale = np.empty((size, seen + 2 * k + 1 + len(columns.habit)))
    scale[:, :seen] = np.sqrt(visit)
    scale[:, seen : seen + 2 * k : 2] = np.sqrt(start + np.append(blocks.start_extra, 0.0)[part.units])
    scale[:, seen + 1 : seen + 2 * k : 2] = np.sqrt(unit)
    scale[:, seen + 2 * k] = np.sqrt(axle)
    scale[:, seen + 2 * k + 1 :] = np.sqrt(habit * blocks.block_km[part.block])[:, None]
    together, across = np.full(size, (np.sqrt(unit + k * block) - np.sqrt(unit)) / k), None
    if blocks.own is not None:  # root of the square of what rates have in common and the ratio
        rate, ratio, both = blocks.own[part.block].T
        one, other, beside = unit + k * (block + rate), axle + ratio, np.sqrt(k) * both
        area = np.sqrt(np.maximum(one * other - beside**2, 0.0))
        norm = np.sqrt(np.maximum(one + other + 2 * area, 1e-300))
        together = ((one + area) / norm - np.sqrt(unit)) / k
        scale[:, seen + 2 * k] = (other + area) / norm
        across = beside / norm / np.sqrt(k)
    return Root(scale, slice(seen + 1, seen + 2 * k, 2), together, across)


def block_moments(
    blocks: Blocks,
    part: Part,
    columns: Columns,
    variances: Array,
    keep: bool = False,
    wandering: bool = True,
) -> Moments:
    """Covariance of each block's rows, inverted, and what follows from it.

    Parameters
    ----------
    blocks, part, columns
        The model.
    variances : ndarray, shape (9,)
        Variances in the order of :data:`~tirelife.rates.blocks.VARIANCES`.
    keep : bool
        Keep what the gradient needs.
    wandering : bool
        Work out what the posterior of the wandering needs.

    Notes
    -----
    V = A + U G U', where A couples the rows of one unit only (noise and wandering) and U holds what they
    share: a column a visit, and X. With M = A^-1, G = S S and N = I + S U' M U S = L L', V^-1 = M - F F'
    with F = M U S L'^-1, and no matrix is larger than a unit's rows or a block's visits and parameters.
    """
    scatter, drift = variances[2:4]
    size, k, w = part.rows.shape
    seen = part.occasions
    prior = prior_of(blocks, part, columns, variances)
    common = common_of(part, columns)  # U and z
    wide = common.shape[3]
    kernels = kernels_of(part, columns) if keep else None
    own, log_det, flat = _alone(part, columns, variances, common, kernels, not (keep or wandering))
    inner = common.reshape(size, k * w, wide).transpose(0, 2, 1) @ flat
    root = root_of(blocks, part, columns, variances)
    r = root.scale.shape[1]
    information = root.around(inner[:, :r, :r])
    row = np.arange(r)
    information[:, row, row] += 1
    lower = np.asarray(np.linalg.cholesky(information), dtype=float)
    log_det += 2 * float(np.log(lower[:, row, row]).sum())
    turn = root.after(lower_inverse(lower))  # L^-1 S
    shared = flat[:, :, :r] @ turn.transpose(0, 2, 1)  # F
    last = turn @ inner[:, :r, seen:]  # F' X and F' z
    both = shared @ last
    np.subtract(flat[:, :, seen:], both, out=both)  # V^-1 X and V^-1 z
    both = both.reshape(size, k, w, -1)
    weighted, solved = both[..., :-1], both[..., -1]
    of_all = inner[:, seen:, seen:] - last.transpose(0, 2, 1) @ last.copy()
    cross, right = of_all[:, :-1, :-1], of_all[:, :-1, -1]
    row = np.arange(w)
    alone = own[..., row, row] if own.ndim == 4 else own
    precision = alone - np.einsum("bij,bij->bi", shared, shared).reshape(size, k, w)
    bias = _linearization_bias(blocks, part, columns, variances, weighted)
    bias = bias - (cross @ (prior @ bias[..., None]))[..., 0]

    wander = None
    if wandering:
        slope, clock = columns.slope[part.rows], columns.clock[part.rows]
        end = np.take_along_axis(clock, np.maximum(part.last, 0)[..., None], axis=2)
        reach = np.where(part.occasion < 0, 0.0, -slope)
        state = np.empty((size, k, w, 2))
        state[..., 0] = reach * (scatter * clock + drift * clock**2 * (3 * end - clock) / 6)
        state[..., 1] = reach * drift * clock**2 / 2
        seen_by = shared.reshape(size, k, w, -1).transpose(0, 1, 3, 2) @ state
        within = state.transpose(0, 1, 3, 2) @ (own @ state) - seen_by.transpose(0, 1, 3, 2) @ seen_by
        wander = Wander(state, weighted.transpose(0, 1, 3, 2) @ state, within)
    detail = None
    if kernels is not None:
        of_visits = np.trace(inner[:, :seen, :seen], axis1=1, axis2=2)
        first = turn @ inner[:, :r, :seen]  # F' E
        of_visits = of_visits - np.einsum("bij,bij->b", first, first)
        visits = inner[:, :seen, seen:-1] - first.transpose(0, 2, 1) @ last[..., :-1]
        detail = Detail(own, shared.reshape(size, k, w, -1), of_visits, visits, *kernels)
    with np.errstate(over="ignore"):  # a prior at its limits; the criterion is then infinite, and refused
        square = float((common[..., -1] * solved).sum())
    return Moments(
        part, log_det, square, solved, weighted, cross, right, bias, prior, precision, wander, detail
    )


def _alone(
    part: Part,
    columns: Columns,
    variances: Array,
    common: Array,
    kernels: tuple[Array, Array] | None,
    may_be_flat: bool,
) -> tuple[Array, float, Array]:
    """A^-1, shape (B, k, w, w), the log determinants of A, and A^-1 times ``common``, (B, k w, T + m + 1).

    Where nothing wanders A is diagonal; only its diagonal, (B, k, w), is given back if it may be.
    """
    size, k, w, wide = common.shape
    if variances[2] or variances[3] or not may_be_flat:
        own, log_det = inverse(own_of(part, columns, variances, kernels))
        return own, log_det, (own @ common).reshape(size, k * w, wide)
    noise = noise_of(part, columns, variances)
    if not (noise > 0).all():
        raise np.linalg.LinAlgError("no noise")
    return 1 / noise, float(np.log(noise).sum()), (common / noise[..., None]).reshape(size, k * w, wide)


def _linearization_bias(
    blocks: Blocks, part: Part, columns: Columns, variances: Array, weighted: Array
) -> Array:
    """Slope of half the log determinant of a block's information, by its local parameters; shape (B, m).

    Paths are linearized where the readings put them, so a unit that read fast gets steep columns and a
    wide variance, and one that read slow narrow ones: taken as given, they make all starts too high and all
    rates too fast. Laplace's approximation of the likelihood (Tierney and Kadane 1986) has -log|H| / 2
    besides, with H = X' R^-1 X + G^-1, and H moves with the log rates: tr(C X' R^-1 dX), where C X' R^-1 is
    G X' V^-1. What a vehicle's walking rate and a tire's wandering take of V is left out: there the squares
    move alike.
    """
    k, m = part.rows.shape[1], weighted.shape[3]
    unit, block, axle = variances[5:8]
    walks, shared = len(columns.habit), len(columns.shared)
    rates, axles = columns.rate.take(part.rows), columns.axle.take(part.rows)
    # V^-1 X G
    all_rates = weighted[..., 1].copy()
    for i in range(1, k):
        all_rates += weighted[..., 2 * i + 1]
    to_rate, to_axle = block * all_rates, axle * weighted[..., 2 * k]
    for i in range(k):
        to_rate[:, i] += unit * weighted[:, i, :, 2 * i + 1]
    if blocks.own is not None:
        rate, ratio, both = blocks.own[part.block].T[:, :, None, None]
        to_rate += rate * all_rates + both * weighted[..., 2 * k]
        to_axle += ratio * weighted[..., 2 * k] + both * all_rates
    steep = rates * to_rate + axles * to_axle
    out = np.zeros((len(part.block), m))
    turns = [columns.turn[name].take(part.rows) for name in range(3)]
    out[:, 0 : 2 * k : 2] = (steep * turns[0]).sum(axis=2)
    out[:, 1 : 2 * k : 2] = (steep * turns[1]).sum(axis=2)
    out[:, 2 * k] = ((axles * to_rate + rates / 4 * to_axle) * turns[1]).sum(axis=(1, 2))
    bend = 2 * k + 1 + walks
    out[:, bend] = (steep * turns[2]).sum(axis=(1, 2))
    if shared:  # they move the clock, and with it the columns as a log rate would
        safe = np.where(np.abs(rates) > 1e-12, rates, 1.0)
        for j, column in enumerate(columns.shared):
            moved = np.where(np.abs(rates) > 1e-12, column[part.rows] / safe, 0.0)
            out[:, bend + 1 + j] = (steep * turns[1] * moved).sum(axis=(1, 2))
    return out

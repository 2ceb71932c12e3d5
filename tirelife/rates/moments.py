"""Covariance of each block's rows, inverted: all that the likelihood and the posteriors need of a part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.batches import inverse, lower_inverse
from tirelife.rates.blocks import Blocks, Columns, Part, common_of, kernels_of, own_of, prior_of

__all__ = ["Detail", "Moments", "Root", "Wander", "block_moments", "root_of"]

Array = NDArray[np.float64]


@dataclass
class Moments:
    """What is needed of a part, given the variances: B blocks of k units of w rows, m = 2k + 2 + g + h.

    Local parameters are each unit's start and log rate in turn, then the block's log axle ratio, the
    curvature, the effects that all rows share and the terms of its walking log rate; X is their design, V the
    covariance of a block's rows.
    """

    part: Part
    log_det: float
    square: float  # z' V^-1 z
    solved: Array  # (B, k, w), V^-1 z
    weighted: Array  # (B, k, w, m), V^-1 X
    cross: Array  # (B, m, m), X' V^-1 X
    right: Array  # (B, m), X' V^-1 z
    lean: Array  # (B, m), what straightening at the readings adds to it: see _lean
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
    """S of G = S S, the covariance of what rows share; only terms that vary are kept, r of the T + m.

    S is symmetric and diagonal but for log rates, of which those of one block have ``together`` in common,
    and what they have in common with its log axle ratio, ``across``.
    """

    varies: NDArray[np.int64]  # (r,), which of the T + m
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
        return self.after(self.after(matrices).transpose(0, 2, 1))


def root_of(blocks: Blocks, part: Part, columns: Columns, spreads: Array) -> Root:
    """Root of the covariance of what rows share: visits, starts, log rates, log axle ratio, walking."""
    visit = spreads[1]
    start, unit, block, axle, habit = spreads[4:]
    size, k, _ = part.rows.shape
    seen, walks = part.occasions, len(columns.habit)
    fixed = 1 + len(columns.shared)  # curvature, and what all rows share, do not vary
    varies = np.append(np.arange(seen + 2 * k + 1), np.arange(walks) + seen + 2 * k + 1 + fixed)
    scale = np.empty((size, len(varies)))
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
    return Root(varies, scale, slice(seen + 1, seen + 2 * k, 2), together, across)


def block_moments(
    blocks: Blocks,
    part: Part,
    columns: Columns,
    spreads: Array,
    keep: bool = False,
    wandering: bool = True,
) -> Moments:
    """Covariance of each block's rows, inverted, and what follows from it.

    Parameters
    ----------
    blocks, part, columns
        The model.
    spreads : ndarray, shape (9,)
        Variances in the order of :data:`~tirelife.rates.blocks.SPREADS`.
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
    scatter, drift = spreads[2:4]
    size, k, w = part.rows.shape
    seen, m = part.occasions, 2 * k + 2 + len(columns.shared) + len(columns.habit)
    wide = seen + m
    prior = prior_of(blocks, part, columns, spreads)
    slope, clock = columns.slope[part.rows], columns.clock[part.rows]
    by_scatter, by_drift = kernels_of(slope, clock)
    own, log_det = inverse(own_of(part, columns, spreads, by_scatter, by_drift))

    common = common_of(part, columns)
    design = common[..., seen:]
    flat, flat_common = (own @ common).reshape(size, k * w, wide), common.reshape(size, k * w, wide)
    inner = flat_common.transpose(0, 2, 1) @ flat
    root = root_of(blocks, part, columns, spreads)
    varies = root.varies
    told = root.around(inner[:, varies[:, None], varies])
    row = np.arange(len(varies))
    told[:, row, row] += 1
    lower = np.asarray(np.linalg.cholesky(told), dtype=float)
    log_det += 2 * float(np.log(lower[:, row, row]).sum())
    turn = root.after(lower_inverse(lower))  # L^-1 S
    shared = flat[:, :, varies] @ turn.transpose(0, 2, 1)  # F

    z = columns.response[part.rows]
    own_z = (own @ z[..., None])[..., 0]
    pull = (flat_common.transpose(0, 2, 1) @ own_z.reshape(size, -1, 1))[..., 0]
    turned = turn @ inner[:, varies]  # F' U
    last = turned[:, :, seen:]
    gone = (turn @ pull[:, varies, None])[..., 0]  # F' z
    solved = own_z - (shared @ gone[..., None]).reshape(size, k, w)
    weighted = (flat[..., seen:] - shared @ last).reshape(size, k, w, m)
    cross = inner[:, seen:, seen:] - last.transpose(0, 2, 1) @ last
    right = pull[:, seen:] - (last.transpose(0, 2, 1) @ gone[..., None])[..., 0]
    row = np.arange(w)
    precision = own[..., row, row] - np.einsum("bij,bij->bi", shared, shared).reshape(size, k, w)
    lean = _lean(part, columns, design, weighted, prior)
    lean = lean - (cross @ (prior @ lean[..., None]))[..., 0]

    wander = None
    if wandering:
        end = np.take_along_axis(clock, np.maximum(part.last, 0)[..., None], axis=2)
        reach = np.where(part.occasion < 0, 0.0, -slope)
        state = np.empty((size, k, w, 2))
        state[..., 0] = reach * (scatter * clock + drift * clock**2 * (3 * end - clock) / 6)
        state[..., 1] = reach * drift * clock**2 / 2
        seen_by = shared.reshape(size, k, w, -1).transpose(0, 1, 3, 2) @ state
        within = state.transpose(0, 1, 3, 2) @ (own @ state) - seen_by.transpose(0, 1, 3, 2) @ seen_by
        wander = Wander(state, weighted.transpose(0, 1, 3, 2) @ state, within)
    detail = None
    if keep:
        of_visits = np.trace(inner[:, :seen, :seen], axis1=1, axis2=2)
        of_visits = of_visits - np.einsum("bij,bij->b", turned[:, :, :seen], turned[:, :, :seen])
        visits = inner[:, :seen, seen:] - turned[:, :, :seen].transpose(0, 2, 1) @ last
        detail = Detail(own, shared.reshape(size, k, w, -1), of_visits, visits, by_scatter, by_drift)
    with np.errstate(over="ignore"):  # a prior at its limits; the criterion is then infinite, and refused
        square = float((z * solved).sum())
    return Moments(
        part, log_det, square, solved, weighted, cross, right, lean, prior, precision, wander, detail
    )


def _lean(part: Part, columns: Columns, design: Array, weighted: Array, prior: Array) -> Array:
    """Slope of half the log determinant of a block's information, by its local parameters; shape (B, m).

    Paths are straightened where the readings put them, so a unit that read fast gets steep columns and a
    wide variance, and one that read slow narrow ones: taken as given, they make all starts too high and all
    rates too fast. Laplace's approximation of the likelihood (Tierney and Kadane 1986) has -log|H| / 2
    besides, with H = X' R^-1 X + G^-1, and H moves with the log rates: tr(C X' R^-1 dX), where C X' R^-1 is
    G X' V^-1. What a vehicle's walking rate and a tire's wandering take of V is left out: there the squares
    move alike.
    """
    k, m = part.rows.shape[1], design.shape[3]
    reach = weighted @ prior[:, None]  # V^-1 X G
    rate = np.arange(k)
    rates, axles = columns.rate[part.rows], columns.axle[part.rows]
    to_rate, to_axle = reach[:, rate, :, 2 * rate + 1].transpose(1, 0, 2), reach[..., 2 * k]
    steep = rates * to_rate + axles * to_axle
    out = np.zeros((len(part.block), m))
    turns = [columns.turn[name][part.rows] for name in range(3)]
    out[:, 0 : 2 * k : 2] = (steep * turns[0]).sum(axis=2)
    out[:, 1 : 2 * k : 2] = (steep * turns[1]).sum(axis=2)
    out[:, 2 * k] = ((axles * to_rate + rates / 4 * to_axle) * turns[1]).sum(axis=(1, 2))
    out[:, 2 * k + 1] = (steep * turns[2]).sum(axis=(1, 2))
    if len(columns.shared):  # they move the clock, and with it the columns as a log rate would
        safe = np.where(np.abs(rates) > 1e-12, rates, 1.0)
        for j, column in enumerate(columns.shared):
            moved = np.where(np.abs(rates) > 1e-12, column[part.rows] / safe, 0.0)
            out[:, 2 * k + 2 + j] = (steep * turns[1] * moved).sum(axis=(1, 2))
    return out

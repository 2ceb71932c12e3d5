"""Linear mixed models in independent blocks: who belongs to whom, and the covariance of a block's readings.

A block (a vehicle) holds units (its tires) and occasions (its visits). Each unit has a start and a log rate
of its own; a block may shift the rates of all its units and the ratio of its two clocks (axles); all readings
of an occasion share an effect; each unit's path wanders. Blocks of about the same size are padded and worked
as one array, and no matrix is larger than a unit's rows or a block's visits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "ENTRIES",
    "VARIANCES",
    "Blocks",
    "Columns",
    "Part",
    "common_of",
    "design_of",
    "kernels_of",
    "noise_of",
    "own_of",
    "prior_of",
    "split",
    "wander_of",
]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

VARIANCES: Final = ("noise", "visit", "scatter", "drift", "start", "unit", "block", "axle", "habit")
"""Variances, in the order of every vector of them: of one reading; of what an occasion's readings share; of a
path's scatter per km of clock (Wiener) [km]; of the log rate's random walk [1/km]; of a start; of the log
rate of a unit; of a block; of the log ratio of a block's clocks; of the random walk of the log rate that a
block's units share [1/km]."""
ENTRIES: Final = 4
"""How many fixed effects one unit's log rate may have."""
_CHUNK_BYTES: Final = 2_000_000
_SETUP: Final = 3e6  # multiplications that handling one more part costs as much as


@dataclass(frozen=True)
class Blocks:
    """Who belongs to whom; units are sorted by block.

    Attributes
    ----------
    row_unit, row_occasion : ndarray, shape (rows,)
        Unit of each row, and its occasion, numbered from 0 within the block.
    unit_block : ndarray, shape (units,)
        Block of each unit; not falling.
    unit_fixed, unit_value : ndarray, shape (units, ENTRIES)
        Which fixed effects a unit's log rate has, and times what.
    start_fixed : ndarray, shape (units,)
        Fixed effect on a unit's start.
    start_extra : ndarray, shape (units,)
        Variance of an unknown start, on top of the common one.
    axle_fixed : ndarray, shape (blocks,)
        Fixed effect on the log ratio of the block's clocks.
    block_km : ndarray, shape (blocks,)
        Distance over which a block's log rate walks.
    bend_fixed : int
        The fixed effect that is the curvature.
    fixed : int
        How many fixed effects there are; this index itself means none.
    shared_fixed : ndarray, shape (g,)
        Fixed effects with a column of their own in every row (:class:`Columns`, ``shared``).
    own : ndarray, shape (blocks, 3), optional
        What a block's log rate and log axle ratio vary by beyond the common variances: variance of the rate,
        of the ratio, and their covariance. No part of the effects of blocks told apart (``Units.effect``).
    """

    row_unit: Index
    row_occasion: Index
    unit_block: Index
    unit_fixed: Index
    unit_value: Array
    start_fixed: Index
    start_extra: Array
    axle_fixed: Index
    block_km: Array
    bend_fixed: int
    fixed: int
    shared_fixed: Index = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    own: Array | None = None


@dataclass(frozen=True)
class Part:
    """B blocks of about the same size, padded to k units of w rows each, and to T occasions."""

    block: Index  # (B,)
    units: Index  # (B, k); padded with the number of units
    rows: Index  # (B, k, w); padded with the number of rows
    occasion: Index  # (B, k, w); -1 where padded
    occasions: int  # T
    last: Index  # (B, k), place of each unit's last row; -1 where it has none
    entry: Index  # (E,), local parameter of each entry of ``fixed``; under 0 counted from the last one
    fixed: Index  # (B, E), fixed effect of each entry
    value: Array  # (B, E), times what
    plain: bool  # all of ``value`` are 1, but for entries that have no fixed effect


@dataclass(frozen=True)
class Columns:
    """The model linearized about the present paths; a value a row, and one more at the end for padding.

    ``response`` is the working response; ``start, rate, axle, bend`` the derivatives of the path by the
    unit's start and log rate, the block's log axle ratio and the curvature; ``slope`` the loss per km of
    ``clock``; ``noise_ratio`` the noise variance of the row as a multiple of the common one, ``doubt`` what
    it has besides; ``turn`` the derivatives of log ``rate`` by start, log rate and curvature, shape (3,
    rows), 0 where a path is straight in its rate; ``shared``, shape (g, rows), the derivatives by effects
    that all rows have in common.
    """

    response: Array
    start: Array
    rate: Array
    axle: Array
    bend: Array
    slope: Array
    clock: Array
    noise_ratio: Array
    turn: Array
    habit: Array
    doubt: Array
    shared: Array = field(default_factory=lambda: np.zeros((0, 0)))


def split(blocks: Blocks) -> list[Part]:
    """Sort blocks by size and pad them into parts that fit the cache; rows keep their order."""
    count = len(blocks.axle_fixed)
    rows, units = len(blocks.row_unit), len(blocks.unit_block)
    row_count = np.bincount(blocks.row_unit, minlength=units)
    first_row = np.concatenate([[0], np.cumsum(row_count)])
    order = np.append(np.argsort(blocks.row_unit, kind="stable"), rows)
    unit_count = np.bincount(blocks.unit_block, minlength=count)
    first_unit = np.concatenate([[0], np.cumsum(unit_count)])
    row_block = blocks.unit_block[blocks.row_unit]
    local = blocks.row_occasion - np.append(_first(blocks.row_occasion, row_block, count), 0)[row_block]
    most, widest = np.zeros(count, int), np.ones(count, int)
    np.maximum.at(most, row_block, local + 1)
    np.maximum.at(widest, blocks.unit_block, row_count)
    sizes, which = np.unique(np.column_stack([unit_count, widest, most]), axis=0, return_inverse=True)
    members = np.split(np.argsort(which, kind="stable"), np.cumsum(np.bincount(which))[:-1])
    local = np.append(local, -1)
    parts = []
    for group, (k, w, seen) in _gather(sizes, members):
        here = np.arange(k) < unit_count[group][:, None]
        unit = np.where(here, first_unit[group][:, None] + np.arange(k), units)
        have = np.append(row_count, 0)[unit]
        real = np.arange(w) < have[..., None]
        index = order[np.where(real, np.append(first_row[:-1], rows)[unit][..., None] + np.arange(w), rows)]
        parts.append(
            Part(group, unit, index, local[index], seen, have - 1, *_entries(blocks, group, unit, k))
        )
    return parts


def _first(occasion: Index, block: Index, count: int) -> Index:
    """Lowest number of an occasion in each block."""
    out = np.full(count, np.iinfo(np.int64).max)
    np.minimum.at(out, block, occasion)
    return out


def _cost(k: int, w: int, seen: int) -> float:
    """Multiplications that a block of a size takes, roughly."""
    wide = seen + 2 * k + 2
    return float(k * w * w * (w + wide) + k * w * wide * wide + wide**3)


def _gather(sizes: Index, members: list[Index]) -> Iterator[tuple[Index, tuple[int, int, int]]]:
    """Join sizes while padding costs less than another part would, and cut what is too large."""
    costs = [_cost(*size) for size in sizes]
    taken: list[int] = []
    for i in [*np.argsort(costs, kind="stable"), -1]:
        joined = [*taken, i]
        if i >= 0:
            top = sizes[joined].max(axis=0)
            spent = sum(len(members[j]) * (_cost(*top) - costs[j]) for j in joined)
        if i >= 0 and (not taken or spent < _SETUP + 0.3 * sum(len(members[j]) * costs[j] for j in joined)):
            taken = joined
            continue
        if taken:
            k, w, seen = (int(v) for v in sizes[taken].max(axis=0))
            group = np.concatenate([members[j] for j in taken])
            step = max(1, _CHUNK_BYTES // (8 * k * w * (seen + 2 * k + 2 + w)))
            for at in range(0, len(group), step):
                yield group[at : at + step], (k, w, seen)
        taken = [i]


def _entries(blocks: Blocks, group: Index, unit: Index, k: int) -> tuple[Index, Index, Array, bool]:
    """Which fixed effects each local parameter has, as flat lists."""
    pad = len(blocks.unit_block)
    none = np.full((1, ENTRIES), blocks.fixed)
    of_rate = np.concatenate([blocks.unit_fixed, none])[unit]
    value = np.concatenate([blocks.unit_value, np.zeros((1, ENTRIES))])[unit]
    of_start = np.append(blocks.start_fixed, blocks.fixed)[unit]
    size = len(group)
    shared = len(blocks.shared_fixed)
    # Between a block's axles and the curvature lie the terms of its walk, which have no fixed effects.
    entry = np.concatenate(
        [np.arange(k) * 2, np.repeat(np.arange(k) * 2 + 1, ENTRIES), [2 * k], np.arange(-1 - shared, 0)]
    )
    fixed = np.column_stack(
        [
            of_start,
            of_rate.reshape(size, -1),
            blocks.axle_fixed[group],
            np.full(size, blocks.bend_fixed),
            np.tile(blocks.shared_fixed, (size, 1)),
        ]
    )
    times = np.column_stack([(unit < pad) * 1.0, value.reshape(size, -1), np.ones((size, 2 + shared))])
    times = np.where(fixed < blocks.fixed, times, 0.0)
    used = (times != 0).any(axis=0)  # most rates have fewer fixed effects than they may
    fixed, times = np.ascontiguousarray(fixed[:, used]), np.ascontiguousarray(times[:, used])
    return entry[used], fixed, times, bool(((times == 1) | (fixed == blocks.fixed)).all())


def design_of(part: Part, columns: Columns) -> Array:
    """X of every block, shape (B, k, w, m).

    Local parameters are each unit's start and log rate in turn, then the block's log axle ratio, the terms of
    its walking log rate, the curvature and the effects that all rows share: the last two do not vary.
    """
    return common_of(part, columns)[..., part.occasions : -1]


def common_of(part: Part, columns: Columns) -> Array:
    """U, what the rows of every block share, and the response, shape (B, k, w, T + m + 1).

    A column a visit, the design, the response.
    """
    size, k, w = part.rows.shape
    seen = part.occasions
    late = (columns.axle, *columns.habit, columns.bend, *columns.shared, columns.response)
    common = np.zeros((size, k, w, seen + 2 * k + len(late)))
    real = np.flatnonzero(part.occasion >= 0)
    common.reshape(-1)[real * common.shape[3] + part.occasion.ravel()[real]] = 1.0
    start, rate = columns.start.take(part.rows), columns.rate.take(part.rows)
    for unit in range(k):
        common[:, unit, :, seen + 2 * unit] = start[:, unit]
        common[:, unit, :, seen + 2 * unit + 1] = rate[:, unit]
    for j, column in enumerate(late):
        common[..., seen + 2 * k + j] = column.take(part.rows)
    return common


def prior_of(blocks: Blocks, part: Part, columns: Columns, variances: Array) -> Array:
    """Covariance of every block's local parameters about their fixed effects, shape (B, m, m)."""
    start, unit, block, axle, habit = variances[4:]
    size, k, _ = part.rows.shape
    m = 2 * k + 2 + len(columns.shared) + len(columns.habit)
    prior = np.zeros((size, m, m))
    pair = np.arange(k) * 2
    prior[:, pair, pair] = start + np.append(blocks.start_extra, 0.0)[part.units]
    prior[:, 1 : 2 * k : 2, 1 : 2 * k : 2] = block
    prior[:, pair + 1, pair + 1] += unit
    prior[:, 2 * k, 2 * k] = axle
    walk = 2 * k + 1 + np.arange(len(columns.habit))
    prior[:, walk, walk] = habit * blocks.block_km[part.block][:, None]
    if blocks.own is not None:
        rate, ratio, both = blocks.own[part.block].T
        odd = pair + 1
        prior[:, odd[:, None], odd] += rate[:, None, None]
        prior[:, 2 * k, 2 * k] += ratio
        prior[:, odd, 2 * k] = prior[:, 2 * k, odd] = both[:, None]
    return prior


def noise_of(part: Part, columns: Columns, variances: Array) -> Array:
    """Variance of each row by noise alone, shape (B, k, w); 1 where padded."""
    noise = variances[0] * columns.noise_ratio.take(part.rows) + columns.doubt.take(part.rows)
    return np.where(part.occasion < 0, 1.0, noise)


def own_of(
    part: Part, columns: Columns, variances: Array, kernels: tuple[Array, Array] | None = None
) -> Array:
    """A, the covariance of each unit's rows by noise and wandering alone, shape (B, k, w, w).

    ``kernels``: from :func:`kernels_of`, where they are known.
    """
    if kernels is None:
        own = wander_of(
            columns.slope.take(part.rows), columns.clock.take(part.rows), variances[2], variances[3]
        )
    else:
        own = variances[3] * kernels[1]
        own += variances[2] * kernels[0]
    row = np.arange(part.rows.shape[2])
    own[..., row, row] += noise_of(part, columns, variances)
    return own


def wander_of(slope: Array, clock: Array, scatter: float, drift: float) -> Array:
    """Covariance of the rows of each unit for being of one wandering path, shape (B, k, w, w).

    Parameters
    ----------
    slope, clock : ndarray, shape (B, k, w)
    scatter, drift : float
        Variances of both kinds of wandering.
    """
    early = np.minimum(clock[..., :, None], clock[..., None, :])
    # A random walk's integral: cov(s, t) = s^2 (3 t - s) / 6 for s <= t, and 3 t - s = 3 (s + t) - 4 s.
    own = early * (-2 / 3 * drift)
    half = clock * (drift / 2)
    own += half[..., :, None]
    own += half[..., None, :]
    own *= early
    own += scatter
    own *= early
    own *= slope[..., :, None]
    own *= slope[..., None, :]
    return own


def kernels_of(part: Part, columns: Columns) -> tuple[Array, Array]:
    """:func:`wander_of` of each kind of wandering by itself, variance 1."""
    slope, clock = columns.slope.take(part.rows), columns.clock.take(part.rows)
    early = np.minimum(clock[..., :, None], clock[..., None, :])
    scatter = slope[..., :, None] * slope[..., None, :]
    scatter *= early
    drift = early * (-2 / 3)
    drift += (clock / 2)[..., :, None]
    drift += (clock / 2)[..., None, :]
    drift *= early
    drift *= scatter
    return scatter, drift

"""Linear mixed models in independent blocks: who belongs to whom, and the covariance of a block's readings.

A block (a vehicle) holds units (its tires) and occasions (its visits). Each unit has a start and a log rate
of its own; a block may shift the rates of all its units and the ratio of its two clocks (axles); all readings
of an occasion lean alike; and each unit's path wanders. Blocks of about the same size are padded and worked
as one array.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["ENTRIES", "SPREADS", "Blocks", "Columns", "Moments", "Part", "block_moments", "split"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

SPREADS: Final = ("noise", "visit", "scatter", "drift", "start", "unit", "block", "axle")
"""Variances, in the order of every vector of them: of one reading; of what an occasion's readings share; of a
path's scatter per km of clock (Wiener) [km]; of the log rate's random walk [1/km]; of a start; of the log rate of a unit;
of a block; of the log ratio of a block's clocks."""
ENTRIES: Final = 4
"""How many fixed effects one unit's log rate may have."""
_CHUNK_BYTES: Final = 12_000_000


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
    bend_fixed : int
        The fixed effect that is the curvature.
    fixed : int
        How many fixed effects there are; this index itself means none.
    """

    row_unit: Index
    row_occasion: Index
    unit_block: Index
    unit_fixed: Index
    unit_value: Array
    start_fixed: Index
    start_extra: Array
    axle_fixed: Index
    bend_fixed: int
    fixed: int


@dataclass(frozen=True)
class Part:
    """B blocks of about the same size, padded to n rows and k units each."""

    block: Index  # (B,)
    rows: Index  # (B, n); padded with the number of rows
    units: Index  # (B, k); padded with the number of units
    place: Index  # (B, n), unit of the row within its block; -1 where padded
    occasion: Index  # (B, n); -1 where padded
    entry: Index  # (E,), local parameter of each entry of ``fixed``
    fixed: Index  # (B, E), fixed effect of each entry
    value: Array  # (B, E), times what
    last: Index  # (B, k), column of each unit's last row; -1 where it has none


@dataclass(frozen=True)
class Columns:
    """The model straightened about the present paths; a value a row, and one more at the end for padding.

    ``response`` is the working response; ``start, rate, axle, bend`` the derivatives of the path by the unit's
    start and log rate, the block's log axle ratio and the curvature; ``slope`` the loss per km of ``clock``; ``share``
    the noise variance of the row as a multiple of the common one.
    """

    response: Array
    start: Array
    rate: Array
    axle: Array
    bend: Array
    slope: Array
    clock: Array
    share: Array


@dataclass
class Moments:
    """What is needed of a part, given the variances: B blocks, m = 2k + 2 local parameters.

    Local parameters are each unit's start and log rate in turn, then the log axle ratio and the curvature.
    """

    part: Part
    log_det: float
    square: float  # z' V^-1 z
    solved: Array  # (B, n), V^-1 z
    weighted: Array  # (B, n, m), V^-1 X
    cross: Array  # (B, m, m), X' V^-1 X
    right: Array  # (B, m), X' V^-1 z
    prior: Array  # (B, m, m), covariance of the local parameters about their fixed effects
    precision: Array  # (B, n), diagonal of V^-1
    state: Array  # (B, n, 2k), covariance of the rows with each unit's wandering at its last row
    within: Array  # (B, k, 2, 2), what the rows take from the variance of that wandering
    inverse: Array | None = None  # (B, n, n), kept only where the gradient is wanted
    kernels: Array | None = None  # (3, B, n, n): visit, scatter, drift


def split(blocks: Blocks, wanted: Index | None = None, chunk_bytes: int = _CHUNK_BYTES) -> list[Part]:
    """Sort blocks by size and pad them into parts that fit the cache.

    Parameters
    ----------
    blocks : Blocks
    wanted : ndarray of int, optional
        Blocks to take; all by default.
    chunk_bytes : int
        Most bytes that one matrix per block may take in a part.
    """
    count = len(blocks.axle_fixed)
    rows, units = len(blocks.row_unit), len(blocks.unit_block)
    row_block = blocks.unit_block[blocks.row_unit]
    row_count = np.bincount(row_block, minlength=count)
    unit_count = np.bincount(blocks.unit_block, minlength=count)
    first_unit = np.concatenate([[0], np.cumsum(unit_count)])
    first_row = np.concatenate([[0], np.cumsum(row_count)])
    order = np.append(np.argsort(row_block, kind="stable"), rows)
    chosen = np.arange(count) if wanted is None else wanted
    chosen = chosen[np.lexsort((unit_count[chosen], row_count[chosen]))]
    parts, at = [], 0
    while at < len(chosen):
        low = int(row_count[chosen[at]])
        width = low + max(2, low // 8)
        most = at + max(1, chunk_bytes // (8 * width * width))
        end = min(most, at + int(np.searchsorted(row_count[chosen[at:]], width, side="right")))
        group = chosen[at:end]
        at = end
        n, k = max(int(row_count[group].max()), 1), int(unit_count[group].max())
        real = np.arange(n) < row_count[group][:, None]
        index = order[np.where(real, first_row[group][:, None] + np.arange(n), rows)]
        inside = np.minimum(index, rows - 1) if rows else index
        place = (
            np.where(real, blocks.row_unit[inside] - first_unit[group][:, None], -1)
            if rows
            else index * 0 - 1
        )
        occasion = np.where(real, blocks.row_occasion[inside], -1) if rows else index * 0 - 1
        here = np.arange(k) < unit_count[group][:, None]
        unit = np.where(here, first_unit[group][:, None] + np.arange(k), units)
        last = np.full((len(group), k), -1)
        for column in range(n):  # rows are in order of time, so the last one written stays
            some = np.flatnonzero(place[:, column] >= 0)
            last[some, place[some, column]] = column
        parts.append(Part(group, index, unit, place, occasion, *_entries(blocks, group, unit, k), last))
    return parts


def _entries(blocks: Blocks, group: Index, unit: Index, k: int) -> tuple[Index, Index, Array]:
    """Which fixed effects each local parameter has, as flat lists."""
    pad = len(blocks.unit_block)
    none = np.full((1, ENTRIES), blocks.fixed)
    of_rate = np.concatenate([blocks.unit_fixed, none])[unit]
    value = np.concatenate([blocks.unit_value, np.zeros((1, ENTRIES))])[unit]
    of_start = np.append(blocks.start_fixed, blocks.fixed)[unit]
    size = len(group)
    entry = np.concatenate([np.arange(k) * 2, np.repeat(np.arange(k) * 2 + 1, ENTRIES), [2 * k, 2 * k + 1]])
    fixed = np.column_stack(
        [
            of_start,
            of_rate.reshape(size, -1),
            blocks.axle_fixed[group],
            np.full(size, blocks.bend_fixed),
        ]
    )
    times = np.column_stack([(unit < pad) * 1.0, value.reshape(size, -1), np.ones((size, 2))])
    return entry, fixed, np.where(fixed < blocks.fixed, times, 0.0)


def block_moments(
    blocks: Blocks, part: Part, columns: Columns, spreads: Array, keep: bool = False
) -> Moments:
    """Covariance of each block's rows, inverted, and what follows from it.

    Parameters
    ----------
    blocks, part, columns
        The model.
    spreads : ndarray, shape (8,)
        Variances in the order of :data:`SPREADS`.
    keep : bool
        Keep the inverse and the kernels, as the gradient needs them.
    """
    noise, visit, scatter, drift, start, unit, block, axle = spreads
    size, n = part.rows.shape
    k = part.units.shape[1]
    m = 2 * k + 2
    design = np.zeros((size, n, m))
    at = np.arange(size)[:, None], np.arange(n)[None, :]
    place = np.maximum(part.place, 0)
    design[*at, 2 * place] = columns.start[part.rows]
    design[*at, 2 * place + 1] = columns.rate[part.rows]
    design[..., 2 * k] = columns.axle[part.rows]
    design[..., 2 * k + 1] = columns.bend[part.rows]
    prior = np.zeros((size, m, m))
    diagonal = np.arange(k)
    extra = np.append(blocks.start_extra, 0.0)[part.units]
    prior[:, 2 * diagonal, 2 * diagonal] = start + extra
    prior[:, 1 : 2 * k : 2, 1 : 2 * k : 2] = block
    prior[:, 2 * diagonal + 1, 2 * diagonal + 1] += unit
    prior[:, 2 * k, 2 * k] = axle

    same = part.place[:, :, None] == part.place[:, None, :]
    slope, clock = columns.slope[part.rows], columns.clock[part.rows]
    both = np.where(same, slope[:, :, None] * slope[:, None, :], 0.0)
    early = np.minimum(clock[:, :, None], clock[:, None, :])
    by_scatter = both * early
    # A random walk's integral: cov(s, t) = s^2 (3 t - s) / 6 for s <= t.
    by_drift = by_scatter * early * (3 * np.maximum(clock[:, :, None], clock[:, None, :]) - early) / 6
    by_visit = (part.occasion[:, :, None] == part.occasion[:, None, :]).astype(float)
    padded = part.place < 0
    by_visit[padded] = 0.0
    total = design @ (prior @ design.transpose(0, 2, 1))
    total += scatter * by_scatter + drift * by_drift + visit * by_visit
    total[:, np.arange(n), np.arange(n)] += np.where(padded, 1.0, noise * columns.share[part.rows])

    factor = np.linalg.cholesky(total)
    log_det = 2 * float(np.log(factor[:, np.arange(n), np.arange(n)]).sum())
    inverse = np.linalg.inv(total)
    z = columns.response[part.rows]
    solved = (inverse @ z[..., None])[..., 0]
    weighted = inverse @ design
    state = np.zeros((size, n, 2 * k))
    latest = np.take_along_axis(clock, np.maximum(part.last, 0), axis=1)
    end = np.take_along_axis(latest, place, axis=1)
    reach = -slope * np.where(padded, 0.0, 1.0)
    state[*at, 2 * place] = reach * (scatter * clock + drift * clock**2 * (3 * end - clock) / 6)
    state[*at, 2 * place + 1] = reach * drift * clock**2 / 2
    four = (size, n, k, 2)
    within = np.einsum("bnki,bnkj->bkij", state.reshape(four), (inverse @ state).reshape(four))
    return Moments(
        part, log_det, float((z * solved).sum()), solved, weighted,
        design.transpose(0, 2, 1) @ weighted, (design * solved[..., None]).sum(axis=1), prior,
        inverse[:, np.arange(n), np.arange(n)], state, within,
        inverse if keep else None, np.stack([by_visit, by_scatter, by_drift]) if keep else None,
    )  # fmt: skip

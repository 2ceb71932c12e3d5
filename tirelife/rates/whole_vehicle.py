"""The joint normal of all tires of one vehicle: what a further visit of that vehicle is weighed against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tirelife.rates.blocks import (
    Columns,
    common_of,
    design_of,
    own_of,
    prior_of,
    split,
)
from tirelife.rates.likelihood import local_cov
from tirelife.rates.tables import WALK, last_seen_of
from tirelife.rates.wearing import subset

if TYPE_CHECKING:
    from tirelife.rates.tables import Found

__all__ = ["Together", "together"]

Array = NDArray[np.float64]
_OF_ROWS = tuple(one.name for one in fields(Columns) if one.name != "shared")


@dataclass(frozen=True, eq=False)
class Together:
    """The tires of a vehicle at their last readings, the curvature held.

    Attributes
    ----------
    mean : ndarray, shape (2 n + 1,)
        Depths [mm]; logs of the wear per reference km on an axle of mean wear, there [mm/km]; log ratio of
        the axles, front over rear.
    cov : ndarray, shape (2 n + 1, 2 n + 1)
    start : ndarray, shape (n,)
        Depth that each started from. [mm]
    """

    mean: Array
    cov: Array
    start: Array

    def widened(self, factor: float) -> Together:
        """With all but the depths known ``factor`` times less surely."""
        size = len(self.start)
        by = np.append(np.ones(size), np.full(size + 1, factor))
        return replace(self, cov=self.cov * by[:, None] * by)


def together(found: Found, vehicle_id: str, tire_ids: Sequence[str]) -> Together | None:
    """Joint distribution of some tires of a vehicle; None where one of them was last read on another vehicle.

    Notes
    -----
    With t what is asked for and y the readings of the block, ``cov t - C V^-1 C' + K S K'`` with C their
    covariance, V that of y, S that of the fixed effects and ``K = dt/db - C V^-1 X``: all of it dense, since
    one vehicle has few readings. The means are those of the fit.
    """
    names = found.names.table["tire_id"].tolist()
    at = [names.index(tire) if tire in names else -1 for tire in tire_ids]
    fleet = found.names.fleet["vehicle_id"].tolist()
    if vehicle_id not in fleet or min(at, default=-1) < 0:
        return None
    block = fleet.index(vehicle_id)
    mine = np.flatnonzero(found.blocks.unit_block == block)
    if not set(at) <= set(mine.tolist()):
        return None
    place = np.searchsorted(mine, at)
    cov = _joint(found, block)
    seen, size = last_seen_of(found), len(mine)
    wide = 2 * size + 2 + WALK
    by = np.zeros((2 * len(at) + 1, len(cov)))
    for i, (unit, local) in enumerate(zip(at, place, strict=True)):
        of_block = [2 * size, wide - 1, *range(2 * size + 1, wide - 1)]  # axle, bend, walk
        to = [2 * local, 2 * local + 1, *of_block, wide + 2 * local, wide + 2 * local + 1]
        by[i, to], by[len(at) + i, to] = seen.by[unit, 0], seen.by[unit, 1]
    by[-1, 2 * size] = 1.0
    by[:, wide - 1] = 0.0
    mean = np.concatenate([seen.depth[at], seen.log_wear[at], [found.units.axle[block]]])
    return Together(mean, by @ cov @ by.T, seen.start[at])


def _joint(found: Found, block: int) -> Array:
    """Covariance of a block's local parameters, then of each unit's wander and drift at its last row."""
    blocks, _ = subset(found.blocks, found.data, np.array([block]))
    row = np.flatnonzero(found.blocks.unit_block[found.blocks.row_unit] == block)
    row = np.append(row, len(found.blocks.row_unit))
    columns = Columns(*(getattr(found.columns, name)[..., row] for name in _OF_ROWS))
    [part] = split(blocks)
    variances, scatter, drift = found.estimate.variances, *found.estimate.variances[2:4]
    clock, slope = columns.clock[part.rows], columns.slope[part.rows]
    own = own_of(part, columns, variances)[0]
    prior = prior_of(blocks, part, columns, variances)
    common = common_of(part, columns)[0, ..., :-1].reshape(own.shape[0] * own.shape[1], -1)
    shared = _along_diagonal(variances[1] * np.eye(part.occasions), prior[0])
    v = _along_diagonal(*own) + common @ shared @ common.T
    design = design_of(part, columns)[0].reshape(len(v), -1)
    size, width = part.rows.shape[1:]
    end = np.where(
        part.last[0] >= 0, np.take_along_axis(clock[0], np.maximum(part.last[0], 0)[:, None], 1)[:, 0], 0.0
    )
    reach = np.where(part.occasion[0] < 0, 0.0, -slope[0])
    state = np.zeros((2 * size, len(v)))
    for i in range(size):
        here, to = clock[0, i], slice(i * width, (i + 1) * width)
        state[2 * i, to] = reach[i] * (scatter * here + drift * here**2 * (3 * end[i] - here) / 6)
        state[2 * i + 1, to] = reach[i] * drift * here**2 / 2
    walk = [
        np.array([[scatter * x + drift * x**3 / 3, drift * x**2 / 2], [drift * x**2 / 2, drift * x]])
        for x in end
    ]
    cross = np.vstack([prior[0] @ design.T, state])
    gain = cross @ np.linalg.inv(v)
    fixed = found.result.cov.copy()
    fixed[blocks.bend_fixed, :] = fixed[:, blocks.bend_fixed] = 0.0
    spread = local_cov(part, fixed, len(prior[0]))[0]
    keep = np.vstack([np.eye(len(prior[0])), np.zeros((2 * size, len(prior[0])))]) - gain @ design
    return np.asarray(_along_diagonal(prior[0], *walk) - gain @ cross.T + keep @ spread @ keep.T)


def _along_diagonal(*matrices: Array) -> Array:
    """Square matrices along the diagonal of one, nothing between them."""
    ends = np.cumsum([len(one) for one in matrices])
    out = np.zeros((ends[-1], ends[-1]))
    for one, end in zip(matrices, ends, strict=True):
        out[end - len(one) : end, end - len(one) : end] = one
    return out

"""Depths as a block a visit: four wheels, each the mean of its grooves, and what its tire has run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tirelife.logbook.chain import DAY, NEVER, Chain, distinct, tire_at
from tirelife.logbook.depthrows import depth_rows
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import GROOVES
from tirelife.positions import OFF, POSITIONS, ROAD, SPARE
from tirelife.units import convert

__all__ = ["STEPS", "WHEELS", "Visits", "off_halves", "visits_of"]

WHEELS = len(ROAD)
STEPS = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.01)
"""Steps that gauges are taken to have, in their unit."""


@dataclass(frozen=True)
class Visits:
    """Visits in order of vehicle and moment; arrays of shape (visits, wheels) but where said.

    ``life`` numbers a tire's stay on one vehicle, -1 where no tire is known or none was read; ``depth`` is
    the mean of the groove means [mm] and NaN there; ``run`` what the tire has run [km]; ``new`` its new depth
    [mm], NaN where it is not known; ``grooves`` how many were read.
    """

    vehicle: NDArray[np.intp]  # (visits,)
    day: NDArray[np.int64]  # (visits,)
    km: NDArray[np.float64]  # (visits,)
    moved: NDArray[np.bool_]  # (visits,) tires were mounted or moved that day
    life: NDArray[np.intp]
    depth: NDArray[np.float64]
    run: NDArray[np.float64]
    new: NDArray[np.float64]
    grooves: NDArray[np.intp]
    records: NDArray[np.intp]  # (readings,) records used, and below the visit of each
    visit: NDArray[np.intp]
    off_halves: NDArray[np.float64]  # (visits,) readings that are no wholes or halves in the column's unit
    readings: NDArray[np.float64]  # (visits,)
    step: float  # of the gauges [mm]
    cells: NDArray[np.float64]  # (visits, wheels, grooves) mean of each groove [mm], NaN where it is not read
    counts: NDArray[np.intp]  # (visits, wheels, grooves) readings of each
    place: NDArray[np.intp]  # (readings,) index of the cell in its visit

    def __len__(self) -> int:
        return len(self.vehicle)


def visits_of(
    depths: Parsed, chain: Chain, vehicles: NDArray[np.object_], new_depth: NDArray[np.float64]
) -> Visits | None:
    """Visits of a log, or None if none can be made."""
    rows = depth_rows(depths, vehicles, ROAD)
    if rows is None:
        return None
    order = np.lexsort((rows.moment, rows.vehicle))
    records, vehicle, wheel, groove = (column[order] for column in rows[:4])
    day, km, moment, depth = rows.day[order], rows.km[order], rows.moment[order], rows.depth[order]
    visit, first = distinct(vehicle, moment)
    n = len(first)
    cell = (visit * WHEELS + wheel) * len(GROOVES) + groove
    size = n * WHEELS * len(GROOVES)
    count = np.bincount(cell, minlength=size)
    with np.errstate(invalid="ignore"):
        mean = (np.bincount(cell, depth, size) / count).reshape(n, WHEELS, len(GROOVES))
    read = ~np.isnan(mean)
    grooves = read.sum(axis=2)
    with np.errstate(invalid="ignore"):
        level = np.where(read, mean, 0.0).sum(axis=2) / grooves
    here = np.repeat(vehicle[first], WHEELS), np.tile(np.arange(WHEELS), n)
    at = np.repeat(moment[first], WHEELS)
    left, came = tire_at(chain, *here, at), tire_at(chain, *here, at, as_found=True)
    entry = came if _falls_better(chain, came, left, level.ravel(), at) else left
    life_of, before = _lives(chain)
    known = (entry >= 0) & (grooves.ravel() > 0)
    run = before[entry] + np.maximum(at % DAY - chain.start[entry] % DAY, 0)
    shape = (n, WHEELS)
    return Visits(
        vehicle=vehicle[first],
        day=day[first],
        km=km[first],
        moved=(left != came).reshape(shape).any(axis=1),
        life=np.where(known, life_of[entry], -1).reshape(shape),
        depth=np.where(known.reshape(shape), level, np.nan),
        run=np.where(known, run, 0.0).reshape(shape),
        new=np.where(known & _first_life(chain)[entry], new_depth[chain.tire[entry]], np.nan).reshape(shape),
        grooves=np.where(known.reshape(shape), grooves, 0),
        records=records,
        visit=visit,
        off_halves=np.bincount(visit, off_halves(depths, records), n).astype(float),
        readings=np.bincount(visit, minlength=n).astype(float),
        step=_step(depths),
        cells=np.where(known.reshape(shape)[..., None], mean, np.nan),
        counts=count.reshape(n, WHEELS, len(GROOVES)),
        place=wheel * len(GROOVES) + groove,
    )


def _lives(chain: Chain) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """For each entry of the chain: the tire's stay on a vehicle, and what it had run in it before [km]."""
    same = np.r_[False, (chain.tire[1:] == chain.tire[:-1]) & (chain.vehicle[1:] == chain.vehicle[:-1])]
    life = np.cumsum(~same) - 1
    off = np.isin(chain.position, (POSITIONS.index(OFF), POSITIONS.index(SPARE)))
    follows = np.r_[same[1:], False] & (chain.end < NEVER) & ~off
    run = np.where(follows, np.maximum(chain.end % DAY - chain.start % DAY, 0), 0).astype(float)
    before = np.cumsum(run) - run
    starts = np.maximum.accumulate(np.where(~same, np.arange(len(life)), 0))
    return life, before - before[starts]


def _first_life(chain: Chain) -> NDArray[np.bool_]:
    """Whether an entry lies in the tire's first stay on a vehicle, so that it began new."""
    life = _lives(chain)[0]
    starts = np.r_[True, chain.tire[1:] != chain.tire[:-1]]
    first = np.maximum.accumulate(np.where(starts, np.arange(len(life)), 0))
    return np.asarray(life == life[first])


def _falls_better(
    chain: Chain,
    came: NDArray[np.intp],
    left: NDArray[np.intp],
    level: NDArray[np.float64],
    at: NDArray[np.int64],
) -> bool:
    """Whether tires read on a day of moves were read as found, by the depths that then grow."""
    growth = []
    for entry in (came, left):
        keep = np.flatnonzero((entry >= 0) & np.isfinite(level))
        tire = chain.tire[entry[keep]]
        order = np.lexsort((at[keep], tire))
        change = np.diff(level[keep][order])[np.diff(tire[order]) == 0]
        growth.append(np.maximum(change, 0.0).sum())
    return bool(growth[0] <= growth[1])


def off_halves(depths: Parsed, records: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which of some readings are no wholes or halves in the column's unit."""
    twice = 2 * convert(depths.number["depth_mm"][records], "mm", depths.unit["depth_mm"])
    return np.asarray(np.abs(twice - np.round(twice)) > 2e-3)


def _step(depths: Parsed) -> float:
    """Step of most readings, in the column's unit, brought to mm."""
    unit = depths.unit["depth_mm"]
    values, times = np.unique(np.round(convert(depths.number["depth_mm"], "mm", unit), 4), return_counts=True)
    for step in STEPS:
        off = np.abs(values / step - np.round(values / step)) > 1e-3
        if times[off].sum() <= 0.1 * times.sum():
            return float(convert(step, unit, "mm"))
    return 0.0

"""What is wrong with recorded samples, found and counted: order, repeats, blanks, spikes, jumps, drift."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tirelife.driving.kernel import Runs

__all__ = ["Repairs", "drifting_steps", "repair"]

MOST_MPS: Final = 75.0
"""No road vehicle here goes faster; a sample beyond it is a spike. [m/s] Our choice, 168 mph."""
JUMP: Final = (10.0, 1.0)
"""A step is a jump when speed changes by more than ``10 m/s² times its duration plus 1 m/s``: more than tires
can hold, and the receiver's noise. Our choice."""
OUTLIER: Final = (5.0, 0.5)
"""A sample is a spike when speed goes to it and back from it by more than ``5 m/s² times the step plus
0.5 m/s``: nobody speeds up so hard and brakes so hard in the next second. Our choice."""
SPIKE_S: Final = 5.0
"""Samples between a jump and the next one, if that goes the other way and this soon, are a spike. [s]"""
DRIFT_MPS: Final = 0.5
DRIFT_S: Final = 5.0
"""A speed above 0 and below 0.5 m/s for 5 s or longer is a receiver at rest, our choice; a real crawl
loses about 2 m by it."""
FAST_MPS: Final = 60.0
"""Speed held to be out of reach for long; see :func:`tirelife.driving.sums.looks_like`. [m/s]"""
FASTEST_MPS: Final = 95.0
"""A number that stands for a speed on a road only in km/h: 95 mph is 153 km/h."""


@dataclass(frozen=True, eq=False)
class Repairs:
    """What was found: counts by trip, and the jumps that are left (None if there are none)."""

    counts: dict[str, NDArray[Any]]
    jumps: NDArray[np.bool_] | None = field(default=None)


def repair(runs: Runs) -> tuple[Runs, Repairs]:
    """Put samples in order, drop blank, repeated and spiked ones, mark jumps; count all of it.

    Parameters
    ----------
    runs : Runs

    Returns
    -------
    Runs
        Sorted by time within each trip. A trip keeps one sample at least, so that none is lost.
    Repairs
    """
    trips = len(runs.starts)
    counts: dict[str, NDArray[Any]] = {
        name: np.zeros(trips, dtype=np.int64)
        for name in ("missing", "negative", "unsorted", "repeated", "spikes", "fast", "fastest")
    }
    time, speed = runs.time_s, runs.speed_mps
    blank = ~(np.isfinite(time) & np.isfinite(speed))
    if blank.any():
        counts["missing"] = _by_trip(blank, runs)
        emptied = counts["missing"] == np.diff(np.append(runs.starts, len(time)))
        runs = replace(runs, time_s=np.where(blank, 0.0, time), speed_mps=np.where(blank, 0.0, speed))
        blank[runs.starts[emptied]] = False
        runs = _drop(runs, blank)
        time, speed = runs.time_s, runs.speed_mps
    if speed.size and speed.min() < 0:
        low = speed < 0
        counts["negative"] = _by_trip(low, runs)
        runs = replace(runs, speed_mps=np.where(low, 0.0, speed))
        speed = runs.speed_mps
    if speed.size and speed.max() > FAST_MPS:
        counts["fast"] = _by_trip(speed > FAST_MPS, runs)
        counts["fastest"] = _by_trip(speed > FASTEST_MPS, runs)
    step = np.diff(time)
    inside = np.ones(len(step), dtype=bool)
    inside[runs.starts[1:] - 1] = False
    if step.size and (back := (step < 0) & inside).any():
        counts["unsorted"] = _by_trip(np.append(False, back), runs)
        runs = _sorted(runs)
        time, speed = runs.time_s, runs.speed_mps
        step = np.diff(time)
    if step.size and (same := (step == 0) & inside).any():
        counts["repeated"] = _by_trip(np.append(False, same), runs)
        if not counts["unsorted"].any():
            runs = _sorted(runs)
            speed = runs.speed_mps
        runs = _drop(runs, np.append(False, same))
        time, speed = runs.time_s, runs.speed_mps
    change, big = _big_changes(runs)
    if big.any() or (speed.size and speed.max() > MOST_MPS):
        spiked = _spiked(runs, change, big)
        counts["spikes"] = _by_trip(spiked, runs)
        whole = counts["spikes"] == np.diff(np.append(runs.starts, len(runs.time_s)))
        spiked[runs.starts[whole]] = False
        runs = _drop(runs, spiked)
        change, big = _big_changes(runs)
    if big.any():
        step_s = np.append(np.diff(runs.time_s), 0.0)
        big &= np.abs(change) > JUMP[0] * step_s + JUMP[1]
    return runs, Repairs(counts, big if big.any() else None)


def drifting_steps(
    starts: NDArray[np.int64], time: NDArray[np.float64], speed: NDArray[np.float64]
) -> NDArray[np.bool_] | None:
    """Steps between samples of a receiver at rest that shows a crawl, or None if there are none."""
    at = np.flatnonzero((speed < DRIFT_MPS) & (speed > 0))
    if not len(at):
        return None
    trip = np.searchsorted(starts, at, side="right")
    first = np.ones(len(at), dtype=bool)
    first[1:] = (np.diff(at) > 1) | (np.diff(trip) > 0)
    last = np.append(first[1:], True)
    begin, end = at[first], at[last]
    long = time[end] - time[begin] >= DRIFT_S
    if not long.any():
        return None
    edges = np.zeros(len(time) + 1, dtype=np.int64)
    np.add.at(edges, begin[long], 1)
    np.add.at(edges, end[long], -1)
    return np.cumsum(edges)[:-1] > 0


def _big_changes(runs: Runs) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Change of speed from each sample to the next in its trip, and whether it is beyond ``OUTLIER``."""
    change = np.zeros(len(runs.time_s))
    big = np.zeros(len(runs.time_s), dtype=bool)
    np.subtract(runs.speed_mps[1:], runs.speed_mps[:-1], out=change[:-1])
    np.greater(np.abs(change[:-1]), OUTLIER[0] * np.diff(runs.time_s) + OUTLIER[1], out=big[:-1])
    change[runs.starts[1:] - 1] = 0.0
    big[runs.starts[1:] - 1] = False
    return change, big


def _spiked(runs: Runs, change: NDArray[np.float64], big: NDArray[np.bool_]) -> NDArray[np.bool_]:
    time, speed = runs.time_s, runs.speed_mps
    spiked = speed > MOST_MPS
    back = np.flatnonzero(big[1:] & big[:-1] & (change[1:] * change[:-1] < 0)) + 1
    spiked[back] = True
    at = np.flatnonzero(big)
    at = at[np.abs(change[at]) > JUMP[0] * (time[at + 1] - time[at]) + JUMP[1]]
    if len(at) > 1:
        trip = np.searchsorted(runs.starts, at, side="right")
        lasts = time[at[1:]] - time[at[:-1] + 1]
        pair = (trip[1:] == trip[:-1]) & (change[at[1:]] * change[at[:-1]] < 0) & (lasts <= SPIKE_S)
        edges = np.zeros(len(spiked) + 1, dtype=np.int64)
        np.add.at(edges, at[:-1][pair] + 1, 1)
        np.add.at(edges, at[1:][pair] + 1, -1)
        spiked |= np.cumsum(edges)[:-1] > 0
    return spiked


def _sorted(runs: Runs) -> Runs:
    trip = np.repeat(np.arange(len(runs.starts)), np.diff(np.append(runs.starts, len(runs.time_s))))
    return _take(runs, np.lexsort((runs.speed_mps, runs.time_s, trip)), runs.starts)


def _drop(runs: Runs, gone: NDArray[np.bool_]) -> Runs:
    before = np.concatenate([[0], np.cumsum(gone)])
    return _take(runs, np.flatnonzero(~gone), runs.starts - before[runs.starts])


def _take(runs: Runs, rows: NDArray[np.int64], starts: NDArray[np.int64]) -> Runs:
    return type(runs)(
        starts,
        runs.time_s[rows],
        runs.speed_mps[rows],
        None if runs.lateral_mps2 is None else runs.lateral_mps2[rows],
        None if runs.heading_deg is None else runs.heading_deg[rows],
        None if runs.longitudinal_mps2 is None else runs.longitudinal_mps2[rows],
    )


def _by_trip(flags: NDArray[np.bool_], runs: Runs) -> NDArray[np.int64]:
    return np.asarray(np.add.reduceat(flags, runs.starts, dtype=np.int64))

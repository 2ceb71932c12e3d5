"""The trip reduction on whole trips held in arrays: one pass, one row of sums a trip.

Every sum is a plain number that adds up over trips, so any engine may cut a data set anywhere between trips,
reduce the parts where they lie, and add. What the sums mean is said in :mod:`tirelife.driving.sums`.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.driving.profile import (
    BAND_EDGES_MPS,
    FULL_LOCK_M,
    PARKING_MPS,
    Thresholds,
    coast_down,
    parking_weight,
)
from tirelife.driving.repair import Repairs, drifting_steps, repair

__all__ = [
    "GAP_S",
    "MOST_TURNING",
    "SIDE_LIMIT",
    "SIDE_NOISE",
    "THIN_BELOW_S",
    "Runs",
    "trip_sums",
]

GAP_S: Final = 1.5
"""A longer step is a gap. [s]"""
THIN_BELOW_S: Final = 0.6
"""A trip whose steps are mostly no longer than this is thinned to whole seconds first. [s]"""
SIDE_LIMIT: Final = 12.0
"""Accelerations along or across the road beyond this are not believed. [m/s²]"""
SIDE_NOISE: Final = 0.2
"""Lateral acceleration that says nothing of turning at parking speed [m/s²]: the fall of a road to its side,
2 % (common practice, no source)."""
MOST_TURNING: Final = 0.25
"""No car turns by more than this [rad/m]; a heading that does is the receiver's. Full lock is 0.18."""
_ENDLESS: Final = 1e6
_ROWS: Final = 1 << 15  # rows worked on at once; a few arrays of them fit a core's cache

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Runs:
    """Samples of whole trips, trip after trip.

    Attributes
    ----------
    starts : int array, shape (trips,)
        Row at which each trip starts; the first is 0 and none is empty.
    time_s : float array, shape (samples,)
    speed_mps : float array, shape (samples,)
        NaN throughout a trip of which only accelerations were recorded: no distance is known, only events and
        their size.
    lateral_mps2, heading_deg : float array, shape (samples,), or None
        Where both are given, the lateral acceleration says how corners were driven, and the heading what was
        turned at parking speed.
    longitudinal_mps2 : float array, shape (samples,), or None
        Acceleration along the road, forward positive, free of the sensor's tilt. Where it is known it stands
        in place of the change of speed.
    """

    starts: Ints
    time_s: Floats
    speed_mps: Floats
    lateral_mps2: Floats | None = None
    heading_deg: Floats | None = None
    longitudinal_mps2: Floats | None = None

    def part(self, first: int, last: int) -> Runs:
        """Trips ``first`` to ``last``, the last one left out."""
        low = int(self.starts[first])
        high = int(self.starts[last]) if last < len(self.starts) else len(self.time_s)
        cut = slice(low, high)
        return Runs(
            self.starts[first:last] - low,
            self.time_s[cut],
            self.speed_mps[cut],
            *(
                None if values is None else values[cut]
                for values in (self.lateral_mps2, self.heading_deg, self.longitudinal_mps2)
            ),
        )


def trip_sums(runs: Runs, thresholds: Thresholds) -> dict[str, NDArray[Any]]:
    """Reduce whole trips to sums; the rows of a trip may be in any order.

    Parameters
    ----------
    runs : Runs
    thresholds : Thresholds

    Returns
    -------
    dict of str to array, shape (trips,)
        The columns of :data:`tirelife.driving.sums.SUMS`.
    """
    trips = len(runs.starts)
    if not trips:
        return {}
    cuts = [0]
    bounds = np.append(runs.starts, len(runs.time_s))
    while cuts[-1] < trips:
        reach = int(np.searchsorted(bounds, bounds[cuts[-1]] + _ROWS, side="right")) - 1
        cuts.append(min(max(reach, cuts[-1] + 1), trips))
    parts = [_chunk(runs.part(a, b), thresholds) for a, b in itertools.pairwise(cuts)]
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


@dataclass(frozen=True, eq=False)
class _Steps:
    # Step i leads from sample i to i + 1. The last sample of a trip leads nowhere: its step has mean speed,
    # change of speed and duration 0, so that sums over a trip's rows are sums over its steps.
    starts: Ints
    ends: Ints
    time: Floats
    speed: Floats
    step_s: Floats  # duration, 0 where the step does not count
    mean: Floats  # mean speed of the step
    change: Floats  # change of speed
    accel: Floats
    path: Floats  # distance [m]


def _chunk(runs: Runs, thresholds: Thresholds) -> dict[str, NDArray[Any]]:
    runs, without = _without_speed(_finite(runs))
    clean, found = repair(runs)
    steps = _steps(clean.starts, clean.time_s, clean.speed_mps)
    out: dict[str, NDArray[Any]] = {"samples": np.diff(np.append(clean.starts, len(clean.time_s)))}
    out |= _published(steps, found)
    emptied = found.counts["missing"] == np.diff(np.append(runs.starts, len(runs.time_s)))
    if emptied.any():  # the one sample that was kept is a stand-in
        for name in ("samples", "zero_samples"):
            out[name] = np.where(emptied, 0, out[name])
    out["no_speed"] = np.where(without, out["samples"], 0)
    broken, counts = _broken_steps(steps, found)
    out |= counts | found.counts
    counted, kept = _thinned(steps, clean, broken)
    drift = drifting_steps(counted.starts, counted.time, counted.speed)
    out |= _drift(counted, drift)
    if drift is not None:
        counted = _without(counted, drift)
    along, wrong = _along(counted, clean, kept)
    out["along_wrong"] = wrong
    lateral = _lateral(counted, clean, kept)
    return (
        out
        | _moments(counted, along, thresholds)
        | _side(counted, lateral, thresholds)
        | _parking(counted, None if clean.lateral_mps2 is None else lateral, _turning(clean, kept))
    )


def _finite(runs: Runs) -> Runs:
    """Endless accelerations as ones beyond belief, which are counted; endless headings as not known."""
    side, along = (
        None if a is None else np.clip(a, -_ENDLESS, _ENDLESS)
        for a in (runs.lateral_mps2, runs.longitudinal_mps2)
    )
    heading = runs.heading_deg
    if heading is not None and np.isinf(heading).any():
        heading = np.where(np.isinf(heading), np.nan, heading)
    return replace(runs, lateral_mps2=side, longitudinal_mps2=along, heading_deg=heading)


def _without_speed(runs: Runs) -> tuple[Runs, NDArray[np.bool_]]:
    """Trips of accelerations alone stand still, so that they keep their samples; and which they are."""
    felt = [a for a in (runs.longitudinal_mps2, runs.lateral_mps2) if a is not None]
    without = np.zeros(len(runs.starts), dtype=bool)
    if not felt or np.isfinite(runs.speed_mps[runs.starts]).all():
        return runs, without
    some = np.logical_or.reduceat(np.isfinite(felt).any(axis=0), runs.starts)
    without = some & ~np.logical_or.reduceat(np.isfinite(runs.speed_mps), runs.starts)
    each = np.repeat(without, np.diff(np.append(runs.starts, len(runs.time_s))))
    return replace(runs, speed_mps=np.where(each, 0.0, runs.speed_mps)), without


def _mean_over_steps(values: Floats, clean: Runs, kept: Ints | None) -> Floats:
    """Mean over each step of what was sampled, from the trapezoid through all its samples."""
    time = clean.time_s
    area = np.append(0.5 * (values[1:] + values[:-1]) * np.diff(time), 0.0)
    if kept is None:
        sums, width = area, np.append(np.diff(time), 1.0)
    else:
        sums = np.add.reduceat(area, kept)
        width = np.append(np.diff(time[kept]), 1.0)
    return np.asarray(sums / np.where(width == 0, 1.0, width))


def _along(steps: _Steps, clean: Runs, kept: Ints | None) -> tuple[Floats | None, Ints]:
    """Measured acceleration along the road of each step, NaN where not known; how many are too large."""
    if clean.longitudinal_mps2 is None:
        return None, np.zeros(len(steps.starts), dtype=np.int64)
    along = _mean_over_steps(clean.longitudinal_mps2, clean, kept)
    wrong = (np.abs(along) > SIDE_LIMIT) & (steps.step_s > 0)
    along[wrong | (steps.step_s == 0)] = np.nan
    return along, _count(np.flatnonzero(wrong), steps)


def _steps(starts: Ints, time: Floats, speed: Floats) -> _Steps:
    ends = np.append(starts[1:], len(time)) - 1
    step_s, change, mean = np.empty_like(time), np.empty_like(speed), np.empty_like(speed)
    np.subtract(time[1:], time[:-1], out=step_s[:-1])
    np.subtract(speed[1:], speed[:-1], out=change[:-1])
    np.add(speed[1:], speed[:-1], out=mean[:-1])
    mean *= 0.5
    for array in (step_s, change, mean):
        array[ends] = 0.0
    safe = step_s.copy()
    safe[ends] = 1.0
    return _Steps(starts, ends, time, speed, step_s, mean, change, change / safe, mean * step_s)


def _without(steps: _Steps, left_out: NDArray[np.bool_]) -> _Steps:
    keep = ~left_out
    return replace(
        steps,
        step_s=steps.step_s * keep,
        mean=steps.mean * keep,
        change=steps.change * keep,
        accel=steps.accel * keep,
        path=steps.path * keep,
    )


def _published(steps: _Steps, found: Repairs) -> dict[str, NDArray[Any]]:
    """Sums behind the statistics that the national laboratory publishes for each trip."""
    total, most, least = _reducers(steps.starts)
    speed, mean = steps.speed, steps.mean
    change, accel, path = steps.change, steps.accel, steps.path
    if found.jumps is not None:  # a jump is no driving: neither distance nor acceleration
        keep = ~found.jumps
        mean, change, accel, path = mean * keep, change * keep, accel * keep, path * keep
    squared = speed * speed
    half = 0.5 * change
    cube = mean * (mean * mean + half * half)  # mean of v³ over a ramp
    power = mean * accel  # (v2² - v1²) / 2 / dt
    size = np.abs(power)
    up, down = change > 0, change < 0
    still = np.flatnonzero(speed == 0.0)
    stops, longest = _stops(still, steps)
    return {
        "start_s": steps.time[steps.starts],
        "duration_s": steps.time[steps.ends] - steps.time[steps.starts],
        "path_m": total(path),
        "speed_sum": total(speed),
        "speed2_sum": total(squared),
        "speed3_sum": total(squared * speed),
        "speed_max": most(speed),
        "zero_samples": _count(still, steps),
        "stops": stops,
        "stop_longest_s": longest,
        "up_runs": _count_runs(up, steps),
        "down_runs": _count_runs(down, steps),
        "accel_max": most(accel),
        "accel_min": least(accel),
        "power_sum": total(power),
        "power_size_sum": total(size),
        "power_max": most(power),
        "power_min": least(power),
        "aero_sum": total(cube),
        "aero_max": most(cube),
        "aero_path_sum": total(cube * steps.step_s),
        "mean_sum": total(mean),
        "mean_max": most(mean),
        "moving_s": total(steps.step_s * (mean > 1.0)),
        "work_sum": total(size * steps.step_s),
        "work_net": total(power * steps.step_s),
    }


def _moments(steps: _Steps, along: Floats | None, thresholds: Thresholds) -> dict[str, NDArray[Any]]:
    """Distance-weighted sums: over all steps, over braking, by speed, and the hard events."""
    total, most, least = _reducers(steps.starts)
    mean, accel, path = steps.mean, steps.accel, steps.path
    if along is not None:
        accel = np.where(np.isfinite(along), along, accel)
    mean2 = mean * mean
    half2 = steps.change * steps.change
    half2 *= 0.25
    cubed = mean2 + half2
    cubed *= path  # integral of v³ dt over a ramp
    fifth = half2 * (10 / 3)
    fifth += mean2
    fifth *= mean2
    fifth += half2 * half2
    fifth *= path  # integral of v⁵ dt over a ramp
    gained = mean * steps.change  # integral of a ds
    if along is not None:
        gained = np.where(np.isfinite(along), accel * path, gained)
    terms = {"": path, "v2": cubed, "v4": fifth, "a": gained, "a2": accel * gained, "av2": accel * cubed}
    braking = np.flatnonzero(accel + coast_down(mean) < 0.0)
    out: dict[str, NDArray[Any]] = {}
    for name, values in terms.items():
        whole, brake = total(values), _sum_at(values, braking, steps)
        stem = "m" if name == "" else f"m_{name}"
        out[f"drive_{stem}"], out[f"brake_{stem}"] = whole - brake, brake
    below = [total(path * (mean < edge)) for edge in BAND_EDGES_MPS]
    bands = [below[0], *(b - a for a, b in itertools.pairwise(below))]
    out |= {f"band{i}_m": band for i, band in enumerate(bands)}
    out["band4_m"] = out["drive_m"] + out["brake_m"] - below[-1]
    out["counted_s"] = total(steps.step_s)
    out["along_s_a2"] = total(steps.step_s * accel * accel)
    out["along_max"], out["along_min"] = most(accel), least(accel)
    out["hard_starts"], out["start_peaks"] = _events(
        accel > thresholds.start_mps2, accel, steps, thresholds.merge_s
    )
    out["hard_stops"], out["stop_peaks"] = _events(
        accel < -thresholds.stop_mps2, -accel, steps, thresholds.merge_s
    )
    return out


def _lateral(steps: _Steps, clean: Runs, kept: Ints | None) -> Floats | None:
    """Lateral acceleration of each step, NaN where not known; None where neither it nor heading is there."""
    if clean.lateral_mps2 is not None:
        lateral = _mean_over_steps(clean.lateral_mps2, clean, kept)
    elif clean.heading_deg is not None:
        safe = np.where(steps.step_s > 0, steps.step_s, 1.0)
        # Below walking pace a receiver's heading points anywhere.
        turned = _turned(clean.heading_deg, kept) / safe
        lateral = np.where(steps.mean > 2.0, turned * steps.mean, 0.0)
    else:
        return None
    lateral[steps.ends] = 0.0
    return lateral


def _turned(heading_deg: Floats, kept: Ints | None) -> Floats:
    """Change of heading over each step [rad]."""
    heading = heading_deg[slice(None) if kept is None else kept]
    turned = np.append(np.diff(heading), 0.0)
    return np.asarray(np.radians((turned + 180.0) % 360.0 - 180.0))


def _side(steps: _Steps, lateral: Floats | None, thresholds: Thresholds) -> dict[str, NDArray[Any]]:
    """Sums of squared lateral acceleration, and hard turns; zero distance where it is not known."""
    if lateral is None:
        nothing = np.zeros(len(steps.starts))
        return dict.fromkeys(SIDE_SUMS, nothing)
    total, most, _ = _reducers(steps.starts)
    wrong = np.abs(lateral) > SIDE_LIMIT
    counted = steps.step_s > 0
    usable = np.isfinite(lateral) & ~wrong
    size = np.abs(np.where(usable & counted, lateral, 0.0))
    turns, peaks = _events(size > thresholds.turn_mps2, size, steps, thresholds.merge_s)
    return {
        "side_m": total(steps.path * usable),
        "side_m_ay2": total(steps.path * size * size),
        "side_s": total(steps.step_s * usable),
        "side_s_ay2": total(steps.step_s * size * size),
        "side_max": most(size),
        "hard_turns": turns,
        "turn_peaks": peaks,
        "side_wrong": _count(np.flatnonzero(wrong & counted), steps),
    }


SIDE_SUMS: Final = (
    "side_m", "side_m_ay2", "side_s", "side_s_ay2", "side_max", "hard_turns", "turn_peaks", "side_wrong",
)  # fmt: skip


def _turning(clean: Runs, kept: Ints | None) -> Floats | None:
    """What was turned over each step by its heading [rad]; None without one."""
    return None if clean.heading_deg is None else np.abs(_turned(clean.heading_deg, kept))


def _parking(steps: _Steps, lateral: Floats | None, turned: Floats | None) -> dict[str, NDArray[Any]]:
    """Distance at parking speed: all, as much as at full lock, and that whose turning is not known."""
    slow = np.flatnonzero((steps.mean < PARKING_MPS) & (steps.mean > 0))
    path, mean = steps.path[slow], steps.mean[slow]
    per_m = np.full(len(slow), np.nan)
    if lateral is not None:
        ay = lateral[slow]
        per_m = np.sqrt(np.maximum(ay * ay - SIDE_NOISE**2, 0.0)) / (mean * mean)
    if turned is not None:
        per_m = np.where(np.isfinite(turned[slow]), turned[slow] / path, per_m)
    known = per_m <= MOST_TURNING
    use = np.minimum(np.where(known, per_m, 0.0) * FULL_LOCK_M, 1.0) ** 2
    weighted = path * parking_weight(mean)
    out = np.zeros((3, len(steps.time)))
    out[:, slow] = weighted, weighted * use, weighted * ~known
    total, _, _ = _reducers(steps.starts)
    return {"parking_m": total(out[0]), "steer_m": total(out[1]), "slow_m": total(out[2])}


def _broken_steps(steps: _Steps, found: Repairs) -> tuple[NDArray[np.bool_] | None, dict[str, NDArray[Any]]]:
    """Gaps and jumps, which no moment may integrate over, and how much of the trip they are."""
    total, most, _ = _reducers(steps.starts)
    trips = len(steps.starts)
    sums: dict[str, NDArray[Any]] = {
        name: np.zeros(trips) for name in ("gap_s", "gap_longest_s", "gap_m", "jump_s")
    } | {"gaps": np.zeros(trips, dtype=np.int64), "jumps": np.zeros(trips, dtype=np.int64)}
    broken: NDArray[np.bool_] | None = None
    if steps.step_s.size and steps.step_s.max() > GAP_S:
        broken = steps.step_s > GAP_S
        sums["gaps"] = _count(np.flatnonzero(broken), steps)
        sums["gap_s"], sums["gap_m"] = total(steps.step_s * broken), total(steps.path * broken)
        sums["gap_longest_s"] = most(steps.step_s * broken)
    if found.jumps is not None:
        sums["jumps"] = _count(np.flatnonzero(found.jumps), steps)
        sums["jump_s"] = total(steps.step_s * found.jumps)
        broken = found.jumps if broken is None else broken | found.jumps
    return broken, sums


def _drift(steps: _Steps, drift: NDArray[np.bool_] | None) -> dict[str, NDArray[Any]]:
    if drift is None:
        return {"drift_s": np.zeros(len(steps.starts)), "drift_m": np.zeros(len(steps.starts))}
    total, _, _ = _reducers(steps.starts)
    return {"drift_s": total(steps.step_s * drift), "drift_m": total(steps.path * drift)}


def _thinned(steps: _Steps, clean: Runs, broken: NDArray[np.bool_] | None) -> tuple[_Steps, Ints | None]:
    """Steps that count: the sound ones, of about a second in trips sampled faster; and the samples kept.

    Differences over a tenth of a second are mostly the receiver's noise. Kept are the first sample in each
    whole second of the clock and the last of the trip, so that cutting a trip at a kept sample changes
    nothing. All samples are kept where the second value is None.
    """
    sound = steps if broken is None else _without(steps, broken)
    quick = (steps.step_s > 0) & (steps.step_s <= THIN_BELOW_S)
    if not quick.any():
        return sound, None
    real = np.diff(np.append(clean.starts, len(clean.time_s))) - 1
    fast_trip = 2 * np.add.reduceat(quick, steps.starts, dtype=np.int64) > np.maximum(real, 1)
    if not fast_trip.any():
        return sound, None
    second = np.floor(steps.time + 1e-6)
    keep = np.empty(len(second), dtype=bool)
    keep[0] = True
    np.not_equal(second[1:], second[:-1], out=keep[1:])
    keep |= ~np.repeat(fast_trip, real + 1)
    keep[steps.starts] = True
    keep[steps.ends] = True
    kept = np.flatnonzero(keep)
    starts = np.searchsorted(kept, steps.starts)
    thin = _steps(starts, steps.time[kept], steps.speed[kept])
    thin = replace(thin, path=np.add.reduceat(steps.path, kept))  # distance from all samples
    if broken is None:
        return thin, kept
    bad = np.add.reduceat(broken, kept, dtype=np.int64) > 0
    bad[thin.ends] = False
    return _without(thin, bad), kept


def _events(beyond: NDArray[np.bool_], size: Floats, steps: _Steps, merge_s: float) -> tuple[Ints, Floats]:
    """Maximal runs of steps beyond a threshold, and the sum of their peaks.

    Runs with no more than merge_s between them are one.
    """
    at = np.flatnonzero(beyond)
    if not len(at):
        return np.zeros(len(steps.starts), dtype=np.int64), np.zeros(len(steps.starts))
    first = np.ones(len(at), dtype=bool)
    if len(at) > 1:
        trip = np.searchsorted(steps.starts, at, side="right")
        pause = steps.time[at[1:]] - steps.time[at[:-1] + 1]
        first[1:] = (pause > merge_s + 1e-9) | (trip[1:] != trip[:-1])
    begin = at[first]
    peak = np.maximum.reduceat(size[at], np.flatnonzero(first))
    trip = np.searchsorted(steps.starts, begin, side="right") - 1
    return _count(begin, steps), np.bincount(trip, peak, len(steps.starts)).astype(np.float64)


def _stops(still: Ints, steps: _Steps) -> tuple[Ints, Floats]:
    """Arrivals at speed 0, and the longest stop: from its first zero to the next sample that moves.

    Standing at the start of a trip is no stop; standing at its end is.
    """
    trips = len(steps.starts)
    longest = np.zeros(trips)
    trip = np.searchsorted(steps.starts, still, side="right") - 1
    first = np.ones(len(still), dtype=bool)
    first[1:] = (np.diff(still) > 1) | (np.diff(trip) > 0)
    last = np.append(first[1:], True)[: len(still)]
    begin, end, where = still[first], still[last], trip[first]
    arrived = begin > steps.starts[where]
    begin, end, where = begin[arrived], end[arrived], where[arrived]
    after = np.minimum(end + 1, steps.ends[where])
    np.maximum.at(longest, where, steps.time[after] - steps.time[begin])
    return np.bincount(where, minlength=trips).astype(np.int64), longest


def _count_runs(flags: NDArray[np.bool_], steps: _Steps) -> Ints:
    # The last step of a trip has no change of speed, so a run never reaches into the next trip.
    begins = flags.copy()
    begins[1:] &= ~flags[:-1]
    return _count(np.flatnonzero(begins), steps)


def _count(at: Ints, steps: _Steps) -> Ints:
    edges = np.searchsorted(at, np.append(steps.starts, len(steps.time)))
    return np.diff(edges).astype(np.int64)


def _sum_at(values: Floats, at: Ints, steps: _Steps) -> Floats:
    edges = np.searchsorted(at, np.append(steps.starts, len(steps.time)))
    full = edges[1:] > edges[:-1]
    out = np.zeros(len(steps.starts))
    if full.any():
        out[full] = np.add.reduceat(values[at], edges[:-1][full])
    return out


def _reducers(starts: Ints) -> Any:
    return (
        lambda x: np.add.reduceat(x, starts),
        lambda x: np.maximum.reduceat(x, starts),
        lambda x: np.minimum.reduceat(x, starts),
    )

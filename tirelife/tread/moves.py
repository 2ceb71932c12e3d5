"""Which tire a reading belongs to when it was taken on the day that tires were moved.

A logbook gives a reading's day and odometer, not its hour. On a day of moves the reading may have been taken
before the tires were moved or after. Shops have habits, so the whole logbook is asked first: the habit
under which depths fall most evenly with distance is taken, as found where neither fits clearly better.
A single place is decided against the habit only where its own reading leaves no doubt, as when the tire
that comes on is new and the one that leaves is worn.

Where tires are moved at every visit the two habits pair the same readings, and differ only in the axle that
the wear is laid to; what tells them apart then is that the driven front axle of a front-drive car wears
faster.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.positions import AXLES, SPARE

__all__ = ["choose_side"]

_NEAR_KM: Final = 0.5
_PLAIN_MM: Final = 1.2
_CLEARLY: Final = 0.9
_AXLE: Final = {
    ("front", "front"): 1.4,
    ("front", "rear"): 0.6,
    ("rear", "front"): 0.9,
    ("rear", "rear"): 1.1,
}
"""Wear of an axle against the car's mean, only to tell two readings of one log apart. The front-drive
figures stand for a front share of 0.68 to 0.86 measured by LEON-T (Meesters and Quik, 2023); the others
are our assumption."""


def choose_side(
    readings: pd.DataFrame,
    before: NDArray[np.int64],
    after: NDArray[np.int64],
    stretches: pd.DataFrame,
    vehicles: pd.DataFrame,
) -> NDArray[np.int64]:
    """Choose, for each reading, the stretch it was taken on.

    Parameters
    ----------
    readings : DataFrame
        vehicle_id, position, date, odometer_km, depth_mm.
    before, after : ndarray of int, shape (readings,)
        Row of the stretch that ends, and of the one that begins, at the reading; the same row where nothing
        moved; -1 for none.
    stretches : DataFrame
        As from :func:`tirelife.logbook.stretches`.
    vehicles : DataFrame
        vehicle_id, drive.

    Returns
    -------
    ndarray of int, shape (readings,)
    """
    only = np.where(before >= 0, before, after)
    tied = (before >= 0) & (after >= 0) & (before != after)
    if not tied.any():
        return only
    as_found, as_left = np.where(tied, before, only), np.where(tied, after, only)
    stretches = _weighted(stretches, vehicles)
    left = _unevenness(readings, as_left, stretches) < _CLEARLY * _unevenness(readings, as_found, stretches)
    chosen, other = (as_left, as_found) if left else (as_found, as_left)
    return _against_habit(readings, chosen, other, tied, stretches)


def _weighted(stretches: pd.DataFrame, vehicles: pd.DataFrame) -> pd.DataFrame:
    """Add each stretch's usual wear against the mean wheel, and the weighted distance before it."""
    position = stretches["position"].to_numpy(dtype=object)
    drive = vehicles.drop_duplicates("vehicle_id", keep="last").set_index("vehicle_id")["drive"]
    rows = pd.Index(drive.index).get_indexer(stretches["vehicle_id"])
    driven = np.append(drive.to_numpy(dtype=object), "")[rows]  # "": a vehicle that is not known
    weight = np.ones(len(stretches))
    for axle, pair in AXLES.items():
        inside = (position == pair[0]) | (position == pair[1])
        for kind in AXLES:
            weight[inside & (driven == kind)] = _AXLE[kind, axle]
    weight[position == SPARE] = 0.0
    tire = pd.factorize(stretches["tire_id"])[0]
    run = pd.Series(weight * (stretches["to_km"] - stretches["from_km"]).to_numpy(float))
    before = run.groupby(tire).cumsum() - run
    return stretches.assign(tire=tire, weight=weight, before_weighted=before.to_numpy())


def _series(readings: pd.DataFrame, row: NDArray[np.int64], stretches: pd.DataFrame) -> pd.DataFrame:
    """One row a tire and visit, by tire and distance: depth, and distance weighted by the axle it was on."""
    known = row >= 0
    at = row[known]
    run = readings["odometer_km"].to_numpy(float)[known] - stretches["from_km"].to_numpy(float)[at]
    run = np.maximum(run, 0.0) * stretches["weight"].to_numpy(float)[at]
    tire, visit = stretches["tire"].to_numpy()[at], readings["date"].to_numpy()[known]
    km = stretches["before_weighted"].to_numpy(float)[at] + run
    depth = readings["depth_mm"].to_numpy(float)[known]
    order = np.lexsort((visit, tire))
    tire, visit = tire[order], visit[order]
    begins = np.flatnonzero(np.append(True, (tire[1:] != tire[:-1]) | (visit[1:] != visit[:-1]))[: len(tire)])
    number = np.diff(np.append(begins, len(tire)))
    km, depth = (np.add.reduceat(values[order], begins) / number for values in (km, depth))
    tire, visit = tire[begins], visit[begins]
    order = np.lexsort((km, tire))
    return pd.DataFrame(
        {"tire": tire[order], "visit": visit[order], "km": km[order], "depth": depth[order]}, copy=False
    )


def _unevenness(readings: pd.DataFrame, row: NDArray[np.int64], stretches: pd.DataFrame) -> float:
    """Mean squared departure of each loss of depth from the usual loss per distance, capped [mm²]."""
    series = _series(readings, row, stretches)
    tire, km, depth = (series[name].to_numpy() for name in ("tire", "km", "depth"))
    same = tire[1:] == tire[:-1]
    far, lost = np.diff(km)[same], -np.diff(depth)[same]
    moved = far > _NEAR_KM
    if not moved.any():
        return float("inf")
    usual = float(np.median(lost[moved] / far[moved]))
    return float(np.mean(np.minimum((lost - usual * far) ** 2, _PLAIN_MM**2)))


def _against_habit(
    readings: pd.DataFrame,
    chosen: NDArray[np.int64],
    other: NDArray[np.int64],
    tied: NDArray[np.bool_],
    stretches: pd.DataFrame,
) -> NDArray[np.int64]:
    """Turn single places round whose reading fits the other tire far better than the chosen one."""
    series = _series(readings, chosen, stretches)
    names = stretches["tire"].to_numpy()
    place = readings.loc[tied, ["vehicle_id", "position", "date"]]
    now = readings.loc[tied, "depth_mm"].groupby([place[c] for c in place]).transform("mean").to_numpy()
    gap = [_distance(series, names[row[tied]], place["date"].to_numpy(), now) for row in (chosen, other)]
    turn = gap[0] > gap[1] + _PLAIN_MM
    result = chosen.copy()
    spots = np.flatnonzero(tied)[turn]
    result[spots] = other[spots]
    return result


def _distance(
    series: pd.DataFrame, tire: NDArray[np.int64], visit: NDArray[np.datetime64], depth: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How far a depth lies above the tire's reading before it, or else below the one after it [mm]."""
    wanted = pd.DataFrame({"tire": tire, "visit": visit, "order": np.arange(len(tire))}).sort_values("visit")
    known = series[["tire", "visit", "depth"]].sort_values("visit")
    sides = []
    for direction in ("backward", "forward"):
        found = pd.merge_asof(
            wanted, known, on="visit", by="tire", direction=direction, allow_exact_matches=False
        )
        sides.append(found.sort_values("order")["depth"].to_numpy(float))
    above, below = depth - sides[0], sides[1] - depth
    return np.asarray(np.maximum(np.nan_to_num(np.where(np.isnan(above), below, above)), 0.0))

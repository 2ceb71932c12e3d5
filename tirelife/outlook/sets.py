"""When the first tire of a set, or of an axle, is due."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook.ahead import PROBABILITIES, Course, by_vehicle, first_of
from tirelife.outlook.dates import dates_after
from tirelife.positions import FRONT, MOUNTED, REAR, ROAD
from tirelife.rates import (
    quantiles,
)

__all__ = ["GROUPS", "first_chances", "first_quantiles", "set_outlook"]

Floats = NDArray[np.float64]

GROUPS: Final = {"set": ROAD, "front pair": FRONT, "rear pair": REAR}
"""What is bought together: the four on the road, or an axle's two."""


def set_outlook(state: pd.DataFrame) -> pd.DataFrame:
    """Distance and date at which the first tire of each set and of each axle is due.

    Parameters
    ----------
    state : DataFrame
        From :func:`tirelife.outlook.present_state`, rows of a vehicle together.

    Returns
    -------
    DataFrame
        Three rows a vehicle (``group``: set, front pair, rear pair): vehicle_id, group, tires (with a
        forecast), km_left_p10 … km_left_p90, date_p10 … date_p90, first (position most often due first over
        the draws). NaN where no tire has a forecast.

    Notes
    -----
    Draw by draw the smallest distance of the group's tires: the draws of
    :func:`tirelife.outlook.forecast`, so a set is never due after one of its tires.
    """
    percents = [f"p{round(100 * p)}" for p in PROBABILITIES]
    parts = by_vehicle(state, _firsts)
    code, names = pd.factorize(state["vehicle_id"])
    as_of = pd.Series(state["as_of"].to_numpy()[np.flatnonzero(np.diff(code, prepend=-1))])
    frames = []
    for i, group in enumerate(GROUPS):
        found = np.vstack([np.empty((0, 12)), *(part[i] for part in parts)])
        out = pd.DataFrame({"vehicle_id": names, "group": group, "tires": found[:, 10].astype(int)})
        out[[f"km_left_{p}" for p in percents]] = found[:, :5]
        for name, date in zip(percents, dates_after(as_of, found[:, 5:10]), strict=True):
            out[f"date_{name}"] = date.to_numpy()
        seat = np.where(np.isfinite(found[:, 11]), found[:, 11], len(MOUNTED)).astype(int)
        out["first"] = np.array([*MOUNTED, ""], dtype=object)[seat]
        frames.append(out)
    joined = pd.concat(frames, ignore_index=True)
    return joined.sort_values("vehicle_id", kind="stable", ignore_index=True)


def first_chances(state: pd.DataFrame) -> pd.DataFrame:
    """Chance of each tire on the road to be the first of its set that is down, over the same draws.

    Returns
    -------
    DataFrame
        vehicle_id, position, chance: a row a tire with a forecast; the chances of a vehicle sum to 1 (a tire
        that ties for the first shares it).
    """

    def work(course: Course, rows: slice) -> Floats:
        km = course.distance(course.stays(), course.turns())
        road = np.isin(course.seat, [MOUNTED.index(place) for place in GROUPS["set"]])
        km = np.where(road[:, None], km, np.nan)
        least = first_of(km, course.vehicle)
        won = km == least[course.vehicle]
        ties = np.zeros(least.shape)
        np.add.at(ties, course.vehicle, won)
        return np.asarray((won / np.maximum(ties, 1.0)[course.vehicle]).mean(axis=1))

    chance = np.concatenate([np.empty(0), *by_vehicle(state, work)])
    out = state[["vehicle_id", "position"]].assign(chance=chance)
    return out[chance > 0].reset_index(drop=True)


def first_quantiles(state: pd.DataFrame, probabilities: tuple[float, ...]) -> tuple[Floats, Floats]:
    """Quantiles of the distance [km], and then of the days, at which the first of each vehicle's tires is
    due.

    Parameters
    ----------
    state : DataFrame
        Rows of a vehicle together; all of them count.
    probabilities : tuple of float

    Returns
    -------
    vehicle_id : ndarray of str, shape (vehicles,)
    quantiles : ndarray, shape (vehicles, 2 * len(probabilities))
        NaN where a tire has no forecast.
    """

    def work(course: Course, rows: slice) -> Floats:
        km = course.distance(course.stays(), course.turns())
        days, out = course.days(km), []
        for values in (km, days):
            least = np.full((int(course.vehicle[-1]) + 1, values.shape[1]), np.inf)
            np.minimum.at(least, course.vehicle, values)  # a NaN stays
            out.append(quantiles(least, probabilities))
        return np.hstack(out)

    found = [np.empty((0, 2 * len(probabilities))), *by_vehicle(state, work)]
    return np.asarray(pd.unique(state["vehicle_id"])), np.vstack(found)


def _firsts(course: Course, rows: slice) -> list[Floats]:
    """A table a group, a row a vehicle: km and days at five levels, tires known, seat most often first."""
    km = course.distance(course.stays(), course.turns())
    days = course.days(km)
    vehicle = course.vehicle
    size = int(vehicle[-1]) + 1
    out = []
    for places in GROUPS.values():
        inside = np.isin(course.seat, [MOUNTED.index(place) for place in places])
        own, own_days = (np.where(inside[:, None], values, np.nan) for values in (km, days))
        least, least_days = first_of(own, vehicle), first_of(own_days, vehicle)
        known = np.isfinite(own).all(axis=1)
        wins = np.zeros((size, len(MOUNTED)))
        won = (own == least[vehicle]).mean(axis=1)
        np.add.at(wins, (vehicle[known], course.seat[known]), won[known])
        number = np.bincount(vehicle[known], minlength=size)
        first = np.where(number > 0, np.argmax(wins, axis=1), np.nan)
        levels = [quantiles(values, PROBABILITIES) for values in (least, least_days)]
        out.append(np.column_stack([*levels, number, first]))
    return out

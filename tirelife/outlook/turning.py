"""What rotating a set buys: now, when it is due, or never, over the forecast's own draws."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.outlook.ahead import Course, by_vehicle, first_of
from tirelife.positions import MOUNTED, ROAD
from tirelife.rates import (
    Draws,
)

__all__ = ["ROTATION_COLUMNS", "TIE_KM", "chance_longer", "rotation_by_tire", "rotation_worth"]

Floats = NDArray[np.float64]
ROTATION_COLUMNS: Final = (
    "vehicle_id", "now_km", "due_km", "never_km", "now_over_due", "due_over_never", "now_over_never",
)  # fmt: skip
TIE_KM: Final = 1e-3
"""Draws that differ by less, a metre, are alike: no more than the arithmetic leaves. [km]"""
_LEVELS: Final = (0.1, 0.5, 0.9)


def rotation_worth(state: pd.DataFrame, every_km: float, since_km: ArrayLike) -> pd.DataFrame:
    """Distance until the first tire of each set is down, by when it is rotated.

    Parameters
    ----------
    state : DataFrame
        From :func:`tirelife.outlook.present_state`, rows of a vehicle together.
    every_km : float
        Between rotations that change axles, from the first of them on. [km]
    since_km : array_like, shape (n,)
        Run since the last one, for each row of ``state``; NaN if not known: due today. [km]

    Returns
    -------
    DataFrame
        :data:`ROTATION_COLUMNS`, a row a vehicle: median distance if the first rotation is today, when it is
        due, or never; share of draws in which the one is the longer (:func:`chance_longer`). NaN where no
        tire has a forecast.
    """
    since = np.asarray(since_km, dtype=float)
    wait = np.where(np.isfinite(since), np.maximum(every_km - since, 0.0), 0.0)

    def work(course: Course, rows: slice) -> Floats:
        inside = np.isin(course.seat, [MOUNTED.index(place) for place in ROAD])[:, None]
        # In double precision: ways that are alike differ by rounding alone.
        km, other = course.stays()
        stays = km.astype(float), other.astype(float)
        shape = stays[0].shape
        every = np.full(shape, every_km)
        turns = {
            "now": (np.zeros(shape), every),
            "due": (np.broadcast_to(wait[rows][:, None], shape), every),
            "never": (np.full(shape, np.nan), np.full(shape, np.nan)),
        }
        first = {
            name: first_of(np.where(inside, course.distance(stays, turn), np.nan), course.vehicle)
            for name, turn in turns.items()
        }
        pairs = (("now", "due"), ("due", "never"), ("now", "never"))
        known = np.isfinite(first["never"]).all(axis=1)
        shares = [np.where(known, chance_longer(first[a], first[b]), np.nan) for a, b in pairs]
        return np.column_stack([*(np.median(km, axis=1) for km in first.values()), *shares])

    found = np.vstack([np.empty((0, 6)), *by_vehicle(state, work)])
    names = pd.unique(state["vehicle_id"])
    out = pd.DataFrame({"vehicle_id": names})
    out[list(ROTATION_COLUMNS[1:])] = found
    return out


def rotation_by_tire(state: pd.DataFrame, every_km: float) -> pd.DataFrame:
    """Distance left of each tire if it stays where it is, and if its set is rotated from today on.

    Parameters
    ----------
    state : DataFrame
        From :func:`tirelife.outlook.present_state`, rows of a vehicle together.
    every_km : float
        Between rotations that change axles. [km]

    Returns
    -------
    DataFrame
        vehicle_id, tire_id, position, stays_km_p10, stays_km_p50, stays_km_p90, turns_km_p10, turns_km_p50,
        turns_km_p90, in the order of ``state``; NaN where a tire has no forecast.
    """

    def work(course: Course, rows: slice) -> Floats:
        km, other = course.stays()
        stays = km.astype(float), other.astype(float)
        never = np.full(stays[0].shape, np.nan)
        ways = (never, never), (np.zeros(never.shape), np.full(never.shape, every_km))
        return np.hstack([np.quantile(course.distance(stays, way), _LEVELS, axis=1).T for way in ways])

    names = [f"{way}_km_p{100 * level:.0f}" for way in ("stays", "turns") for level in _LEVELS]
    found = np.vstack([np.empty((0, len(names))), *by_vehicle(state, work)])
    out = state[["vehicle_id", "tire_id", "position"]].reset_index(drop=True)
    out[names] = found
    return out


def chance_longer(one_km: Draws, other_km: Draws) -> Floats:
    """Share of draws, along the last axis, in which the one is the longer; half of those that are alike.

    Examples
    --------
    >>> chance_longer(np.array([2.0, 1.0, 1.0, 3.0]), np.array([1.0, 2.0, 1.0, 3.0 + 1e-9])).item()
    0.5
    """
    apart = one_km - other_km
    return np.asarray((apart > TIE_KM).mean(axis=-1) + 0.5 * (np.abs(apart) <= TIE_KM).mean(axis=-1))

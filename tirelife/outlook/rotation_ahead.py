"""Whether a vehicle's tires will go on being rotated, and what that does to the distance left."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import Logbook

__all__ = ["rotation_ahead", "through_rotations"]

Floats = NDArray[np.float64]

AXLE: Final = {"LF": "front", "RF": "front", "LR": "rear", "RR": "rear", "SP": "spare"}
OVERDUE: Final = 2.0
"""A tire that has stayed on an axle for so many intervals is taken to stay; an assumption."""
LATE_SHARE: Final = 0.25
"""A rotation that is due comes after so much of an interval more; an assumption."""


def rotation_ahead(book: Logbook) -> pd.DataFrame:
    """For each tire now on a vehicle: how far to its next change of axle, and how often they come.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        One row a mounted tire: tire_id, vehicle_id, position, axle (front, rear or spare), since_km (run
        by the vehicle since the tire came to this axle, to its last reading), every_km (NaN where no
        rotation is expected), spare_turns (whether the spare takes its turn), moves (changes of axle seen
        on this vehicle).

    Notes
    -----
    The interval is the median distance that this vehicle's tires stayed on an axle before they changed it,
    drawn towards the fleet's median as if the fleet were one more change. A vehicle that shows none takes the
    fleet's where at least half of the vehicles rotate and its tires are not overdue.
    """
    path = book.stretches
    axle = path["position"].map(AXLE).to_numpy(dtype=object)
    tire = path["tire_id"].to_numpy(dtype=object)
    vehicle = path["vehicle_id"].to_numpy(dtype=object)
    follows = np.zeros(len(path), dtype=bool)
    follows[1:] = (tire[1:] == tire[:-1]) & (vehicle[1:] == vehicle[:-1])
    same_axle = follows.copy()
    same_axle[1:] &= axle[1:] == axle[:-1]
    run = np.cumsum(~same_axle) - 1  # stretches that follow on the same axle are one stay
    start = path["from_km"].to_numpy(dtype=float)[np.flatnonzero(~same_axle)]
    changes = np.flatnonzero(follows & ~same_axle)
    stays = pd.DataFrame(
        {
            "vehicle_id": vehicle[changes],
            "km": path["from_km"].to_numpy(dtype=float)[changes] - start[run[changes - 1]],
            "spare": (axle[changes] == "spare") | (axle[changes - 1] == "spare"),
        }
    )
    stays = stays[stays["km"] > 0]
    now = np.flatnonzero(path["open"].to_numpy(dtype=bool))
    out = pd.DataFrame(
        {
            "tire_id": tire[now],
            "vehicle_id": vehicle[now],
            "position": path["position"].to_numpy(dtype=object)[now],
            "axle": axle[now],
            "since_km": path["to_km"].to_numpy(dtype=float)[now] - start[run[now]],
        }
    )
    by_vehicle = stays.groupby("vehicle_id").agg(
        km=("km", "median"), moves=("km", "size"), spare=("spare", "any")
    )
    fleet_km = float(by_vehicle["km"].median()) if len(by_vehicle) else np.nan
    fleet_rotates = len(by_vehicle) * 2 >= out["vehicle_id"].nunique()
    own = by_vehicle.reindex(out["vehicle_id"])
    out["moves"] = own["moves"].fillna(0).to_numpy(dtype=int)
    weight = out["moves"] / (out["moves"] + 1.0)
    own_km = own["km"].to_numpy(dtype=float)
    every = np.where(out["moves"] > 0, weight * np.nan_to_num(own_km) + (1 - weight) * fleet_km, np.nan)
    if fleet_rotates:
        every = np.where(out["moves"] > 0, every, fleet_km)
    stuck = out["since_km"].to_numpy() > OVERDUE * every
    out["every_km"] = np.where(stuck, np.nan, every)
    out["spare_turns"] = own["spare"].eq(True).to_numpy(dtype=bool)
    return out


def through_rotations(distance_km: Floats, due_km: Floats, every_km: Floats, ratio: Floats) -> Floats:
    """Turn distance on the present axle into distance with the axles taking turns.

    Parameters
    ----------
    distance_km : ndarray, shape (n, k)
        Distance that the tire would last if it stayed where it is. [km]
    due_km, every_km : ndarray, shape (n,)
        To the next change of axle, and between changes; NaN in ``every_km``: the tire stays. [km]
    ratio : ndarray, shape (n,)
        Wear per distance on the other axle, over that on the present one.

    Returns
    -------
    ndarray, shape (n, k) [km]

    Examples
    --------
    Wear on the other axle is half: 5,000 km on this one, then 4,000 km there wear as 2,000 km here.

    >>> through_rotations(np.array([[7000.0]]), np.array([5000.0]), np.array([8000.0]), np.array([0.5]))
    array([[9000.]])
    """
    stays = ~np.isfinite(every_km)
    due, every = due_km[:, None], np.where(stays, 1.0, every_km)[:, None]
    other = ratio[:, None]
    beyond = np.maximum(distance_km - due, 0.0)
    turns = np.floor(beyond / (every * (1 + other)))
    rest = beyond - turns * every * (1 + other)
    there = np.minimum(rest, other * every)
    total = np.minimum(distance_km, due) + turns * 2 * every + there / other + (rest - there)
    return np.where(stays[:, None], distance_km, total)

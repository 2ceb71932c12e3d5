"""What is recorded of the service a tire does: how hard its driver turns, and what load it carries."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tirelife.axles import is_front
from tirelife.driving import default_profile, profiles_from_habits
from tirelife.positions import ROAD

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["cornering_ratios", "load_capacity", "load_ratios"]


def load_capacity(load_index: float) -> float:
    """Load that a tire of a load index may carry [kg]; NaN outside 60 to 130.

    Notes
    -----
    The standard table rises by a factor of 10 in 80 steps from 450 kg at index 80, each value rounded; the
    rule is within 2 % of it (indices and loads from memory of ISO 4000-1: 75 387 kg, 91 615 kg, 100 800 kg,
    120 1400 kg).

    Examples
    --------
    >>> round(load_capacity(91))
    618
    """
    if not 60 <= load_index <= 130:
        return float("nan")
    return float(450.0 * 10 ** ((load_index - 80) / 80))


def load_ratios(book: Logbook) -> dict[str, dict[str, float]]:
    """Load on each wheel over what its present tire may carry, by vehicle; those that can be told.

    Notes
    -----
    Needs mass and front share of the vehicle, and the load index of the tires, as recorded; the load is
    halved between the wheels of an axle. Nothing is assumed: what is not recorded is left out.
    """
    vehicles, tires = book.vehicles.drop_duplicates("vehicle_id"), book.tires.drop_duplicates("tire_id")
    if "load_index" not in tires or not {"mass_kg", "front_load_share"} <= set(vehicles):
        return {}
    here = book.stretches
    here = here[here["open"] & here["position"].isin(ROAD)]
    index = pd.to_numeric(tires.set_index("tire_id")["load_index"], errors="coerce")
    known = vehicles.set_index("vehicle_id")
    mass, share = (
        pd.to_numeric(known[name], errors="coerce").reindex(here["vehicle_id"]).to_numpy(float)
        for name in ("mass_kg", "front_load_share")
    )
    front = is_front(here["position"])
    load = mass * np.where(front, share, 1 - share) / 2
    may = [load_capacity(one) for one in index.reindex(here["tire_id"]).to_numpy(float)]
    out: dict[str, dict[str, float]] = {}
    for vehicle, position, ratio in zip(here["vehicle_id"], here["position"], load / may, strict=True):
        if np.isfinite(ratio):
            out.setdefault(str(vehicle), {})[str(position)] = float(ratio)
    return out


def cornering_ratios(book: Logbook) -> dict[str, float]:
    """Mean squared side acceleration of recorded driving over the usual driver's, by vehicle.

    Stretches count by the distance they stand for, or alike where that is not known. Vehicles without a
    record are left out.
    """
    habits = book.habits
    if habits.empty:
        return {}
    usual, out = default_profile().ay2, {}
    for vehicle, mine in profiles_from_habits(habits).groupby("vehicle_id", sort=False):
        weight = mine["distance_km"].fillna(mine["distance_km"].mean()).fillna(1.0).to_numpy(float)
        out[str(vehicle)] = float(np.average(mine["ay2"].to_numpy(float), weights=weight)) / usual
    return out

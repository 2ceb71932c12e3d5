"""What is recorded of the service a tire does: how hard its driver turns, and what load it carries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.driving import default_profile, profiles_from_habits

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["cornering_ratio", "load_capacity", "load_ratios"]

_AXLES: Final = {"front": ("LF", "RF"), "rear": ("LR", "RR")}


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


def load_ratios(book: Logbook, vehicle_id: str) -> dict[str, float]:
    """Load on each wheel of a vehicle over what its present tires may carry; those that can be told.

    Notes
    -----
    Needs mass and front share of the vehicle, and the load index of the tires, as recorded; the load is
    halved between the wheels of an axle. Nothing is assumed: what is not recorded is left out.
    """
    row = book.vehicles[book.vehicles["vehicle_id"] == vehicle_id]
    if row.empty or "load_index" not in book.tires:
        return {}
    mass, share = (_number(row, name) for name in ("mass_kg", "front_load_share"))
    index = pd.to_numeric(book.tires.set_index("tire_id")["load_index"], errors="coerce")
    here = book.stretches
    here = here[(here["vehicle_id"] == vehicle_id) & here["open"]]
    out = {}
    for position, tire in zip(here["position"], here["tire_id"], strict=True):
        for axle, pair in _AXLES.items():
            if position in pair:
                load = mass * (share if axle == "front" else 1 - share) / 2
                out[str(position)] = load / load_capacity(float(index.get(tire, np.nan)))
    return {position: float(ratio) for position, ratio in out.items() if np.isfinite(ratio)}


def cornering_ratio(book: Logbook, vehicle_id: str) -> float:
    """Mean squared side acceleration of a vehicle's recorded driving over the usual driver's; NaN if unknown.

    Stretches count by the distance they stand for, or alike where that is not known.
    """
    habits = book.habits
    if habits.empty or vehicle_id not in set(habits["vehicle_id"]):
        return float("nan")
    rows = profiles_from_habits(habits[habits["vehicle_id"] == vehicle_id])
    weight = rows["distance_km"].fillna(rows["distance_km"].mean()).fillna(1.0).to_numpy(float)
    found = float(np.average(rows["ay2"].to_numpy(float), weights=weight))
    return found / default_profile().ay2


def _number(row: pd.DataFrame, name: str) -> float:
    if name not in row:
        return float("nan")
    return float(pd.to_numeric(row[name], errors="coerce").iloc[0])

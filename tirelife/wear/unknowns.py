"""What it does to severity that figures of a vehicle are not known."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.wear.cause import RECORDS
from tirelife.wear.energy import causes_at_wheel, reference_wear
from tirelife.wear.forces import C0, CE, forces
from tirelife.wear.vehicle import RANGES, Vehicle

__all__ = ["FIGURE_SD", "vehicle_log_sd"]

FIGURE_SD: Final[dict[str, float]] = {name: (high - low) / 4 for name, (low, high) in RANGES.items()}
"""Standard deviation of a figure that is a default: its range of :data:`~tirelife.wear.vehicle.RANGES` is
taken to hold 95 % of vehicles, and one figure to say nothing of another (our assumptions)."""
SIZE_EXPONENT: Final = 0.5
"""Tread area goes with the mass of vehicles to this power, since heavier ones carry larger tires (our
assumption, 0 to 1). So a mass that is not known matters less than the same mass loaded onto the same tires:
Beddows and Harrison (2021) give 0.435 for particles by mass of vehicles."""


def vehicle_log_sd(
    moments: Mapping[str, Any] | pd.DataFrame,
    vehicle: Mapping[str, Any] | pd.DataFrame,
    front: ArrayLike,
    toe_mm: ArrayLike,
    assumed: Mapping[str, ArrayLike],
) -> NDArray[np.float64]:
    """Standard deviation of the logarithm of severity, from the figures of a vehicle that are defaults.

    Parameters
    ----------
    moments, vehicle, front, toe_mm
        As for :func:`~tirelife.wear.causes_at_wheel`.
    assumed : mapping of str to array_like of bool
        By field of :class:`~tirelife.wear.Vehicle`: whether the figure is a default. One left out is given.

    Returns
    -------
    ndarray
        0 where every figure is given. Pressure multiplies all of severity, so it changes nothing here.

    Notes
    -----
    First order, by derivatives of the energy: each of its terms goes with powers of mass m, rolling
    resistance coefficient c, drag area, load share and brake share. A driven or braked wheel's terms are m c²
    (rolling squared), c A (rolling times drag), A²/m, m (acceleration squared), m c and A (acceleration times
    rolling, times drag), all over its load share; side force goes with its load, m times the share.
    """
    pull, brake, load, roll, drag = forces(vehicle, front)
    on_drive, on_brake = pull**2 / load, brake**2 / load
    mass = np.asarray(vehicle["mass_kg"], dtype=float)

    def both(term: str) -> NDArray[np.float64]:
        one, other = (np.asarray(moments[f"{phase}_{term}"], dtype=float) for phase in ("drive", "brake"))
        return np.asarray(on_drive * one + on_brake * other)

    rolling = roll**2 * both("share")
    rolling_drag = 2 * roll * drag * both("v2")
    drag_drag = drag**2 * both("v4")
    start_stop = mass**2 * both("a2")
    start_stop_rolling = 2 * mass * roll * both("a")
    start_stop_drag = 2 * mass * drag * both("av2")
    parts = causes_at_wheel(moments, vehicle, front, 1.0, toe_mm)
    per_energy = reference_wear() / CE  # J/m per unit of severity
    still = C0 / CE * mass / Vehicle().mass_kg
    side = np.sum([parts[cause.name] for cause in RECORDS if cause.goes_with_load], axis=0) * per_energy
    free = parts["base"] * per_energy - still - on_drive * roll**2 * np.asarray(moments["drive_share"])
    along = rolling + rolling_drag + drag_drag + start_stop + start_stop_rolling + start_stop_drag
    whole = still + free + along + side
    is_front = np.asarray(front, dtype=bool)
    to_rear = np.where(is_front, 1.0, -1.0)  # what the front axle has, the rear one lacks
    ordinary = Vehicle()
    load_share = np.asarray(vehicle["front_load_share"], dtype=float)
    brake_share = np.asarray(vehicle["front_brake_share"], dtype=float)
    by_mass = (
        still + rolling + free - drag_drag + start_stop + start_stop_rolling + side - SIZE_EXPONENT * whole
    )
    slopes = {
        "mass_kg": by_mass / ordinary.mass_kg,
        "front_load_share": to_rear * (free + side - along) / np.where(is_front, load_share, 1 - load_share),
        "drag_area_m2": (rolling_drag + 2 * drag_drag + start_stop_drag) / ordinary.drag_area_m2,
        "rolling_resistance": (2 * (rolling + free) + rolling_drag + start_stop_rolling)
        / ordinary.rolling_resistance,
        "front_brake_share": to_rear
        * (2 * per_energy * parts["stops"])
        / np.where(is_front, brake_share, 1 - brake_share),
    }
    square = np.zeros(np.shape(whole))
    for name, is_default in assumed.items():
        square += np.where(is_default, (slopes[name] * FIGURE_SD[name] / whole) ** 2, 0.0)
    return np.asarray(np.sqrt(square))

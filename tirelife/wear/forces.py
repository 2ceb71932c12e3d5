"""Forces on a wheel, and wear per energy in its contact patch: what the physics of every cause rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.units import GRAVITY

__all__ = ["AIR_DENSITY", "C0", "CE", "Wheel", "forces"]

C0: Final = 0.02616
"""Tread that a wheel of an ordinary car loses with no horizontal force [dm³ per 1000 km]; HDM-4, recalled. We
take it in proportion to the vehicle's mass: sliding wear goes with load (J. Chem. Phys. 162, 2025; particles
at equal use of grip, Schläfle et al. 2024), and wear per ton was about constant (Waller 1927)."""
CE: Final = 0.00204
"""Tread lost per energy in the contact patch, passenger cars [dm³/MJ]; HDM-4, recalled. Cenek et al. 1997
measured 0.0016 to 0.0099, median 0.00215, in 14 runs (read in the data of LEON-T D3.4). Only the ratio
``C0 / CE`` matters here: the level of wear is each tire's own, and is fitted."""
AIR_DENSITY: Final = 1.2
"""[kg/m³]"""


def forces(vehicle: Mapping[str, Any] | pd.DataFrame, front: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """What a wheel takes and bears.

    Returns
    -------
    pull, brake : ndarray
        Its shares of the vehicle's drive force and of its brake force.
    load : ndarray
        [N]
    roll, drag : ndarray
        Rolling resistance of the vehicle [N], and its air drag over speed squared [N/(m/s)²].
    """
    is_front = np.asarray(front, dtype=bool)
    mass, load_share, brake_share, resistance, area = (
        np.asarray(vehicle[name], dtype=float)
        for name in ("mass_kg", "front_load_share", "front_brake_share", "rolling_resistance", "drag_area_m2")
    )
    drive = np.asarray(vehicle["drive"], dtype=object)
    driven = np.where(is_front, drive == "front", drive == "rear")
    pull = np.where(drive == "all", 0.25, np.where(driven, 0.5, 0.0))
    brake = np.where(is_front, brake_share, 1 - brake_share) / 2
    load = mass * GRAVITY * np.where(is_front, load_share, 1 - load_share) / 2
    return pull, brake, load, resistance * mass * GRAVITY, 0.5 * AIR_DENSITY * area


@dataclass(frozen=True, eq=False)
class Wheel:
    """One wheel of a vehicle under a driving profile, or many at a time: what a cause's physics may ask for.

    Attributes
    ----------
    moments : mapping of str to array_like, or DataFrame
        The moments of a driving profile (``drive_v2`` ...), SI; each of shape (n,) or scalar.
    vehicle : mapping of str to array_like, or DataFrame
        Fields of :class:`~tirelife.wear.Vehicle`; each of shape (n,) or scalar.
    front : array_like of bool
        Whether the wheel is on the front axle, which steers.
    toe_mm : array_like
        Total toe of the wheel's axle. [mm]
    """

    moments: Mapping[str, Any] | pd.DataFrame
    vehicle: Mapping[str, Any] | pd.DataFrame
    front: ArrayLike
    toe_mm: ArrayLike = 0.0

    @cached_property
    def forces(self) -> tuple[NDArray[np.float64], ...]:
        """As :func:`forces`: pull, brake, load, roll, drag."""
        return forces(self.vehicle, self.front)

    @property
    def load(self) -> NDArray[np.float64]:
        """On this wheel [N]."""
        return self.forces[2]

    @property
    def mass(self) -> NDArray[np.float64]:
        """Of the vehicle [kg]."""
        return np.asarray(self.vehicle["mass_kg"], dtype=float)

    def moment(self, name: str) -> NDArray[np.float64]:
        """One moment of the driving profile."""
        return np.asarray(self.moments[name], dtype=float)

    def air(self, phase: str) -> NDArray[np.float64]:
        """Part of the mean squared force along the road that rolling resistance times air drag, and air drag
        squared, make in a phase [N²].
        """
        _, _, _, roll, drag = self.forces
        return 2 * roll * drag * self.moment(f"{phase}_v2") + drag**2 * self.moment(f"{phase}_v4")

    def inertia(self, phase: str) -> NDArray[np.float64]:
        """Part of it that acceleration makes, and its products with rolling resistance and air drag [N²]."""
        _, _, _, roll, drag = self.forces
        cross = roll * self.moment(f"{phase}_a") + drag * self.moment(f"{phase}_av2")
        return self.mass**2 * self.moment(f"{phase}_a2") + 2 * self.mass * cross

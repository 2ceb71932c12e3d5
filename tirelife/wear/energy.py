"""Energy that a wheel leaves in its contact patch, and the wear it costs, split into causes.

Per wheel and metre of road the tread dissipates about ``E = <(Fx² + Fy²) / Fz>`` [J/m], the mean taken
over distance, with horizontal forces Fx along and Fy across the wheel and load Fz. Wear per distance is
``C0 + CE E`` [1]_. Every term of E is linear in the moments of a :class:`~tirelife.driving.DrivingProfile`.

References
----------
.. [1] Tangential-energy form of road economics: Bennett and Greenwood, HDM-4 vol. 7 (2003), part E; Chatti
   and Zaabar, NCHRP Report 720 (2012), ch. 4. Equations and coefficients are recalled, not read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.driving import default_profile
from tirelife.driving.profile import STEERED_SHARE
from tirelife.units import GRAVITY
from tirelife.wear.vehicle import Vehicle

__all__ = [
    "C0",
    "CAUSES",
    "CAUSE_LOG_SD",
    "CE",
    "WHEEL_DIAMETER_MM",
    "causes_at_wheel",
    "reference_shares",
    "tangential_energy",
    "tread_wear",
    "wheel_energy",
]

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
FULL_LOCK_USE2: Final = 1.25
"""Energy per metre over load of a steered wheel that creeps at full lock [J/m per N]. Turning on the spot
and wheels that steer against each other wear more than speed and radius predict. Set so that the town cycle
of a proving-ground series costs 4.2 times the rural one, as measured there (LEON-T D3.4)."""
TOE_USE_PER_DEG: Final = 0.20
"""Side force over load per degree of slip angle of a passenger tire, near zero slip (our assumption, 0.12
to 0.30)."""
WHEEL_DIAMETER_MM: Final = 660.0
"""Diameter at which toe is taken to have been measured [mm]; 26 in, an ordinary car tire."""

CAUSES: Final = ("base", "speed", "starts", "stops", "corners", "parking", "alignment", "pressure")
"""What wear is split into: rolling and the drive against it (``base``, with the part of wear that needs no
force), air drag (``speed``), speeding up, braking, bends, steering at parking speed, toe, and pressure."""
CAUSE_LOG_SD: Final[dict[str, float]] = {
    "base": 0.70, "speed": 0.90, "starts": 0.90, "stops": 0.90, "corners": 0.90,
    "parking": 1.00, "alignment": 0.90, "pressure": 0.80,
}  # fmt: skip
"""Standard deviation of the logarithm of each cause's factor before any log. Wear per energy differed about
ten-fold between the cycles of one proving-ground series (LEON-T D3.4, derived), which is taken to be an 80 %
range: ln(10) / 2.56 = 0.90. 14 runs on roads differed six-fold (Cenek et al. 1997). Rolling rests on the
same coefficients and on a share that needs no force: 0.70; steering at parking speed on a coefficient set by
one cycle: 1.00; pressure on two points and a straight line (NHTSA, FMVSS 138): 0.80 (the last three are our
judgement)."""

_FRONT: Final = np.array([True, True, False, False])


def wheel_energy(
    moments: Mapping[str, Any] | pd.DataFrame, vehicle: Mapping[str, Any] | pd.DataFrame, front: ArrayLike
) -> dict[str, NDArray[np.float64]]:
    """Energy left in the contact patch of one wheel per metre, by cause.

    Parameters
    ----------
    moments : mapping of str to array_like, or DataFrame
        The moments of a driving profile (``drive_v2`` ...), SI; each of shape (n,) or scalar.
    vehicle : mapping of str to array_like, or DataFrame
        Fields of :class:`~tirelife.wear.Vehicle`; each of shape (n,) or scalar.
    front : array_like of bool, shape (n,) or scalar
        Whether the wheel is on the front axle, which steers.

    Returns
    -------
    dict of str to ndarray
        ``base, speed, starts, stops, corners, parking``. [J/m]

    Notes
    -----
    Over the driven part of the distance a driven wheel carries its share of ``m a + R + k v²`` (R rolling
    resistance, k half the air density times drag area), as in HDM-4; other wheels carry their own rolling
    resistance. Over the braked part each wheel carries its share of ``m a + R + k v²``, all of it set down
    to stops. In a bend each wheel carries side force in proportion to its load. Parking-speed steering is
    ours: ``FULL_LOCK_USE2 x load`` on the front wheels over distance at full lock, less in the square of
    turning per metre; see ``slow_turn`` of :class:`~tirelife.driving.DrivingProfile`.
    """
    is_front = np.asarray(front, dtype=bool)
    pull, brake, load, roll, drag = forces(vehicle, front)
    mass = np.asarray(vehicle["mass_kg"], dtype=float)
    own_roll = np.where(pull > 0, 0.0, np.asarray(vehicle["rolling_resistance"], dtype=float) * load)

    def get(table: Mapping[str, Any] | pd.DataFrame, name: str) -> NDArray[np.float64]:
        return np.asarray(table[name], dtype=float)

    def speed_part(phase: str) -> NDArray[np.float64]:
        return 2 * roll * drag * get(moments, f"{phase}_v2") + drag**2 * get(moments, f"{phase}_v4")

    def acceleration_part(phase: str) -> NDArray[np.float64]:
        cross = roll * get(moments, f"{phase}_a") + drag * get(moments, f"{phase}_av2")
        return mass**2 * get(moments, f"{phase}_a2") + 2 * mass * cross

    pulling, braking = get(moments, "drive_share"), get(moments, "brake_share")
    braked = roll**2 * braking + speed_part("brake") + acceleration_part("brake")
    out = {
        "base": (pull**2 * roll**2 + own_roll**2) * pulling / load,
        "speed": pull**2 * speed_part("drive") / load,
        "starts": pull**2 * acceleration_part("drive") / load,
        # A mean of squares: below zero only where a what-if brakes more gently than the car coasts.
        "stops": np.maximum(brake**2 * braked / load, 0.0),
        "corners": load * get(moments, "ay2") / GRAVITY**2,
        "parking": np.where(is_front, FULL_LOCK_USE2 * STEERED_SHARE * load * get(moments, "slow_turn"), 0.0),
    }
    shape = np.broadcast_shapes(*(v.shape for v in out.values()))
    return {cause: np.broadcast_to(value, shape) for cause, value in out.items()}


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


def toe_energy(vehicle: Mapping[str, Any] | pd.DataFrame, front: ArrayLike, toe_mm: ArrayLike) -> Any:
    """Energy that toe leaves in the contact patch of each wheel of an axle [J/m].

    Each wheel slips sideways by half the total toe; with side force in proportion to the slip angle the
    energy goes with the square of toe (Schallamach and Turner 1960, recalled).
    """
    mass, load_share = np.asarray(vehicle["mass_kg"]), np.asarray(vehicle["front_load_share"])
    load = mass * GRAVITY * np.where(np.asarray(front, dtype=bool), load_share, 1 - load_share) / 2
    angle = np.degrees(np.arctan(np.asarray(toe_mm, dtype=float) / WHEEL_DIAMETER_MM)) / 2
    return load * (TOE_USE_PER_DEG * angle) ** 2


def causes_at_wheel(
    moments: Mapping[str, Any] | pd.DataFrame,
    vehicle: Mapping[str, Any] | pd.DataFrame,
    front: ArrayLike,
    pressure: ArrayLike = 1.0,
    toe_mm: ArrayLike = 0.0,
) -> dict[str, NDArray[np.float64]]:
    """Severity of one wheel by cause, many at a time; the causes sum to the severity.

    Parameters
    ----------
    moments, vehicle, front
        As for :func:`wheel_energy`.
    pressure : array_like
        Wear over wear at placard pressure; see :func:`tirelife.inflation.pressure_wear`.
    toe_mm : array_like
        Total toe of the wheel's axle. [mm]

    Returns
    -------
    dict of str to ndarray
        One array a cause of ``CAUSES``; severity 1 is the mean wheel of an ordinary vehicle driven by the
        default profile at placard pressure without misalignment.
    """
    energy = wheel_energy(moments, vehicle, front)
    energy["alignment"] = toe_energy(vehicle, front, toe_mm)
    scale = 1 / reference_wear()
    out = {cause: scale * CE * value for cause, value in energy.items()}
    out["base"] = out["base"] + scale * C0 * np.asarray(vehicle["mass_kg"], dtype=float) / Vehicle().mass_kg
    shortfall = np.asarray(pressure, dtype=float) - 1
    out["pressure"] = shortfall * np.sum([np.asarray(v) for v in np.broadcast_arrays(*out.values())], axis=0)
    arrays = np.broadcast_arrays(*(out[cause] for cause in CAUSES))
    return dict(zip(CAUSES, arrays, strict=True))


@cache
def reference_wear() -> float:
    """Wear of the mean wheel of an ordinary vehicle, driven by the default profile [dm³ per 1000 km]."""
    energy = wheel_energy(asdict(default_profile()), asdict(Vehicle()), _FRONT)
    return float(np.mean(C0 + CE * np.sum(list(energy.values()), axis=0)))


@cache
def reference_shares() -> NDArray[np.float64]:
    """What each cause takes of the mean wheel of an ordinary vehicle under the default profile; sum 1."""
    parts = causes_at_wheel(asdict(default_profile()), asdict(Vehicle()), _FRONT)
    return np.array([float(np.mean(parts[cause])) for cause in CAUSES])


def tangential_energy(circumferential_n: ArrayLike, lateral_n: ArrayLike, load_n: ArrayLike) -> Any:
    """Tangential energy of a wheel, ``(CFT² + LFT²) / NFT`` [J/m, or kJ/km].

    Parameters
    ----------
    circumferential_n, lateral_n, load_n : array_like
        Forces along and across the wheel, and the load on it. [N]

    Examples
    --------
    >>> float(round(tangential_energy(94.4, 0.0, 2942.0), 2))
    3.03
    """
    along, across = np.asarray(circumferential_n, dtype=float), np.asarray(lateral_n, dtype=float)
    return (along**2 + across**2) / np.asarray(load_n, dtype=float)


def tread_wear(energy_j_per_m: ArrayLike) -> Any:
    """Tread volume that one wheel of a passenger car loses, ``C0 + CE TE`` [dm³ per 1000 km]."""
    return C0 + CE * np.asarray(energy_j_per_m, dtype=float)

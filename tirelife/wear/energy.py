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
from tirelife.wear.cause import CAUSES, RECORDS
from tirelife.wear.forces import C0, CE, Wheel
from tirelife.wear.vehicle import Vehicle

__all__ = [
    "causes_at_wheel",
    "reference_shares",
    "tangential_energy",
    "tread_wear",
    "wheel_energy",
]

_FRONT: Final = np.array([True, True, False, False])


def wheel_energy(
    moments: Mapping[str, Any] | pd.DataFrame,
    vehicle: Mapping[str, Any] | pd.DataFrame,
    front: ArrayLike,
    toe_mm: ArrayLike = 0.0,
) -> dict[str, NDArray[np.float64]]:
    """Energy left in the contact patch of one wheel per metre, by cause.

    Parameters
    ----------
    moments, vehicle, front, toe_mm
        As :class:`~tirelife.wear.forces.Wheel` takes them.

    Returns
    -------
    dict of str to ndarray
        Each cause that leaves energy: all but pressure. [J/m] See :mod:`tirelife.wear.cause` for their
        physics.
    """
    wheel = Wheel(moments, vehicle, front, toe_mm)
    out = {cause.name: np.asarray(cause.energy(wheel)) for cause in RECORDS if cause.energy}
    shape = np.broadcast_shapes(*(v.shape for v in out.values()))
    return {cause: np.broadcast_to(value, shape) for cause, value in out.items()}


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
    energy = wheel_energy(moments, vehicle, front, toe_mm)
    scale = 1 / reference_wear()
    still = scale * C0 * np.asarray(vehicle["mass_kg"], dtype=float) / Vehicle().mass_kg
    out = {
        cause.name: scale * CE * energy[cause.name] + (still * cause.free if cause.free else 0.0)
        for cause in RECORDS
        if cause.energy
    }
    whole = np.sum([np.asarray(v) for v in np.broadcast_arrays(*out.values())], axis=0)
    out |= {cause.name: cause.of_whole(pressure) * whole for cause in RECORDS if cause.of_whole}
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

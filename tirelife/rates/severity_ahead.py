"""How hard each kilometre ahead is on a tire: recent severity, taken to go on."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.axles import is_front
from tirelife.positions import SPARE

__all__ = ["RECENT_KM", "recent_lengths", "severity_ahead"]

RECENT_KM: Final = 16_000.0
"""Severity ahead is that of the last so many km on a wheel, about a year's driving; an assumption."""


def severity_ahead(
    parts: pd.DataFrame, mounted: pd.DataFrame
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Severity ahead at each mounted tire's wheel, and on the vehicle's other axle.

    Parameters
    ----------
    parts : DataFrame
        From :func:`tirelife.wear.stretch_severity`.
    mounted : DataFrame
        vehicle_id, position and axle (front, rear or spare) of n tires, as from
        :func:`tirelife.outlook.rotation_ahead.rotation_ahead`.

    Returns
    -------
    here, there : ndarray, shape (n,)
        Reference km per km; 1 where nothing was run. For a spare both are the mean of the two axles.
    """
    # A tiny weight keeps a wheel that has run nothing yet from having no severity at all.
    length = recent_lengths(parts) + 1e-9
    severity = parts["severity"].to_numpy(dtype=float)
    front = is_front(parts["position"])
    wheel = pd.DataFrame(
        {
            "vehicle_id": parts["vehicle_id"].to_numpy(dtype=object),
            "position": parts["position"].to_numpy(dtype=object),
            "axle": np.where(front, "front", "rear"),
            "km": length,
            "run": length * severity,
        }
    )[(parts["position"] != SPARE).to_numpy()]
    by_wheel = wheel.groupby(["vehicle_id", "position"])[["km", "run"]].sum()
    by_axle = wheel.groupby(["vehicle_id", "axle"])[["km", "run"]].sum()
    axle = mounted["axle"].to_numpy(dtype=object)
    vehicle = mounted["vehicle_id"].to_numpy(dtype=object)
    front_side, rear_side = (
        _at(by_axle, vehicle, np.full(len(axle), name, dtype=object)) for name in ("front", "rear")
    )
    both = (front_side + rear_side) / 2
    here = _at(by_wheel, vehicle, mounted["position"].to_numpy(dtype=object))
    here = np.where(axle == "spare", both, here)
    there = np.where(axle == "front", rear_side, np.where(axle == "rear", front_side, both))
    return here, there


def recent_lengths(parts: pd.DataFrame, most_km: float = RECENT_KM) -> NDArray[np.float64]:
    """How much of each stretch lies in its vehicle's last so many km. [km]

    Parameters
    ----------
    parts : DataFrame
        vehicle_id, from_km, to_km of n stretches.
    most_km : float

    Returns
    -------
    ndarray, shape (n,)
    """
    last = parts.groupby("vehicle_id")["to_km"].transform("max").to_numpy(dtype=float)
    begin = np.maximum(parts["from_km"].to_numpy(dtype=float), last - most_km)
    return np.asarray(np.maximum(parts["to_km"].to_numpy(dtype=float) - begin, 0.0))


def _at(sums: pd.DataFrame, vehicle: NDArray[np.object_], place: NDArray[np.object_]) -> NDArray[np.float64]:
    row = sums.index.get_indexer(pd.MultiIndex.from_arrays([vehicle, place]))
    mean = np.append((sums["run"] / sums["km"]).to_numpy(dtype=float), np.nan)[row]
    return np.asarray(np.where(np.isfinite(mean) & (mean > 0), mean, 1.0))

"""How hard driving is on each wheel of a vehicle, as a table and as weights of plain answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.driving import DrivingProfile, answer_matrix, default_profile
from tirelife.errors import InputError
from tirelife.logbook import ROAD_POSITIONS
from tirelife.wear.energy import causes_at_wheel
from tirelife.wear.factors import ASSUMED, Factors, severity_log_sd
from tirelife.wear.vehicle import Vehicle

__all__ = ["answer_weights", "severity"]

_FRONT: Final = np.array([True, True, False, False])


def severity(
    profile: DrivingProfile,
    vehicle: Vehicle,
    *,
    pressure: float | ArrayLike = 1.0,
    front_toe_mm: float = 0.0,
    rear_toe_mm: float = 0.0,
    factors: Factors = ASSUMED,
) -> pd.DataFrame:
    """How hard driving is on each wheel of a vehicle, split into causes.

    Parameters
    ----------
    profile : DrivingProfile
    vehicle : Vehicle
    pressure : float or array_like, shape (4,)
        Wear over wear at placard pressure for LF, RF, LR, RR; see :func:`tirelife.inflation.pressure_wear`.
    front_toe_mm, rear_toe_mm : float
        Total toe, in positive. [mm]
    factors : Factors
        Of the causes, as assumed or as learned from a log.

    Returns
    -------
    DataFrame
        Indexed by ``position`` (LF, RF, LR, RR): ``severity`` (1 is the reference), one column a cause of
        ``CAUSES``, which sum to it, and ``severity_log_sd``, with the vehicle's figures taken as known; what
        defaults among them add is :func:`~tirelife.wear.vehicle_log_sd`, in squares.

    Examples
    --------
    >>> from tirelife.driving import default_profile
    >>> table = severity(default_profile(), Vehicle())
    >>> float(table["severity"].mean().round(9))
    1.0
    """
    factor = np.broadcast_to(np.asarray(pressure, dtype=float), (4,))
    if not (np.isfinite(factor) & (factor > 0)).all():
        raise InputError(f"pressure factors {factor.tolist()}: give positive numbers, 1 at placard pressure")
    toe = np.where(_FRONT, front_toe_mm, rear_toe_mm)
    parts = factors.weigh(causes_at_wheel(asdict(profile), asdict(vehicle), _FRONT, factor, toe))
    out = pd.DataFrame(parts, index=pd.Index(ROAD_POSITIONS, name="position"))
    out.insert(0, "severity", out.sum(axis=1))
    out["severity_log_sd"] = severity_log_sd(parts, profile.log_sd, 0.0, factors)
    return out


def answer_weights(vehicle: Vehicle, factors: Factors = ASSUMED) -> pd.DataFrame:
    """Severity at placard pressure and zero toe as a linear function of the plain answers.

    Parameters
    ----------
    vehicle : Vehicle
    factors : Factors
        Of the causes.

    Returns
    -------
    DataFrame
        Indexed by position (LF, RF, LR, RR); columns ``constant``, the five shares of distance by speed and
        the three rates of hard events per 100 km. Severity is ``constant + answers @ weights``, so a web page
        can repeat it.
    """
    answers = answer_matrix()
    usual = {
        name: float(value) for name, value in asdict(default_profile()).items() if name in answers.columns
    }

    def total(moments: Mapping[str, Any]) -> NDArray[np.float64]:
        parts = factors.weigh(causes_at_wheel(moments, asdict(vehicle), _FRONT))
        return np.asarray(np.sum(list(parts.values()), axis=0))

    constant = total(dict.fromkeys(answers.columns, 0.0))
    columns = {"constant": constant}
    for answer, row in answers.iterrows():
        # About the default profile: a change alone is no driving, and energy is not linear below zero.
        columns[str(answer)] = total({m: usual[m] + row[m] for m in usual}) - total(usual)
    return pd.DataFrame(columns, index=pd.Index(ROAD_POSITIONS, name="position"))

"""How hard driving is on each wheel of a vehicle, as a table and as weights of plain answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.driving import MEANT_BY_HARD, DrivingProfile, Thresholds, answer_matrix, default_profile
from tirelife.errors import misused
from tirelife.positions import ROAD
from tirelife.wear.cause import CAUSES
from tirelife.wear.energy import causes_at_wheel
from tirelife.wear.factors import ASSUMED, Factors, severity_log_sd
from tirelife.wear.vehicle import Vehicle
from tirelife.wear.wrong import Wrong

__all__ = ["answer_causes", "answer_weights", "severity"]

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
        :data:`~tirelife.wear.CAUSES`, which sum to it, and ``severity_log_sd``, with the vehicle's figures
        taken as known; what defaults among them add is :func:`~tirelife.wear.vehicle_log_sd`, in squares.

    Examples
    --------
    >>> from tirelife.driving import default_profile
    >>> table = severity(default_profile(), Vehicle())
    >>> float(table["severity"].mean().round(9))
    1.0
    """
    factor = np.broadcast_to(np.asarray(pressure, dtype=float), (4,))
    if not (np.isfinite(factor) & (factor > 0)).all():
        raise misused(Wrong.PRESSURE_FACTORS, given=factor.tolist())
    toe = np.where(_FRONT, front_toe_mm, rear_toe_mm)
    parts = factors.weigh(causes_at_wheel(asdict(profile), asdict(vehicle), _FRONT, factor, toe))
    out = pd.DataFrame(parts, index=pd.Index(ROAD, name="position"))
    out.insert(0, "severity", out.sum(axis=1))
    out["severity_log_sd"] = severity_log_sd(parts, profile.log_sd, 0.0, factors)
    return out


def answer_weights(
    vehicle: Vehicle, factors: Factors = ASSUMED, thresholds: Thresholds = MEANT_BY_HARD
) -> pd.DataFrame:
    """Severity at placard pressure and zero toe as a linear function of the plain answers.

    Parameters
    ----------
    vehicle : Vehicle
    factors : Factors
        Of the causes.
    thresholds : Thresholds
        What counts as hard.

    Returns
    -------
    DataFrame
        Indexed by position (LF, RF, LR, RR); columns ``constant``, the five shares of distance by speed
        (:data:`~tirelife.driving.profile.BANDS`) and the three rates of hard events per 100 km
        (:data:`~tirelife.driving.profile.EVENTS`). Severity is ``constant + answers @ weights``, so a web
        page can repeat it.
    """
    parts = answer_causes(vehicle, factors, thresholds)
    whole = np.sum([table.to_numpy() for table in parts.values()], axis=0)
    first = next(iter(parts.values()))
    return pd.DataFrame(whole, index=first.index, columns=first.columns)


def answer_causes(
    vehicle: Vehicle, factors: Factors = ASSUMED, thresholds: Thresholds = MEANT_BY_HARD
) -> dict[str, pd.DataFrame]:
    """What :func:`answer_weights` gives, cause by cause; pressure and alignment are 0 here."""
    answers = answer_matrix(thresholds)
    usual = {
        name: float(value) for name, value in asdict(default_profile()).items() if name in answers.columns
    }

    def parts(moments: Mapping[str, Any]) -> dict[str, NDArray[np.float64]]:
        return factors.weigh(causes_at_wheel(moments, asdict(vehicle), _FRONT))

    at_usual = parts(usual)
    columns = {"constant": parts(dict.fromkeys(answers.columns, 0.0))}
    for answer, row in answers.iterrows():
        # About the default profile: a change alone is no driving, and energy is not linear below zero.
        there = parts({m: usual[m] + row[m] for m in usual})
        columns[str(answer)] = {cause: there[cause] - at_usual[cause] for cause in CAUSES}
    index = pd.Index(ROAD, name="position")
    return {
        cause: pd.DataFrame({name: values[cause] for name, values in columns.items()}, index=index)
        for cause in CAUSES
    }

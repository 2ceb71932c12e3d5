"""How many vehicles, and how far, to show a difference in a trial."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Final

import numpy as np
import pandas as pd

from tirelife.errors import misused
from tirelife.groups.advice import Remark
from tirelife.groups.wrong import Wrong

__all__ = ["plan_trial", "rate_log_se"]

LEAST_TIRES: Final = 30
"""Tires of each type at the end of a wear trial, TMC RP 230, as read in a trade article on mileage
testing."""


def rate_log_se(wear_mm: float, reading_sd_mm: float, visits: int) -> float:
    """Standard error of the log of a tire's wear rate from evenly spaced readings.

    Parameters
    ----------
    wear_mm : float
        Depth lost between the first and the last reading. [mm]
    reading_sd_mm : float
        Spread of a visit's mean depth about the line. [mm]
    visits : int
        Two or more.

    Notes
    -----
    Least squares on m points evenly over a length L: Sxx = L² m (m + 1) / (12 (m - 1)).

    Examples
    --------
    Two readings 4 mm apart, each within 0.2 mm: 0.2 * sqrt(2) / 4.

    >>> round(rate_log_se(4.0, 0.2, 2), 5)
    0.07071
    """
    if visits < 2 or wear_mm <= 0 or reading_sd_mm < 0:
        raise misused(Wrong.TRIAL_RATE)
    return float(reading_sd_mm / wear_mm / np.sqrt(visits * (visits + 1) / (12 * (visits - 1))))


def plan_trial(
    vehicle_log_sd: float,
    tire_log_sd: float,
    wear_mm_per_1000km: float,
    distances_km: Sequence[float] = (8000.0, 16000.0, 24000.0, 32000.0, 48000.0),
    *,
    ratio: float = 1.10,
    groups: int = 2,
    same_vehicles: bool = False,
    visits: int = 4,
    reading_sd_mm: float = 0.2,
    tires: int = 4,
    level: float = 0.95,
    power: float = 0.8,
) -> pd.DataFrame:
    """Vehicles needed to show a difference, for several distances.

    Parameters
    ----------
    vehicle_log_sd, tire_log_sd : float
        Spreads of log wear between vehicles, and between the tires of one; a comparison's ``components``
        have those of this fleet.
    wear_mm_per_1000km : float
        Usual wear rate. [mm per 1000 km]
    distances_km : sequence of float
        Distance that each vehicle runs. [km]
    ratio : float
        Difference in wear rate to show; 1.10 is 10 %.
    groups : int
        Groups compared, all with all: the chance of a false alarm is shared among the pairs (Bonferroni).
    same_vehicles : bool
        Two kinds of tire run on the same vehicles, half of the wheels each and changing places, so that the
        vehicles' spread cancels; driver groups cannot be tried so.
    visits : int
        Readings over the distance.
    reading_sd_mm : float
        Spread of a visit's mean depth. [mm]
    tires : int
        Tires read on each vehicle.
    level, power : float
        One minus the chance of a false alarm, and the chance to show a difference that is there.

    Returns
    -------
    DataFrame
        distance_km, vehicles (a group, or in all with ``same_vehicles``), tires_a_group, vehicle_sd (of one
        vehicle's mean log wear, or difference), note.

    Notes
    -----
    t test power by statsmodels.
    """
    from statsmodels.stats.power import TTestIndPower, TTestPower

    if ratio <= 0 or ratio == 1 or groups < 2 or tires < 1 or min(vehicle_log_sd, tire_log_sd) < 0:
        raise misused(Wrong.TRIAL_ASKED)
    if same_vehicles and (groups != 2 or tires < 2):
        raise misused(Wrong.TRIAL_PAIRED)
    alpha = (1 - level) / (groups * (groups - 1) / 2)
    rows = []
    for km in distances_km:
        se = rate_log_se(wear_mm_per_1000km * km / 1000, reading_sd_mm, visits)
        noise = tire_log_sd**2 + se**2
        if same_vehicles:
            sd = float(np.sqrt(noise * 4 / tires))
            test, each = TTestPower(), tires / 2
        else:
            sd = float(np.sqrt(vehicle_log_sd**2 + noise / tires))
            test, each = TTestIndPower(), float(tires)
        need = test.solve_power(effect_size=abs(np.log(ratio)) / max(sd, 1e-9), alpha=alpha, power=power)
        vehicles = max(ceil(float(np.ravel(need)[0])), 2)
        few = each * vehicles < LEAST_TIRES
        note = Remark.FEW_TIRES.value if few else ""
        rows.append((float(km), vehicles, round(each * vehicles), sd, note))
    return pd.DataFrame(rows, columns=["distance_km", "vehicles", "tires_a_group", "vehicle_sd", "note"])

"""Simple rules that a forecast of depths has to beat: each tire's own line, and the fleet's mean rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.normal import ndtri
from tirelife.tread import tire_visits

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["fleet_mean", "straight_lines"]

Floats = NDArray[np.float64]


def straight_lines(known: Logbook, later: pd.DataFrame) -> tuple[Floats, Floats]:
    """Depths at later visits by each tire's least-squares line through its new depth and its readings.

    Parameters
    ----------
    known : Logbook
        As it was known before.
    later : DataFrame
        ``tire_id, tire_km``.

    Returns
    -------
    mean, sd : ndarray, shape (n,)
        NaN for a tire without a line; sd is that of the normal distribution with the 80 % range of the line's
        prediction, NaN for a line through two points. [mm]
    """
    visits = tire_visits(known)
    visits = visits[visits["tire_id"] != ""]
    new = known.tires.set_index("tire_id")["new_depth_mm"].dropna()
    rows = pd.concat(
        [
            visits[["tire_id", "tire_km", "depth_mm"]],
            pd.DataFrame({"tire_id": new.index, "tire_km": 0.0, "depth_mm": new.to_numpy(dtype=float)}),
        ]
    ).dropna()
    by = rows.groupby("tire_id")
    mean = by[["tire_km", "depth_mm"]].transform("mean")
    from scipy.special import stdtrit

    dx, dy = rows["tire_km"] - mean["tire_km"], rows["depth_mm"] - mean["depth_mm"]
    sums = pd.DataFrame({"n": 1.0, "xx": dx**2, "xy": dx * dy, "yy": dy**2}).groupby(rows["tire_id"]).sum()
    line = sums.join(by[["tire_km", "depth_mm"]].mean()).reindex(later["tire_id"])
    get = {name: line[name].to_numpy(dtype=float) for name in line}
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.where(get["xx"] > 0, get["xy"] / get["xx"], np.nan)
        away = later["tire_km"].to_numpy(dtype=float) - get["tire_km"]
        free = get["n"] - 2
        square = np.where(free > 0, (get["yy"] - slope * get["xy"]) / free, np.nan)
        sd = np.sqrt(np.maximum(square, 1e-6) * (1 + 1 / get["n"] + away**2 / get["xx"]))
        sd = sd * np.where(free > 0, stdtrit(np.maximum(free, 1), 0.9) / ndtri(0.9), np.nan)
    return get["depth_mm"] + slope * away, sd


def fleet_mean(
    fit: WearFit, later: pd.DataFrame, ahead_km: Floats, read_sd_mm: float
) -> tuple[Floats, Floats]:
    """Depths at later visits by wearing every tire from its last reading at the mean rate of all tires.

    Parameters
    ----------
    fit : WearFit
        Of the logbook as it was known before.
    later : DataFrame
        ``tire_id``.
    ahead_km : ndarray, shape (n,)
        Run since the last reading. [km]
    read_sd_mm : float
        Error of one reading. [mm]

    Returns
    -------
    mean, sd : ndarray, shape (n,)
        NaN for a tire that was never read; sd from the spread of the tires' rates and two readings' errors.
        [mm]
    """
    rates = fit.frames["tires"]["straight_line_mm_per_1000km"].to_numpy(dtype=float) / 1000
    rates = rates[np.isfinite(rates)]
    mean, sd = (float(np.mean(rates)), float(np.std(rates))) if len(rates) else (np.nan, np.nan)
    last = fit.frames["visits"].groupby("tire_id")["depth_mm"].last().reindex(later["tire_id"])
    return last.to_numpy(dtype=float) - mean * ahead_km, np.sqrt((sd * ahead_km) ** 2 + 2 * read_sd_mm**2)

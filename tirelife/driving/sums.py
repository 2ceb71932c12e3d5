"""From the sums of trips to what people read: statistics of a trip, moments of a profile, doubts.

``SUMS`` lists what :func:`tirelife.driving.kernel.trip_sums` and :mod:`tirelife.driving.portable` hand
over. All but the extremes add up over trips.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.driving.answers import answer_matrix, default_profile
from tirelife.driving.profile import EVENTS, MOMENTS
from tirelife.logbook import BANDS
from tirelife.units import GRAVITY

__all__ = ["EXTREMES", "SUMS", "looks_like", "means", "statistics"]

_PARTS: Final = tuple(
    f"{phase}_{term}"
    for phase in ("drive", "brake")
    for term in ("m", "m_v2", "m_v4", "m_a", "m_a2", "m_av2")
)
COUNTED: Final = (*_PARTS, *(f"band{i}_m" for i in range(5)), "slow_m", "counted_s")
SIDE: Final = ("side_m", "side_m_ay2")
FOUND: Final[dict[str, tuple[str, str]]] = {
    "missing": ("samples without a time or speed, dropped", "see why the recorder left them out"),
    "unsorted": ("samples out of time order, sorted", "write each trip in time order"),
    "repeated": (
        "samples at a time already there, dropped; of two speeds the lower is kept",
        "see that no two trips share a trip_id",
    ),
    "negative": ("speeds below 0, taken as 0", "record the size of the speed"),
    "spikes": ("samples no vehicle could reach and leave again, dropped", "look at the receiver's antenna"),
    "jumps": ("changes of speed no tire could hold, left out", "look for lost samples or merged trips"),
    "gaps": (
        "steps longer than 1.5 s: a straight line in distance_km, left out of all else",
        "record at 1 Hz or faster",
    ),
    "drift_s": (
        "seconds of crawl below 0.5 m/s, taken as a receiver at rest and left out of the moments",
        "none needed; the distance lost is drift_km",
    ),
    "side_wrong": ("lateral accelerations beyond 12 m/s², left out", "check the unit of the lateral column"),
}
"""What can be found wrong with samples: what it is and what was done, and what to do."""
SUMS: Final = (
    "samples", "start_s", "duration_s", "path_m", "speed_sum", "speed2_sum", "speed3_sum", "speed_max",
    "zero_samples", "stops", "stop_longest_s", "up_runs", "down_runs", "accel_max", "accel_min", "power_sum",
    "power_size_sum", "power_max", "power_min", "aero_sum", "aero_max", "aero_path_sum", "mean_sum",
    "mean_max", "moving_s", "work_sum", "work_net", "fast", "gap_s", "gap_longest_s", "gap_m", "jump_s",
    "drift_m", *FOUND, *COUNTED, *SIDE, "hard_starts", "hard_stops", "hard_turns",
)  # fmt: skip
"""Columns of one trip, in SI."""
EXTREMES: Final = (
    "start_s", "speed_max", "stop_longest_s", "accel_max", "accel_min", "power_max", "power_min", "aero_max",
    "mean_max", "gap_longest_s",
)  # fmt: skip
"""The columns that do not add up over trips."""

# Mean of |d(v²)/2|/dt over moving time in 241 household trips (Chicago 2007): median 4.2, 99th percentile 8,
# largest 10.6 W/kg; US06 9.9. It goes with the square of the speed's unit: 5.0 times in mph, 13 in km/h.
_MOST_WORK: Final = 13.0
_KMH_WORK: Final = 34.0
_TYPICAL_WORK_S: Final = 30.0
_LATERAL_SD, _NO_LATERAL_SD, _TRIP_SD = 0.15, 0.25, 0.25


def statistics(sums: pd.DataFrame) -> pd.DataFrame:
    """Statistics of each trip, by the definitions of the Transportation Secure Data Center (NREL).

    Parameters
    ----------
    sums : DataFrame
        One row a trip, columns ``SUMS``.

    Returns
    -------
    DataFrame
        See :func:`tirelife.driving.trip_statistics` for the columns and their definitions.
    """
    s = sums
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = s["speed_sum"] / s["samples"]
        gained = (s["power_size_sum"] + s["power_sum"]) / 2
        variance = np.maximum(s["speed2_sum"] / s["samples"] - mean**2, 0.0)
        aero_speed = np.sqrt(s["aero_path_sum"] / s["path_m"])
        characteristic = (s["work_sum"] + s["work_net"]) / 2 / s["path_m"]
        return pd.DataFrame(
            {
                "start_s": s["start_s"],
                "duration_s": s["duration_s"],
                "samples": s["samples"],
                "distance_km": s["path_m"] / 1000,
                "mean_speed_mps": mean,
                "driving_mean_speed_mps": s["speed_sum"] / (s["samples"] - s["zero_samples"]),
                "max_speed_mps": s["speed_max"],
                "root_mean_cubed_speed_mps": np.cbrt(s["speed3_sum"] / s["samples"]),
                "sd_speed_mps": np.sqrt(variance),
                "zero_samples": s["zero_samples"],
                "stops": s["stops"],
                "longest_stop_s": s["stop_longest_s"],
                "acceleration_runs": s["up_runs"],
                "deceleration_runs": s["down_runs"],
                "max_acceleration_mps2": s["accel_max"],
                "max_deceleration_mps2": s["accel_min"],
                "kinetic_demand_total_m2s3": gained,
                "kinetic_demand_max_m2s3": np.maximum(s["power_max"], 0.0),
                "kinetic_return_total_m2s3": s["power_sum"] - gained,
                "kinetic_return_max_m2s3": np.minimum(s["power_min"], 0.0),
                "aerodynamic_demand_total_m3s3": 0.5 * s["aero_sum"],
                "aerodynamic_demand_max_m3s3": 0.5 * s["aero_max"],
                "rolling_demand_total_m2s3": GRAVITY * s["mean_sum"],
                "rolling_demand_max_m2s3": GRAVITY * s["mean_max"],
                "aerodynamic_speed_mps": aero_speed,
                "characteristic_acceleration_mps2": characteristic,
                "kinetic_intensity_per_km": 1000 * characteristic / aero_speed**2,
            }
        )


def means(sums: pd.DataFrame) -> pd.DataFrame:
    """Distance-weighted means of trips, or of sums of trips: the fields of a driving profile.

    Parameters
    ----------
    sums : DataFrame
        Columns ``SUMS``, and ``trips_squared_m2``, the sum over trips of the squared distance.

    Returns
    -------
    DataFrame
        ``counted_km`` (the distance that the means are over), the speed shares, the event rates per 100
        km, the moments, ``lateral_share`` (share of distance with a known lateral acceleration) and
        ``log_sd``. NaN where there is no distance. Where the lateral acceleration is not known, ``ay2``
        is that of plain answers for the speed mix, and the rate of hard turns is NaN.

    Notes
    -----
    ``log_sd`` is 0.15 with and 0.25 without lateral acceleration (our assumption), with 0.25 / sqrt(trips)
    added in squares: the distance-weighted spread of the energy of single trips about their vehicle's mean in
    241 household trips (Chicago 2007) is 0.24.
    """
    meters = sums["drive_m"] + sums["brake_m"]
    meters = meters.where(meters > 0)
    out = pd.DataFrame({"counted_km": meters.fillna(0.0) / 1000}, index=sums.index)
    for i, band in enumerate(BANDS):
        out[band] = np.clip(sums[f"band{i}_m"] / meters, 0.0, 1.0)
    side = sums["side_m"].where(sums["side_m"] > 0)
    per_100km = 100_000 / meters
    for event, count, over in zip(
        EVENTS, ("hard_starts", "hard_stops", "hard_turns"), (None, None, side), strict=True
    ):
        out[event] = sums[count] * (per_100km if over is None else 100_000 / over)
    for part in _PARTS:
        phase, _, term = part.partition("_m")
        out[f"{phase}_{term.removeprefix('_') or 'share'}"] = sums[part] / meters
    usual = answer_matrix()["ay2"]
    typical = out[list(BANDS)] @ usual[list(BANDS)] + typical_turns() * usual["hard_turns_per_100km"]
    out["lateral_share"] = (sums["side_m"] / meters).clip(0.0, 1.0)
    out["ay2"] = sums["side_m_ay2"] / meters + (1 - out["lateral_share"]) * typical
    out["slow_turn"] = sums["slow_m"] / meters
    known = out["lateral_share"]
    base = known * _LATERAL_SD + (1 - known) * _NO_LATERAL_SD
    one_in = sums["trips_squared_m2"] / meters**2
    out["log_sd"] = np.sqrt(base**2 + _TRIP_SD**2 * one_in)
    return out[["counted_km", *BANDS, *EVENTS, *MOMENTS, "lateral_share", "log_sd"]]


def typical_turns() -> float:
    """Hard turns per 100 km taken where nothing says how corners were driven."""
    return default_profile().hard_turns_per_100km


def looks_like(sums: pd.DataFrame) -> pd.Series:
    """Unit that the speeds of trips seem to be in: ``mps``, ``mph`` or ``kmh``.

    Parameters
    ----------
    sums : DataFrame
        ``work_sum``, ``moving_s``, ``fast``, ``samples``.

    Returns
    -------
    Series of str

    Notes
    -----
    The mean of speed times acceleration goes with the square of the unit. Above 13 W/kg, or
    above 60 m/s in more than one sample of twenty, it is not m/s. On 241 household trips this finds all
    of those given in km/h but the shortest, most of those in mph, and none in m/s; a single gentle trip
    in mph can pass, which is why a vehicle's trips are also judged together.
    """
    work = sums["work_sum"] / sums["moving_s"].where(sums["moving_s"] >= _TYPICAL_WORK_S)
    fast = sums["fast"] > 0.05 * sums["samples"]
    odd = (work > _MOST_WORK) | fast
    kmh = (work > _KMH_WORK) | (fast & (sums["speed_max"] > 85.0))
    return pd.Series(np.select([odd & kmh, odd], ["kmh", "mph"], "mps"), index=sums.index)

"""From the sums of trips to what people read: statistics of a trip, moments of a profile, doubts.

``SUMS`` lists what :func:`tirelife.driving.kernel.trip_sums` hands over.
All but the extremes add up over trips.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.driving.answers import answer_matrix, default_profile
from tirelife.driving.faults import Fault
from tirelife.driving.profile import EVENTS, MEANT_BY_HARD, MOMENTS, STEERED_SHARE, Thresholds
from tirelife.logbook import BANDS
from tirelife.units import GRAVITY

__all__ = ["EXTREMES", "SUMS", "event_sizes", "looks_like", "means", "parked", "statistics"]

_PARTS: Final = tuple(
    f"{phase}_{term}"
    for phase in ("drive", "brake")
    for term in ("m", "m_v2", "m_v4", "m_a", "m_a2", "m_av2")
)
COUNTED: Final = (
    *_PARTS, *(f"band{i}_m" for i in range(5)), "parking_m", "slow_m", "steer_m", "counted_s", "along_s_a2",
    "along_max",
    "along_min",
)  # fmt: skip
SIDE: Final = ("side_m", "side_m_ay2", "side_s", "side_s_ay2", "side_max")
FOUND: Final[dict[str, Fault]] = {
    "missing": Fault.MISSING,
    "unsorted": Fault.UNSORTED,
    "repeated": Fault.REPEATED,
    "negative": Fault.NEGATIVE,
    "spikes": Fault.SPIKES,
    "jumps": Fault.JUMPS,
    "gaps": Fault.GAPS,
    "drift_s": Fault.DRIFT,
    "side_wrong": Fault.SIDE_WRONG,
    "along_wrong": Fault.ALONG_WRONG,
    "no_speed": Fault.NO_SPEED,
}
"""What is counted of samples that are wrong, and its code."""
SUMS: Final = (
    "samples", "start_s", "duration_s", "path_m", "speed_sum", "speed2_sum", "speed3_sum", "speed_max",
    "zero_samples", "stops", "stop_longest_s", "up_runs", "down_runs", "accel_max", "accel_min", "power_sum",
    "power_size_sum", "power_max", "power_min", "aero_sum", "aero_max", "aero_path_sum", "mean_sum",
    "mean_max", "moving_s", "work_sum", "work_net", "fast", "fastest", "gap_s", "gap_longest_s", "gap_m",
    "jump_s",
    "drift_m", *FOUND, *COUNTED, *SIDE, "hard_starts", "hard_stops", "hard_turns", "start_peaks",
    "stop_peaks", "turn_peaks",
)  # fmt: skip
"""Columns of one trip, in SI."""
EXTREMES: Final = (
    "start_s", "speed_max", "stop_longest_s", "accel_max", "accel_min", "power_max", "power_min", "aero_max",
    "mean_max", "gap_longest_s", "along_max", "along_min", "side_max",
)  # fmt: skip
"""The columns that do not add up over trips."""

PARKED_MOST_M: Final = 200.0
PARKED_MOST_SHARE: Final = 0.02
"""Distance at parking speed of one trip that may be parking where nobody recorded the turning, in metres or
as a share of the trip, whichever is more: what goes beyond it is a jam (our choice; household cars, Chicago
2007, run about 65 m and 0.8 % of an ordinary trip)."""
_PARKED_LOG_SD: Final = 1.0
"""What is not known of turning that was not recorded: a factor of 2.7 either way (our judgement)."""
_PARKED_SEVERITY: Final = 12.5
"""Severity of the mean wheel of an ordinary car per unit of ``slow_turn``; see
:mod:`tirelife.wear.energy`."""

# Mean of |d(v²)/2|/dt over moving time in 241 household trips (Chicago 2007): median 4.2, 99th percentile 8,
# largest 10.6 W/kg; US06 9.9. It goes with the square of the speed's unit: 5.0 times in mph, 13 in km/h.
_MOST_WORK: Final = 13.0
_KMH_WORK: Final = 34.0
_MOST_POWER: Final = 60.0  # W/kg; the hardest second of US06, the hardest of the published cycles, is 46
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
        Columns ``SUMS`` and those of :func:`parked`, and ``trips_squared_m2``, the sum over trips of the
        squared distance.

    Returns
    -------
    DataFrame
        ``counted_km`` (the distance that the means are over), the speed shares, the event rates per 100
        km, the moments, ``lateral_share`` (share of distance with a known lateral acceleration),
        ``turning_share`` (share of the distance at parking speed whose turning is known) and ``log_sd``. NaN
        where there is no distance. Where the lateral acceleration is not known, ``ay2``
        is that of plain answers for the speed mix, and the rate of hard turns is NaN.

    Notes
    -----
    ``log_sd`` is 0.15 with and 0.25 without lateral acceleration (our assumption), with 0.25 / sqrt(trips)
    added in squares: the distance-weighted spread of the energy of single trips about their vehicle's mean in
    241 household trips (Chicago 2007) is 0.24. Parking whose turning nobody recorded adds the share of the
    mean
    wheel's wear that it takes, times 1.0.
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
    out["slow_turn"] = (sums["steer_m"] / STEERED_SHARE + sums["parked_m"]) / meters
    out["turning_share"] = 1 - sums["slow_m"] / sums["parking_m"].where(sums["parking_m"] > 0)
    known = out["lateral_share"]
    base = known * _LATERAL_SD + (1 - known) * _NO_LATERAL_SD
    one_in = sums["trips_squared_m2"] / meters**2
    parked = _PARKED_SEVERITY * sums["parked_m"] / meters
    unturned = _PARKED_LOG_SD * parked / (1 + parked)
    out["log_sd"] = np.sqrt(base**2 + _TRIP_SD**2 * one_in + unturned**2)
    return out[["counted_km", *BANDS, *EVENTS, *MOMENTS, "lateral_share", "turning_share", "log_sd"]]


def parked(sums: pd.DataFrame) -> pd.DataFrame:
    """Sums of single trips with what may be parking where nobody recorded the turning.

    Returns
    -------
    DataFrame
        ``sums`` and ``parked_m``: the distance at parking speed whose turning is not known, of a trip at most
        ``PARKED_MOST_M`` or ``PARKED_MOST_SHARE``. [m]
    """
    most = np.maximum(PARKED_MOST_M, PARKED_MOST_SHARE * (sums["drive_m"] + sums["brake_m"]))
    return sums.assign(parked_m=np.minimum(sums["slow_m"], most))


def event_sizes(sums: pd.DataFrame) -> pd.DataFrame:
    """How hard each trip was driven, in sizes and not in counts.

    Returns
    -------
    DataFrame
        ``largest_start_mps2, largest_stop_mps2, largest_turn_mps2`` (means over a second), ``start_peak_mps2,
        stop_peak_mps2, turn_peak_mps2`` (mean of the peaks of the hard ones, NaN where there are none) and
        ``rms_along_mps2, rms_side_mps2`` (root mean square over time). Sizes to the side are NaN where they
        are not known.
    """
    side = sums["side_s"] > 0
    out: dict[str, pd.Series] = {
        "largest_start_mps2": sums["along_max"].clip(lower=0.0),
        "largest_stop_mps2": (-sums["along_min"]).clip(lower=0.0),
        "largest_turn_mps2": sums["side_max"].where(side),
    }
    for one in ("start", "stop", "turn"):
        count = sums[f"hard_{one}s"]
        out[f"{one}_peak_mps2"] = sums[f"{one}_peaks"] / count.where(count > 0)
    seconds = sums["counted_s"].where(sums["counted_s"] > 0)
    out["rms_along_mps2"] = (sums["along_s_a2"] / seconds) ** 0.5
    out["rms_side_mps2"] = (sums["side_s_ay2"] / sums["side_s"].where(side)) ** 0.5
    return pd.DataFrame(out, index=sums.index)


def typical_turns(thresholds: Thresholds = MEANT_BY_HARD) -> float:
    """Hard turns per 100 km taken where nothing says how corners were driven.

    Those of the default profile; beyond another threshold as many more as each of them says less.
    """
    at, meant = (float(answer_matrix(t)["ay2"][EVENTS[2]]) for t in (thresholds, MEANT_BY_HARD))
    return default_profile().hard_turns_per_100km * (meant / at if at > 0 else 1.0)


def looks_like(sums: pd.DataFrame) -> pd.Series:
    """Unit that the speeds of trips seem to be in: ``mps``, ``mph``, ``kmh`` or ``either`` of these two.

    Parameters
    ----------
    sums : DataFrame
        ``work_sum``, ``moving_s``, ``power_max``, ``fast``, ``fastest``, ``samples``, ``spikes``.

    Returns
    -------
    Series of str

    Notes
    -----
    The mean of speed times acceleration goes with the square of the unit. Above 13 W/kg, if some second took
    more than any car has (60 W/kg), or above 60 m/s in more than one sample of twenty, it is not m/s. The
    mean
    alone is no evidence: whole km/h at motorway speed, or a receiver's noise, make as much of steady driving.
    Numbers above 95 in one sample of twenty are km/h. On 241 household trips the mean finds all of those
    given
    in km/h but the shortest, most of those in mph, and none in m/s; a single gentle trip in mph can pass,
    which is why a vehicle's trips are also judged together.
    """
    work = sums["work_sum"] / sums["moving_s"].where(sums["moving_s"] >= _TYPICAL_WORK_S)
    given = sums["samples"] + sums["spikes"]
    fast, fastest = sums["fast"] > 0.05 * given, sums["fastest"] > 0.05 * given
    odd = (work > _MOST_WORK) & (sums["power_max"] > _MOST_POWER)
    unit = np.select([(odd & (work > _KMH_WORK)) | fastest, odd, fast], ["kmh", "mph", "either"], "mps")
    return pd.Series(unit, index=sums.index)

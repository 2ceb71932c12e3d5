"""How far each vehicle goes in a day, and how surely: the step from distance left to dates."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.logbook import Logbook, kept

__all__ = ["DEFAULT_KM_PER_DAY", "DEFAULT_LOG_SD", "MONTH_INDEX", "mileage", "pace_log_sd", "travel_days"]

DEFAULT_KM_PER_DAY: Final = 10_410 * 1.609344 / 365.25
"""Mean of passenger cars, 10,410 miles a year: EPA AVERT 2023 fleet file, VMT over stock. [km/day]"""
DEFAULT_LOG_SD: Final = 0.5
"""Log-sd between vehicles where no fleet tells; an assumption, no source."""
DRIFT_LOG_SD: Final = 0.08
"""Log-sd by which a vehicle's distance a year moves from one year to the next; an assumption, no source."""
NOISE_LOG_SD: Final = 0.12
"""Log-sd of one year's distance about its level where too few readings tell; an assumption, no source."""
HALF_LIFE_DAYS: Final = 365.0
"""A day's driving counts half after so long, since habits change; an assumption, no source."""
MONTH_INDEX: Final = (0.884, 0.906, 1.002, 1.030, 1.022, 1.059, 1.057, 1.045, 0.997, 1.015, 0.996, 0.984)
"""Travel per day over the year's mean, January to December: FHWA Traffic Volume Trends, 2004, all systems."""


@kept
def mileage(book: Logbook) -> pd.DataFrame:
    """Distance per day of each vehicle, with its spread.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        One row a vehicle, in the order of ``book.vehicles``: vehicle_id; date and odometer_km of its last
        reading (NaT, NaN where there is none); as_of; as_of_km, the odometer then, projected; km_per_day;
        log_sd, of the level of distance per day; year_log_sd, of one year about its level; readings; source
        (``"own"``, ``"fleet"`` or ``"default"``: what the level leans on most).

    Notes
    -----
    A vehicle's own level is distance over days, with recent driving counting most (:data:`HALF_LIFE_DAYS`)
    and the days weighted by the published month index, so that a summer's readings do not promise a summer's
    year. Its sampling variance is the pooled variance of
    intervals about their vehicle's level, per year of readings. It shrinks to the fleet's median level
    (to :data:`DEFAULT_KM_PER_DAY` in a fleet of fewer than three), by the ratio of the two variances.
    """
    names = book.vehicles["vehicle_id"].to_numpy()
    readings = book.odometer
    last = readings.groupby("vehicle_id").tail(1).set_index("vehicle_id")
    # One reading a day: several tables repeat a visit's odometer, rounded alike.
    daily = readings.groupby(["vehicle_id", "date"])["odometer_km"].max().reset_index()
    steps = _steps(daily)
    weight = steps["weight"].to_numpy()
    sums = pd.DataFrame(
        {
            "km": steps["km"] * weight,
            "days": steps["days"] * weight,
            "square": steps["days"] * weight**2,
        }
    )
    total = sums.groupby(steps["vehicle_id"]).sum().reindex(names).fillna(0.0)
    count = daily.groupby("vehicle_id").size().reindex(names).fillna(0).to_numpy(dtype=int)
    with np.errstate(divide="ignore", invalid="ignore"):
        # A parked vehicle still has a pace: a floor of 100 m a day keeps its logarithm.
        level = np.log(np.maximum(total["km"].to_numpy() / total["days"].to_numpy(), 0.1))
        years = np.nan_to_num(total["days"].to_numpy() ** 2 / total["square"].to_numpy()) / 365.25
    known = np.isfinite(level) & (years > 7 / 365.25)
    year_sd = _year_noise(steps, pd.Series(level, index=names), known.sum())
    own_var = np.where(known, year_sd**2 / np.maximum(years, 1 / 365.25), np.inf)
    center, between = _fleet_level(level[known], own_var[known])
    weight = np.where(known, between**2 / (between**2 + own_var), 0.0)
    mean = center + weight * (np.where(known, level, center) - center)
    spread = np.sqrt(np.where(known, weight * np.where(known, own_var, 0.0), between**2))
    source = np.where(weight > 0.5, "own", "fleet" if known.sum() >= 3 else "default")
    at = last.reindex(names)
    gap = (travel_days(np.array([book.as_of], dtype="datetime64[us]"))[0] - travel_days(at["date"])).clip(
        min=0.0
    )
    odometer = at["odometer_km"].to_numpy(dtype=float)
    return pd.DataFrame(
        {
            "vehicle_id": names,
            "date": at["date"].to_numpy(),
            "odometer_km": odometer,
            "as_of": book.as_of,
            "as_of_km": odometer + np.exp(mean) * gap,
            "km_per_day": np.exp(mean),
            "log_sd": spread,
            "year_log_sd": year_sd,
            "readings": count,
            "source": source,
        }
    )


def pace_log_sd(log_sd: ArrayLike, year_log_sd: ArrayLike, years: ArrayLike) -> NDArray[np.float64]:
    """Log-sd of a vehicle's distance per day over the coming years.

    Parameters
    ----------
    log_sd, year_log_sd : array_like, shape (n,)
        As :func:`mileage` gives them.
    years : array_like, shape (n,)
        How far ahead; less than a month counts as a month. [year]

    Returns
    -------
    ndarray, shape (n,)
        The level's own uncertainty; one year's noise, less over more years; and a level that drifts like a
        random walk by :data:`DRIFT_LOG_SD` a year, whose mean over t years has variance t / 3 of one year's.

    Examples
    --------
    >>> pace_log_sd(0.1, 0.0, 3.0).round(4)
    np.float64(0.1281)
    """
    ahead = np.maximum(np.asarray(years, dtype=float), 1 / 12)
    noise = np.square(np.asarray(year_log_sd, dtype=float)) / ahead
    return np.asarray(
        np.sqrt(np.square(np.asarray(log_sd, dtype=float)) + noise + DRIFT_LOG_SD**2 * ahead / 3)
    )


def travel_days(dates: ArrayLike | pd.Series) -> NDArray[np.float64]:
    """Days of average travel from 1970 to each date: days weighted by the published month index.

    Parameters
    ----------
    dates : array_like of datetime64, shape (n,)

    Returns
    -------
    ndarray, shape (n,)
        NaN for NaT. [day]

    Examples
    --------
    >>> days = np.array(["2026-01-01", "2026-02-01", "2027-01-01"], dtype="datetime64[us]")
    >>> np.diff(travel_days(days)).round(1)
    array([ 27.4, 337.6])
    """
    days = np.asarray(dates, dtype="datetime64[us]").astype("datetime64[D]")
    month = days.astype("datetime64[M]")
    start = days.astype("datetime64[Y]")
    missing = np.isnat(days)
    into = np.where(missing, 0, (days - month.astype("datetime64[D]")).astype(float))
    index = np.array(MONTH_INDEX)
    lengths = np.array([31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    index = index * 365.2425 / (index * lengths).sum()
    before = np.concatenate([[0.0], np.cumsum((index - 1) * lengths)])[:-1]
    number = np.where(missing, 0, (month - start.astype("datetime64[M]")).astype(int))
    plain = np.where(missing, np.nan, days.astype(float))
    return np.asarray(plain + before[number] + (index[number] - 1) * into)


def _steps(daily: pd.DataFrame) -> pd.DataFrame:
    """Distance and days of average travel between readings that follow each other, and their weight."""
    day = travel_days(daily["date"])
    vehicle = daily["vehicle_id"].to_numpy()
    last = pd.Series(day).groupby(vehicle).transform("max").to_numpy() if len(day) else day
    steps = pd.DataFrame(
        {
            "vehicle_id": vehicle[1:],
            "km": np.diff(daily["odometer_km"].to_numpy(dtype=float)),
            "days": np.diff(day),
            "weight": 0.5 ** ((last - day)[1:] / HALF_LIFE_DAYS),
        }
    )
    fine = (vehicle[1:] == vehicle[:-1]) & (steps["days"] > 0) & (steps["km"] >= 0)
    kept: pd.DataFrame = steps[fine]
    return kept


def _year_noise(steps: pd.DataFrame, level: pd.Series, vehicles: int) -> float:
    """Log-sd of one year's distance about its vehicle's level, pooled over the fleet."""
    expected = np.exp(level.reindex(steps["vehicle_id"])).to_numpy() * steps["days"].to_numpy()
    fine = np.isfinite(expected) & (expected > 0)
    freedom = int(fine.sum()) - vehicles
    if freedom <= 0:
        return NOISE_LOG_SD
    miss = steps["km"].to_numpy()[fine] / expected[fine] - 1
    # One step of t years has relative variance sd² / t; ten assumed steps steady the estimate.
    variance = np.sum(miss**2 * steps["days"].to_numpy()[fine] / 365.25)
    return float(np.sqrt((variance + 10 * NOISE_LOG_SD**2) / (freedom + 10)))


def _fleet_level(level: NDArray[np.float64], variance: NDArray[np.float64]) -> tuple[float, float]:
    """Centre and log-sd of the fleet's levels; the documented default where there are fewer than three."""
    if len(level) < 3:
        return float(np.log(DEFAULT_KM_PER_DAY)), DEFAULT_LOG_SD
    center = float(np.median(level))
    spread = float(np.mean((level - level.mean()) ** 2) * len(level) / (len(level) - 1) - np.mean(variance))
    # Three assumed vehicles steady the spread of a small fleet.
    pooled = (max(spread, 0.0) * (len(level) - 1) + 3 * DEFAULT_LOG_SD**2) / (len(level) + 2)
    return center, float(np.sqrt(pooled))

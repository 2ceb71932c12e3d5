"""How far each vehicle goes in a day, and how surely: the step from distance left to dates."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.logbook import Logbook, kept
from tirelife.rates.pace import HELD_SD, SAMPLE, Steps, evidence, levels, pace_spreads
from tirelife.units import MILE_KM

__all__ = [
    "DEFAULT_KM_PER_DAY",
    "DEFAULT_LOG_SD",
    "MONTH_INDEX",
    "mileage",
    "pace_log_sd",
    "pace_parts",
    "travel_days",
]

DEFAULT_KM_PER_DAY: Final = 10_410 * MILE_KM / 365.25
"""Mean of passenger cars, 10,410 miles a year: EPA AVERT 2023 fleet file, VMT over stock. [km/day]"""
DEFAULT_LOG_SD: Final = 0.5
"""Log-sd between vehicles where no fleet tells; an assumption, no source."""
WINDOW_DAYS: Final = 28.0
"""Readings closer together than this count as one: a week's errands say nothing of a level's drift."""
MOST_PACE: Final = 4.0
"""Times its own mean that a vehicle is taken to have gone over any stretch; more is a slip or a move."""
MONTH_INDEX: Final = (0.884, 0.906, 1.002, 1.030, 1.022, 1.059, 1.057, 1.045, 0.997, 1.015, 0.996, 0.984)
"""Travel per day over the year's mean, January to December: FHWA Traffic Volume Trends, 2004, all systems."""
SEASON_STRENGTHS: Final = (0.0, 0.5, 1.0, 1.5)
SEASON_SD: Final = 0.5
"""How far a fleet's travel may follow the index, and by how much fleets differ in that; an assumption."""


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
        log_sd, of the level of distance per day today; year_log_sd, of one year about its level;
        drift_log_sd, by which the level moves in a year; readings; source (``"own"``, ``"fleet"`` or
        ``"default"``: what the level is shrunk to most).

    Notes
    -----
    A vehicle's own level is distance over days of average travel (weighted by the published month index, as
    far as the fleet follows it, so that a summer's readings do not promise a summer's year), and it drifts:
    recent driving counts most, the more so the more the fleet's levels were seen to drift
    (:mod:`tirelife.rates.pace`). It shrinks to the
    fleet's median level (to :data:`DEFAULT_KM_PER_DAY` in a fleet of fewer than three), by the ratio of its
    own variance to that between vehicles.
    """
    names = book.vehicles["vehicle_id"].to_numpy()
    last = book.odometer.groupby("vehicle_id").tail(1).set_index("vehicle_id")
    found = _of_fleet(book)
    at = last.reindex(names)
    today = travel_days(np.array([book.as_of], dtype="datetime64[us]"), found.season)[0]
    known = found.known
    level, own_var, (center, between) = _weighed(found, today)
    weight = np.where(known, between**2 / (between**2 + own_var), 0.0)
    mean = center + weight * (np.where(known, level, center) - center)
    spread = np.sqrt(np.where(known, weight * np.where(known, own_var, 0.0), between**2))
    source = np.where(weight > 0.5, "own", "fleet" if known.sum() >= 3 else "default")
    gap = (today - travel_days(at["date"], found.season)).clip(min=0.0)
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
            "year_log_sd": found.year_sd,
            "drift_log_sd": found.drift_sd,
            "readings": found.readings,
            "source": source,
        }
    )


class _Fleet(NamedTuple):
    """Levels of a fleet's distance a day, a value a vehicle, and what they have in common."""

    readings: NDArray[np.integer[Any]]
    known: NDArray[np.bool_]
    mean: NDArray[np.float64]  # distance a day over all good steps [km]
    own: NDArray[np.float64]  # level at the last reading, over the mean
    own_var: NDArray[np.float64]
    end: NDArray[np.float64]  # travel day of the last reading
    days: NDArray[np.float64]  # of all good steps
    season: float
    year_sd: float
    drift_sd: float


def _of_fleet(book: Logbook) -> _Fleet:
    names = book.vehicles["vehicle_id"].to_numpy()
    # One reading a day: several tables repeat a visit's odometer, rounded alike.
    daily = book.odometer.groupby(["vehicle_id", "date"])["odometer_km"].max().reset_index()
    season = season_strength(daily, pd.Index(names))
    steps, mean, end = _steps(daily, pd.Index(names), season)
    count = daily.groupby("vehicle_id").size().reindex(names).fillna(0).to_numpy(dtype=int)
    known = _known(steps, mean)
    year_sd, drift_sd = pace_spreads(Steps(*(part[known] for part in steps)))
    own, own_var, _ = levels(steps, year_sd, drift_sd)
    days = steps.years.sum(axis=1) * 365.25
    return _Fleet(count, known, mean, own, own_var, end, days, season, year_sd, drift_sd)


def _weighed(
    found: _Fleet, today: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], tuple[float, float]]:
    """Log of each vehicle's level and its variance today; centre and log-sd of the fleet's levels."""
    with np.errstate(divide="ignore", invalid="ignore"):
        # A parked vehicle still has a pace: a floor of 100 m a day keeps its logarithm.
        level = np.log(np.maximum(found.mean * found.own, 0.1))
        drift = found.drift_sd**2 * np.maximum(today - found.end, 0.0) / 365.25
        own_var = found.own_var / np.maximum(found.own, 0.3) ** 2 + drift
    own_var = np.where(found.known, own_var, np.inf)
    return level, own_var, _fleet_level(level[found.known], own_var[found.known])


def pace_parts(book: Logbook) -> tuple[pd.DataFrame, dict[str, float]]:
    """What a later reading of a vehicle's odometer is weighed against: :func:`mileage` before its last steps.

    Returns
    -------
    vehicles : DataFrame
        vehicle_id; level_km (a day, at the last reading; NaN where nothing tells), level_var (relative to the
        mean), mean_km, days (that the mean is over), end (travel day of the last reading).
    fleet : dict of str to float
        season, year_log_sd, drift_log_sd; center (log) and between, of the fleet's levels.
    """
    found = _of_fleet(book)
    today = travel_days(np.array([book.as_of], dtype="datetime64[us]"), found.season)[0]
    _, _, (center, between) = _weighed(found, today)
    vehicles = pd.DataFrame(
        {
            "vehicle_id": book.vehicles["vehicle_id"],
            "level_km": np.where(found.known, found.mean * found.own, np.nan),
            "level_var": found.own_var,
            "mean_km": found.mean,
            "days": found.days,
            "end": found.end,
        }
    )
    fleet = {"season": found.season, "year_log_sd": found.year_sd, "drift_log_sd": found.drift_sd}
    return vehicles, fleet | {"center": center, "between": between}


def pace_log_sd(
    log_sd: ArrayLike,
    year_log_sd: ArrayLike,
    drift_log_sd: ArrayLike,
    years: ArrayLike,
    drifted: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Log-sd of a vehicle's distance per day over the coming years.

    Parameters
    ----------
    log_sd, year_log_sd, drift_log_sd : array_like, shape (n,)
        As :func:`mileage` gives them.
    years : array_like, shape (n,)
        How far ahead; less than a month counts as a month. [year]
    drifted : array_like, optional
        What the level's drift over them is multiplied by, where it is not driven all the time
        (:func:`tirelife.rates.turns.drift_years`); a third of the years by default. [year]

    Returns
    -------
    ndarray, shape (n,)
        The level's own uncertainty; one year's noise, less over more years; and a level that drifts like a
        random walk, whose mean over t years has variance t / 3 of one year's.

    Examples
    --------
    >>> pace_log_sd(0.1, 0.0, 0.08, 3.0).round(4)
    np.float64(0.1281)
    """
    ahead = np.maximum(np.asarray(years), 1 / 12)
    level, noise, drift = (np.square(np.asarray(sd)) for sd in (log_sd, year_log_sd, drift_log_sd))
    away = drift * ahead / 3 if drifted is None else drift * np.asarray(drifted)
    return np.asarray(np.sqrt(level + noise / ahead + away))


def season_strength(daily: pd.DataFrame, names: pd.Index) -> float:
    """How far a fleet's travel follows the published month index: 0 not at all, 1 as it is.

    Parameters
    ----------
    daily : DataFrame
        vehicle_id, date, odometer_km, in order of vehicles and dates.
    names : Index
        Of the vehicles.

    Returns
    -------
    float
        Posterior mean over 0, a half, 1 and one and a half. A fleet without that season, or with more of it,
        would look as if every vehicle's pace drifted, once a year to and fro.

    Notes
    -----
    Learned from :data:`~tirelife.rates.pace.SAMPLE` vehicles where a fleet has more.
    """
    if len(names) > SAMPLE:
        code = names.get_indexer(pd.Index(daily["vehicle_id"]))
        read = np.unique(code[code >= 0])
        chosen = np.zeros(len(names) + 1, dtype=bool)  # one more: a vehicle that is not named
        chosen[read[np.linspace(0, len(read) - 1, min(SAMPLE, len(read))).astype(int)]] = True
        names, daily = names[chosen[:-1]], daily[chosen[code]]
    said = []
    for strength in SEASON_STRENGTHS:
        steps, mean, _ = _steps(daily, names, strength)
        fine = _known(steps, mean)
        usual = steps.years[fine] * mean[fine, None]  # what a step is at the vehicle's mean
        seen = usual[:, 1:][steps.years[fine][:, 1:] > 0]
        law = -0.5 * ((strength - 1) / SEASON_SD) ** 2
        said.append(
            evidence(Steps(*(part[fine] for part in steps))) - np.log(np.maximum(seen, 1e-6)).sum() + law
        )
    chance = np.exp(np.array(said) - max(said))
    return float(chance @ np.array(SEASON_STRENGTHS) / chance.sum())


def _known(steps: Steps, mean: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Vehicles whose readings say something of their pace."""
    return np.asarray(np.isfinite(mean) & (steps.years.sum(axis=1) > 7 / 365.25))


def travel_days(dates: ArrayLike | pd.Series, strength: float = 1.0) -> NDArray[np.float64]:
    """Days of average travel from 1970 to each date: days weighted by the published month index.

    Parameters
    ----------
    dates : array_like of datetime64, shape (n,)
    strength : float
        How far travel follows the index; 0 gives plain days.

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
    return np.asarray(plain + strength * (before[number] + (index[number] - 1) * into))


def _steps(
    daily: pd.DataFrame, names: pd.Index, season: float
) -> tuple[Steps, NDArray[np.float64], NDArray[np.float64]]:
    """Steps between readings, each vehicle's mean distance a day, and the travel day of its last reading.

    Of readings within :data:`WINDOW_DAYS`, counted back from the vehicle's last, the last one is used, and
    its first one always.
    """
    code = names.get_indexer(pd.Index(daily["vehicle_id"]))
    day, km = travel_days(daily["date"], season), daily["odometer_km"].to_numpy(dtype=float)
    fine = (code >= 0) & np.isfinite(day + km)
    code, day, km = code[fine], day[fine], km[fine]
    order = np.lexsort((day, code))
    code, day, km = code[order], day[order], km[order]
    begins = np.append(True, code[1:] != code[:-1])[: len(code)]
    ends = np.append(begins[1:], True)[: len(code)]
    end = np.full(len(names), np.nan)
    end[code[ends]] = day[ends]
    window = np.floor((end[code] - day) / WINDOW_DAYS)
    last = ends | (window != np.append(window[1:], -1.0)[: len(code)])
    chosen = np.flatnonzero(last | begins)
    code, day, km = code[chosen], day[chosen], km[chosen]
    same = code[1:] == code[:-1]
    far, took = np.diff(km), np.diff(day)
    good = same & (far >= 0) & (took > 0)
    # Time without a good step before one: what lies between it and the good one before.
    at, who = day[:-1][good], code[1:][good]
    took, far = took[good], far[good]
    idle = np.append(0.0, np.maximum(at[1:] - (at + took)[:-1], 0.0))[: len(at)]
    idle = np.where(np.append(True, who[1:] != who[:-1])[: len(at)], 0.0, idle)
    number = np.bincount(who, minlength=len(names))
    place = np.arange(len(who)) - np.repeat(np.cumsum(number) - number, number)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.bincount(who, far, len(names)) / np.bincount(who, took, len(names))
        pace = np.clip(np.nan_to_num(far / took / np.maximum(mean[who], 1e-9)), 0.0, MOST_PACE)
    shape = len(names), int(number.max(initial=0))
    filled = [np.zeros(shape) for _ in range(3)]
    for table, values in zip(filled, (pace, took / 365.25, idle / 365.25), strict=True):
        table[who, place] = values
    return Steps(*filled), mean, end


def _fleet_level(level: NDArray[np.float64], variance: NDArray[np.float64]) -> tuple[float, float]:
    """Centre and log-sd of the fleet's levels; the documented default where there are fewer than three."""
    if len(level) < 3:
        return float(np.log(DEFAULT_KM_PER_DAY)), DEFAULT_LOG_SD
    center = float(np.median(level))
    between = DEFAULT_LOG_SD * np.exp(HELD_SD * np.linspace(-6, 3, 91))
    total = between[:, None] ** 2 + variance
    # Restricted: what the levels say of their spread once one of them has gone for their middle.
    weight = 1 / total
    off = level - (weight @ level / weight.sum(axis=1))[:, None]
    said = -0.5 * (np.log(total) + off**2 / total).sum(axis=1) - 0.5 * np.log(weight.sum(axis=1))
    said -= 0.5 * (np.log(between / DEFAULT_LOG_SD) / HELD_SD) ** 2
    chance = np.exp(said - said.max())
    return center, float(np.sqrt(chance @ between**2 / chance.sum()))

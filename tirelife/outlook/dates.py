"""From distance left to dates."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from tirelife.rates.mileage import pace_log_sd

__all__ = ["HORIZON_YEARS", "dates_after", "days_left", "replacement_dates"]

Floats = NDArray[np.float64]

HORIZON_YEARS: Final = 60.0
"""No date is given further ahead than this; other things end a tire long before."""


def days_left(km: Floats, km_per_day: Floats, pace_sd: Floats, probabilities: tuple[float, ...]) -> Floats:
    """Days until the tire is down, at the same probabilities as the distances.

    Parameters
    ----------
    km : ndarray, shape (n, k)
        Distances left, a column a probability, one of them 0.5. [km]
    km_per_day : ndarray, shape (n,)
    pace_sd : ndarray, shape (n,)
        Log-sd of the distance per day over that time.
    probabilities : tuple of float
        k of them.

    Returns
    -------
    ndarray, shape (n, k) [day]

    Notes
    -----
    With the log of the distance spread as its own quantiles say and the log of the distance per day
    normal, the spread of the time is their root of squares::

        days_p = km_50 / km_per_day * exp(sign(z_p) * sqrt(ln(km_p / km_50)**2 + (z_p * pace_sd)**2))

    with z_p the standard normal quantile. Exact where the distance is lognormal; a page can do it in one
    line. Distance is taken as even over the year: the published month index moves a date by four days at
    most.

    Examples
    --------
    >>> km = np.array([[8000.0, 10000.0, 12500.0]])
    >>> days_left(km, np.array([50.0]), np.array([0.1]), (0.1, 0.5, 0.9)).round(1)
    array([[154.6, 200. , 258.7]])
    """
    z = ndtri(np.array(probabilities))
    middle = km[:, [probabilities.index(0.5)]]
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = np.log(km / middle)
        spread = np.sqrt(apart**2 + (z * pace_sd[:, None]) ** 2)
        days = middle / km_per_day[:, None] * np.exp(np.sign(z) * spread)
    # A median of nothing left: what is left at higher probabilities comes at the median pace.
    days = np.where(middle > 0, days, km / km_per_day[:, None])
    return np.asarray(days)


def replacement_dates(
    km: Floats, as_of: pd.Series, pace: pd.DataFrame, probabilities: tuple[float, ...]
) -> tuple[list[pd.Series], Floats]:
    """Dates at each probability, and the log-sd of the pace that was used.

    Parameters
    ----------
    km : ndarray, shape (n, k) [km]
    as_of : Series of datetime64
    pace : DataFrame
        km_per_day, log_sd, year_log_sd.
    probabilities : tuple of float

    Returns
    -------
    dates : list of Series
        Whole days; NaT where the distance is NaN or the date lies over :data:`HORIZON_YEARS` ahead.
    pace_sd : ndarray, shape (n,)
    """
    per_day = pace["km_per_day"].to_numpy(dtype=float)
    years = np.nan_to_num(km[:, probabilities.index(0.5)] / per_day / 365.25, nan=1.0)
    sd = pace_log_sd(pace["log_sd"], pace["year_log_sd"], np.minimum(years, HORIZON_YEARS))
    days = days_left(km, per_day, sd, probabilities)
    return dates_after(as_of, days), sd


def dates_after(as_of: pd.Series, days: Floats) -> list[pd.Series]:
    """Days on which so many days are over, a Series a column of ``days``.

    NaT where it is NaN or lies over :data:`HORIZON_YEARS` ahead.
    """
    days = np.where(days <= HORIZON_YEARS * 365.25, days, np.nan)
    first = as_of.to_numpy().astype("datetime64[D]")
    dates = []
    for column in np.floor(days + 1e-9).T:
        whole = np.where(np.isfinite(column), column, 0).astype("timedelta64[D]")
        value = np.where(np.isfinite(column), first + whole, np.datetime64("NaT", "D"))
        dates.append(pd.Series(value.astype("datetime64[us]")))
    return dates

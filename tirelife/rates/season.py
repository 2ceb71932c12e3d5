"""A cycle of the wear rate through the year, common to a log, so that a winter is not read as a trend.

The reference distance of each tire-visit is weighted by ``1 + a cos + b sin`` of the day of the year that it
was run on; the fit then goes on as it does. The cycle is found beforehand, in closed form: a straight line is
taken out of each tire's depths and of the two weighted distances, and what is left is regressed, readings of
one visit of a vehicle taken together.

Nothing is made of the cycle ahead of a tire that stays on: over a year it cancels, and at the prior's size it
would widen the ranges of a fleet's remaining distances by 2 % in the mean, by up to 14 % where one
ends half a year ahead.
A set that takes turns runs half of the cycle alone, year after year: its rate ahead is that of its days
(:func:`season_between`), or what its season is of the cycle's would be lost, 2 to 5 % of its distance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.axles import is_front
from tirelife.logbook import record_at

__all__ = ["PRIOR_SD", "SPAN_DAYS", "Season", "find_season", "season_between", "season_runs", "with_season"]

Array = NDArray[np.float64]

PRIOR_SD: Final = 0.10
"""Standard deviation of either coefficient before the log. Their size and sign are disputed: wear rises with
heat (Waller 1927; a tire maker: hot and dry up to twice cold and wet), and was faster in a wet January than
in June (Brenner et al.), so neither is presumed (our judgement)."""
SPAN_DAYS: Final = 550
"""A log of fewer days cannot tell a season from a trend; our choice."""
_FEWEST_VISITS: Final = 60
"""Readings of fewer vehicle-visits say nothing of a common cycle; our choice."""
_YEAR: Final = 365.25
_COLUMNS: Final = ("reference_front_km", "reference_rear_km")


@dataclass(frozen=True)
class Season:
    """A cycle: the wear rate over its mean of the year is ``1 + cos cos(t) + sin sin(t)``, t from New Year.

    Attributes
    ----------
    cos, sin : float
        Its coefficients.
    cos_sd, sin_sd : float
        Their standard deviations.
    """

    cos: float
    sin: float
    cos_sd: float
    sin_sd: float

    @property
    def amplitude(self) -> float:
        """Most that the rate is above its mean of the year, as a share of it."""
        return math.hypot(self.cos, self.sin)

    @property
    def peak_day(self) -> float:
        """Day of the year when tires wear fastest, from New Year."""
        return math.atan2(self.sin, self.cos) / (2 * math.pi) % 1.0 * _YEAR

    @property
    def frame(self) -> pd.DataFrame:
        """One row: ``amplitude, amplitude_sd, peak_day, cos, cos_sd, sin, sin_sd``."""
        size = max(self.amplitude, 1e-12)
        sd = math.hypot(self.cos * self.cos_sd, self.sin * self.sin_sd) / size
        row = {"amplitude": self.amplitude, "amplitude_sd": sd, "peak_day": self.peak_day}
        return pd.DataFrame(
            [row | {"cos": self.cos, "cos_sd": self.cos_sd, "sin": self.sin, "sin_sd": self.sin_sd}]
        )


def season_runs(parts: pd.DataFrame, visits: pd.DataFrame) -> Array:
    """Reference distance of tire-visits, weighted by the cosine and the sine of the day that it was run on.

    Parameters
    ----------
    parts : DataFrame
        From :func:`tirelife.wear.stretch_severity`; run at an even pace within each part.
    visits : DataFrame
        ``tire_id, date, odometer_km``, n rows.

    Returns
    -------
    ndarray, shape (2, n, 2)
        Front and rear; cosine and sine. [km] NaN for a tire with no mount by then.
    """
    begin, end = _days(parts["from_date"]), _days(parts["to_date"])
    length = (parts["to_km"] - parts["from_km"]).to_numpy(float)
    severity = parts["severity"].to_numpy(float)
    front = is_front(parts["position"])
    mean = _mean_wave(begin, end)
    run = mean * (length * severity)[:, None]
    sides = np.hstack([np.where(front[:, None], run, 0.0), np.where(front[:, None], 0.0, run)])
    tire = parts["tire_id"].to_numpy()
    before = (pd.DataFrame(sides).groupby(tire, sort=False).cumsum() - sides).to_numpy(float)
    row = record_at(visits["tire_id"], visits["date"], parts["tire_id"], parts["from_date"])
    since = np.clip(
        visits["odometer_km"].to_numpy(float) - parts["from_km"].to_numpy(float)[row], 0.0, length[row]
    )
    now = (
        _mean_wave(begin[row], np.minimum(_days(visits["date"]), end[row])) * (since * severity[row])[:, None]
    )
    at = front[row][:, None]
    out = np.stack([before[row, :2] + np.where(at, now, 0.0), before[row, 2:] + np.where(at, 0.0, now)])
    return np.where((row >= 0)[None, :, None], out, np.nan)


def find_season(visits: pd.DataFrame, runs: Array) -> Season | None:
    """The cycle of a log.

    Parameters
    ----------
    visits : DataFrame
        Tire-visits with reference distances: ``tire_id, vehicle_id, date, depth_mm, reference_km``.
    runs : ndarray, shape (2, n, 2)
        Of :func:`season_runs`.

    Returns
    -------
    Season or None
        None where the log is too short or too small to tell.
    """
    wave = runs.sum(axis=0)
    x, y = visits["reference_km"].to_numpy(float), visits["depth_mm"].to_numpy(float)
    known = np.isfinite(wave).all(axis=1) & np.isfinite(x) & np.isfinite(y)
    tire, counts = _tires(visits["tire_id"], known)
    known &= counts >= 4
    if not known.any():
        return None
    days = _days(visits["date"])[known]
    vehicle, date = (pd.factorize(visits[name])[0].astype(np.int64) for name in ("vehicle_id", "date"))
    visit = pd.factorize(vehicle * (int(date.max()) + 2) + date)[0][known]
    if days.max() - days.min() < SPAN_DAYS or np.count_nonzero(np.bincount(visit)) < _FEWEST_VISITS:
        return None
    tire = pd.factorize(tire[known])[0]
    x, y, wave = x[known], y[known], wave[known]
    parts = [_left(values, x, tire) for values in (y, wave[:, 0], wave[:, 1])]
    slope = -_slopes(y, x, tire)
    column = -np.stack(parts[1:], axis=1) * slope[:, None]
    good = np.isfinite(column).all(axis=1) & (slope > 0)
    column, left, visit = column[good], parts[0][good], visit[good]
    square = column.T @ column
    if not np.isfinite(square).all() or np.linalg.det(square) <= 1e-18 * np.trace(square) ** 2:
        return None
    inverse = np.linalg.inv(square)
    found = inverse @ (column.T @ left)
    off = left - column @ found
    score = pd.DataFrame(column * off[:, None]).groupby(visit).sum().to_numpy(float)
    cov = inverse @ (score.T @ score) @ inverse
    held = np.linalg.inv(np.linalg.inv(cov + 1e-12 * np.eye(2)) + np.eye(2) / PRIOR_SD**2)
    middle = held @ np.linalg.solve(cov + 1e-12 * np.eye(2), found)
    if not np.isfinite(middle).all() or math.hypot(*middle) >= 0.8:
        return None
    sd = np.sqrt(np.diag(held))
    return Season(float(middle[0]), float(middle[1]), float(sd[0]), float(sd[1]))


def with_season(visits: pd.DataFrame, runs: Array, season: Season) -> pd.DataFrame:
    """Tire-visits with their reference distances weighted by the season that they were run in."""
    more = runs @ np.array([season.cos, season.sin])
    out = visits.copy()
    for name, side in zip(_COLUMNS, more, strict=True):
        out[name] = out[name] + side
    out["reference_km"] = out["reference_km"] + more.sum(axis=0)
    return out


def season_between(frame: pd.DataFrame, from_day: Array, to_day: Array) -> Array:
    """Mean of a cycle between two days of the year, over its mean of the whole year.

    Parameters
    ----------
    frame : DataFrame
        Of :attr:`Season.frame`.
    from_day, to_day : ndarray, shape (n,)
        Days of the year; the second may lie in the next year.

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    Twice as far from the mean in the winter half as a cosine is on average, 2 / pi:

    >>> frame = Season(0.1, 0.0, 0.0, 0.0).frame
    >>> season_between(frame, np.array([274.0]), np.array([91.3])).round(3)
    array([1.064])
    """
    row = frame.iloc[0]
    mean = _mean_wave(from_day, from_day + (to_day - from_day) % _YEAR)
    return np.asarray(1 + mean @ np.array([float(row["cos"]), float(row["sin"])]))


def _days(dates: pd.Series) -> Array:
    since = pd.to_datetime(dates) - pd.Timestamp("2000-01-01")
    return np.asarray(since.dt.days, dtype=np.float64)


def _mean_wave(begin: Array, end: Array) -> Array:
    """Mean of the cosine and of the sine of the day of the year between two days, shape (n, 2)."""
    turn = 2 * math.pi / _YEAR
    low, high = turn * begin, turn * np.maximum(end, begin)
    span = np.where(high - low > 1e-6, high - low, 1.0)
    even = high - low <= 1e-6
    cos = np.where(even, np.cos(low), (np.sin(high) - np.sin(low)) / span)
    sin = np.where(even, np.sin(low), (np.cos(low) - np.cos(high)) / span)
    return np.stack([cos, sin], axis=1)


def _tires(ids: pd.Series, known: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """A number for each row's tire, and how many known rows it has."""
    tire = pd.factorize(ids)[0].astype(np.int64)
    counts = np.bincount(tire[known], minlength=int(tire.max(initial=-1)) + 1)
    return tire, counts[tire].astype(np.int64)


def _slopes(values: Array, x: Array, tire: NDArray[np.int64]) -> Array:
    """Slope of values over x of each row's tire, by least squares; NaN where x does not move."""
    count = np.bincount(tire)
    mid_x, mid = (np.asarray(np.bincount(tire, v) / count) for v in (x, values))
    dx = x - mid_x[tire]
    square = np.bincount(tire, dx * dx)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.bincount(tire, dx * (values - mid[tire])) / square
    return np.asarray(np.where(square > 0, slope, np.nan)[tire])


def _left(values: Array, x: Array, tire: NDArray[np.int64]) -> Array:
    """Values less each tire's own straight line over x."""
    count = np.bincount(tire)
    mid_x, mid = (np.bincount(tire, v) / count for v in (x, values))
    return np.asarray(values - mid[tire] - _slopes(values, x, tire) * (x - mid_x[tire]))

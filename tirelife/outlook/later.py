"""What came after a day: readings of the tires that a forecast was about, and when they were worn out."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import odometer_at
from tirelife.normal import ndtri
from tirelife.outlook.ahead import Course
from tirelife.rates import READING, VISIT, Standing, groove_wear, mean_depth_limit, quantiles, runs_since
from tirelife.tread import tire_visits
from tirelife.wear import stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["depths_after", "depths_over", "later_visits", "reading_quantiles", "reading_sd", "worn_out"]

Floats = NDArray[np.float64]

_ROWS: Final = 512
"""Readings at a time, so that what is worked on stays in the cache."""
_STEPS: Final = 16
_DAY: Final = pd.Timedelta("1D")


def later_visits(book: Logbook, state: pd.DataFrame) -> pd.DataFrame:
    """Readings of a forecast's tires after its day.

    Parameters
    ----------
    book : Logbook
        The whole one.
    state : DataFrame
        From :func:`tirelife.outlook.present_state` of the logbook as it was known on that day.

    Returns
    -------
    DataFrame
        Tire-visits of those tires with depth and odometer, on the same vehicle, by tire and date, with
        ``row``, the tire's in ``state``.
    """
    visits = tire_visits(book)
    row = pd.Index(state["tire_id"]).get_indexer(pd.Index(visits["tire_id"]))
    at = state.iloc[np.maximum(row, 0)]
    good = np.isfinite(visits[["depth_mm", "odometer_km"]].to_numpy(float)).all(axis=1) & (row >= 0)
    same = good & (visits["vehicle_id"].to_numpy(object) == at["vehicle_id"].to_numpy(object))
    after = same & (visits["date"].to_numpy() > at["as_of"].to_numpy())
    out: pd.DataFrame = visits[after]
    return out.assign(row=row[after]).reset_index(drop=True)


def depths_over(book: Logbook, fit: WearFit, state: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Tires of a forecast, standing where they stood at later visits: run over the mounts as they turned out.

    Parameters
    ----------
    book : Logbook
        The whole one.
    fit : WearFit
        Of the logbook as it was known on the forecast's day.
    state, visits : DataFrame
        See :func:`later_visits`.

    Returns
    -------
    DataFrame
        A row of ``state`` a visit, to be read by :class:`tirelife.rates.joint.Standing`.
    """
    at = state.iloc[visits["row"].to_numpy()].reset_index(drop=True)
    fitted = fit.frames["tires"].set_index("tire_id").reindex(at["tire_id"])
    front, rear = runs_since(stretch_severity(book, fit.factors), fitted, visits)
    return at.assign(since_front_km=front, since_rear_km=rear, unread_km=0.0)


def depths_after(state: pd.DataFrame, visits: pd.DataFrame | None = None) -> Floats:
    """Draws of the mean depth at later visits, shape (n, COUNT) [mm].

    Parameters
    ----------
    state : DataFrame
        Rows of a state; with ``visits`` one a tire, and without them one a visit, from :func:`depths_over`.
    visits : DataFrame, optional
        Then only the odometer of each visit is known, and the rotations are those that the forecast assumes.
    """
    if visits is not None:
        state = state.iloc[visits["row"].to_numpy()].reset_index(drop=True)
    parts = []
    for start in range(0, len(state), _ROWS):
        some = state.iloc[start : start + _ROWS]
        if visits is None:
            parts.append(Standing(some).depth())
            continue
        last = some["odometer_km"].to_numpy(float) - some["unread_km"].to_numpy(float)
        km = visits["odometer_km"].to_numpy(float)[start : start + _ROWS] - last
        with np.errstate(invalid="ignore", divide="ignore"):
            parts.append(Course(some).depth_after(np.maximum(km, 0.0)[:, None]))
    return np.vstack(parts) if parts else np.empty((0, 1))


def reading_sd(fit: WearFit) -> float:
    """Error of one tire-visit's mean depth: of the reading and of its visit. [mm]"""
    spread = fit.components.set_index("term")["estimate"]
    return float(np.hypot(spread[READING], spread[VISIT]))


def reading_quantiles(draws: Floats, sd_mm: float, levels: tuple[float, ...]) -> Floats:
    """Quantiles of what a gauge will read, from draws of the depth [mm].

    Each draw is blurred by a normal distribution, as sixteen equally likely points of the same variance.
    """
    points = ndtri((np.arange(_STEPS) + 0.5) / _STEPS)
    points = points / np.sqrt(np.mean(points**2)) * sd_mm
    parts = [
        quantiles((some[:, :, None] + points).reshape(len(some), -1), levels)
        for some in (draws[start : start + _ROWS] for start in range(0, len(draws), _ROWS))
    ]
    return np.vstack([np.empty((0, len(levels))), *parts])


def worn_out(book: Logbook, state: pd.DataFrame) -> pd.DataFrame:
    """How far each tire of a forecast went on until it was worn out, as far as the logbook tells.

    Parameters
    ----------
    book : Logbook
        The whole one.
    state : DataFrame
        Of the logbook as it was known on an earlier day.

    Returns
    -------
    DataFrame
        In the order of ``state``: km and days from the forecast's day until the shallowest groove was at the
        removal depth; censored, True where it was not down at its last reading, and km and days are as far as
        that; horizon_km and horizon_days, to the end of the logbook, or to the last reading where censored.

    Notes
    -----
    Seen afterwards, which groove went first is known from all its tire's readings: worn out is where the mean
    depth of the readings passed the depth at which that groove is at the removal depth. One reading under it
    may be the gauge's, and the first of several mostly is, so readings that rise again count as one, at
    their mean (the isotonic fit), with straight lines between. A tire that left its vehicle with tread on
    it, or was not read again, is censored there. That tires leave for other reasons than their wear is our
    assumption.
    """
    visits = tire_visits(book).dropna(subset=["depth_mm", "odometer_km"])
    limit = state["removal_depth_mm"].to_numpy(float)
    new = state["new_depth_mm"].to_numpy(float)
    groove = groove_wear(visits, state.set_index("tire_id")["new_depth_mm"].astype(float))
    with np.errstate(invalid="ignore"):
        worst, _ = mean_depth_limit(new, limit, groove["ratio"].to_numpy(float), np.zeros(len(state)))
    worst = np.where(np.isfinite(worst), worst, limit)
    today = state["as_of"]
    at_km = odometer_at(book.odometer, state["vehicle_id"], today)
    end = pd.Series(book.as_of, index=state.index)
    km, days = np.zeros(len(state)), np.zeros(len(state))
    censored = np.ones(len(state), dtype=bool)
    row = pd.Index(state["tire_id"]).get_indexer(pd.Index(visits["tire_id"]))
    here = state["vehicle_id"].to_numpy(object)[np.maximum(row, 0)]
    same = (row >= 0) & (visits["vehicle_id"].to_numpy(object) == here)
    visits, row = visits.loc[same], row[same]
    edge = np.flatnonzero(np.diff(row, prepend=-1, append=-1))
    odometer, depth = (visits[name].to_numpy(float) for name in ("odometer_km", "depth_mm"))
    day = (visits["date"].to_numpy() - today.to_numpy()[row]) / _DAY
    for start, stop in pairwise(edge):
        tire, part = row[start], slice(start, stop)
        km[tire], days[tire] = odometer[stop - 1] - at_km[tire], day[stop - 1]
        if depth[part].min() <= worst[tire]:
            passed = _passed(np.stack([odometer[part], day[part]]), depth[part], worst[tire])
            if passed is not None:
                km[tire], days[tire] = passed[0] - at_km[tire], passed[1]
                censored[tire] = False
    last_km = odometer_at(book.odometer, state["vehicle_id"], end)
    end_km = np.where(censored, km, last_km - at_km)
    end_days = np.where(censored, days, (end.to_numpy() - today.to_numpy()) / _DAY)
    out = pd.DataFrame({"km": km, "days": days, "censored": censored})
    out["horizon_km"], out["horizon_days"] = np.maximum(end_km, km), np.maximum(end_days, days)
    return out.clip(lower=0.0).astype({"censored": bool})


def _passed(at: Floats, depth: Floats, limit: float) -> Floats | None:
    """Where readings that fall, but for their errors, pass a limit: distance and day; None if nowhere."""
    blocks, ends = falling(depth)
    middle = np.stack([at[:, a:b].mean(axis=1) for a, b in pairwise(ends)], axis=1)
    under = np.flatnonzero(blocks <= limit)
    if not len(under):
        return None
    first = int(under[0])
    if first == 0:
        return np.asarray(middle[:, 0])
    share = (blocks[first - 1] - limit) / (blocks[first - 1] - blocks[first])
    before = middle[:, first - 1]
    return np.asarray(before + share * (middle[:, first] - before))


def falling(values: Floats) -> tuple[Floats, list[int]]:
    """Nearest values that never rise, by least squares: the mean of each run that pools, and where runs part.

    Notes
    -----
    Neighbours that rise are pooled until none does (Ayer, Brunk, Ewing, Reid and Silverman 1955). Isotonic
    regression of SciPy, without the import of its optimisers, that takes longer than all the rest of a page.
    """
    means: list[float] = []
    counts: list[int] = []
    for value in values.tolist():
        mean, count = value, 1
        while means and means[-1] <= mean:
            last, had = means.pop(), counts.pop()
            mean, count = (last * had + mean * count) / (had + count), had + count
        means.append(mean)
        counts.append(count)
    return np.array(means), [0, *np.cumsum(counts).tolist()]

"""One row a tire: how fast it wore, how surely that is known, on which wheels and in which months it ran."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.axles import is_front
from tirelife.errors import misused
from tirelife.groups.wrong import Wrong
from tirelife.positions import SPARE
from tirelife.tread import tire_visits

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["tire_rates", "visit_exposure"]

Floats = NDArray[np.float64]

VISIT_SD_MM: Final = 0.15
"""Spread of a visit's mean depth about a straight line where there are too few visits to learn it [mm]; about
0.2 thirty-seconds, our assumption."""
WORST_SE: Final = 1 / 3
"""A tire is left out where the distance between its readings is so short that its wear, at the fleet's rate,
could not be told within a third. Our choice; it looks at distance only, never at the wear found."""


class Unused(StrEnum):
    """Why a tire says nothing of its wear."""

    NO_VEHICLE = "no-vehicle"
    READ_ONCE = "read-once"
    TOO_CLOSE = "too-close"
    NO_WEAR = "no-wear"
    NO_GROUP = "no-group"


_HUBER: Final = 2.5
_ANCHOR_MM: Final = 1.0
"""The stated new depth is used only where lines through the readings come back to it within this [mm]."""


def visit_exposure(book: Logbook, visits: pd.DataFrame) -> pd.DataFrame:
    """Distance that a tire had run on each axle, and in the warm half-year, when it was read.

    Parameters
    ----------
    book : Logbook
    visits : DataFrame
        As from :func:`tirelife.tread.tire_visits`.

    Returns
    -------
    DataFrame
        ``visits`` with front_km, rear_km (since the tire was first mounted) and warm_km (April to
        September, since its first reading, taking distance as even between readings) [km].
    """
    path = book.stretches
    path = path[path["position"] != SPARE]
    run = (path["to_km"] - path["from_km"]).to_numpy(float)
    pairs = (
        visits[["tire_id", "tire_km"]]
        .assign(visit=np.arange(len(visits)))
        .merge(
            path.assign(run=run, front=is_front(path["position"]))[["tire_id", "before_km", "run", "front"]],
            on="tire_id",
        )
    )
    since = (pairs["tire_km"] - pairs["before_km"]).to_numpy(float)
    part = np.clip(since, 0, pairs["run"].to_numpy(float))
    front = pairs["front"].to_numpy(dtype=bool)
    at = pairs["visit"].to_numpy(int)
    out = visits.reset_index(drop=True).copy()
    for name, chosen in (("front_km", front), ("rear_km", ~front)):
        out[name] = np.bincount(at[chosen], part[chosen], minlength=len(out))
    day = out["date"].to_numpy("datetime64[D]").astype(int)
    order = np.lexsort((day, out["tire_id"].to_numpy(str)))
    same = out["tire_id"].to_numpy(object)[order][1:] == out["tire_id"].to_numpy(object)[order][:-1]
    days, km = np.diff(day[order]), np.diff(out["tire_km"].to_numpy(float)[order])
    warm = np.diff(_warm_days(out["date"])[order])
    step = np.where(same & (days > 0), km * warm / np.maximum(days, 1), 0.0)
    total = np.r_[0.0, np.cumsum(step)]
    first = np.r_[True, ~same]
    start = np.maximum.accumulate(np.where(first, np.arange(len(order)), 0))
    warm_km = np.empty(len(out))
    warm_km[order] = total - total[start]
    out["warm_km"] = warm_km
    return out


def tire_rates(book: Logbook) -> pd.DataFrame:
    """One row a tire that was read, with its wear rate where its readings can tell it.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        tire_id, vehicle_id (where it was first read), the columns of the tires and vehicles tables
        (:data:`~tirelife.logbook.schema.SCHEMA`; codes and codes_of_vehicle, assumed), visits, km (that the
        rate is taken over), mid_date, front_share, warm_share, slow_road_share (of the vehicle's miles, under
        40 mph), rate_mm_per_1000km, se_log (of the log rate, from the readings alone), log_rate, used, note
        (why it is not used).

    Notes
    -----
    A tire's rate is the slope of its mean depth on distance, readings far off the line counting for less
    (Huber). Where the fleet's lines go back to the stated new depth, new tires also count from there, with
    the spread found. ``log_rate`` is raised by half its sampling variance, since the log of a noisy slope
    lies low.
    """
    visits = visit_exposure(book, tire_visits(book))
    visits = visits[visits["tire_id"] != ""].reset_index(drop=True)
    if visits.empty:
        raise misused(Wrong.NO_READINGS)
    points, from_new = _with_start(visits, book.tires)
    code, names = pd.factorize(points["tire_id"], sort=True)
    km, depth = points["tire_km"].to_numpy(float), points["depth_mm"].to_numpy(float)
    spread = points["sd_mm"].to_numpy(float)
    slope, se, _ = _lines(code, km, depth, spread, len(names))
    out = _described(book, visits, pd.Index(names), from_new)
    out["rate_mm_per_1000km"] = -1000 * slope
    fleet = float(np.nanmedian(-slope[np.isfinite(se)])) if np.isfinite(se).any() else np.nan
    expected = se / fleet
    why = np.select(
        [
            out["vehicle_id"].to_numpy(object) == "", ~np.isfinite(se), ~(expected <= WORST_SE), ~(slope < 0),
        ],
        [Unused.NO_VEHICLE, Unused.READ_ONCE, Unused.TOO_CLOSE, Unused.NO_WEAR],
        "",
    )  # fmt: skip
    out["used"] = why == ""
    out["note"] = [str(one) for one in why]
    out["se_log"] = np.where(out["used"], expected, np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        relative = np.minimum(se / np.maximum(-slope, fleet / 2), WORST_SE)
        out["log_rate"] = np.where(out["used"], np.log(-1000 * slope) + relative**2 / 2, np.nan)
    return out


def _warm_days(date: pd.Series) -> Floats:
    """Days of April to September since 2000 began."""
    year = date.dt.year.to_numpy(int)
    start = pd.to_datetime(pd.Series([f"{y}-04-01" for y in year]))
    into = (date.to_numpy("datetime64[D]") - start.to_numpy("datetime64[D]")).astype(float)
    out: Floats = (year - 2000) * 183.0 + np.clip(into, 0, 183)
    return out


def _with_start(visits: pd.DataFrame, tires: pd.DataFrame) -> tuple[pd.DataFrame, set[str]]:
    """Visits with their spread, and the new depth at distance 0 where the fleet's lines bear it out."""
    points = visits[["tire_id", "tire_km", "depth_mm"]].copy()
    error = visits["depth_se_mm"].to_numpy(float) ** 2 + visits["whose_mm2"].to_numpy(float)
    points["sd_mm"] = np.maximum(np.sqrt(error), 0.02)
    code, names = pd.factorize(points["tire_id"], sort=True)
    km, depth = points["tire_km"].to_numpy(float), points["depth_mm"].to_numpy(float)
    flat = np.ones(len(points))
    slope, se, start = _lines(code, km, depth, flat, len(names))
    known = np.isfinite(se)
    off = depth - start[code] - slope[code] * km
    free = int((np.bincount(code, minlength=len(names)) - 2)[known].sum())
    if free >= 20:
        middle = np.abs(off[np.isfinite(off)])
        # residuals of short lines are small: scale the median by what is free
        spread = 1.4826 * float(np.median(middle)) * np.sqrt(len(middle) / free)
    else:
        spread = VISIT_SD_MM
    points["sd_mm"] = np.sqrt(np.maximum(points["sd_mm"] ** 2, max(spread, 0.02) ** 2))
    new = tires.set_index("tire_id")["new_depth_mm"].reindex(names).to_numpy(float)
    gap = start - new
    sure = known & np.isfinite(gap) & (se * spread * np.abs(_mean_km(code, km, len(names))) < 0.5)
    offset = float(np.sqrt(np.median(gap[sure] ** 2)) * 1.4826) if sure.sum() >= 5 else np.inf
    if offset > _ANCHOR_MM:
        return points, set()
    has = np.isfinite(new)
    anchor = pd.DataFrame(
        {"tire_id": names[has], "tire_km": 0.0, "depth_mm": new[has], "sd_mm": max(offset, spread, 0.05)}
    )
    return pd.concat([points, anchor], ignore_index=True), set(names[has])


def _mean_km(code: NDArray[np.intp], km: Floats, count: int) -> Floats:
    out: Floats = np.bincount(code, km, minlength=count) / np.maximum(np.bincount(code, minlength=count), 1)
    return out


def _lines(
    code: NDArray[np.intp], km: Floats, depth: Floats, sd: Floats, count: int
) -> tuple[Floats, Floats, Floats]:
    """Slope, its standard error and the start of a line for each tire, far readings counting for less."""
    weight = 1 / sd**2
    for turn in range(4):
        total = np.bincount(code, weight, minlength=count)
        with np.errstate(invalid="ignore", divide="ignore"):
            middle = np.bincount(code, weight * km, minlength=count) / total
            level = np.bincount(code, weight * depth, minlength=count) / total
            sxx = np.bincount(code, weight * (km - middle[code]) ** 2, minlength=count)
            sxy = np.bincount(code, weight * (km - middle[code]) * (depth - level[code]), minlength=count)
            wide = sxx > 1e-9
            slope = np.where(wide, sxy / sxx, np.nan)
            se = np.where(wide, 1 / np.sqrt(sxx), np.nan)
        off = np.nan_to_num((depth - level[code] - slope[code] * (km - middle[code])) / sd)
        if turn == 3 or len(off) < 20:
            break
        scale = max(1.4826 * float(np.median(np.abs(off[off != 0]))) if (off != 0).any() else 1.0, 1e-6)
        weight = np.minimum(1, _HUBER * scale / np.maximum(np.abs(off), 1e-12)) / sd**2
    return slope, se, level - slope * middle


def _described(book: Logbook, visits: pd.DataFrame, names: pd.Index, from_new: set[str]) -> pd.DataFrame:
    """What stands behind each tire: where, how far, on which axle, in which months."""
    by_tire = visits.sort_values(["tire_id", "tire_km"]).groupby("tire_id", sort=True)
    first, last = by_tire.first().reindex(names), by_tire.last().reindex(names)
    began = np.where(np.isin(names.to_numpy(object), list(from_new)), 0.0, 1.0)  # from new: all its distance
    out = pd.DataFrame({"tire_id": names})
    out["vehicle_id"] = first["vehicle_id"].to_numpy(object)
    out["visits"] = by_tire.size().reindex(names).to_numpy(int)
    km = (last["tire_km"] - began * first["tire_km"]).to_numpy(float)
    read = (last["tire_km"] - first["tire_km"]).to_numpy(float)
    out["km"] = km
    with np.errstate(invalid="ignore", divide="ignore"):
        out["front_share"] = (last["front_km"] - began * first["front_km"]).to_numpy(float) / km
        out["warm_share"] = np.where(read > 0, last["warm_km"].to_numpy(float) / read, np.nan)
    out["mid_date"] = (first["date"] + (last["date"] - first["date"]) / 2).to_numpy()
    tires = book.tires.drop(columns=["row", "doubt"], errors="ignore")
    vehicles = book.vehicles.drop(columns=["row", "doubt"], errors="ignore")
    out = out.merge(tires, on="tire_id", how="left").merge(
        vehicles, on="vehicle_id", how="left", suffixes=("", "_of_vehicle")
    )
    out["slow_road_share"] = out["vehicle_id"].map(_slow_roads(book.habits)).to_numpy(float)
    return out


def _slow_roads(habits: pd.DataFrame) -> pd.Series:
    """Share of miles under 40 mph by vehicle, over the days recorded."""
    if habits.empty:
        return pd.Series(dtype=float)
    days = (habits["to_date"] - habits["from_date"]).dt.days.to_numpy(float) + 1
    slow = (habits["share_under_25mph"] + habits["share_25_40mph"]).to_numpy(float)
    total = pd.DataFrame({"days": days, "slow": days * slow}).groupby(habits["vehicle_id"]).sum()
    return total["slow"] / total["days"]

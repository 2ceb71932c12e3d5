"""What is known today about each mounted tire: the row that a projection starts from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook.bend import own_bend
from tirelife.outlook.rotation_ahead import LATE_SHARE, rotation_ahead, through_rotations
from tirelife.rates import path_depth
from tirelife.rates.grooves import groove_wear, mean_depth_limit
from tirelife.rates.mileage import mileage
from tirelife.rates.severity_ahead import severity_ahead
from tirelife.tread import REMOVAL_DEPTH_MM, judge, measured, tire_visits, verdict_columns
from tirelife.wear import stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["MOUNTED_ORDER", "REMOVAL_DEPTH_MM", "present_state", "present_states"]

MOUNTED_ORDER: Final = ("LF", "RF", "LR", "RR", "SP")
_FIT: Final = (
    "visits", "last_odometer_km", "new_depth_mm", "depth_mm", "depth_sd_mm", "log_wear", "log_wear_sd",
    "depth_log_wear_cov", "q", "q_sd", "depth_q_cov", "log_wear_q_cov", "log_axle_front", "log_axle_rear",
    "axle_sd", "depth_axle_cov", "log_wear_axle_cov", "wander_var_per_km", "scatter_km",
)  # fmt: skip


def present_state(
    book: Logbook, fit: WearFit, removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM
) -> pd.DataFrame:
    """Today's posterior of each mounted tire, with what is assumed of the time ahead.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    removal_depth_mm : float or Series
        For all, or by position (``LF, RF, LR, RR, SP``). [mm]

    Returns
    -------
    DataFrame
        One row a mounted tire, by vehicle and position: vehicle_id, tire_id, position, as_of, odometer_km,
        visits, last_date (of the last one); depth_now_mm (in the groove that will be down first);
        mean_depth_mm, mean_depth_sd_mm, limit_mm (mean depth at which that groove is at the removal
        depth), log_wear (of mm per km on the present axle, at today's depth), log_wear_sd,
        depth_log_wear_cov, q; groove; removal_depth_mm, new_depth_mm; due_km, every_km, other_ratio (see
        :func:`tirelife.outlook.rotation_ahead.through_rotations`); km_per_day, log_sd, year_log_sd (see
        :func:`tirelife.rates.mileage.mileage`); bend (log of the present wear rate over the fit's, where
        the tire's own readings contradict the fit), reason; and what was measured, as
        :data:`tirelife.tread.VERDICT_COLUMNS`.

    Notes
    -----
    From the last visit to today the posterior is carried over the distance run since, on the axles where
    it was run. At the median distance ahead, x: the wandering of the rate adds ``wander_var_per_km * x / 3``
    to the variance of the log rate, scatter adds ``rate² * scatter_km * x`` to that of the depth, and the
    curvature's uncertainty goes into the log rate, first-order.
    """
    return present_states(book, fit, {"": removal_depth_mm})[""]


def present_states(
    book: Logbook, fit: WearFit, removal_depths_mm: Mapping[str, float | pd.Series]
) -> dict[str, pd.DataFrame]:
    """Give :func:`present_state` for several removal depths, by name; the rest is worked out once."""
    known = _read_over(book, fit)
    return {name: _at_depth(book, known, depth) for name, depth in removal_depths_mm.items()}


class _Known(NamedTuple):
    """What does not depend on the removal depth."""

    mounted: pd.DataFrame
    fitted: pd.DataFrame
    pace: pd.DataFrame
    severity: tuple[NDArray[np.float64], NDArray[np.float64]]
    groove: pd.DataFrame
    bend: tuple[NDArray[np.float64], NDArray[np.float64]]
    measured: pd.DataFrame


def _read_over(book: Logbook, fit: WearFit) -> _Known:
    mounted = rotation_ahead(book)
    fitted = fit.tires.set_index("tire_id").reindex(mounted["tire_id"])
    parts = stretch_severity(book)
    visits = fit.frames["visits"]  # read only: a copy of millions of rows costs seconds
    if "shallowest_mm" not in visits:  # fitted from frames that had no grooves
        visits = tire_visits(book)
    return _Known(
        mounted,
        fitted,
        mileage(book).set_index("vehicle_id").reindex(mounted["vehicle_id"]),
        severity_ahead(parts, mounted),
        groove_wear(visits, fitted["new_depth_mm"].astype(float)),
        own_bend(visits, mounted["tire_id"]),
        measured(book),
    )


def _at_depth(book: Logbook, known: _Known, removal_depth_mm: float | pd.Series) -> pd.DataFrame:
    mounted, fitted, pace, (here, there), groove, (bend, bend_sd), read = known
    value = {name: fitted[name].to_numpy(dtype=float) for name in _FIT}
    out = mounted[["vehicle_id", "tire_id", "position"]].copy()
    out["as_of"] = book.as_of
    for name, column in (("odometer_km", "as_of_km"), ("km_per_day", "km_per_day"), ("log_sd", "log_sd")):
        out[name] = pace[column].to_numpy(dtype=float)
    out["year_log_sd"] = pace["year_log_sd"].to_numpy(dtype=float)
    out["visits"] = np.nan_to_num(value["visits"]).astype(int)
    out["last_date"] = pd.to_datetime(fitted["last_date"]).to_numpy()
    axle = _axles(mounted, fitted, value)
    unread = np.maximum(out["odometer_km"].to_numpy() - pace["odometer_km"].to_numpy(dtype=float), 0.0)
    on_axle = mounted["since_km"].to_numpy() + unread
    same_vehicle = fitted["vehicle_id"].to_numpy(dtype=object) == mounted["vehicle_id"].to_numpy(dtype=object)
    gap = out["odometer_km"].to_numpy() - value["last_odometer_km"]
    gap = np.maximum(np.where(same_vehicle, gap, on_axle), 0.0)
    gap_here = np.minimum(gap, on_axle)
    spare = (mounted["axle"] == "spare").to_numpy(dtype=bool)
    run = np.where(spare, 0.0, gap_here * np.exp(axle["now"] - axle["fit"]) * here)
    run = run + np.where(axle["fit_spare"], 0.0, (gap - gap_here) * here)
    unread_sd = unread * here * np.exp(axle["now"] - axle["fit"]) * out["log_sd"].to_numpy()
    out = out.assign(**_carried(value, run, np.where(spare, 0.0, unread_sd)))
    removal = (
        mounted["position"].map(removal_depth_mm).to_numpy(dtype=float)
        if isinstance(removal_depth_mm, pd.Series)
        else np.full(len(out), float(removal_depth_mm))
    )
    ratio = groove["ratio"].to_numpy()
    limit, limit_sd = mean_depth_limit(value["new_depth_mm"], removal, ratio, groove["ratio_sd"].to_numpy())
    out["groove"] = groove["groove"].to_numpy()
    out["removal_depth_mm"], out["new_depth_mm"] = removal, value["new_depth_mm"]
    mean = out["mean_depth_mm"].to_numpy()
    out["depth_now_mm"] = np.maximum(value["new_depth_mm"] - ratio * (value["new_depth_mm"] - mean), 0.0)
    out["limit_mm"] = limit
    out["bend"] = bend
    out["log_wear"] = out["log_wear"] + axle["now"] - axle["fit"]
    due = mounted["every_km"].to_numpy() - on_axle
    late = LATE_SHARE * mounted["every_km"].to_numpy()
    out["due_km"] = np.where(due > 0, due, late)
    out["every_km"] = mounted["every_km"].to_numpy()
    out["other_ratio"] = np.exp(axle["other"] - axle["now"]) * there / here
    _over_axles(out, value, here, np.where(mounted["axle"] == "front", 1.0, -1.0) * ~spare)
    _spread_ahead(out, value, limit_sd, bend_sd)
    out["log_wear"] = out["log_wear"] + np.log(here)
    out["spare_turns"] = mounted["spare_turns"].to_numpy()
    out["reason"] = fitted["reason"].fillna("").to_numpy(dtype=object)
    out = out.join(verdict_columns(judge(read, removal_depth_mm)), on="tire_id")
    rank = out["position"].map({name: i for i, name in enumerate(MOUNTED_ORDER)})
    return out.iloc[np.lexsort((rank, out["vehicle_id"]))].reset_index(drop=True)


def _axles(
    mounted: pd.DataFrame, fitted: pd.DataFrame, value: dict[str, NDArray[np.float64]]
) -> dict[str, NDArray[np.float64]]:
    """Log axle terms: of the axle that the fit's rate is for, of the present one and of the other one."""
    front, rear = np.nan_to_num(value["log_axle_front"]), np.nan_to_num(value["log_axle_rear"])
    was = fitted["position"].fillna("").to_numpy(dtype=object)
    fit_front, fit_rear = np.isin(was, ["LF", "RF"]), np.isin(was, ["LR", "RR"])
    both = np.logaddexp(front, rear) - np.log(2)
    fit = np.where(fit_front, front, np.where(fit_rear, rear, 0.0))
    axle = mounted["axle"].to_numpy(dtype=object)
    # A spare runs nothing where it lies; what it will run is taken as the mean of both axles.
    now = np.where(axle == "front", front, np.where(axle == "rear", rear, both))
    other = np.where(axle == "front", rear, np.where(axle == "rear", front, both))
    return {"fit": fit, "now": now, "other": other, "fit_spare": was == "SP"}


def _carried(
    value: dict[str, NDArray[np.float64]], run: NDArray[np.float64], run_sd: NDArray[np.float64]
) -> dict[str, NDArray[np.float64]]:
    """Carry the posterior over a distance run [reference km on the fit's axle] since the last visit."""
    depth, q, rate = np.maximum(value["depth_mm"], 1e-3), value["q"], np.exp(value["log_wear"])
    mean = path_depth(depth, rate * run, q)
    slope = np.where(q == 0, 1.0, (np.maximum(mean, 1e-9) / depth) ** q)
    moved = rate * slope
    variance = (
        value["depth_sd_mm"] ** 2
        + (moved * run * value["log_wear_sd"]) ** 2
        - 2 * moved * run * value["depth_log_wear_cov"]
        + moved**2 * (value["scatter_km"] * run + value["wander_var_per_km"] * run**3 / 3)
        + (moved * run_sd) ** 2
    )
    return {
        "mean_depth_mm": np.maximum(mean, 0.01),
        "mean_depth_sd_mm": np.sqrt(np.maximum(variance, 1e-8)),
        "log_wear": value["log_wear"] + np.log(slope),
        "log_wear_sd": np.sqrt(value["log_wear_sd"] ** 2 + value["wander_var_per_km"] * run),
        "depth_log_wear_cov": value["depth_log_wear_cov"]
        - moved * run * (value["log_wear_sd"] ** 2 + value["wander_var_per_km"] * run / 2),
        "q": q,
    }


def _over_axles(
    out: pd.DataFrame,
    value: dict[str, NDArray[np.float64]],
    here: NDArray[np.float64],
    side: NDArray[np.float64],
) -> None:
    """Take off what an unknown axle ratio does to the present rate, as far as the other axle gives it back.

    If the front wears more than fitted the rear wears less, and a tire that takes turns on both feels little.
    """
    rate = np.exp(out["log_wear"].to_numpy()) * here
    left = np.maximum(out["mean_depth_mm"].to_numpy() - out["limit_mm"].to_numpy(), 0.05)
    alone = left / rate
    due, every, ratio = (out[name].to_numpy() for name in ("due_km", "every_km", "other_ratio"))
    km = through_rotations(alone[:, None], due, every, ratio)[:, 0]
    # Of every km x: a on the present axle and x - a on the other wear a + ratio (x - a) = alone.
    with np.errstate(divide="ignore", invalid="ignore"):
        there = np.where(np.abs(ratio - 1) > 1e-6, (km - alone) / (1 - ratio), km / 2)
    there = np.where(np.isfinite(every), np.clip(there, 0.0, km), 0.0)
    share = np.clip(ratio * there / alone, 0.0, 1.0) * side
    sd, cov = value["axle_sd"], value["log_wear_axle_cov"]
    variance = out["log_wear_sd"].to_numpy() ** 2 - 2 * share * cov + share**2 * sd**2
    out["log_wear_sd"] = np.sqrt(np.maximum(variance, 1e-8))
    out["depth_log_wear_cov"] = out["depth_log_wear_cov"].to_numpy() - share * value["depth_axle_cov"]


def _spread_ahead(
    out: pd.DataFrame,
    value: dict[str, NDArray[np.float64]],
    limit_sd: NDArray[np.float64],
    bend_sd: NDArray[np.float64],
) -> None:
    """Add the spread ahead: curvature and bend to the rate, wander and groove to the depth."""
    depth, q = out["mean_depth_mm"].to_numpy(), out["q"].to_numpy()
    share = np.clip(out["limit_mm"].to_numpy() / depth, 1e-3, 1.0)
    step = 1e-4
    # d log(distance) / dq, of log[(1 - share^(1 - q)) / (1 - q)]
    by_q = np.where(share < 1, (_log_reach(share, q + step) - _log_reach(share, q - step)) / (2 * step), 0.0)
    variance = out["log_wear_sd"].to_numpy() ** 2 + bend_sd**2
    variance = variance + by_q**2 * value["q_sd"] ** 2 - 2 * by_q * value["log_wear_q_cov"]
    out["log_wear_sd"] = np.sqrt(np.maximum(variance, 1e-8))
    out["depth_log_wear_cov"] = out["depth_log_wear_cov"].to_numpy() - by_q * value["depth_q_cov"]
    rate = np.exp(out["log_wear"].to_numpy())
    ahead_km = np.maximum(depth - out["limit_mm"].to_numpy(), 0.0) / rate
    variance = out["log_wear_sd"].to_numpy() ** 2 + value["wander_var_per_km"] * ahead_km / 3
    out["log_wear_sd"] = np.sqrt(np.maximum(variance, 1e-8))
    scatter = rate**2 * value["scatter_km"] * ahead_km
    out["mean_depth_sd_mm"] = np.sqrt(out["mean_depth_sd_mm"].to_numpy() ** 2 + limit_sd**2 + scatter)


def _log_reach(share: NDArray[np.float64], q: NDArray[np.float64]) -> NDArray[np.float64]:
    power = np.where(np.abs(1 - q) < 1e-6, 1e-6, 1 - q)
    return np.asarray(np.log(np.maximum((1 - share**power) / power, 1e-12)))

"""What is known today about each mounted tire: the row that a projection starts from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook.ageing import AGE_LIMIT_YEARS, age_ends
from tirelife.outlook.rotation_ahead import rotation_ahead
from tirelife.positions import MOUNTED
from tirelife.rates import (
    groove_wear,
    mean_depth_limit,
    mileage,
    own_bend,
    tires_now,
    today,
    turn_columns,
)
from tirelife.tread import REMOVAL_DEPTH_MM, judge, measured, tire_visits, verdict_columns

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["REMOVAL_DEPTH_MM", "present_state", "present_states"]


def present_state(
    book: Logbook,
    fit: WearFit,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    age_limit_years: float = AGE_LIMIT_YEARS,
) -> pd.DataFrame:
    """Today's posterior of each mounted tire, with what is assumed of the time ahead.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    removal_depth_mm : float or Series
        For all, or by position (``LF, RF, LR, RR, SP``). [mm]
    age_limit_years : float

    Returns
    -------
    DataFrame
        One row a mounted tire, by vehicle and position: vehicle_id, tire_id, position, axle, as_of,
        odometer_km, visits, last_date (of the last one); depth_now_mm (in the groove down first);
        mean_depth_mm, mean_depth_sd_mm, limit_mm (mean depth at which that groove is at the removal depth),
        limit_sd_mm, log_wear (of mm per km at the present wheel and depth), log_wear_sd, depth_log_wear_cov,
        q; groove; removal_depth_mm, new_depth_mm; bend and bend_log_sd (log of the present wear rate over the
        fit's, where the tire's own readings contradict the fit), reason; age_end, age_assumed, age_days (see
        :func:`tirelife.outlook.ageing.age_ends`) and age_years; what was measured, as
        :data:`tirelife.tread.VERDICT_COLUMNS`; the posterior at the last reading, what was run since and what
        is assumed of the time ahead, as :class:`tirelife.outlook.ahead.Course` reads them (see
        :func:`tirelife.rates.present.tires_now`, :func:`tirelife.outlook.rotation_ahead.rotation_ahead`,
        :func:`tirelife.rates.mileage`), sets in turn among them
        (:data:`tirelife.rates.turns.TURN_COLUMNS` and :data:`~tirelife.rates.turns.TURN_SPREADS`).
        ``odometer_doubted``: that of the last reading is not used. ``fits`` is whether the last reading
        agrees with the estimate of its day (:mod:`tirelife.rates.fits`); where it does not, depth and spread
        hold both; ``fit`` how far the fit can be trusted.

    Notes
    -----
    From the last visit to today the posterior is carried wheel by wheel over the mounts since, at the
    severity of each stretch; from the last odometer reading to today at the vehicle's pace. The columns from
    mean_depth_mm to q are its first-order view; forecasts draw it in full.
    """
    return present_states(book, fit, {"": removal_depth_mm}, age_limit_years)[""]


def present_states(
    book: Logbook,
    fit: WearFit,
    removal_depths_mm: Mapping[str, float | pd.Series],
    age_limit_years: float = AGE_LIMIT_YEARS,
) -> dict[str, pd.DataFrame]:
    """Give :func:`present_state` for several removal depths, by name; the rest is worked out once."""
    known = _read_over(book, fit, age_limit_years)
    return {name: _at_depth(known, depth) for name, depth in removal_depths_mm.items()}


class _Known(NamedTuple):
    """What does not depend on the removal depth."""

    frame: pd.DataFrame
    groove: pd.DataFrame
    measured: pd.DataFrame


def _read_over(book: Logbook, fit: WearFit, age_limit_years: float) -> _Known:
    turning = rotation_ahead(book)
    fitted = fit.tires.set_index("tire_id").reindex(turning["tire_id"])
    visits = fit.frames["visits"]  # read only: a copy of millions of rows costs seconds
    if "shallowest_mm" not in visits:  # fitted from frames that had no grooves
        visits = tire_visits(book)
    now = tires_now(book, fit, turning)
    pace = mileage(book).set_index("vehicle_id").reindex(turning["vehicle_id"]).reset_index(drop=True)
    bend, bend_sd = own_bend(visits, turning["tire_id"])
    ahead = turning.drop(columns=["tire_id", "vehicle_id", "position", "axle", "lasted_km"])
    out = pd.concat([now, ahead], axis=1)
    out["as_of"] = book.as_of
    out["odometer_km"] = pace["as_of_km"].to_numpy(dtype=float)
    for name in ("km_per_day", "year_log_sd", "drift_log_sd"):
        out[name] = pace[name].to_numpy(dtype=float)
    out["since_km"] = out["since_km"] + out["unread_km"]
    for name in ("new_depth_mm", "visits"):
        out[name] = fitted[name].to_numpy(dtype=float)
    out["visits"] = out["visits"].fillna(0).astype(int)
    out["last_date"] = pd.to_datetime(fitted["last_date"]).to_numpy()
    out["odometer_doubted"] = _odometer_doubted(book, out)
    out["reason"] = fitted["reason"].fillna("").to_numpy(dtype=object)
    out["bend"], out["bend_log_sd"] = bend, bend_sd
    out["fits"] = out["misfit_mm"] == 0
    out["fit"] = fit.verdict.trust.value
    out["age_years"] = age_limit_years
    ages = age_ends(book, turning["tire_id"], age_limit_years)
    out = pd.concat([out, today(out), ages, turn_columns(book, out["tire_id"])], axis=1)
    return _Known(out, groove_wear(visits, fitted["new_depth_mm"].astype(float)), measured(book))


def _odometer_doubted(book: Logbook, tires: pd.DataFrame) -> NDArray[np.bool_]:
    """Whether the odometer at each tire's last reading is one that is not used."""
    unused = book.odometer_unused("depths")
    if not unused.any():
        return np.zeros(len(tires), dtype=bool)
    wrong = book.depths.loc[unused, ["vehicle_id", "date"]]
    read = pd.MultiIndex.from_arrays([tires["vehicle_id"], tires["last_date"]])
    return np.asarray(read.isin(pd.MultiIndex.from_frame(wrong.drop_duplicates())))


def _at_depth(known: _Known, removal_depth_mm: float | pd.Series) -> pd.DataFrame:
    out, groove = known.frame.copy(), known.groove
    removal = (
        out["position"].map(removal_depth_mm).to_numpy(dtype=float)
        if isinstance(removal_depth_mm, pd.Series)
        else np.full(len(out), float(removal_depth_mm))
    )
    ratio, new = groove["ratio"].to_numpy(), out["new_depth_mm"].to_numpy()
    limit, limit_sd = mean_depth_limit(new, removal, ratio, groove["ratio_sd"].to_numpy())
    out["groove"] = groove["groove"].to_numpy()
    out["removal_depth_mm"], out["limit_mm"], out["limit_sd_mm"] = removal, limit, limit_sd
    out["depth_now_mm"] = np.maximum(new - ratio * (new - out["mean_depth_mm"].to_numpy()), 0.0)
    out = out.join(verdict_columns(judge(known.measured, removal_depth_mm)), on="tire_id")
    rank = out["position"].map({name: i for i, name in enumerate(MOUNTED)})
    return out.iloc[np.lexsort((rank, out["vehicle_id"]))].reset_index(drop=True)

"""Forecasts of earlier days, made from the logbook as it was known then, and scored on what came later."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import FitError, misused
from tirelife.logbook import known_on, of_vehicles
from tirelife.normal import ndtri
from tirelife.outlook.calibrating import calibrated_fit, visit_days
from tirelife.outlook.forecasts import distances_and_days
from tirelife.outlook.later import (
    depths_after,
    depths_over,
    later_visits,
    reading_quantiles,
    reading_sd,
    worn_out,
)
from tirelife.outlook.rivals import fleet_mean, straight_lines
from tirelife.outlook.scores import Held, Target, held, score_predictions
from tirelife.outlook.sets import first_quantiles
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_states
from tirelife.outlook.wrong import Wrong
from tirelife.positions import SPARE, axle_of
from tirelife.tread import Verdict
from tirelife.units import INCH_32ND_MM

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["LEVELS", "METHODS", "BacktestResult", "Target", "backtest", "origin_days"]

Floats = NDArray[np.float64]

LEVELS: Final = (0.01, 0.025, *(round(0.05 * i, 2) for i in range(1, 20)), 0.975, 0.99)
"""Quantiles that are scored: the 23 of Bracher et al. (2021)."""
WET_DEPTH_MM: Final = 4 * INCH_32ND_MM
"""A second removal depth, which more tires reach: usual for wet grip. [mm]"""
SHARES: Final = (0.4, 0.8)
"""Shares of a logbook's visits that lie before the first origin and before the last."""
MOST: Final = 1000
"""Vehicles that a large logbook is tested on, drawn at random: scores are then known to a per cent."""
METHODS: Final = ("tirelife", "straight-line", "fleet-mean")


@dataclass(frozen=True, eq=False)
class BacktestResult:
    """What came later, beside what was forecast.

    Attributes
    ----------
    predictions : DataFrame
        One row a forecast and quantile: case (number of the forecast), origin (its day), target, method
        (:data:`METHODS`), vehicle_id, tire_id and position (blank for a set), removal_mm (NaN for depths), at
        (day of the later reading), ahead_km (from the last reading before the origin to the later one, or how
        far it went or had got), tire_km (run by the tire at the origin), moved (to the other axle since it
        was last read), visits_before, quantile, value, observed, censored (had not happened: observed is
        how far it had got), horizon (beyond it nothing could be observed), unit (mm, km, days).
    scores : DataFrame
        See :func:`tirelife.outlook.scores.score_predictions`.
    origins : DataFrame
        One row a day forecast from: origin, vehicles, tires, trust (of the fit), factor (of its calibration).
    """

    predictions: pd.DataFrame
    scores: pd.DataFrame
    origins: pd.DataFrame

    @property
    def held(self) -> Held:
        """Whether the ranges of depths held, over all origins."""
        return held(self.scores)

    def lives(self) -> pd.DataFrame:
        """Distance left as it was forecast from each origin, beside what it turned out to be.

        Returns
        -------
        DataFrame
            A row a tire that wore out, origin and removal depth: vehicle_id, tire_id, origin, removal_mm,
            tire_km, km_left_p10, km_left_p50, km_left_p90, true_km.
        """
        some = self.predictions.query("target == 'distance' and not censored")
        keys = ["case", "vehicle_id", "tire_id", "origin", "removal_mm", "tire_km", "observed"]
        wide = some.pivot_table("value", keys, "quantile")[[0.1, 0.5, 0.9]]
        wide.columns = ["km_left_p10", "km_left_p50", "km_left_p90"]
        out = wide.reset_index().drop(columns="case").rename(columns={"observed": "true_km"})
        return out[[*keys[1:-1], *wide.columns, "true_km"]]


def backtest(
    book: Logbook,
    origins: int | Sequence[str | dt.date | pd.Timestamp] = 3,
    prior: Prior | None = None,
    removal_depths_mm: Sequence[float] = (REMOVAL_DEPTH_MM, WET_DEPTH_MM),
) -> BacktestResult:
    """Forecast from earlier days, each from the logbook as it was known then, and score on what came later.

    Parameters
    ----------
    book : Logbook
    origins : int or sequence of dates
        Days to forecast from, or how many: they are then spread between the days by which 40 and 80 % of the
        visits were over.
    prior : Prior, optional
    removal_depths_mm : sequence of float
        Distances and dates are scored to each. [mm]

    Returns
    -------
    BacktestResult

    Raises
    ------
    InputError
        If no tire was read after an origin and forecast before it, or an origin is no day of the logbook.

    Notes
    -----
    From each origin the logbook is cut (:func:`tirelife.logbook.known_on`), fitted and calibrated
    (:func:`tirelife.outlook.calibrated_fit`) and forecast, all as :func:`tirelife.outlook.forecast` does: the
    quantiles of distances and dates are its own. Depths are scored as they were read, gauge and visit error
    included. Tires read at their removal depth, for which nothing is forecast, are left out of distances and
    dates.
    """
    names = book.vehicles["vehicle_id"]
    if len(names) > MOST:
        book = of_vehicles(
            book, set(names.iloc[np.random.default_rng(575).choice(len(names), MOST, replace=False)])
        )
    days = origin_days(book, origins) if isinstance(origins, int) else list(origins)
    parts: list[_Cases] = []
    rows: list[dict[str, Any]] = []
    for day in days:
        known = known_on(book, day)
        try:
            fit = calibrated_fit(known, prior)
        except FitError:
            continue
        states = present_states(known, fit, {f"{depth:g}": depth for depth in removal_depths_mm})
        found = _from_origin(book, known, fit, list(states.values()))
        state = next(iter(states.values()))
        if any(len(part.frame) for part in found):
            parts += found
            factor = fit.estimates.set_index("term")["estimate"].get("calibration of ranges", np.nan)
            counts = {"vehicles": state["vehicle_id"].nunique(), "tires": len(state)}
            rows.append({"origin": known.as_of, **counts, "trust": fit.verdict.trust.value, "factor": factor})
    if not any(len(part.frame) for part in parts):
        raise misused(Wrong.NO_BACKTEST)
    predictions = _long(parts)
    return BacktestResult(predictions, score_predictions(predictions), pd.DataFrame(rows))


def origin_days(book: Logbook, count: int) -> list[pd.Timestamp]:
    """Days spread over a logbook's visits, from which forecasts can be scored: as many, or fewer in a short
    log.

    Raises
    ------
    InputError
        If ``count`` is under 1.
    """
    if count < 1:
        raise misused(Wrong.ORIGINS, count=count)
    days = visit_days(book)["date"]
    shares = np.linspace(*SHARES, count) if count > 1 else [np.mean(SHARES)]
    found = days.quantile(shares, interpolation="lower") if len(days) else pd.Series(dtype="datetime64[us]")
    return sorted(set(found[found < days.max()])) if len(days) else []


@dataclass(frozen=True)
class _Cases:
    """Forecasts of one target by one method: what each is of, and its quantiles."""

    frame: pd.DataFrame
    values: Floats


def _from_origin(book: Logbook, known: Logbook, fit: WearFit, states: list[pd.DataFrame]) -> list[_Cases]:
    out = _depths(book, known, fit, states[0])
    run = _run_by(known, states[0])
    for state in states:
        out += _distances(book, fit, state, run)
        out += _firsts(book, state)
    return out


def _depths(book: Logbook, known: Logbook, fit: WearFit, state: pd.DataFrame) -> list[_Cases]:
    later = later_visits(book, state)
    fitted = fit.frames["tires"].set_index("tire_id").reindex(later["tire_id"])
    ahead = later["odometer_km"].to_numpy(float) - fitted["last_odometer_km"].to_numpy(float)
    noise = reading_sd(fit)
    mine = {
        Target.DEPTH: depths_after(state, later),
        Target.WEAR: depths_after(depths_over(book, fit, state, later)),
    }
    values = {(target, METHODS[0]): reading_quantiles(draws, noise, LEVELS) for target, draws in mine.items()}
    rivals = {METHODS[1]: straight_lines(known, later), METHODS[2]: fleet_mean(fit, later, ahead, noise)}
    for method, (mean, sd) in rivals.items():
        values[Target.DEPTH, method] = mean[:, None] + sd[:, None] * ndtri(LEVELS)
    frame = _common(fit, state, later["row"].to_numpy(), later["position"]).assign(
        at=later["date"].to_numpy(), ahead_km=ahead, observed=later["depth_mm"].to_numpy(float),
        censored=False, horizon=np.inf, unit="mm", removal_mm=np.nan,
        tire_km=_run_by(known, state)[later["row"].to_numpy()],
    )  # fmt: skip
    return [_kept(frame.assign(target=target.value, method=m), v) for (target, m), v in values.items()]


def _distances(book: Logbook, fit: WearFit, state: pd.DataFrame, run: Floats) -> list[_Cases]:
    found, came = distances_and_days(state, LEVELS), worn_out(book, state)
    open_ = (state["verdict"] != Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
    frame = _common(fit, state, np.arange(len(state)), state["position"])
    frame = frame.assign(
        at=np.datetime64("NaT"), removal_mm=state["removal_depth_mm"].to_numpy(float), tire_km=run
    )
    age = state["age_days"].to_numpy(float)
    return _far_and_long(frame, found, came, np.nan_to_num(age, nan=np.inf), open_)


def _firsts(book: Logbook, state: pd.DataFrame) -> list[_Cases]:
    """The first of each vehicle's tires on the road, of vehicles with a forecast for each."""
    road = state["axle"].isin(["front", "rear"]).to_numpy(dtype=bool)
    some = state[road].reset_index(drop=True)
    if some.empty:
        return []
    names, found = first_quantiles(some, LEVELS)
    came = worn_out(book, some)
    came["vehicle_id"] = some["vehicle_id"].to_numpy(object)
    came["down"] = (some["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
    came["age"] = np.nan_to_num(some["age_days"].to_numpy(float), nan=np.inf)
    # The least of what was seen and of how far the others had got: seen if nothing lesser is unknown.
    came = came.sort_values(["vehicle_id", "km", "censored"], kind="stable")
    least = came.drop_duplicates("vehicle_id").set_index("vehicle_id").reindex(names)
    by = came.groupby("vehicle_id")
    frame = pd.DataFrame(
        {
            "origin": state["as_of"].iloc[0], "vehicle_id": names, "tire_id": "", "position": "",
            "removal_mm": some.groupby("vehicle_id")["removal_depth_mm"].min().reindex(names).to_numpy(),
            "at": pd.NaT, "tire_km": np.nan, "moved": False,
            "visits_before": some.groupby("vehicle_id")["visits"].max().reindex(names).to_numpy(),
        }
    )  # fmt: skip
    open_ = ~by["down"].any().reindex(names).to_numpy(dtype=bool)
    age = by["age"].min().reindex(names).to_numpy(float)
    return _far_and_long(frame, found, least, age, open_, (Target.FIRST, Target.FIRST_DATE))


def _far_and_long(
    frame: pd.DataFrame,
    found: Floats,
    came: pd.DataFrame,
    age_days: Floats,
    open_: NDArray[np.bool_],
    targets: tuple[Target, Target] = (Target.DISTANCE, Target.DATE),
) -> list[_Cases]:
    """Distances and dates, of what has distance left: no date runs past the age limit, nor is seen to."""
    censored = came["censored"].to_numpy(dtype=bool)
    days = came["days"].to_numpy(float)
    parts = (
        (targets[0], "km", came["km"].to_numpy(float), censored, came["horizon_km"].to_numpy(float)),
        (
            targets[1], "days", np.minimum(days, age_days), censored & (days < age_days),
            came["horizon_days"].to_numpy(float),
        ),
    )  # fmt: skip
    out = []
    for i, (target, unit, observed, cut, horizon) in enumerate(parts):
        named = frame.assign(
            target=target.value, method=METHODS[0], observed=observed, censored=cut, horizon=horizon,
            unit=unit, ahead_km=came["km"].to_numpy(float),
        )  # fmt: skip
        out.append(_kept(named[open_], found[open_, i * len(LEVELS) : (i + 1) * len(LEVELS)]))
    return out


def _common(fit: WearFit, state: pd.DataFrame, row: NDArray[np.intp], position: pd.Series) -> pd.DataFrame:
    """What is said of each forecast; ``position`` is where the tire was to be, or is."""
    at = state.iloc[row]
    fitted = fit.frames["tires"].set_index("tire_id").reindex(at["tire_id"])
    before, then = (place.map(axle_of).to_numpy(dtype=object) for place in (fitted["position"], position))
    visits = at["visits"].to_numpy(dtype=int)
    return pd.DataFrame(
        {
            "origin": at["as_of"].to_numpy(),
            "vehicle_id": at["vehicle_id"].to_numpy(object),
            "tire_id": at["tire_id"].to_numpy(object),
            "position": position.to_numpy(object),
            "moved": (before != then) & (visits > 0),
            "visits_before": visits,
        }
    )


def _run_by(known: Logbook, state: pd.DataFrame) -> Floats:
    """Distance that each tire had run on the road. [km]"""
    path = known.stretches
    run = (path["to_km"] - path["from_km"]).where(path["position"] != SPARE, 0.0)
    return run.groupby(path["tire_id"]).sum().reindex(state["tire_id"]).to_numpy(dtype=float)


def _kept(frame: pd.DataFrame, values: Floats) -> _Cases:
    """Without what has no answer."""
    good = np.isfinite(values).all(axis=1) & np.isfinite(frame["observed"].to_numpy(float))
    return _Cases(frame[good], values[good])


_COLUMNS: Final = [
    "case", "origin", "target", "method", "vehicle_id", "tire_id", "position", "removal_mm", "at", "ahead_km",
    "tire_km", "moved", "visits_before", "quantile", "value", "observed", "censored", "horizon", "unit",
]  # fmt: skip


def _long(parts: list[_Cases]) -> pd.DataFrame:
    some = [part for part in parts if len(part.frame)]
    frame = pd.concat([part.frame.astype({"at": "datetime64[us]"}) for part in some], ignore_index=True)
    frame["case"] = np.arange(len(frame))
    out = frame.loc[np.repeat(frame.index, len(LEVELS))].reset_index(drop=True)
    out["quantile"] = np.tile(LEVELS, len(frame))
    out["value"] = np.vstack([part.values for part in some]).ravel()
    return out[_COLUMNS]

"""Where each tire stands today: from its last reading wheel by wheel over the mounts since."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.axles import is_front
from tirelife.normal import ndtri
from tirelife.positions import axle_of
from tirelife.rates.daily import (
    mileage,
)
from tirelife.rates.fits import explained, hold_both, misfits
from tirelife.rates.joint import SHARED_COLUMNS, WALK_DOUBTS
from tirelife.rates.posterior import SIDES, Posterior
from tirelife.rates.result import HABIT, READING, VISIT, WANDER
from tirelife.rates.season import season_between
from tirelife.rates.severity_ahead import recent_lengths, severity_ahead
from tirelife.rates.turns import sets_in_turn
from tirelife.units import INCH_32ND_MM
from tirelife.wear import CAUSES, reference_at, stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates.result import WearFit

__all__ = ["mounted_now", "runs_since", "tires_now", "today"]

Floats = NDArray[np.float64]

SLIP_SDS: Final = 3.0
LEAST_SLIP_MM: Final = INCH_32ND_MM
"""A depth is held within so many standard errors of its last reading, and never closer than 1/32 in: what the
gauge and one visit can be wrong by (our choice)."""


def mounted_now(book: Logbook) -> pd.DataFrame:
    """Tires on vehicles at the end of the log: tire_id, vehicle_id, position, axle (front, rear or spare)."""
    path = book.stretches
    now = path[path["open"]]
    out = now[["tire_id", "vehicle_id", "position"]].reset_index(drop=True)
    return out.assign(axle=out["position"].map(axle_of))


def tires_now(book: Logbook, fit: WearFit, mounted: pd.DataFrame | None = None) -> pd.DataFrame:
    """Posterior of each mounted tire at its last reading, and what it has run since.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    mounted : DataFrame, optional
        From :func:`mounted_now`, or some of its rows.

    Returns
    -------
    DataFrame
        In the order of ``mounted``: tire_id, vehicle_id, position, axle;
        :data:`~tirelife.rates.posterior.POSTERIOR_COLUMNS`, :data:`~tirelife.rates.joint.SHARED_COLUMNS`;
        ``misfit_mm`` (of a last reading that does not fit what came before, 0 where it does: depth and spread
        then hold both, see :mod:`tirelife.rates.fits`); ``since_front_km`` and ``since_rear_km`` (reference
        distance since, on each axle, to the last odometer reading), ``unread_km`` (of the vehicle, projected
        from there to today) and ``log_sd`` (of its pace); ``walk_share`` (of the walk of its log rate that is
        its vehicle's); ``walk_log_sd`` and ``wander_log_sd`` (log-sd of the spread of that walk, and of its
        own); :data:`~tirelife.rates.joint.Q_COLUMNS` (distribution of q: shares, means and sds of treads
        that wear straight and that bend); ``here`` and ``there`` (severity ahead at its wheel and on the
        other axle; of a set that takes turns, over its own days of the fit's cycle of the year).
    """
    mounted = mounted_now(book) if mounted is None else mounted
    parts = stretch_severity(book, fit.factors)
    fitted = fit.frames["tires"].set_index("tire_id").reindex(mounted["tire_id"])
    pace = mileage(book).set_index("vehicle_id").reindex(mounted["vehicle_id"])
    cycle = _cycle_of_set(book, fit, mounted["tire_id"])
    here, there = (severity * cycle for severity in severity_ahead(parts, mounted))
    unread = pace["as_of_km"].to_numpy(dtype=float) - pace["odometer_km"].to_numpy(dtype=float)
    out = mounted[["tire_id", "vehicle_id", "position", "axle"]].reset_index(drop=True)
    last = Posterior.of_tires(fitted.reset_index()).to_frame()
    misfit, drawn = misfits(fit, out["tire_id"])
    hold_both(last, misfit, explained(fit), drawn)
    held = _held(Posterior.of_frame(last), fit, fitted, drawn != 0)
    held.cov[:, 1, 1] += _factor_var(fit, parts, out)
    out = pd.concat([out, held.to_frame()], axis=1)
    front, rear = runs_since(parts, fitted)
    return out.assign(
        misfit_mm=misfit,
        **{name: fitted[name].to_numpy(dtype=float) for name in SHARED_COLUMNS},
        walk_share=_walk_share(fit),
        **_walk_doubts(fit),
        **_bend_law(fit),
        log_sd=pace["log_sd"].to_numpy(dtype=float),
        since_front_km=front,
        since_rear_km=rear,
        unread_km=np.maximum(np.nan_to_num(unread), 0.0),
        here=here,
        there=there,
    )


def _cycle_of_set(book: Logbook, fit: WearFit, tire_ids: pd.Series) -> Floats:
    """Mean of the fit's cycle of the year over the days on which a tire's set is on the car; 1 for others."""
    if "season" not in fit.frames:
        return np.ones(len(tire_ids))
    sets = sets_in_turn(book).drop_duplicates("tire_id").set_index("tire_id").reindex(tire_ids)
    begin, end = (sets[name].to_numpy(dtype=np.float64) for name in ("from_day", "to_day"))
    return np.nan_to_num(season_between(fit.frames["season"], begin, end), nan=1.0)


def _factor_var(fit: WearFit, parts: pd.DataFrame, mounted: pd.DataFrame) -> Floats:
    """Variance of log wear ahead, for factors of causes that are not known, where a wheel's mix of causes is
    another than that at which its tire's rate is known; 0 where nothing tells.
    """
    if "anchors" not in fit.frames:
        return np.zeros(len(mounted))
    length = recent_lengths(parts) + 1e-9
    names = list(CAUSES)
    run = parts[names].mul(length, axis=0)
    mix = run.groupby([parts["vehicle_id"].to_numpy(), parts["position"].to_numpy()]).sum()
    mine = mix.reindex(pd.MultiIndex.from_frame(mounted[["vehicle_id", "position"]])).to_numpy(dtype=float)
    whole = mine.sum(axis=1, keepdims=True)
    axle = np.where(mounted["axle"] == "rear", "rear", "front")
    asked = pd.MultiIndex.from_arrays([mounted["tire_id"], axle])
    anchor = fit.frames["anchors"].set_index(["tire_id", "axle"])[names].reindex(asked).to_numpy(dtype=float)
    gap = np.divide(mine, whole, out=np.full_like(mine, np.nan), where=whole > 0) - anchor
    return np.asarray(fit.factors.spread(np.nan_to_num(gap)) ** 2)


def runs_since(
    parts: pd.DataFrame, fitted: pd.DataFrame, visits: pd.DataFrame | None = None
) -> tuple[Floats, Floats]:
    """Reference distance on the front and on the rear axle from tires' last readings, to visits or to the
    end.

    Parameters
    ----------
    parts : DataFrame
        From :func:`tirelife.wear.stretch_severity`.
    fitted : DataFrame
        Rows of ``WearFit.tires``, indexed by tire_id.
    visits : DataFrame, optional
        date and odometer_km, in the same order; the end of the log if not given.

    Returns
    -------
    front_km, rear_km : ndarray, shape (n,)
    """
    ids = fitted.index.to_numpy()
    stood = pd.DataFrame(
        {
            "tire_id": ids,
            "date": fitted["last_date"].to_numpy(),
            "odometer_km": fitted["last_odometer_km"].to_numpy(),
        }
    )
    begun = reference_at(parts, stood)
    names = ["reference_front_km", "reference_rear_km"]
    if visits is not None:
        there = pd.DataFrame(
            {
                "tire_id": ids,
                "date": visits["date"].to_numpy(),
                "odometer_km": visits["odometer_km"].to_numpy(),
            }
        )
        ended = reference_at(parts, there)[names].to_numpy(dtype=float)
    else:
        row = pd.Index(ids).unique()
        code = row.get_indexer(parts["tire_id"])
        known = code >= 0
        run = (parts["severity"] * (parts["to_km"] - parts["from_km"])).to_numpy(dtype=float)[known]
        front = is_front(parts["position"])[known]
        total = [np.bincount(code[known], run * side, minlength=len(row)) for side in (front, ~front)]
        ended = np.stack(total, axis=1)[row.get_indexer(ids)]
    since = np.maximum(np.nan_to_num(ended) - np.nan_to_num(begun[names].to_numpy(dtype=float)), 0.0)
    return since[:, 0], since[:, 1]


def _held(last: Posterior, fit: WearFit, fitted: pd.DataFrame, both: NDArray[np.bool_]) -> Posterior:
    """Posterior at the last reading, its depth held to what was read then: the gauge outranks the fit.

    Where ``both``, the tire's earlier readings contradict the last one, and both are held already.
    """
    visits = fit.frames["visits"]
    if visits.empty:
        return last
    seen = visits.drop_duplicates("tire_id", keep="last").set_index("tire_id").reindex(fitted.index)
    spread = fit.components.set_index("term")["estimate"]
    sd = float(np.hypot(spread[READING], spread[VISIT]))
    slip = max(SLIP_SDS * sd, LEAST_SLIP_MM)
    read = seen["depth_mm"].to_numpy(dtype=float)
    # A reading that many others contradict is a slip of the gauge, and holds nothing.
    number = fitted["visits"].to_numpy(dtype=float)
    slipped = seen["outlier"].eq(True).to_numpy(dtype=bool) & (number > 3)
    free = ~np.isfinite(read) | slipped | both
    return last.held(np.where(free, -np.inf, read - slip), np.where(free, np.inf, read + slip))


def today(out: pd.DataFrame) -> pd.DataFrame:
    """Mean depth today and log wear per km at the present wheel, first-order, from :func:`tires_now`.

    Returns
    -------
    DataFrame
        mean_depth_mm, mean_depth_sd_mm, log_wear, log_wear_sd, depth_log_wear_cov, q.
    """
    posterior = Posterior.of_frame(out)
    spare = (out["axle"] == "spare").to_numpy(dtype=bool)
    side = np.nan_to_num(out["position"].map(SIDES).to_numpy(dtype=float))
    here, unread = out["here"].to_numpy(), out["unread_km"].to_numpy()
    front = out["since_front_km"].to_numpy() + np.where(side > 0, here * unread, 0.0)
    rear = out["since_rear_km"].to_numpy() + np.where(side < 0, here * unread, 0.0)
    guessed = np.divide(
        here * unread, front + rear, out=np.zeros(len(out)), where=(front + rear > 0) & ~spare
    )
    now = posterior.run(front, rear, guessed * out["log_sd"].to_numpy()).on_axle(side)
    sds = now.sds()
    return pd.DataFrame(
        {
            "mean_depth_mm": np.maximum(now.mean[:, 0], 0.01),
            "mean_depth_sd_mm": sds[:, 0],
            "log_wear": now.mean[:, 1] + np.log(here),
            "log_wear_sd": sds[:, 1],
            "depth_log_wear_cov": now.cov[:, 0, 1],
            "q": now.mean[:, 3],
        }
    )


def _bend_law(fit: WearFit) -> dict[str, float]:
    """The distribution of q, of treads that wear straight and that bend, as columns that Standing reads."""
    law = fit.frames["bend"]
    return {f"q_{name}_{i}": float(law[name].iloc[i]) for i in range(2) for name in law}


def _walk_share(fit: WearFit) -> float:
    """Share of a tire's walking log rate that is its vehicle's."""
    spread = fit.components.set_index("term")["estimate"]
    own = float(spread.get(WANDER, 0.0)) ** 2
    shared = float(spread.get(HABIT, 0.0)) ** 2
    return shared / (own + shared) if own + shared > 0 else 0.0


def _walk_doubts(fit: WearFit) -> dict[str, float]:
    """How surely the spreads of walks are known, of the vehicle's and of the tire's own: log-sd of each."""
    spread = fit.components.set_index("term").reindex([HABIT, WANDER])
    ratio = spread["upper"].to_numpy(dtype=float) / spread["lower"].to_numpy(dtype=float)
    found = np.nan_to_num(np.log(ratio) / (2 * ndtri(0.975)))
    return dict(zip(WALK_DOUBTS, found.tolist(), strict=True))

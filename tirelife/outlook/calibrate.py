"""Ranges widened or narrowed by how well they held on hidden readings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.outlook.backtest import hidden_forecasts, hide_visits
from tirelife.rates import fit_logbook
from tirelife.rates.posterior import Posterior
from tirelife.wear import add_reference

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["Calibration", "calibrate", "calibrated_fit", "calibration"]

SHARE: Final = 0.4
"""Share of each vehicle's visits that is hidden: far enough ahead to show, and enough left to fit."""
PRIOR_LOG_SD: Final = 0.25
"""Spread of the log factor before the data: ranges of a sound fit are seldom wrong by more than a half."""
FREEDOM: Final = 6.0
"""Degrees of freedom of the errors' Student law, so that a few slips of the gauge do not widen all ranges."""
MOST: Final = 400
"""Vehicles that a large logbook is calibrated on: the factor is then known to a few per cent."""
UNBIASED: Final = 0.7661810966483249
"""Squared scale of that law at which normal errors of variance 1 leave the factor at 1: the root s² of
E[7 z² / (6 s² + z²)] = 1."""
LEAST: Final = 5
"""Vehicles with hidden readings under which the ranges are left as they are."""


@dataclass(frozen=True)
class Calibration:
    """Factor on the log scale of the wear ahead.

    Attributes
    ----------
    factor : float
        What the spread of the wear rate is multiplied by; 1 where too little could be hidden.
    log_sd : float
        How surely: sd of its logarithm.
    vehicles, readings : int
        That it rests on.
    """

    factor: float
    log_sd: float
    vehicles: int
    readings: int


def calibration(book: Logbook, prior: Prior | None = None) -> Calibration:
    """Find the factor by which ranges have to widen to hold on hidden readings.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional

    Returns
    -------
    Calibration

    Notes
    -----
    The last :data:`SHARE` of each vehicle's visits is hidden and forecast, as every forecast is. A hidden
    reading's variance is that of reading it plus what the posterior's run adds when all but the depth is
    known the factor less surely. The log factor has a
    normal law about 0 and a Student likelihood; readings of one vehicle count as one, since they lean
    alike. Its posterior mean is taken, so little data leave the ranges as they are.
    """
    some = _some(book)
    known, hidden = hide_visits(some, SHARE)
    none = Calibration(1.0, PRIOR_LOG_SD, 0, 0)
    if hidden["vehicle_id"].nunique() < LEAST:
        return none
    part = fit_logbook(known, prior=prior)
    table = hidden_forecasts(known, part, add_reference(some, hidden, part.factors))
    vehicles = table["vehicle_id"].nunique()
    if vehicles < LEAST:
        return none
    miss = (table["depth_mm"] - table["tirelife_mm"]).to_numpy()
    base, once, twice = (
        table[name].to_numpy()[:, None] for name in ("read_var_mm2", "ahead_cov_mm2", "ahead_var_mm2")
    )
    share = 1 / table.groupby("vehicle_id")["tire_id"].transform("size").to_numpy()
    grid = np.linspace(-1.0, 1.5, 101)
    scale2 = np.maximum(base + np.exp(grid) * once + np.exp(2 * grid) * twice, 1e-4) * UNBIASED
    each = -0.5 * np.log(scale2) - (FREEDOM + 1) / 2 * np.log1p(miss[:, None] ** 2 / scale2 / FREEDOM)
    log_post = (share[:, None] * each).sum(axis=0) - 0.5 * (grid / PRIOR_LOG_SD) ** 2
    weight = np.exp(log_post - log_post.max())
    weight = weight / weight.sum()
    mean = float(weight @ grid)
    sd = float(np.sqrt(weight @ (grid - mean) ** 2))
    return Calibration(float(np.exp(mean)), sd, int(vehicles), len(table))


def calibrated_fit(book: Logbook, prior: Prior | None = None) -> WearFit:
    """Fit a logbook and calibrate its ranges: what forecasts use.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional

    Returns
    -------
    WearFit
        With a row ``calibration of ranges`` in ``estimates``. A logbook of over :data:`MOST` vehicles is
        calibrated on some of them, drawn at random.
    """
    return calibrate(fit_logbook(book, prior=prior), calibration(book, prior))


def calibrate(fit: WearFit, found: Calibration) -> WearFit:
    """Return a fit whose tires carry the calibrated spread, with a row in ``estimates`` that says so.

    Parameters
    ----------
    fit : WearFit
        Of the whole logbook.
    found : Calibration

    Returns
    -------
    WearFit
    """
    k = found.factor
    tires = fit.tires
    widened = Posterior.of_tires(tires).widened(k).to_tires()
    tires[widened.columns] = widened.to_numpy()
    tires["shared_cov"] = tires["shared_cov"] * k**2
    row = {
        "term": "calibration of ranges",
        "estimate": k,
        "std_error": k * found.log_sd,
        "lower": k * np.exp(-1.96 * found.log_sd),
        "upper": k * np.exp(1.96 * found.log_sd),
        "unit": "ratio",
        "source": f"{found.readings} hidden readings of {found.vehicles} vehicles"
        if found.readings
        else "too few readings to hide; left as fitted",
    }
    estimates = pd.concat([fit.estimates, pd.DataFrame([row])], ignore_index=True)
    return replace(fit, frames={**fit.frames, "tires": tires, "estimates": estimates})


def _some(book: Logbook) -> Logbook:
    """Draw vehicles at random from a large logbook."""
    names = book.vehicles["vehicle_id"]
    if len(names) <= MOST:
        return book
    chosen = set(names.iloc[np.random.default_rng(575).choice(len(names), MOST, replace=False)])
    tables = {
        name: table[table["vehicle_id"].isin(chosen)].reset_index(drop=True)
        if "vehicle_id" in table
        else table
        for name, table in book.tables.items()
    }
    return replace(book, tables=tables)

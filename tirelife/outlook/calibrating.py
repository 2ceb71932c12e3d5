"""Ranges widened or narrowed by how well they held on later readings."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.logbook import known_on, of_vehicles
from tirelife.outlook.later import depths_after, depths_over, later_visits, reading_sd
from tirelife.outlook.state import present_state
from tirelife.rates import Posterior, fit_logbook

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["Calibration", "calibrate", "calibrated_fit", "calibration", "carried", "cut_day", "visit_days"]

SHARE: Final = 0.4
"""Share of the visits that come after the cut: far enough ahead to show, and enough before it to fit."""
PRIOR_LOG_SD: Final = 0.25
"""Spread of the log factor before the data: ranges of a sound fit are seldom wrong by more than a half."""
FREEDOM: Final = 6.0
"""Degrees of freedom of the errors' Student distribution, so that a few slips of the gauge do not widen all
ranges."""
MOST: Final = 400
"""Vehicles that a large logbook is calibrated on: the factor is then known to a few per cent."""
UNBIASED: Final = 0.7661810966483249
"""Squared scale of that distribution at which normal errors of variance 1 leave the factor at 1: the root s²
of
E[7 z² / (6 s² + z²)] = 1."""
LEAST: Final = 5
"""Vehicles with later readings under which the ranges are left as they are."""


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
    """Find the factor by which ranges have to widen to hold on later readings.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional

    Returns
    -------
    Calibration

    Notes
    -----
    The logbook is cut at :func:`cut_day` and fitted, and its tires are carried to the readings that came
    later by the draws that every forecast is made of (:func:`tirelife.outlook.later.depths_over`), over the
    mounts as they turned out: the factor is about wear. A later
    reading's variance is that of reading it plus that of the draws when all but the depth is
    known the factor less surely. The log factor has a
    normal distribution about 0 and a Student likelihood; readings of one vehicle count as one, since they err
    alike. Its posterior mean is taken, so little data leave the ranges as they are.
    """
    some = _some(book)
    none = Calibration(1.0, PRIOR_LOG_SD, 0, 0)
    day = cut_day(some)
    if day is None:
        return none
    known = known_on(some, day)
    part = fit_logbook(known, prior=prior)
    state = present_state(known, part)
    later = later_visits(some, state)
    table = carried(depths_over(some, part, state, later))
    table = table.assign(vehicle_id=later["vehicle_id"], miss_mm=later["depth_mm"] - table["depth_mm"])
    table = table.dropna(subset=["miss_mm", "read_var_mm2", "ahead_var_mm2"])
    vehicles = table["vehicle_id"].nunique()
    if vehicles < LEAST:
        return none
    miss = table["miss_mm"].to_numpy()
    base = table["read_var_mm2"].to_numpy()[:, None] + reading_sd(part) ** 2
    once, twice = (table[name].to_numpy()[:, None] for name in ("ahead_cov_mm2", "ahead_var_mm2"))
    share = 1 / table.groupby("vehicle_id")["miss_mm"].transform("size").to_numpy()
    grid = np.linspace(-1.0, 1.5, 101)
    scale2 = np.maximum(base + np.exp(grid) * once + np.exp(2 * grid) * twice, 1e-4) * UNBIASED
    each = -0.5 * np.log(scale2) - (FREEDOM + 1) / 2 * np.log1p(miss[:, None] ** 2 / scale2 / FREEDOM)
    log_post = (share[:, None] * each).sum(axis=0) - 0.5 * (grid / PRIOR_LOG_SD) ** 2
    weight = np.exp(log_post - log_post.max())
    weight = weight / weight.sum()
    mean = float(weight @ grid)
    sd = float(np.sqrt(weight @ (grid - mean) ** 2))
    return Calibration(float(np.exp(mean)), sd, int(vehicles), len(table))


def visit_days(book: Logbook) -> pd.DataFrame:
    """Days on which depths were read: vehicle_id, date, a row a vehicle and day."""
    return book.tables["depths"][["vehicle_id", "date"]].drop_duplicates(ignore_index=True)


def cut_day(book: Logbook) -> pd.Timestamp | None:
    """The day that a logbook is calibrated from: with most vehicles read both before and after.

    Of several, that by which nearest to 1 - :data:`SHARE` of the visits were over; None where under
    :data:`LEAST` vehicles were read on both sides.
    """
    days = visit_days(book)
    if days.empty:
        return None
    ends = days.groupby("vehicle_id")["date"].agg(["min", "max"])
    shares = sorted(np.arange(0.3, 0.81, 0.1), key=lambda share: abs(share - 1 + SHARE))
    found = days["date"].quantile(shares, interpolation="lower")
    both = [int(((ends["min"] <= day) & (ends["max"] > day)).sum()) for day in found]
    best = int(np.argmax(both))
    return pd.Timestamp(found.iloc[best]) if both[best] >= LEAST else None


def carried(state: pd.DataFrame) -> pd.DataFrame:
    """Mean and variance of the depths of tires, and what a factor on their spread makes of the variance.

    Parameters
    ----------
    state : DataFrame
        From :func:`tirelife.outlook.later.depths_over`.

    Returns
    -------
    DataFrame
        depth_mm; of its variance under a factor k on all but the depth at the last reading: read_var_mm2,
        which does not hang on k, ahead_cov_mm2, multiplied by k, and ahead_var_mm2, by its square.
    """
    posterior, means, variances = Posterior.of_frame(state), [], []
    for k in (0.0, 1.0, 2.0):
        wider = posterior.widened(k).to_frame().set_axis(state.index)
        alike = {"shared_cov": state["shared_cov"] * k**2, "shared_both_mm": state["shared_both_mm"] * k}
        draws = depths_after(state.assign(**wider, **alike))
        means.append(draws.mean(axis=1))
        variances.append(draws.var(axis=1))
    none, once, twice = variances
    square = np.maximum((twice - 2 * once + none) / 2, 0.0)
    return pd.DataFrame(
        {
            "depth_mm": means[1],
            "read_var_mm2": none,
            "ahead_cov_mm2": once - none - square,
            "ahead_var_mm2": square,
        }
    )


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
    """Return a fit whose tires carry the calibrated spread, with a row in ``estimates`` that says so,
    and a frame ``calibration``.

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
    tires["shared_both_mm"] = tires["shared_both_mm"] * k
    row = {
        "term": "calibration of ranges",
        "estimate": k,
        "std_error": k * found.log_sd,
        "lower": k * np.exp(-1.96 * found.log_sd),
        "upper": k * np.exp(1.96 * found.log_sd),
        "unit": "ratio",
        "source": "later-readings" if found.readings else "too-few-later",
    }
    estimates = pd.concat([fit.estimates, pd.DataFrame([row])], ignore_index=True)
    told = pd.DataFrame([asdict(found)])
    return replace(fit, frames={**fit.frames, "tires": tires, "estimates": estimates, "calibration": told})


def _some(book: Logbook) -> Logbook:
    """Draw vehicles at random from a large logbook."""
    names = book.vehicles["vehicle_id"]
    if len(names) <= MOST:
        return book
    chosen = set(names.iloc[np.random.default_rng(575).choice(len(names), MOST, replace=False)])
    return of_vehicles(book, chosen)

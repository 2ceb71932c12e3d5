"""When to measure again, and how much that would narrow the window."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.outlook.mileage import pace_log_sd
from tirelife.sheet import words

if TYPE_CHECKING:
    from tirelife.rates import WearFit

__all__ = ["NextReading", "next_reading", "reading_sd_mm", "reading_step"]

MONTH_DAYS: Final = 365.25 / 12
ENOUGH: Final = 0.8
"""Share of the most that a reading could narrow the window, from which an earlier one will do; our choice.
"""
LATEST: Final = 0.8
"""No later than at this share of the distance that is left with nine chances in ten; our choice."""


@dataclass(frozen=True)
class NextReading:
    """The reading of one tire that would narrow its window most.

    Attributes
    ----------
    km, days : float
        From now. [km, day]
    narrower : float
        By how much its 80 % window of dates would be shorter, as a share of the present one, 0 to 1.
    """

    km: float
    days: float
    narrower: float


def next_reading(tire: pd.Series, km_left_p10: float, sd_mm: float) -> NextReading | None:
    """Find when to read a tire's depth again.

    Parameters
    ----------
    tire : Series
        A row of :func:`tirelife.outlook.present_state`.
    km_left_p10 : float
        Distance left with nine chances in ten. [km]
    sd_mm : float
        Standard deviation of one visit's mean depth, gauge and visit together. [mm]

    Returns
    -------
    NextReading or None
        None where less than a month's driving is left, or something is not known.

    Notes
    -----
    The log of the distance left is ``log(depth - limit) - log rate``, first-order in both, whose covariance
    is known. A reading after x km sees ``depth - rate x``; what it leaves of the variance is the usual
    linear update [1]_. The spread of the distance a day, which a depth cannot tell, is added before and
    after. Months ahead are tried one by one; later readings tell more, so the first is taken that does
    :data:`ENOUGH` of what the best does.

    References
    ----------
    .. [1] R. E. Kalman, "A new approach to linear filtering and prediction problems", J. Basic Eng. 82, 1960.
    """
    per_day = float(tire["km_per_day"])
    gap = float(tire["mean_depth_mm"] - tire["limit_mm"])
    months = int(LATEST * km_left_p10 / (per_day * MONTH_DAYS)) if km_left_p10 > 0 and per_day > 0 else 0
    if months < 1 or not gap > 0:
        return None
    covariance = np.array(
        [
            [float(tire["mean_depth_sd_mm"]) ** 2, float(tire["depth_log_wear_cov"])],
            [float(tire["depth_log_wear_cov"]), float(tire["log_wear_sd"]) ** 2],
        ]
    )
    rate = float(np.exp(tire["log_wear"]))
    years = gap / rate / per_day / 365.25
    pace = float(pace_log_sd(tire["log_sd"], tire["year_log_sd"], years)) ** 2
    slope = np.array([1 / gap, -1.0])
    before = slope @ covariance @ slope + pace
    km = per_day * MONTH_DAYS * np.arange(1, min(months, 24) + 1)
    sees = np.stack([np.ones_like(km), -rate * km], axis=1)
    moved = sees @ covariance
    told = (moved @ slope) ** 2 / (np.einsum("ij,ij->i", moved, sees) + sd_mm**2)
    narrower = 1 - np.sqrt(np.maximum(before - told, 0.0) / before)
    if not np.isfinite(narrower).all():
        return None
    chosen = int(np.argmax(narrower >= ENOUGH * narrower.max()))
    return NextReading(float(km[chosen]), float(MONTH_DAYS * (chosen + 1)), float(narrower[chosen]))


def reading_sd_mm(fit: WearFit) -> float:
    """Standard deviation of one visit's mean depth of a tire, as fitted. [mm]"""
    spread = fit.components.set_index("term")["estimate"]
    parts = [float(spread.get(term, np.nan)) for term in ("visit, shared by its readings", "one reading")]
    return float(np.hypot(*np.nan_to_num(parts, nan=0.2)))


def reading_step(found: NextReading | None, odometer_km: float, units: str) -> str:
    """Say when to measure again, and what it is worth.

    Examples
    --------
    >>> reading_step(NextReading(6000.0, 91.0, 0.34), 54_000.0, "us")
    'Measure again in about 3 months, near 37,300 miles. That should narrow the window by about a third.'
    """
    if found is None:
        return "Measure again at every visit from now on."
    where = words.distance(odometer_km + found.km, units, 4000.0) if np.isfinite(odometer_km) else ""
    near = f", near {where}" if where else ""
    much = (
        "That should narrow the window by about " + words.share(found.narrower) + "."
        if found.narrower >= 0.05
        else "That would hardly narrow the window: most of what is unknown is the driving ahead."
    )
    return f"Measure again in {words.span_of_time(found.days)}{near}. {much}"

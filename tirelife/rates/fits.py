"""Whether each tire's last reading fits what came before it.

A fit outvotes a reading that is far off, also a whole visit, so that one slip spoils no fleet. That must not
pass in silence: where the last reading and the estimate of that day differ by more than gauge and visit
explain, one of them is wrong, and the answer has to hold both until the tire is read again.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.rates.prior import PUBLISHED

if TYPE_CHECKING:
    from tirelife.rates.result import WearFit

__all__ = ["FAR_OFF", "LEAST_SD_MM", "explained", "hold_both", "misfits"]

_DEPTH: Final = "at_depth"
_VARIANCE: Final = "at_cov_depth_depth"

FAR_OFF: Final = 3.0
"""Standard deviations of a reading from which it does not fit: 1 in 370 by chance."""
LEAST_SD_MM: Final = 0.1
"""No visit is held to be surer than this; our assumption, an eighth of 1/32 in."""
_RATE_SD: Final = 0.5
_STRETCH_SD: Final = 0.25
"""Spread of a tire's rate about the published one, and of a stretch's about its tire's, as shares."""


def misfits(fit: WearFit, tire_ids: pd.Series) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far each tire's last reading lies from what is known without it, and how far it drew the estimate.

    Parameters
    ----------
    fit : WearFit
    tire_ids : Series of str

    Returns
    -------
    gap, drawn : ndarray, shape (n,)
        Mean depth read less mean depth without the reading; and mean depth estimated less that [mm]. 0 where
        the two agree as gauge and visit have it, or where there is no reading.

    Notes
    -----
    A reading's error is that of one reading and that of its visit, as the fit has them. The tires of a visit
    are asked together too: their mean is off by less than one of them may be. In a fleet a fit outvotes a
    reading that is far off; in the log of one car it follows it, or is refused and ends at it. So the reading
    is held as well against the line through the tire's earlier ones (:func:`_before`).
    """
    visits = fit.frames["visits"]  # read only: a copy of millions of rows costs seconds
    tire = pd.Index(tire_ids.unique()).get_indexer(visits["tire_id"])
    day = visits["date"].to_numpy()
    order = np.lexsort((day, tire))
    order = order[tire[order] >= 0]
    ends = np.append(tire[order][1:] != tire[order][:-1], True)[: len(order)]
    at = order[ends]
    last = visits[["vehicle_id", "tire_id", "date", "depth_mm"]].iloc[at].set_index("tire_id")
    estimate = fit.frames["tires"].set_index("tire_id")["depth_mm"].reindex(last.index)
    gap = (last["depth_mm"] - estimate).fillna(0.0)
    noise, shared = _spreads(fit)
    tires = last.groupby(["vehicle_id", "date"])["depth_mm"].transform("size").to_numpy(float)
    sd = np.full(len(last), max(math.hypot(noise, shared), LEAST_SD_MM))
    whole = np.maximum(np.sqrt(noise**2 / tires + shared**2), LEAST_SD_MM)
    outvoted = _odd(last, gap, sd, whole)
    x, y = (visits[name].to_numpy(dtype=float) for name in ("reference_km", "depth_mm"))
    group = np.cumsum(ends) - ends  # of each reading in order, the place of its tire in ``last``
    earlier = day[order] < day[at][group]
    read = group[earlier], x[order][earlier], y[order][earlier]
    before, spread = _before(*read, x[at], math.hypot(noise, shared))
    off = (last["depth_mm"] - before).fillna(0.0)
    # Rates may be off in one direction for all tires of a car: their mean is no surer than one.
    followed = _odd(last, off, spread, spread) & (off.abs() > gap.abs())
    gap = off.where(followed, gap.where(outvoted, 0.0))
    drawn = (estimate - before).where(followed, 0.0).fillna(0.0)
    return tuple(  # type: ignore[return-value]
        one.reindex(tire_ids).fillna(0.0).to_numpy(dtype=float) for one in (gap, drawn)
    )


def _odd(
    last: pd.DataFrame, gap: pd.Series, sd: NDArray[np.float64], whole: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether a reading is off by itself, or its visit as a whole."""
    together = gap.groupby([last["vehicle_id"], last["date"]]).transform("mean")
    alone = gap.abs().to_numpy() > FAR_OFF * sd
    return np.asarray(alone | (together.abs().to_numpy() > FAR_OFF * whole), dtype=bool)


def _before(
    tire: NDArray[np.intp],
    km: NDArray[np.float64],
    depth: NDArray[np.float64],
    last_km: NDArray[np.float64],
    noise_mm: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Depth at each last reading by the tire's earlier ones alone, and how far a reading may be off it.

    Parameters
    ----------
    tire, km, depth : ndarray, shape (readings,)
        Earlier readings: number of the tire, reference distance [km], depth [mm].
    last_km : ndarray, shape (tires,)
        Reference distance at the last reading.
    noise_mm : float
        Standard deviation of a reading.

    Returns
    -------
    expected, sd : ndarray, shape (tires,)
        NaN and inf where a tire was not read before. [mm]

    Notes
    -----
    The line through the earlier readings over reference distance, its slope drawn to the published rate, give
    or take half. A stretch wears by a quarter more or less than its tire usually does; our assumption.
    """
    size, rate = len(last_km), math.exp(PUBLISHED.log_rate.mean)
    number = np.bincount(tire, minlength=size).astype(float)
    with np.errstate(invalid="ignore", divide="ignore"):
        x, y = (np.bincount(tire, one, size) / number for one in (km, depth))
        dx, dy = km - x[tire], depth - y[tire]
        sxx, sxy = (np.bincount(tire, one, size) for one in (dx * dx, dx * dy))
        known = (noise_mm / (_RATE_SD * rate)) ** 2  # the published rate, as readings along the line
        slope = (rate * known - sxy) / (sxx + known)
        newest = np.full(size, -np.inf)
        np.maximum.at(newest, tire, km)
        ahead, step = last_km - x, last_km - newest
        var = noise_mm**2 * (1 + 1 / number + ahead**2 / (sxx + known)) + (_STRETCH_SD * slope * step) ** 2
    return y - slope * ahead, np.sqrt(np.where(number > 0, var, np.inf))


def explained(fit: WearFit) -> float:
    """How far the depth at a last reading may lie from it: as far as gauge and visit explain [mm]."""
    return FAR_OFF * max(math.hypot(*_spreads(fit)), LEAST_SD_MM)


def _spreads(fit: WearFit) -> tuple[float, float]:
    """Spreads of a reading and of a visit as learned, and no more than the published prior has. [mm]

    In a small log one slip would widen what is learned until it fits.
    """
    noise, visit = (
        math.exp(min(prior.spreads[name].mean for prior in (fit.posterior, PUBLISHED)))
        for name in ("noise", "visit")
    )
    return noise, visit


def hold_both(
    now: pd.DataFrame,
    gap_mm: NDArray[np.float64],
    most_mm: float,
    drawn_mm: NDArray[np.float64] | float = 0.0,
) -> None:
    """Move the depth at the last reading towards a reading that does not fit, and widen it to hold both.

    Parameters
    ----------
    now : DataFrame
        From :func:`tirelife.rates.present.tires_now`; the depth's mean and variance are changed in place.
    gap_mm, drawn_mm : ndarray, shape (n,)
        From :func:`misfits`. [mm]
    most_mm : float
        How far from the reading the mean may stay, from :func:`explained`. [mm]

    Notes
    -----
    The mean is half way, and no further from the reading than gauge and visit explain: the gauge outranks the
    fit. The variance grows by the square of the way gone, so that the range holds both. Our assumption.
    """
    way = np.sign(gap_mm) * np.maximum(np.abs(gap_mm) / 2, np.abs(gap_mm) - most_mm)
    now[_DEPTH] = now[_DEPTH].to_numpy(dtype=float) + way - drawn_mm
    now[_VARIANCE] = now[_VARIANCE].to_numpy(dtype=float) + way**2

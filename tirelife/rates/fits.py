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

__all__ = ["FAR_OFF", "LEAST_SD_MM", "hold_both", "last_misfit"]

_DEPTH: Final = "at_depth"
_VARIANCE: Final = "at_cov_depth_depth"

FAR_OFF: Final = 3.0
"""Standard deviations of a reading from which it does not fit: 1 in 370 by chance."""
LEAST_SD_MM: Final = 0.1
"""No visit is held to be surer than this; our assumption, an eighth of 1/32 in."""


def last_misfit(fit: WearFit, tire_ids: pd.Series) -> NDArray[np.float64]:
    """How far each tire's last reading lies from the estimate of that day, where it does not fit.

    Parameters
    ----------
    fit : WearFit
    tire_ids : Series of str

    Returns
    -------
    ndarray, shape (n,)
        Mean depth read less mean depth estimated [mm]; 0 where the two agree as gauge and visit have it,
        or where there is no reading.

    Notes
    -----
    A reading's error is that of one reading and that of its visit, as the fit has them. The tires of a visit
    are asked together too: their mean is off by less than one of them may be. Where the fit was refused its
    estimate is the last reading, and nothing stands apart.
    """
    visits = fit.frames["visits"]  # read only: a copy of millions of rows costs seconds
    tire = pd.Index(tire_ids.unique()).get_indexer(visits["tire_id"])
    day = visits["date"].to_numpy()
    order = np.lexsort((day, tire))
    ends = np.append(tire[order][1:] != tire[order][:-1], True)[: len(order)]
    at = order[ends & (tire[order] >= 0)]
    last = visits[["vehicle_id", "tire_id", "date", "depth_mm"]].iloc[at].set_index("tire_id")
    estimate = fit.frames["tires"].set_index("tire_id")["depth_mm"].reindex(last.index)
    gap = (last["depth_mm"] - estimate).fillna(0.0)
    noise, shared = (_spread(fit, name) for name in ("noise", "visit"))
    visit = last.assign(gap=gap).groupby(["vehicle_id", "date"])["gap"]
    together, tires = visit.transform("mean"), visit.transform("size")
    odd = gap.abs() > FAR_OFF * max(math.hypot(noise, shared), LEAST_SD_MM)
    sd = np.maximum(np.sqrt(noise**2 / tires.to_numpy(float) + shared**2), LEAST_SD_MM)
    odd |= together.abs() > FAR_OFF * sd
    return np.asarray(gap.where(odd, 0.0).reindex(tire_ids).fillna(0.0), dtype=float)


def _spread(fit: WearFit, name: str) -> float:
    """Spread that the fit has learned, and no more than the published prior has. [mm]

    In a small log one slip would widen what is learned until it fits.
    """
    return math.exp(min(prior.spreads[name].mean for prior in (fit.posterior, PUBLISHED)))


def hold_both(now: pd.DataFrame, gap_mm: NDArray[np.float64]) -> None:
    """Move the depth at the last reading half way to a reading that does not fit, and widen it to hold both.

    Parameters
    ----------
    now : DataFrame
        From :func:`tirelife.rates.present.tires_now`; the depth's mean and variance are changed in place.
    gap_mm : ndarray, shape (n,)
        From :func:`last_misfit`. [mm]

    Notes
    -----
    Either is right with equal chance: the mean is half way, the variance grows by a quarter of the square of
    the gap. Our assumption.
    """
    now[_DEPTH] = now[_DEPTH].to_numpy(dtype=float) + gap_mm / 2
    now[_VARIANCE] = now[_VARIANCE].to_numpy(dtype=float) + gap_mm**2 / 4

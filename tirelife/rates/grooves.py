"""Which groove reaches the removal depth first, and at what mean depth of the tire."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import GROOVES
from tirelife.normal import ndtr

__all__ = ["groove_wear", "mean_depth_limit"]

Floats = NDArray[np.float64]

PRIOR_RATIO_SD: Final = 0.02
"""Spread of groove wear ratios within a tire line where too few tires tell; an assumption inside the
published 10 to 50 % differences between grooves (NHTSA and SwRI, 1985, which are pattern and not chance)."""
PRIOR_TIRES: Final = 4
"""How many assumed tires steady that spread; an assumption."""
_CUT: Final = 2.5  # Huber weights: residuals past so many spreads count less
_EVEN: Final = 1.02  # a groove that wears less than 2 % faster than the mean is not worth a name


def groove_wear(visits: pd.DataFrame, new_depth_mm: pd.Series) -> pd.DataFrame:
    """Wear of the fastest groove of each tire, over the mean of its grooves.

    Parameters
    ----------
    visits : DataFrame
        Tire-visits, as from :func:`tirelife.tread.tire_visits`.
    new_depth_mm : Series
        New depth by tire_id. [mm]

    Returns
    -------
    DataFrame
        One row a tire of ``new_depth_mm``, in its order: tire_id, groove (the fastest, or ``"tread"``
        where no groove stands out), ratio and ratio_sd. A tire without readings has its fleet's.

    Notes
    -----
    A groove's ratio is the least-squares slope of its worn depth on the mean worn depth, over all visits,
    with far-off readings counted less. It shrinks to the fleet's mean for that groove by the spread
    between tires (by moments, gauge noise taken off). The fastest groove is then the largest of several
    uncertain ratios, by Clark's moments [1]_: taking the lowest reading instead would count gauge noise as
    wear.

    References
    ----------
    .. [1] C. E. Clark, "The greatest of a finite set of random variables", Operations Research 9, 1961.
    """
    names = new_depth_mm.index.to_numpy()
    columns = [f"{groove}_mm" for groove in GROOVES]
    tire = pd.Index(names).get_indexer(visits["tire_id"])
    known = np.flatnonzero(tire >= 0)
    tire, new = tire[known], new_depth_mm.to_numpy(dtype=float)[tire[known]]
    depth = visits[columns].to_numpy(dtype=float)[known]
    worn = new[:, None] - depth
    mean = new - visits["depth_mm"].to_numpy(dtype=float)[known]
    # At under a millimetre of wear the ratio is all gauge.
    fine = np.isfinite(worn) & (mean > 1.0)[:, None] & (np.isfinite(depth).sum(axis=1) > 1)[:, None]
    used = np.flatnonzero(fine.any(axis=0))
    if len(used) < 2:
        return _even(names)
    fine, worn = fine[:, used], worn[:, used]
    own, noise = _ratios(tire, worn, mean, fine, len(names), _least_scale(visits, fine))
    center, between = _spread(own, noise)
    gain = np.where(np.isfinite(own), between**2 / (between**2 + np.where(np.isfinite(own), noise, 1.0)), 0.0)
    ratio = center + gain * (np.where(np.isfinite(own), own, center) - center)
    sd = between * np.sqrt(1 - gain)
    top, top_sd = ratio[:, 0], sd[:, 0]
    for j in range(1, len(used)):
        top, top_sd = _larger(top, top_sd, ratio[:, j], sd[:, j])
    name = np.array(GROOVES, dtype=object)[used][np.argmax(ratio, axis=1)]
    stands_out = np.max(ratio, axis=1) >= _EVEN
    return pd.DataFrame(
        {
            "tire_id": names,
            "groove": np.where(stands_out, name, "tread"),
            "ratio": np.maximum(top, 1.0),
            "ratio_sd": top_sd,
        }
    )


def mean_depth_limit(
    new_depth_mm: Floats, removal_depth_mm: Floats | float, ratio: Floats, ratio_sd: Floats
) -> tuple[Floats, Floats]:
    """Mean depth at which the fastest groove is down to the removal depth, and its standard deviation.

    Parameters
    ----------
    new_depth_mm, ratio, ratio_sd : ndarray, shape (n,)
    removal_depth_mm : float or ndarray [mm]

    Returns
    -------
    limit_mm, limit_sd_mm : ndarray, shape (n,)

    Examples
    --------
    >>> limit, sd = mean_depth_limit(np.array([8.0]), 2.0, np.array([1.2]), np.array([0.0]))
    >>> float(limit[0])
    3.0
    """
    use = new_depth_mm - removal_depth_mm
    limit = np.where(use > 0, new_depth_mm - use / ratio, removal_depth_mm)
    return limit, np.asarray(np.maximum(use, 0.0) / ratio**2 * ratio_sd)


def _even(names: NDArray[np.object_]) -> pd.DataFrame:
    return pd.DataFrame({"tire_id": names, "groove": "tread", "ratio": 1.0, "ratio_sd": 0.0})


def _least_scale(visits: pd.DataFrame, fine: NDArray[np.bool_]) -> float:
    """Error that a gauge's steps alone give a groove about the mean of its tire's [mm].

    Steps make most deviations the same few values, and their median is then no measure of them.
    """
    step = float(visits["resolution_mm"].median()) if "resolution_mm" in visits else np.nan
    number = float(np.median(fine.sum(axis=1)[fine.any(axis=1)]))
    stepped = step / np.sqrt(12) * np.sqrt(1 - 1 / max(number, 2.0))
    return max(stepped, 0.02) if np.isfinite(stepped) else 0.02


def _ratios(
    tire: NDArray[np.intp], worn: Floats, mean: Floats, fine: NDArray[np.bool_], tires: int, least: float
) -> tuple[Floats, Floats]:
    """Slope through the origin by tire and groove, and its sampling variance; NaN where nothing was read."""
    grooves = worn.shape[1]
    own = np.full((tires, grooves), np.nan)
    noise = np.full((tires, grooves), np.nan)
    weight = fine.astype(float)
    x = mean[:, None]
    x_square, x_worn = x**2, x * np.where(fine, worn, 0.0)
    free = _sums(tire, weight, tires)
    # A fit to one visit has no deviation.
    several = fine & (free[tire] > 1)
    lost = float(np.sqrt(free[free > 1].sum() / (free[free > 1] - 1).sum())) if several.any() else 1.0
    for _ in range(3):
        xx = _sums(tire, weight * x_square, tires)
        xy = _sums(tire, weight * x_worn, tires)
        own = np.divide(xy, xx, out=np.full(xx.shape, np.nan), where=xx > 0)
        miss = np.where(fine, worn - own[tire] * x, 0.0)
        miss = np.abs(miss, out=miss)
        # 1.4826 times the median deviation is the sd of a normal.
        scale = max(lost * (1.4826 * float(np.median(miss[several])) if several.any() else 0.2), least)
        with np.errstate(divide="ignore"):
            weight = fine * np.minimum(1.0, _CUT * scale / miss)
        noise = np.divide(scale**2, xx, out=np.full(xx.shape, np.nan), where=xx > 0)
    return own, noise


def _sums(tire: NDArray[np.intp], values: Floats, tires: int) -> Floats:
    return np.column_stack([np.bincount(tire, values[:, j], minlength=tires) for j in range(values.shape[1])])


def _spread(own: Floats, noise: Floats) -> tuple[Floats, float]:
    """Fleet mean by groove, and the spread of tires about it that gauge noise does not explain."""
    known = np.isfinite(own)
    count = known.sum(axis=0)
    weight = np.where(known, 1 / (np.where(known, noise, 1.0) + PRIOR_RATIO_SD**2), 0.0)
    # One assumed even tire keeps a fleet of one from calling its own noise a pattern.
    total = weight.sum(axis=0) + 1 / PRIOR_RATIO_SD**2
    center = (np.sum(weight * np.where(known, own, 0.0), axis=0) + 1 / PRIOR_RATIO_SD**2) / total
    # The same for the means: they differ from 1 by noise alone unless they differ by more.
    error2 = float(np.mean(1 / total))
    apart = max(float(np.mean((center - 1) ** 2)) - 2 * error2, 0.0)
    center = 1 + (center - 1) * apart / (apart + error2)
    # A squared deviation's variance goes as the square of what it estimates: so do these weights.
    share = (weight * PRIOR_RATIO_SD**2) ** 2
    miss = np.where(known, (own - center) ** 2 - noise, 0.0) * share
    weights = share.sum() + PRIOR_TIRES
    between = max((miss.sum() + PRIOR_TIRES * PRIOR_RATIO_SD**2) / weights, 0.0)
    # What gauge noise alone makes of it by chance: twice that is taken off, or equal grooves would differ.
    chance = float(np.sqrt(2 * np.sum((share * np.where(known, noise, 0.0)) ** 2))) / weights
    between = max(between - 2 * chance, 0.0)
    return center, float(np.sqrt(max(between, 1e-8))) if count.sum() else PRIOR_RATIO_SD


def _larger(a: Floats, a_sd: Floats, b: Floats, b_sd: Floats) -> tuple[Floats, Floats]:
    """Mean and sd of the larger of two independent normals: Clark 1961, equations 2 to 5."""
    spread = np.maximum(np.hypot(a_sd, b_sd), 1e-9)
    alpha = (a - b) / spread
    density = np.exp(-(alpha**2) / 2) / np.sqrt(2 * np.pi)
    over, under = ndtr(alpha), ndtr(-alpha)
    first = a * over + b * under + spread * density
    second = (a**2 + a_sd**2) * over + (b**2 + b_sd**2) * under + (a + b) * spread * density
    return first, np.sqrt(np.maximum(second - first**2, 0.0))

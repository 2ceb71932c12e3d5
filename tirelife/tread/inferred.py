"""Readings that may belong to another tire, where moves were inferred, count for less."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.positions import OFF

__all__ = ["APART_MM", "variance_of_doubt"]

APART_MM: Final = 1.0
"""Least that another tire is taken to differ by: one that is gone may differ from those that were read that
day; our assumption, what a course of moves can be wrong by and still be likely. [mm]"""


def variance_of_doubt(
    visits: pd.DataFrame, mounts: pd.DataFrame, depths: pd.DataFrame
) -> NDArray[np.float64]:
    """What the doubt whose reading it is adds to the error variance of tire-visits.

    Parameters
    ----------
    visits : DataFrame
        vehicle_id, tire_id, position, date, odometer_km, depth_mm.
    mounts : DataFrame
        tire_id, date, odometer_km, position, probability (of an inferred move; NaN or 1 where recorded).
    depths : DataFrame
        vehicle_id, position, date, probability (that the reading is of the tire which its wheel's mounts
        name, and not of another; NaN or 1 where that is recorded), optionally apart_mm (how far off that
        tire's own depth was if it is not).

    Returns
    -------
    ndarray, shape (n,)
        0 where nothing is doubtful. [mm²]

    Notes
    -----
    With probability 1 - p the reading is another tire's: the variance of a mixture about the tire's own
    depth is that of the gauge and (1 - p) d². An import knows d from the courses that it weighed
    (``apart_mm``). Where it is not told, the mean square of the differences to the vehicle's other tires of
    that day stands for d², at least :data:`APART_MM` squared; that they are equally likely is our
    assumption. Where no reading has a probability, the moves' own tell: that this was the tire which is later
    elsewhere is as sure as all its moves in between.

    If a move before a tire's last reading is wrong, all its readings before it are that other tire's: their
    errors are one, and many of them tell no more than a few. Each counts as if the doubt were so many times
    as large.
    """
    none = np.zeros(len(visits))
    if visits.empty:
        return none
    told = depths["probability"].notna().any() if "probability" in depths else False
    sure = _least(visits, depths, "probability", 1.0) if told else _moved(visits, mounts)
    if (sure >= 1).all():
        return none
    grouped = visits.groupby(["vehicle_id", "date"])["depth_mm"]
    n, mean = grouped.transform("size").to_numpy(float), grouped.transform("mean").to_numpy(float)
    spread = grouped.transform("var", ddof=0).fillna(0.0).to_numpy(float)
    own = visits["depth_mm"].to_numpy(float) - mean
    apart = np.where(n > 1, (n * (spread + own**2)) / np.maximum(n - 1, 1), 0.0)
    square = np.maximum(apart, APART_MM**2)
    if "apart_mm" in depths:
        own = _least(visits, depths, "apart_mm", np.nan)
        square = np.where(np.isfinite(own), own**2, square)
    return _together(visits["tire_id"], (1 - sure) * square)


def _together(tire: pd.Series, variance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Variances of each tire's readings that are wrong together, for a model that takes them for independent:
    times how many there are, as ``(sum v)² / sum v²`` counts them, so that their mean is no surer than one.
    """
    parts = pd.DataFrame({"tire": tire.to_numpy(), "one": variance, "square": variance**2}).groupby("tire")
    total, square = (parts[name].transform("sum").to_numpy(float) for name in ("one", "square"))
    count = np.divide(total**2, square, out=np.ones(len(variance)), where=square > 0)
    return np.asarray(variance * np.maximum(count, 1.0))


def _least(visits: pd.DataFrame, depths: pd.DataFrame, name: str, blank: float) -> NDArray[np.float64]:
    """What is written beside the readings of each place and day, the least of it."""
    place = ["vehicle_id", "position", "date"]
    least = depths[depths[name].notna()].groupby(place)[name].min()
    found = least.reindex(pd.MultiIndex.from_frame(visits[place])).to_numpy(float)
    return np.where(np.isnan(found), blank, found)


def _moved(visits: pd.DataFrame, mounts: pd.DataFrame) -> NDArray[np.float64]:
    """Probability that no move after a reading, up to the tire's last, is another's."""
    sure = np.ones(len(visits))
    doubtful = mounts[(mounts["probability"] < 1) & (mounts["position"] != OFF)]
    if doubtful.empty:
        return sure
    first = mounts[mounts["position"] != OFF].sort_values(["date", "odometer_km"], kind="stable")
    starts = first.drop_duplicates("tire_id").index
    doubtful = doubtful[~doubtful.index.isin(starts)]
    by_tire = {str(tire): moves for tire, moves in doubtful.groupby("tire_id")}
    dates, km = visits["date"].to_numpy(), visits["odometer_km"].to_numpy(float)
    for tire, rows in visits.groupby("tire_id").indices.items():
        moves = by_tire.get(str(tire))
        if moves is None:
            continue
        day, at = moves["date"].to_numpy()[:, None], moves["odometer_km"].to_numpy(float)[:, None]
        after = (day > dates[rows]) | ((day == dates[rows]) & (at > km[rows]))
        chance = moves["probability"].to_numpy(float)[:, None]
        sure[rows] = np.where(after, chance, 1.0).prod(axis=0)
    return sure

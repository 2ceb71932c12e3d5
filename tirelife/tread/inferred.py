"""Readings that may belong to another tire, where moves were inferred, count for less."""

from __future__ import annotations

import numpy as np
import pandas as pd

__all__ = ["widen_by_doubt"]


def widen_by_doubt(visits: pd.DataFrame, mounts: pd.DataFrame) -> pd.DataFrame:
    """Widen ``depth_se_mm`` of tire-visits by the doubt whose they are.

    Parameters
    ----------
    visits : DataFrame
        vehicle_id, tire_id, date, odometer_km, depth_mm, depth_se_mm.
    mounts : DataFrame
        tire_id, date, odometer_km, position, probability (of an inferred move; NaN or 1 where recorded).

    Returns
    -------
    DataFrame
        The visits. A reading is sure to be of what stood at that wheel that day; that this was the tire
        which is later elsewhere is as sure as all its moves in between. With probability 1 - p it was one
        of the vehicle's other tires, so the mean square of the differences to them, times 1 - p, is added
        to the error variance; that they are equally likely is our assumption.
    """
    doubtful = mounts[(mounts["probability"] < 1) & (mounts["position"] != "OFF")]
    if doubtful.empty or visits.empty:
        return visits
    first = mounts[mounts["position"] != "OFF"].sort_values(["date", "odometer_km"], kind="stable")
    starts = first.drop_duplicates("tire_id").index
    doubtful = doubtful[~doubtful.index.isin(starts)]
    by_tire = {str(tire): moves for tire, moves in doubtful.groupby("tire_id")}
    sure = np.ones(len(visits))
    dates, km = visits["date"].to_numpy(), visits["odometer_km"].to_numpy(float)
    for tire, rows in visits.groupby("tire_id").indices.items():
        moves = by_tire.get(str(tire))
        if moves is None:
            continue
        day, at = moves["date"].to_numpy()[:, None], moves["odometer_km"].to_numpy(float)[:, None]
        after = (day > dates[rows]) | ((day == dates[rows]) & (at > km[rows]))
        chance = moves["probability"].to_numpy(float)[:, None]
        sure[rows] = np.where(after, chance, 1.0).prod(axis=0)
    grouped = visits.groupby(["vehicle_id", "date"])["depth_mm"]
    n, mean = grouped.transform("size").to_numpy(float), grouped.transform("mean").to_numpy(float)
    spread = grouped.transform("var", ddof=0).fillna(0.0).to_numpy(float)
    own = visits["depth_mm"].to_numpy(float) - mean
    apart = np.where(n > 1, (n * (spread + own**2)) / np.maximum(n - 1, 1), 1.0)
    out = visits.copy()
    out["depth_se_mm"] = np.sqrt(out["depth_se_mm"].to_numpy(float) ** 2 + (1 - sure) * apart)
    return out

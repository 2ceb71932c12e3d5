"""Readings collapsed to one row a tire and visit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import GROOVES
from tirelife.tread.moves import choose_side

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["infer_resolution", "tire_visits"]

REPEAT_SD_MM: Final = 0.2
"""Spread of a hand-held depth reading about the groove's depth [mm]; our assumption, used for ``depth_se_mm``
where a logbook has no repeated spots to learn it from."""

_STEPS: Final = (25.4 / 32, 1.0, 25.4 / 64, 0.5, 0.2, 25.4 / 320, 0.1, 0.0254, 0.01)
_COLUMNS: Final = [
    "vehicle_id", "tire_id", "position", "date", "odometer_km", "tire_km", "readings", "depth_mm",
    "depth_se_mm", "shallowest_mm", "shallowest_groove", *(f"{g}_mm" for g in GROOVES), "gauge_id",
    "resolution_mm", "doubt",
]  # fmt: skip


def tire_visits(book: Logbook) -> pd.DataFrame:
    """One row a tire and visit, from all its groove readings that day.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        The columns of the contract in DEVELOPERS.md, sorted by tire and date. ``depth_mm`` is the mean of
        the groove means, ``depth_se_mm`` its standard error from repeatability and rounding, ``tire_km`` the
        distance that the tire has run on the road. A reading in a place where no tire is known has an
        empty ``tire_id`` and says so in ``doubt``.

    Notes
    -----
    A reading on the day of a move belongs to the tire that came in or to the one that left: see
    :mod:`tirelife.tread.moves`.
    """
    depths = book.depths
    if depths.empty:
        return pd.DataFrame(columns=_COLUMNS)
    depths = depths.assign(tire_id="", tire_km=np.nan)
    path = book.stretches
    row = choose_side(depths, *_stretch_of(depths, path), path, book.vehicles)
    depths["tire_id"] = np.where(row >= 0, path["tire_id"].to_numpy(object)[row], "")
    depths["tire_km"] = _tire_km(depths, path, row)
    return _collapse(depths)


def infer_resolution(depth_mm: NDArray[np.float64]) -> float:
    """Coarsest step of a gauge that at least 99 in 100 readings are multiples of [mm]; NaN if none fits.

    Examples
    --------
    >>> infer_resolution(np.array([5.0, 6.1, 7.3, 4.4]))
    0.1
    """
    known = depth_mm[np.isfinite(depth_mm)]
    for step in _STEPS:
        off = np.abs(known / step - np.round(known / step))
        if len(known) and np.mean(off < 0.01) >= 0.99:
            return float(step)
    return float("nan")


def _stretch_of(depths: pd.DataFrame, path: pd.DataFrame) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Row of the stretch that each reading ends or falls within, and of the one that begins at it."""
    slots = pd.concat([path[["vehicle_id", "position"]], depths[["vehicle_id", "position"]]])
    code = pd.factorize(slots["vehicle_id"] + "\x1f" + slots["position"])[0].astype(np.int64)
    begin = code[: len(path)] * 10**10 + _metres(path["from_km"])
    order = np.lexsort((path["from_date"].to_numpy(), begin))
    at = code[len(path) :] * 10**10 + _metres(depths["odometer_km"])

    def find(side: str) -> NDArray[np.int64]:
        spot = np.searchsorted(begin[order], at - 1 if side == "left" else at, side="right") - 1
        row = np.where(spot >= 0, order[np.maximum(spot, 0)], -1)
        fits = (row >= 0) & (code[: len(path)][row] == code[len(path) :])
        fits &= path["to_km"].to_numpy(float)[row] + 1e-3 >= depths["odometer_km"].to_numpy(float)
        return np.where(fits, row, -1)

    return find("left"), find("right")


def _metres(km: pd.Series) -> NDArray[np.int64]:
    return np.rint(km.to_numpy(float) * 1000).astype(np.int64)


def _tire_km(depths: pd.DataFrame, path: pd.DataFrame, row: NDArray[np.int64]) -> NDArray[np.float64]:
    since = depths["odometer_km"].to_numpy(float) - path["from_km"].to_numpy(float)[row]
    return np.where(row >= 0, path["before_km"].to_numpy(float)[row] + np.maximum(since, 0.0), np.nan)


def _collapse(depths: pd.DataFrame) -> pd.DataFrame:
    """Group-by: grooves first, then the tire."""
    keys = ["vehicle_id", "tire_id", "position", "date"]
    depths = depths.assign(gauge_id=depths["gauge_id"].fillna("").astype(str))
    steps = depths.groupby("gauge_id")["depth_mm"].agg(lambda v: infer_resolution(v.to_numpy(float)))
    visit = depths.groupby(keys, sort=False).ngroup().to_numpy()
    groove = pd.Categorical(depths["groove"], categories=list(GROOVES)).codes.astype(np.int64)
    count, wide = visit.max() + 1, len(GROOVES)
    cell = visit * wide + groove
    value = depths["depth_mm"].to_numpy(float)
    number = np.bincount(cell, minlength=count * wide).reshape(count, wide)
    total = np.bincount(cell, value, minlength=count * wide).reshape(count, wide)
    mean = np.divide(total, number, out=np.full(total.shape, np.nan), where=number > 0)
    free = np.maximum(number - 1, 0).sum()
    spread2 = float(np.sum((value - mean.ravel()[cell]) ** 2))
    repeat = np.sqrt(spread2 / free) if free >= 20 else REPEAT_SD_MM
    out = depths.groupby(keys, sort=False).agg(
        odometer_km=("odometer_km", "first"),
        tire_km=("tire_km", "mean"),
        readings=("depth_mm", "size"),
        gauge_id=("gauge_id", "first"),
        doubt=("doubt", lambda v: "; ".join(dict.fromkeys(t for t in v if t))),
    )
    out = out.reset_index()
    out["depth_mm"] = np.nanmean(mean, axis=1)
    out["resolution_mm"] = out["gauge_id"].map(steps).to_numpy(float)
    step = np.nan_to_num(out["resolution_mm"].to_numpy())
    grooves = (number > 0).sum(axis=1)
    inverse = np.divide(1.0, number, out=np.zeros(number.shape), where=number > 0).sum(axis=1)
    out["depth_se_mm"] = np.sqrt((max(repeat, 0.02) ** 2 + step**2 / 12) * inverse) / grooves
    worst = np.nanargmin(mean, axis=1)
    out["shallowest_mm"] = np.nanmin(mean, axis=1)
    out["shallowest_groove"] = np.array(GROOVES, dtype=object)[worst]
    for j, name in enumerate(GROOVES):
        out[f"{name}_mm"] = mean[:, j]
    lost = out["tire_id"] == ""
    out.loc[lost, "doubt"] = "no tire is known in this place on this day"
    return out[_COLUMNS].sort_values(["tire_id", "date"], ignore_index=True)

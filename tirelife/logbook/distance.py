"""Distance by date: the odometer between readings, and stretches cut at dates."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["cut_stretches", "odometer_at", "record_at"]


def odometer_at(odometer: pd.DataFrame, vehicle_id: pd.Series, date: pd.Series) -> NDArray[np.float64]:
    """Odometer of vehicles at dates, straight between readings and held beyond the first and last.

    Parameters
    ----------
    odometer : DataFrame
        date, vehicle_id, odometer_km: every reading known.
    vehicle_id, date : Series of equal length

    Returns
    -------
    ndarray [km]; NaN for a vehicle with no reading.
    """
    known = odometer[["vehicle_id", "date", "odometer_km"]].dropna()
    if known.empty:
        return np.full(len(vehicle_id), np.nan)
    readings = known.groupby(["vehicle_id", "date"], as_index=False)["odometer_km"].max()
    before = record_at(vehicle_id, date, readings["vehicle_id"], readings["date"])
    after = record_at(vehicle_id, date, readings["vehicle_id"], readings["date"], ahead=True)
    day, wanted, km = _days(readings["date"]), _days(date), readings["odometer_km"].to_numpy(float)
    has_before, has_after = before >= 0, after >= 0
    gap = np.where(has_before & has_after, day[after] - day[before], 1.0)
    part = np.where(has_before & has_after, (wanted - day[before]) / np.where(gap > 0, gap, 1.0), 0.0)
    between = km[before] + part * (km[after] - km[before])
    return np.where(has_before, between, np.where(has_after, km[after], np.nan))


def cut_stretches(pieces: pd.DataFrame, cuts: pd.DataFrame, on: str, odometer: pd.DataFrame) -> pd.DataFrame:
    """Cut pieces of distance at dates.

    Parameters
    ----------
    pieces : DataFrame
        Has vehicle_id, from_date, to_date, from_km, to_km, and the column ``on``; other columns are repeated.
    cuts : DataFrame
        The column ``on`` and ``date``; only those strictly inside a piece cut it.
    on : str
        ``vehicle_id`` or ``tire_id``.
    odometer : DataFrame
        date, vehicle_id, odometer_km: every reading known.

    Returns
    -------
    DataFrame
        Columns as in ``pieces``. The parts of a piece follow each other and their distances sum to its own.
    """
    whole = pieces.reset_index(drop=True)
    whole["_piece"] = np.arange(len(whole))
    inside = whole[[on, "_piece", "from_date", "to_date"]].merge(cuts[[on, "date"]].drop_duplicates(), on=on)
    inside = inside[(inside["date"] > inside["from_date"]) & (inside["date"] < inside["to_date"])]
    if inside.empty:
        return whole.drop(columns="_piece")
    starts = pd.concat(
        [
            pd.DataFrame({"_piece": whole["_piece"], "start": whole["from_date"], "_first": True}),
            pd.DataFrame({"_piece": inside["_piece"], "start": inside["date"], "_first": False}),
        ],
        ignore_index=True,
    ).sort_values(["_piece", "start"], kind="stable", ignore_index=True)
    out = whole.iloc[starts["_piece"].to_numpy()].reset_index(drop=True)
    first = starts["_first"].to_numpy()
    last = np.append(first[1:], True)
    km = odometer_at(odometer, out["vehicle_id"], starts["start"])
    low, high = out["from_km"].to_numpy(float), out["to_km"].to_numpy(float)
    inside_km = np.where(first, low, np.clip(np.where(np.isnan(km), low, km), low, high))
    # An odometer that goes back must not make a part negative.
    km = np.asarray(pd.Series(inside_km).groupby(starts["_piece"].to_numpy()).cummax(), dtype=float)
    out["from_date"] = starts["start"]
    out["from_km"] = km
    out["to_date"] = out["to_date"].where(last, starts["start"].shift(-1))
    out["to_km"] = np.where(last, high, np.append(km[1:], np.nan))
    return out.drop(columns="_piece")


def record_at(
    key: pd.Series, date: pd.Series, held_key: pd.Series, held_date: pd.Series, ahead: bool = False
) -> NDArray[np.int64]:
    """Row of the last record of the same key on or before a date, or of the first on or after it.

    Parameters
    ----------
    key, date : Series of equal length
        What is asked.
    held_key, held_date : Series of equal length
        The records, in any order; of several on one day the last row is taken, or the first if ``ahead``.
    ahead : bool
        Look forward in time.

    Returns
    -------
    ndarray of int
        Places in ``held_key``; -1 where there is none.
    """
    code, _ = pd.factorize(pd.concat([held_key, key], ignore_index=True))
    held, asked = code[: len(held_key)], code[len(held_key) :]
    if not len(held):
        return np.full(len(key), -1)
    # One increasing number for key and day together; days since 1970 stay far below 10 million.
    stamp = held * 1e7 + _days(held_date)
    order = np.argsort(stamp, kind="stable")
    wanted = asked * 1e7 + _days(date)
    spot = np.searchsorted(stamp[order], wanted, side="left" if ahead else "right") - (not ahead)
    inside = (spot >= 0) & (spot < len(held))
    row = order[np.clip(spot, 0, len(held) - 1)]
    return np.where(inside & (held[row] == asked), row, -1)


def _days(date: pd.Series) -> NDArray[np.float64]:
    return np.asarray(date.to_numpy("datetime64[s]").astype("int64") / 86400.0, dtype=float)

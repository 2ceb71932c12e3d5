"""Distance by date: the odometer between readings, and stretches cut at dates."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["cut_stretches", "held_to_the_last_day", "odometer_at", "record_at", "with_usable_odometers"]


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


def with_usable_odometers(
    records: pd.DataFrame, wrong: NDArray[np.bool_], odometer: pd.DataFrame
) -> pd.DataFrame:
    """Records with the vehicle's odometer of the day in place of each that is not used.

    A reading is laid to the tire that was there, whatever was typed for the distance.

    Parameters
    ----------
    records : DataFrame
        date, vehicle_id, odometer_km, and what else there is.
    wrong : ndarray of bool, shape (records,)
        Whose odometer is not used; of a logbook's table, ``Logbook.odometer_unused``.
    odometer : DataFrame
        date, vehicle_id, odometer_km: every reading known that is used.

    Returns
    -------
    DataFrame
        As ``records``. Between a vehicle's readings the odometer is on the straight line, beyond them on its
        mean pace; of a vehicle with no other reading it stays as it was read.
    """
    if not wrong.any():
        return records
    lost = records[wrong]
    km, _ = _on_the_line(odometer, lost["vehicle_id"], lost["date"])
    out = records.copy()
    out.loc[wrong, "odometer_km"] = np.where(np.isnan(km), lost["odometer_km"], km)
    return out


def held_to_the_last_day(odometer: pd.DataFrame, doubted_days: pd.DataFrame) -> pd.DataFrame:
    """Add the newest day of each vehicle whose odometer is doubted after all others, on its mean pace.

    So that what was read that day has its distance, and none is counted twice from there on.

    Parameters
    ----------
    odometer : DataFrame
        date, vehicle_id, odometer_km: every reading known that is not doubted.
    doubted_days : DataFrame
        date, vehicle_id of those that are.

    Returns
    -------
    DataFrame
        As ``odometer``, with a row more for such a vehicle; none where its other readings tell no pace.
    """
    newest = doubted_days.dropna().groupby("vehicle_id", as_index=False)["date"].max()
    newest["odometer_km"], beyond = _on_the_line(odometer, newest["vehicle_id"], newest["date"])
    more = newest[beyond & newest["odometer_km"].notna()]
    return pd.concat([odometer, more[odometer.columns]], ignore_index=True) if len(more) else odometer


def _on_the_line(
    odometer: pd.DataFrame, vehicle_id: pd.Series, date: pd.Series
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Odometers at dates, on the mean pace beyond a vehicle's readings [km]; and which come after those."""
    known = odometer.dropna().groupby("vehicle_id")
    ends = pd.concat([known[["date", "odometer_km"]].agg(edge) for edge in ("min", "max")], axis=1)
    ends = ends.set_axis(["first", "low", "last", "high"], axis=1).reindex(vehicle_id)
    first, last, day = (pd.DatetimeIndex(values) for values in (ends["first"], ends["last"], date))
    whole = np.asarray((last - first).days, dtype=float)
    run = (ends["high"] - ends["low"]).to_numpy(float)
    pace = np.divide(run, whole, out=np.zeros(len(day)), where=whole > 0)
    beyond = np.asarray((day - day.where(day < last, last)).days, dtype=float)
    before = np.asarray((day.where(day > first, first) - day).days, dtype=float)
    km = odometer_at(odometer, vehicle_id, date) + pace * (beyond - before)
    return km, (beyond > 0) & (pace > 0)


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
    cuts = cuts[cuts["date"].notna()]
    code, _ = pd.factorize(pd.concat([cuts[on], whole[on]], ignore_index=True))
    held, asked = code[: len(cuts)], code[len(cuts) :]
    stamp, row = np.unique(_stamp(held, cuts["date"]), return_index=True)
    begun = np.searchsorted(stamp, _stamp(asked, whole["from_date"]), side="right")
    count = np.searchsorted(stamp, _stamp(asked, whole["to_date"]), side="left") - begun
    count = np.where(whole[["from_date", "to_date"]].isna().any(axis=1), 0, np.maximum(count, 0))
    if not count.any():
        return whole
    piece = np.repeat(np.arange(len(whole)), count + 1)
    nth = np.arange(len(piece)) - np.repeat(np.cumsum(count + 1) - count - 1, count + 1)
    first = nth == 0
    last = np.append(first[1:], True)
    cut = row[np.where(first, 0, begun[piece] + nth - 1)]
    out = whole.iloc[piece].reset_index(drop=True)
    start = out["from_date"].where(first, cuts["date"].iloc[cut].set_axis(out.index))
    low, high = out["from_km"].to_numpy(float), out["to_km"].to_numpy(float)
    km = low.copy()
    reading = odometer_at(odometer, out["vehicle_id"][~first], start[~first])
    km[~first] = np.clip(np.where(np.isnan(reading), low[~first], reading), low[~first], high[~first])
    # An odometer that goes back must not make a part negative.
    km = np.asarray(pd.Series(km).groupby(piece).cummax(), dtype=float)
    out["from_date"] = start
    out["from_km"] = km
    out["to_date"] = out["to_date"].where(last, start.shift(-1))
    out["to_km"] = np.where(last, high, np.append(km[1:], np.nan))
    return out


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
    stamp = _stamp(held, held_date)
    order = np.argsort(stamp, kind="stable")
    wanted = _stamp(asked, date)
    spot = np.searchsorted(stamp[order], wanted, side="left" if ahead else "right") - (not ahead)
    inside = (spot >= 0) & (spot < len(held))
    row = order[np.clip(spot, 0, len(held) - 1)]
    return np.where(inside & (held[row] == asked), row, -1)


def _stamp(code: NDArray[np.int64], date: pd.Series) -> NDArray[np.float64]:
    """One increasing number for key and day together; days since 1970 stay far below 10 million."""
    return np.asarray(code * 1e7 + _days(date), dtype=float)


def _days(date: pd.Series) -> NDArray[np.float64]:
    return np.asarray(date.to_numpy("datetime64[s]").astype("int64") / 86400.0, dtype=float)

"""Pressure of each tire along its distance, from readings that are months apart."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from tirelife.inflation.cold import cold_pressures, placard_at
from tirelife.logbook import Logbook, cut_stretches, doubted, kept, record_at

__all__ = ["PressureSource", "pressure_path", "tire_readings"]


class PressureSource(StrEnum):
    """What the pressure of a stretch rests on."""

    ASSUMED = "assumed"
    """No reading: the placard."""
    FIRST = "to-first"
    """Placard at mounting, then straight to the first reading."""
    BETWEEN = "between"
    """Straight from reading to reading."""
    HELD = "held"
    """As left by the last reading."""


@kept
def tire_readings(book: Logbook) -> pd.DataFrame:
    """Pressure as found and as left, by tire and day.

    Returns
    -------
    DataFrame
        tire_id, vehicle_id, date, found_kpa, left_kpa, ambient_c, se_kpa, note (codes of
        :class:`tirelife.inflation.cold.ColdNote` on what was set); sorted by tire and date. On the day of a
        move, what was found belongs to the tire that had been in the place, and what was set to the tire
        that came into it. Readings that the logbook doubts are left out.
    """
    cold = cold_pressures(book)
    kinds = dict.fromkeys(("found_kpa", "left_kpa", "ambient_c", "se_kpa"), "float64")
    kinds = {"tire_id": "str", "vehicle_id": "str", "date": "datetime64[us]"} | kinds | {"note": "str"}
    if cold.empty:
        return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})
    before, after = _tires_of(cold, book.stretches)
    found = pd.DataFrame(
        {
            "tire_id": before,
            "vehicle_id": cold["vehicle_id"],
            "date": cold["date"],
            "found_kpa": cold["cold_kpa"].mask(doubted(cold, "pressure_kpa")),
            "ambient_c": cold["ambient_c"],
            "se_kpa": cold["cold_se_kpa"],
            "note": "",
        }
    )
    was_set = cold["set_kpa"].notna().to_numpy() & ~doubted(cold, "set_to_kpa")
    left = found[was_set].assign(tire_id=after[was_set], left_kpa=cold["set_kpa"][was_set], found_kpa=np.nan)
    left["note"] = cold["note"][was_set]
    both = pd.concat([found, left], ignore_index=True)
    both = both[(both["tire_id"] != "") & both[["found_kpa", "left_kpa"]].notna().any(axis=1)]
    tire, tires = pd.factorize(both["tire_id"], sort=True)
    figures = both[["found_kpa", "left_kpa", "ambient_c", "se_kpa"]].assign(row=np.arange(len(both)))
    out = figures.groupby([pd.Series(tire, index=both.index, name="tire"), both["date"]], sort=True).agg(
        row=("row", "last"),
        found_kpa=("found_kpa", "first"),
        left_kpa=("left_kpa", "last"),
        ambient_c=("ambient_c", "first"),
        se_kpa=("se_kpa", "first"),
    )
    out = out.reset_index()
    out["tire_id"] = tires[out["tire"]].astype("str")
    out["vehicle_id"] = both["vehicle_id"].iloc[out["row"]].array
    out["note"] = both["note"].iloc[out["row"]].astype("str").array
    out["left_kpa"] = out["left_kpa"].fillna(out["found_kpa"])
    return out[list(kinds)]


def _tires_of(cold: pd.DataFrame, path: pd.DataFrame) -> tuple[Any, Any]:
    """Tire in the place before, and after, anything done on the day of a reading."""
    if path.empty:
        return (pd.array([""] * len(cold), dtype="str"),) * 2
    until = path["to_date"].where(~path["open"], pd.Timestamp("2200-01-01"))
    there = path.assign(until=until).sort_values(["from_date", "until"], ignore_index=True)
    vehicle, _ = pd.factorize(pd.concat([there["vehicle_id"], cold["vehicle_id"]], ignore_index=True))
    place, places = pd.factorize(pd.concat([there["position"], cold["position"]], ignore_index=True))
    key = pd.Series(vehicle * len(places) + place)
    held, asked = key.iloc[: len(there)], key.iloc[len(there) :]
    # In one place stretches follow each other, so the first to end on the day or later was there before.
    before = record_at(asked, cold["date"], held, there["until"], ahead=True)
    after = record_at(asked, cold["date"], held, there["from_date"])
    begun = there["from_date"].to_numpy()[before] <= cold["date"].to_numpy()
    on = cold["date"].to_numpy() <= there["until"].to_numpy()[after]
    tires = pd.concat([there["tire_id"], pd.Series([""], dtype="str")], ignore_index=True)
    nobody = len(there)
    return (
        tires.iloc[np.where((before >= 0) & begun, before, nobody)].array,
        tires.iloc[np.where((after >= 0) & on, after, nobody)].array,
    )


@kept
def pressure_path(book: Logbook) -> pd.DataFrame:
    """Cold pressure of each tire, stretch by stretch.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        ``tire_id, vehicle_id, position, from_date, to_date, from_km, to_km, start_kpa, end_kpa, cold_kpa``
        (mean of the two), ``placard_kpa, ratio, source``; in the order of ``book.stretches``, cut at every
        reading. Spares lie at their pressure too.

    Notes
    -----
    Between two readings the pressure runs straight in time from what was left to what was found: leak-down
    and season together. Before the first reading placard pressure at mounting is an assumption, and
    ``source`` (a :class:`PressureSource`) says so; after the last it is held.
    """
    stretches = book.stretches
    readings = tire_readings(book)
    columns = ["tire_id", "vehicle_id", "position", "from_date", "to_date", "from_km", "to_km"]
    pieces = stretches[columns]
    pieces = cut_stretches(pieces, readings, "tire_id", book.odometer)
    placard = placard_at(book.vehicles, pieces["vehicle_id"], pieces["position"])
    start, end, source = _ends(pieces, readings, placard)
    pieces["start_kpa"], pieces["end_kpa"] = start, end
    pieces["cold_kpa"] = (start + end) / 2
    pieces["placard_kpa"] = placard
    pieces["ratio"] = pieces["cold_kpa"] / placard
    pieces["source"] = source
    return pieces


def _ends(
    pieces: pd.DataFrame, readings: pd.DataFrame, placard: np.ndarray
) -> tuple[np.ndarray, np.ndarray, Any]:
    """Pressure at both ends of each piece, and where it comes from."""
    said = pd.Series([source.value for source in PressureSource], dtype="str")
    if readings.empty:
        return placard.copy(), placard.copy(), said.iloc[np.zeros(len(pieces), dtype=np.int64)].array
    tire, tires = pd.factorize(pieces["tire_id"])
    begin = _days(pieces["from_date"])
    mounted = pd.Series(begin).groupby(tire).min().to_numpy()[tire]
    first = np.empty(len(tires), dtype=np.int64)
    first[tire[::-1]] = np.arange(len(pieces))[::-1]
    found_at = readings[readings["found_kpa"].notna()]
    began = record_at(pieces["tire_id"], pieces["from_date"], readings["tire_id"], readings["date"])
    ended = record_at(pieces["tire_id"], pieces["to_date"], found_at["tire_id"], found_at["date"], ahead=True)
    has_before, has_after = began >= 0, ended >= 0
    left = np.where(has_before, _at(readings["left_kpa"], began), placard[first][tire])
    since = np.where(has_before, _at(_days(readings["date"]), began), mounted)
    found, until = _at(found_at["found_kpa"], ended), _at(_days(found_at["date"]), ended)
    span = np.where(until > since, until - since, np.nan)

    def at(day: np.ndarray) -> np.ndarray:
        part = np.nan_to_num(np.clip((day - since) / span, 0, 1))
        return np.asarray(np.where(has_after, left + part * (np.nan_to_num(found) - left), left))

    start, end = at(begin), at(_days(pieces["to_date"]))
    neither = ~has_before & ~has_after
    source = np.where(neither, 0, np.where(~has_before, 1, np.where(has_after, 2, 3)))
    return np.where(neither, placard, start), np.where(neither, placard, end), said.iloc[source].array


def _at(values: ArrayLike, place: np.ndarray) -> np.ndarray:
    """Values at places; NaN where the place is -1."""
    return np.asarray(np.append(np.asarray(values, dtype=float), np.nan)[place])


def _days(date: pd.Series) -> np.ndarray:
    stamp = date.to_numpy("datetime64[s]")
    return np.where(np.isnat(stamp), np.nan, stamp.astype("int64") / 86400.0)

"""Pressure of each tire along its distance, from readings that are months apart."""

from __future__ import annotations

import numpy as np
import pandas as pd

from tirelife.inflation.cold import DOUBTFUL_READING, DOUBTFUL_SETTING, cold_pressures, placard_at
from tirelife.logbook import Logbook, cut_stretches, kept, record_at

__all__ = ["pressure_path", "tire_readings"]

ASSUMED = "placard assumed, no reading"
FIRST = "placard assumed at mounting, then straight to the first reading"
BETWEEN = "straight from reading to reading"
HELD = "held since the last reading"


def tire_readings(book: Logbook) -> pd.DataFrame:
    """Pressure as found and as left, by tire and day.

    Returns
    -------
    DataFrame
        tire_id, vehicle_id, date, found_kpa, left_kpa, ambient_c, se_kpa; sorted by tire and date. On the
        day of a move, what was found belongs to the tire that had been in the place, and what was set to
        the tire that came into it. Readings that the logbook doubts are left out.
    """
    cold = cold_pressures(book)
    kinds = dict.fromkeys(("found_kpa", "left_kpa", "ambient_c", "se_kpa"), "float64")
    kinds = {"tire_id": "str", "vehicle_id": "str", "date": "datetime64[us]"} | kinds
    if cold.empty:
        return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})
    doubt = cold["doubt"].astype(str)
    before, after = _tires_of(cold, book.stretches)
    found = pd.DataFrame(
        {
            "tire_id": before,
            "vehicle_id": cold["vehicle_id"],
            "date": cold["date"],
            "found_kpa": cold["cold_kpa"].mask(doubt.str.contains(DOUBTFUL_READING, regex=True)),
            "ambient_c": cold["ambient_c"],
            "se_kpa": cold["cold_se_kpa"],
        }
    )
    was_set = (cold["set_kpa"].notna() & ~doubt.str.contains(DOUBTFUL_SETTING, regex=True)).to_numpy()
    left = found[was_set].assign(tire_id=after[was_set], left_kpa=cold["set_kpa"][was_set], found_kpa=np.nan)
    both = pd.concat([found, left], ignore_index=True)
    both = both[(both["tire_id"] != "") & both[["found_kpa", "left_kpa"]].notna().any(axis=1)]
    out = both.groupby(["tire_id", "date"], as_index=False, sort=True).agg(
        vehicle_id=("vehicle_id", "last"),
        found_kpa=("found_kpa", "first"),
        left_kpa=("left_kpa", "last"),
        ambient_c=("ambient_c", "first"),
        se_kpa=("se_kpa", "first"),
    )
    out["left_kpa"] = out["left_kpa"].fillna(out["found_kpa"])
    return out[list(kinds)]


def _tires_of(cold: pd.DataFrame, path: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Tire in the place before, and after, anything done on the day of a reading."""
    reading = cold[["vehicle_id", "position", "date"]].assign(_row=np.arange(len(cold)))
    there = path[["vehicle_id", "position", "from_date", "to_date", "open", "tire_id"]]
    near = reading.merge(there, on=["vehicle_id", "position"])
    inside = near["open"] | (near["date"] <= near["to_date"])
    near = near[(near["date"] >= near["from_date"]) & inside].sort_values(["_row", "from_date"])
    out = []
    for which in ("first", "last"):
        one = near.drop_duplicates("_row", keep=which).set_index("_row")["tire_id"]
        out.append(one.reindex(range(len(cold))).fillna("").to_numpy(object))
    return out[0], out[1]


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
    ``source`` says so; after the last it is held.
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
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Pressure at both ends of each piece, and where it comes from."""
    if readings.empty:
        return placard.copy(), placard.copy(), np.full(len(pieces), ASSUMED, dtype=object)
    mounted = pieces.groupby("tire_id")["from_date"].transform("min")
    first_placard = pd.Series(placard, index=pieces.index).groupby(pieces["tire_id"]).transform("first")
    found_at = readings[readings["found_kpa"].notna()]
    began = _row(
        readings, record_at(pieces["tire_id"], pieces["from_date"], readings["tire_id"], readings["date"])
    )
    ended = _row(
        found_at,
        record_at(pieces["tire_id"], pieces["to_date"], found_at["tire_id"], found_at["date"], ahead=True),
    )
    has_before, has_after = began["date"].notna().to_numpy(), ended["date"].notna().to_numpy()
    left = np.where(has_before, began["left_kpa"].to_numpy(float), first_placard.to_numpy(float))
    since = np.where(has_before, _days(began["date"]), _days(mounted))
    found, until = ended["found_kpa"].to_numpy(float), _days(ended["date"])
    span = np.where(until > since, until - since, np.nan)

    def at(day: np.ndarray) -> np.ndarray:
        part = np.nan_to_num(np.clip((day - since) / span, 0, 1))
        return np.asarray(np.where(has_after, left + part * (np.nan_to_num(found) - left), left))

    start, end = at(_days(pieces["from_date"])), at(_days(pieces["to_date"]))
    neither = ~has_before & ~has_after
    source = np.select([neither, ~has_before, has_after], [ASSUMED, FIRST, BETWEEN], HELD).astype(object)
    return np.where(neither, placard, start), np.where(neither, placard, end), source


def _row(table: pd.DataFrame, place: np.ndarray) -> pd.DataFrame:
    return table.set_axis(range(len(table))).reindex(place)


def _days(date: pd.Series) -> np.ndarray:
    stamp = date.to_numpy("datetime64[s]")
    return np.where(np.isnat(stamp), np.nan, stamp.astype("int64") / 86400.0)

"""Odometer readings, which only go up: the fewest that do not fit."""

from __future__ import annotations

from bisect import bisect_right
from enum import StrEnum

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note
from tirelife.logbook.chain import codes_of, distinct
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.distance import with_usable_odometers
from tirelife.logbook.findings import Findings, Values, around
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import READ_AGAIN
from tirelife.logbook.slips import Points, judge_odometers, judge_tables
from tirelife.logbook.values import dates_to_days
from tirelife.units import convert

__all__ = ["check_odometers", "points_of", "usable_km"]

_Table = tuple[Parsed, NDArray[np.intp], NDArray[np.intp]]
"""A table, its records that have an odometer, and the point of each."""
_FASTEST = 2000.0
"""More than this in a day is a slip [km]; common practice, no source."""


def check_odometers(book: dict[str, Parsed], vehicles: NDArray[np.object_], found: Findings) -> None:
    """Report readings of an odometer that goes back, or runs ahead; the fewest that explain it.

    Notes
    -----
    An odometer that was replaced starts low again, and everything after it would be doubted. A logbook keeps
    the distance that the vehicle has run: add the old instrument's last reading to each of the new one's.
    """
    known, tables = _known(book, vehicles)
    if not tables:
        return
    unit = tables[0][0].unit["odometer_km"]
    every = Points(*(known[name].to_numpy() for name in ("vehicle", "day", "km")))
    other = judge_tables(every, known["table"].to_numpy(), unit)
    for number, note in other.items():
        table, raw = tables[number][0], tables[number][0].raw["odometer_km"]
        found.add(table.file, 1, raw, "", note.code, dict(note.values), doubt=True)
    known = known[~known["table"].isin(list(other))].reset_index(drop=True)
    slipped, bad = _judged(known, unit, vehicles)
    wrong = known.loc[sorted({*bad, *slipped}), ["table", "point"]]
    for number, (table, good, point) in enumerate(tables):
        mine = wrong.loc[wrong["table"] == number, "point"]
        index = np.full(int(point.max(initial=-1)) + 1, -1)
        index[mine.to_numpy()] = mine.index.to_numpy()
        hit = index[point]
        records = good[hit >= 0]
        said = [_said(int(i), slipped, bad, table.unit["odometer_km"]) for i in hit[hit >= 0]]
        if said:
            codes, values, asks = zip(*said, strict=True)
            found.add(
                table.file, table.rows[records], table.raw["odometer_km"],
                table.written("odometer_km", records), codes, values, asks, doubt=True,
            )  # fmt: skip


def usable_km(readings: pd.DataFrame, unit: str) -> NDArray[np.float64]:
    """Odometers of readings, with the line between the others in place of each that would be doubted.

    Parameters
    ----------
    readings : DataFrame
        vehicle_id, date, odometer_km; in any order.
    unit : str
        In which they were typed, ``mi`` or ``km``.

    Returns
    -------
    ndarray, shape (readings,)
        In the order of the readings; NaN where none was read. [km]
    """
    asked = readings.reset_index(drop=True)
    known = asked.dropna(subset=["date", "odometer_km"])
    vehicle, ids = pd.factorize(known["vehicle_id"])
    points = known.assign(
        vehicle=vehicle, day=dates_to_days(known["date"].to_numpy()), km=known["odometer_km"], again=False
    )
    points = points.sort_values(["vehicle", "day", "km"], kind="stable")
    slipped, bad = _judged(points.reset_index(drop=True), unit, np.asarray(ids, dtype=object))
    wrong = np.zeros(len(asked), dtype=bool)
    wrong[points.index[sorted({*bad, *slipped})]] = True
    used = known[~wrong[known.index]]
    return with_usable_odometers(asked, wrong, used)["odometer_km"].to_numpy(float)


def _judged(
    known: pd.DataFrame, unit: str, vehicles: NDArray[np.object_]
) -> tuple[dict[int, Note], dict[int, tuple[Found, float, float, float]]]:
    """Rows that are likelier with a slip, and rows that do not rise, by their place in ``known``."""
    points, of = _distinct(known)
    sure = np.zeros(len(points.km), dtype=bool)
    np.logical_or.at(sure, of, known["again"].to_numpy(bool))
    notes = judge_odometers(points, unit, vehicles, sure)
    bad = {
        row: one
        for row, one in _not_rising(known).items()
        if not (sure[of[row]] and one[0] is Found.ODOMETER_AHEAD)
    }
    slipped = {int(row): notes[int(point)] for row, point in enumerate(of) if int(point) in notes}
    return slipped, bad


def _said(
    row: int, slipped: dict[int, Note], bad: dict[int, tuple[Found, float, float, float]], unit: str
) -> tuple[StrEnum, Values, Ask | None]:
    """Code of a reading, arguments and what to ask; of the slip that it is likelier to be, if any."""
    if row in slipped:
        return slipped[row].code, dict(slipped[row].values), None
    code, before, after, km = bad[row]
    return code, *_asked(code, before, after, unit, km)


def _known(book: dict[str, Parsed], vehicles: NDArray[np.object_]) -> tuple[pd.DataFrame, list[_Table]]:
    """Every odometer of every table (table, point, vehicle, day, km, again), and the tables."""
    points: list[pd.DataFrame] = []
    tables: list[_Table] = []
    for name in ("odometer", "mounts", "depths", "pressures", "alignment"):
        table = book.get(name)
        if table is None or "odometer_km" not in table.number or "date" not in table.date:
            continue
        if "vehicle_id" not in table.text or not len(table):
            continue
        vehicle = codes_of(table, "vehicle_id", vehicles)
        day, km = dates_to_days(table.date["date"]), table.number["odometer_km"]
        good = np.flatnonzero((vehicle >= 0) & (day > -(10**6)) & np.isfinite(km))
        cells = table.cells["date"], table.cells["odometer_km"]
        point, first = distinct(vehicle[good], cells[0].codes[good], cells[1].codes[good])
        first = good[first]
        again = np.zeros(len(first), dtype=bool)
        np.logical_or.at(again, point, _read_again(table)[good])
        points.append(
            pd.DataFrame({"vehicle": vehicle[first], "day": day[first], "km": km[first], "again": again})
        )
        tables.append((table, good, point))
    if not points:
        return pd.DataFrame({"table": [], "point": [], "vehicle": [], "day": [], "km": [], "again": []}), []
    known = pd.concat(points, keys=range(len(points)), names=["table", "point"]).reset_index()
    return known.sort_values(["vehicle", "day", "km"], kind="stable", ignore_index=True), tables


def _read_again(table: Parsed) -> NDArray[np.bool_]:
    """Which records say that their odometer was asked about and stands."""
    cells = table.extra.get(READ_AGAIN)
    if cells is None:
        return np.zeros(len(table), dtype=bool)
    said = np.array([str(word).strip() != "" for word in cells.words], dtype=bool)
    return np.asarray(said[cells.codes], dtype=bool)


def points_of(book: dict[str, Parsed], vehicles: NDArray[np.object_]) -> Points:
    """Distinct odometer readings of a log, in order of vehicle, day and distance."""
    return _distinct(_known(book, vehicles)[0])[0]


def _distinct(known: pd.DataFrame) -> tuple[Points, NDArray[np.intp]]:
    """Distinct readings, and which of them each row is."""
    point, first = distinct(*(known[name].to_numpy() for name in ("vehicle", "day", "km")))
    order = np.lexsort(tuple(known[name].to_numpy()[first] for name in ("km", "day", "vehicle")))
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = np.arange(len(order))
    return Points(*(known[name].to_numpy()[first[order]] for name in ("vehicle", "day", "km"))), rank[point]


def _not_rising(known: pd.DataFrame) -> dict[int, tuple[Found, float, float, float]]:
    """Points to doubt: index to (code, last good km before, next good km after, km)."""
    vehicle, day, km = (known[name].to_numpy() for name in ("vehicle", "day", "km"))
    highest = known.groupby("vehicle")["km"].cummax().to_numpy()
    falls = np.r_[False, (vehicle[1:] == vehicle[:-1]) & (km[1:] < highest[:-1] - 1.0)]
    runs = np.r_[
        False, (vehicle[1:] == vehicle[:-1]) & (np.diff(km) > _FASTEST * np.maximum(np.diff(day), 1))
    ]
    bad: dict[int, tuple[Found, float, float, float]] = {}
    if not (falls.any() or runs.any()):
        return bad
    first = np.searchsorted(vehicle, np.arange(vehicle.max() + 2))
    for code in np.unique(vehicle[falls | runs]):
        a, b = first[code], first[code + 1]
        kept = _longest_rise(km[a:b]) if falls[a:b].any() else np.arange(b - a)
        stays = np.zeros(b - a, dtype=bool)
        stays[kept] = True
        good = km[a:b][kept]
        for i in np.flatnonzero(~stays):
            at = int(np.searchsorted(kept, i))
            before = good[at - 1] if at else np.nan
            after = good[at] if at < len(good) else np.nan
            bad[a + int(i)] = (Found.ODOMETER_BACK, before, after, km[a + i])
        step = np.diff(good) > _FASTEST * np.maximum(np.diff(day[a:b][kept]), 1)
        for j in np.flatnonzero(step) + 1:
            after = good[j + 1] if j + 1 < len(good) else np.nan
            bad[a + int(kept[j])] = (Found.ODOMETER_AHEAD, good[j - 1], after, good[j])
    return bad


def _longest_rise(km: NDArray[np.float64]) -> NDArray[np.intp]:
    """Indices of the longest run of readings that never fall by more than 1 km."""
    tails: list[float] = []
    ends: list[int] = []
    parent = np.full(len(km), -1)
    for i, value in enumerate(km):
        at = (
            bisect_right(tails, value + 1.0)
            if tails and value + 1.0 >= tails[-1]
            else bisect_right(tails, value)
        )
        parent[i] = ends[at - 1] if at else -1
        if at == len(tails):
            tails.append(value)
            ends.append(i)
        elif value < tails[at]:
            tails[at], ends[at] = value, i
    out, i = [], ends[-1]
    while i >= 0:
        out.append(i)
        i = int(parent[i])
    return np.array(out[::-1], dtype=np.intp)


def _asked(code: Found, before: float, after: float, unit: str, km: float) -> tuple[Values, Ask | None]:
    def shown(value: float) -> str:
        return f"{convert(value, 'km', unit):.0f}"

    said = around(before, after, shown)
    other = "mi" if unit == "km" else "km"
    meant = convert(convert(km, "km", unit), other, "km")
    low = -np.inf if np.isnan(before) else before
    high = low + 50_000 if np.isnan(after) else after
    if low <= meant <= high:
        return {**said, "unit": other, "meant": shown(meant)}, Ask.ODOMETER_TYPED_UNIT
    replaced = code is Found.ODOMETER_BACK and (np.isnan(after) or np.isnan(before))
    return said, Ask.ODOMETER_REPLACED if replaced else None

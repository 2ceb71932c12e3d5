"""Readings that should only go one way: odometers up, tread depths down."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.chain import DAY, Chain, codes_of, distinct, moments, tire_at
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import GROOVES, POSITIONS
from tirelife.logbook.values import dates_to_days
from tirelife.units import LABELS, convert

__all__ = ["BACK", "GAUGE_TOLERANCE", "check_depths", "check_odometers", "check_pressures"]

GAUGE_TOLERANCE = 1.0
"""Depths further apart than this are no accident of the gauge [mm].

Users of hand gauges add about 0.039 in (1.0 mm) to the range of readings of one tread (ASNT gauge study).
"""
BACK = "the odometer goes back"
"""What is said of a reading whose odometer does not fit the others; such odometers are not used."""
_NEW_KM = 800
"""A tire mounted this lately still has about its new depth [km]; our assumption."""
_FASTEST = 2000.0
"""More than this in a day is a slip [km]; common practice, no source."""


def check_odometers(book: dict[str, Parsed], vehicles: NDArray[np.object_], found: Findings) -> None:
    """Report readings of an odometer that goes back, or runs ahead; the fewest that explain it."""
    points, tables = [], []
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
        points.append(pd.DataFrame({"vehicle": vehicle[first], "day": day[first], "km": km[first]}))
        tables.append((table, good, point))
    if not points:
        return
    known = pd.concat(points, keys=range(len(points)), names=["table", "point"]).reset_index()
    known = known.sort_values(["vehicle", "day", "km"], kind="stable", ignore_index=True)
    bad = _not_rising(known)
    if not bad:
        return
    wrong = known.loc[list(bad), ["table", "point"]]
    for number, (table, good, point) in enumerate(tables):
        mine = wrong.loc[wrong["table"] == number, "point"]
        index = np.full(int(point.max(initial=-1)) + 1, -1)
        index[mine.to_numpy()] = mine.index.to_numpy()
        hit = index[point]
        records = good[hit >= 0]
        said = [bad[i] for i in hit[hit >= 0]]
        unit = table.unit["odometer_km"]
        advice = [_odometer_advice(what, before, after, unit, value) for what, before, after, value in said]
        found.add(
            table.file, table.rows[records], table.raw["odometer_km"], table.written("odometer_km", records),
            [what for what, *_ in said], advice, doubt=True,
        )  # fmt: skip


def _not_rising(known: pd.DataFrame) -> dict[int, tuple[str, float, float, float]]:
    """Points to doubt: index to (what, last good km before, next good km after, km)."""
    vehicle, day, km = (known[name].to_numpy() for name in ("vehicle", "day", "km"))
    highest = known.groupby("vehicle")["km"].cummax().to_numpy()
    falls = np.r_[False, (vehicle[1:] == vehicle[:-1]) & (km[1:] < highest[:-1] - 1.0)]
    runs = np.r_[
        False, (vehicle[1:] == vehicle[:-1]) & (np.diff(km) > _FASTEST * np.maximum(np.diff(day), 1))
    ]
    bad: dict[int, tuple[str, float, float, float]] = {}
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
            bad[a + int(i)] = (BACK, before, after, km[a + i])
        step = np.diff(good) > _FASTEST * np.maximum(np.diff(day[a:b][kept]), 1)
        for j in np.flatnonzero(step) + 1:
            after = good[j + 1] if j + 1 < len(good) else np.nan
            bad[a + int(kept[j])] = ("the odometer runs ahead", good[j - 1], after, good[j])
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


def _odometer_advice(what: str, before: float, after: float, unit: str, km: float) -> str:
    def shown(value: float) -> str:
        return f"{convert(value, 'km', unit):.0f}"

    advice = f"It reads {_around(before, after, shown)}."
    other = "mi" if unit == "km" else "km"
    meant = convert(convert(km, "km", unit), other, "km")
    low = -np.inf if np.isnan(before) else before
    high = low + 50_000 if np.isnan(after) else after
    if low <= meant <= high:
        return f"{advice} Was it typed in {LABELS[other]}? Then write {shown(meant)}."
    if what == BACK and np.isnan(after):
        advice += " If the instrument was replaced, add the old one's last reading to each new one."
    return f"{advice} Correct it if it is a slip."


def _around(before: float, after: float, shown: Callable[[float], str]) -> str:
    """The readings on both sides of a doubtful one, those that are there."""
    sides = [f"{shown(v)} {when}" for v, when in ((before, "before"), (after, "after")) if not np.isnan(v)]
    return " and ".join(sides)


def check_pressures(table: Parsed, chain: Chain, vehicles: NDArray[np.object_], found: Findings) -> None:
    """Report pressure readings at a position with no tire, and visits entered twice."""
    if not all(name in table.text for name in ("vehicle_id", "position")) or "date" not in table.date:
        return
    vehicle = codes_of(table, "vehicle_id", vehicles)
    position = codes_of(table, "position", np.array(POSITIONS, dtype=object))
    km = table.number.get("odometer_km", np.full(len(table), np.nan))
    day = dates_to_days(table.date["date"])
    good = np.flatnonzero((vehicle >= 0) & (position >= 0) & (day > -(10**6)))
    moment = moments(day, km)[good]
    at = tire_at(chain, vehicle[good], position[good], moment)
    _no_tire(table, good[at < 0], found)
    if len(good) and "pressure_kpa" in table.cells:
        by_vehicle, _ = distinct(vehicle[good], moment)
        columns = ("position", "state", "ambient_c", "set_to_kpa", "gauge_id")
        _check_repeats(table, good, by_vehicle, columns, "pressure_kpa", 4, found)


def _no_tire(table: Parsed, records: NDArray[np.intp], found: Findings) -> None:
    advice = "Add the mount to mounts, or correct the position or the date; the reading is kept, not used."
    values = table.written("position", records)
    found.add(table.file, table.rows[records], "position", values, "no tire is mounted there", advice, True)


def check_depths(
    depths: Parsed,
    chain: Chain,
    vehicles: NDArray[np.object_],
    new_depth: NDArray[np.float64],
    found: Findings,
) -> None:
    """Report depth readings with no tire, above the new depth, growing, or typed in another unit.

    Parameters
    ----------
    depths : Parsed
    chain : Chain
    vehicles : ndarray of str
    new_depth : ndarray, shape (number of tires,)
        By tire number of the chain; NaN where it is not known. [mm]
    found : Findings
    """
    needed = ("vehicle_id", "position", "groove")
    if not all(name in depths.text for name in needed) or "date" not in depths.date or not len(depths):
        return
    if "depth_mm" not in depths.number or "odometer_km" not in depths.number:
        return
    vehicle = codes_of(depths, "vehicle_id", vehicles)
    position = codes_of(depths, "position", np.array(POSITIONS, dtype=object))
    groove = codes_of(depths, "groove", np.array(GROOVES, dtype=object))
    day, km = dates_to_days(depths.date["date"]), depths.number["odometer_km"]
    depth = depths.number["depth_mm"]
    good = (vehicle >= 0) & (position >= 0) & (groove >= 0) & (day > -(10**6)) & np.isfinite(km)
    records = np.flatnonzero(good & np.isfinite(depth))
    if not len(records):
        return
    place = vehicle[records] * len(POSITIONS) + position[records]
    moment = moments(day, km)[records]
    visit, first = distinct(place, moment)
    place, moment = place[first], moment[first]
    here = place // len(POSITIONS), place % len(POSITIONS), moment
    left = tire_at(chain, *here)
    _no_tire(depths, records[left[visit] < 0], found)
    groove = groove[records]
    cell = visit * len(GROOVES) + groove
    readings = np.bincount(cell, minlength=len(first) * len(GROOVES)).reshape(-1, len(GROOVES))
    if readings.max() > 1:
        columns = ("position", "groove", "spot", "gauge_id")
        by_vehicle = distinct(here[0], moment)[0][visit]
        _check_repeats(depths, records, by_vehicle, columns, "depth_mm", 8, found)
    total = np.bincount(cell, depth[records], readings.size).reshape(-1, len(GROOVES))
    with np.errstate(invalid="ignore"):
        mean = total / readings  # a groove not read is NaN
    mean[left < 0] = np.nan
    _check_unit(depths, chain, left, moment, mean, new_depth, found)
    came = tire_at(chain, *here, as_found=True)
    tires = [np.where(entry >= 0, chain.tire[entry], -1) for entry in (left, came)]
    judged = [_growth(tires[0], moment, mean)]
    limit = new_depth[tires[0]]
    if (tires[0] != tires[1]).any():
        # Were tires read as found or as left on a day of moves? Doubt only what is odd either way.
        judged.append(_growth(tires[1], moment, mean))
        limit = np.fmax(limit, new_depth[tires[1]])
    before, after, _ = min(judged, key=lambda one: one[2].sum())
    odd = np.logical_and.reduce([one[2] for one in judged])[visit, groove]
    with np.errstate(invalid="ignore"):
        over = (depth[records] > limit[visit] + GAUGE_TOLERANCE) & (left[visit] >= 0)
    shown = convert(limit[visit[over]], "mm", depths.unit["depth_mm"])
    advice = [f"New, it had {value:.4g}." for value in shown]
    _say_depth(depths, records[over], "is deeper than the tire was new", advice, found)
    sides = before[visit[odd], groove[odd]], after[visit[odd], groove[odd]]
    _say_growth(depths, records[odd], depth[records[odd]], *sides, found)


def _check_unit(
    depths: Parsed,
    chain: Chain,
    entry: NDArray[np.intp],
    moment: NDArray[np.int64],
    mean: NDArray[np.float64],
    new_depth: NDArray[np.float64],
    found: Findings,
) -> None:
    """Ask whether all depths are in another unit: new tires then read 0.79 or 1.26 of their new depth."""
    starts = np.r_[True, chain.tire[1:] != chain.tire[:-1]]
    since = moment - chain.start[entry]
    fresh = (entry >= 0) & starts[entry] & (since >= 0) & (since < 60 * DAY)
    fresh &= moment % DAY - chain.start[entry] % DAY < _NEW_KM
    tire = chain.tire[entry[fresh]]
    depth = pd.DataFrame(mean[fresh]).mean(axis=1).to_numpy()
    ratio = pd.Series(depth / new_depth[tire]).groupby(tire).mean().dropna()
    unit = depths.unit["depth_mm"]
    other = {"mm": "32nds", "32nds": "mm"}.get(unit)
    if len(ratio) < 4 or other is None or ratio.quantile(0.9) - ratio.quantile(0.1) > 0.08:
        return
    middle = float(ratio.median())
    if abs(middle / convert(1.0, unit, other) - 1) > 0.03:
        return
    advice = f"Tires just mounted read {middle:.2f} of their new depth: name the column depth_{other}?"
    what = f"may be in {LABELS[other]}, not in {LABELS[unit]}"
    found.add(depths.file, 1, depths.raw["depth_mm"], "", what, advice, doubt=True)


def _check_repeats(
    table: Parsed,
    records: NDArray[np.intp],
    visit: NDArray[np.intp],
    columns: Sequence[str],
    value: str,
    least: int,
    found: Findings,
) -> None:
    """Report readings that stand twice: at the same spot with the same value, or a whole visit's.

    Without a spot, equal readings are common. A vehicle's visit of ``least`` readings or more, every one of
    them repeated, is not: it was entered again.
    """
    key, size = np.zeros(len(records), dtype=np.int64), 1
    for name in (*columns, value):
        cells = table.cells.get(name)
        if cells is not None:
            key, size = key * len(cells.words) + cells.codes[records], size * len(cells.words)
    if size * float(visit.max() + 1) > 9e18:
        return
    code, distinct = pd.factorize(visit * size + key)
    count = np.bincount(code, minlength=len(distinct))
    if count.max(initial=0) < 2:
        return
    order = np.argsort(code, kind="stable")
    again = np.zeros(len(code), dtype=bool)
    again[order[1:]] = code[order[1:]] == code[order[:-1]]
    spot = table.cells.get("spot")
    has_spot = np.zeros(len(code), dtype=bool)
    if spot is not None:
        has_spot = np.array([bool(word.strip()) for word in spot.words], dtype=bool)[spot.codes[records]]
    n = int(visit.max()) + 1
    fewest = np.full(n, np.iinfo(np.int64).max)
    np.minimum.at(fewest, visit, count[code])
    whole = (fewest >= 2) & (np.bincount(visit[~again], minlength=n) >= least)
    hits = records[again & (has_spot | whole[visit])]
    advice = "Delete one if the visit was entered twice."
    values = table.written(value, hits)
    found.add(table.file, table.rows[hits], table.raw[value], values, "stands twice", advice, doubt=True)


def _growth(
    tire: NDArray[np.intp], moment: NDArray[np.int64], mean: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Groove means that break a fall by more than a gauge can err; the fewest that explain it.

    Parameters
    ----------
    tire, moment : ndarray, shape (visits,)
    mean : ndarray, shape (visits, grooves)
        NaN for a groove not read. [mm]

    Returns
    -------
    before, after : ndarray, shape (visits, grooves)
        The means before and after each odd one that hold; NaN for none. [mm]
    odd : ndarray of bool, shape (visits, grooves)
    """
    before, after = np.full(mean.shape, np.nan), np.full(mean.shape, np.nan)
    odd = np.zeros(mean.shape, dtype=bool)
    order = np.lexsort((moment, tire))
    tire, mean = tire[order], mean[order]
    filled = pd.DataFrame(np.where(np.isnan(mean), np.inf, mean))
    lowest = filled.groupby(tire).cummin().to_numpy()
    grows = (mean[1:] > lowest[:-1] + GAUGE_TOLERANCE) & (tire[1:] == tire[:-1])[:, None]
    late, groove_of = grows.nonzero()
    series = {(int(a), int(g)) for a, g in zip(np.searchsorted(tire, tire[1:][late]), groove_of, strict=True)}
    for start, groove in sorted(series):
        end = np.searchsorted(tire, tire[start], side="right")
        read = start + np.flatnonzero(~np.isnan(mean[start:end, groove]))
        values = mean[read, groove]
        kept = _longest_fall(values)
        for i in np.setdiff1d(np.arange(len(read)), kept):
            at, visit = int(np.searchsorted(kept, i)), order[read[i]]
            odd[visit, groove] = True
            before[visit, groove] = values[kept[at - 1]] if at else np.nan
            after[visit, groove] = values[kept[at]] if at < len(kept) else np.nan
    return before, after, odd


def _say_growth(
    depths: Parsed,
    records: NDArray[np.intp],
    depth: NDArray[np.float64],
    before: NDArray[np.float64],
    after: NDArray[np.float64],
    found: Findings,
) -> None:
    unit = depths.unit["depth_mm"]
    what, advice = [], []
    for value, earlier, later in zip(depth, before, after, strict=True):
        grows = value > earlier
        what.append("the depth grows" if grows else "the depth does not fit the readings around it")
        advice.append(_growth_advice(value, earlier, later, unit))
    _say_depth(depths, records, what, advice, found)


def _longest_fall(values: NDArray[np.float64]) -> NDArray[np.intp]:
    """Indices of the longest run of means that never grow by more than a gauge can err."""
    n = len(values)
    if n > 2000:  # a groove read on 2,000 days: flag what tops all before it
        lowest = np.minimum.accumulate(values)
        return np.flatnonzero(values <= np.r_[values[0], lowest[:-1]] + GAUGE_TOLERANCE)
    length, change, parent = np.ones(n, dtype=int), np.zeros(n), np.full(n, -1)
    for i in range(1, n):
        fits = np.flatnonzero(values[:i] >= values[i] - GAUGE_TOLERANCE)
        if len(fits):
            total = change[fits] + np.abs(values[fits] - values[i])
            best = np.lexsort((total, -length[fits]))[0]  # of the longest runs, the one that changes least
            length[i], change[i], parent[i] = length[fits[best]] + 1, total[best], fits[best]
    i, out = int(np.lexsort((change, -length))[0]), []
    while i >= 0:
        out.append(i)
        i = int(parent[i])
    return np.array(out[::-1], dtype=np.intp)


def _growth_advice(value: float, before: float, after: float, unit: str) -> str:
    def shown(mm: float) -> str:
        return f"{convert(mm, 'mm', unit):.3g}"

    advice = f"It read {_around(before, after, shown)}."
    typed = convert(value, "mm", unit)
    other = "mm" if unit == "32nds" else "32nds"
    meant = convert(typed, other, "mm")
    high = (np.inf if np.isnan(before) else before) + GAUGE_TOLERANCE / 2
    low = (0.0 if np.isnan(after) else after) - GAUGE_TOLERANCE / 2
    if low <= meant <= high and unit in ("mm", "32nds"):
        right = f"{convert(meant, 'mm', unit):.3g} {LABELS[unit]}"
        return f"{advice} Was it typed in {LABELS[other]}? {typed:.4g} {LABELS[other]} is {right}."
    return f"{advice} Check the position and the reading; it is kept and flagged."


def _say_depth(
    depths: Parsed,
    records: NDArray[np.intp],
    what: str | list[str],
    advice: str | list[str],
    found: Findings,
) -> None:
    values = depths.written("depth_mm", records)
    found.add(depths.file, depths.rows[records], depths.raw["depth_mm"], values, what, advice, doubt=True)

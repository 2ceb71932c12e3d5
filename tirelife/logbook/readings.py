"""Depth and pressure readings: those with no tire, those that cannot be."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.chain import DAY, Chain, codes_of, distinct, moments, tire_at
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.depthrows import depth_rows
from tirelife.logbook.findings import Findings
from tirelife.logbook.growth import GAUGE_TOLERANCE, ask_growth, find_growth, swapped_with
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import GROOVES
from tirelife.logbook.values import dates_to_days
from tirelife.positions import POSITIONS
from tirelife.units import convert

__all__ = ["check_depths", "check_pressures"]

_NEW_KM = 800
"""A tire mounted this lately still has about its new depth [km]; our assumption."""
_SOON_KM, _APART_KM = 10_000, 3_000
"""A tire first read by then, and again so much later, has a line back to its start [km]; our assumption."""


def check_pressures(table: Parsed, chain: Chain, vehicles: NDArray[np.object_], found: Findings) -> None:
    """Report pressure readings at a position with no tire."""
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


def _no_tire(table: Parsed, records: NDArray[np.intp], found: Findings) -> None:
    values = table.written("position", records)
    found.add(table.file, table.rows[records], "position", values, Found.NO_TIRE, doubt=True)


def check_depths(
    depths: Parsed,
    chain: Chain,
    vehicles: NDArray[np.object_],
    new_depth: NDArray[np.float64],
    found: Findings,
) -> bool:
    """Report depth readings with no tire, above the new depth, growing, or typed in another unit.

    Parameters
    ----------
    depths : Parsed
    chain : Chain
    vehicles : ndarray of str
    new_depth : ndarray, shape (number of tires,)
        By tire number of the chain; NaN where it is not known. [mm]
    found : Findings

    Returns
    -------
    bool
        Whether all depths may be in another unit, so that no single visit is to be asked about its own.
    """
    rows = depth_rows(depths, vehicles, POSITIONS)
    if rows is None:
        return False
    records, groove, moment, depth = rows.records, rows.groove, rows.moment, rows.depth
    place = rows.vehicle * len(POSITIONS) + rows.wheel
    visit, first = distinct(place, moment)
    place, moment = place[first], moment[first]
    here = place // len(POSITIONS), place % len(POSITIONS), moment
    left = tire_at(chain, *here)
    _no_tire(depths, records[left[visit] < 0], found)
    cell = visit * len(GROOVES) + groove
    readings = np.bincount(cell, minlength=len(first) * len(GROOVES)).reshape(-1, len(GROOVES))
    total = np.bincount(cell, depth, readings.size).reshape(-1, len(GROOVES))
    with np.errstate(invalid="ignore"):
        mean = total / readings  # a groove not read is NaN
    mean[left < 0] = np.nan
    came = tire_at(chain, *here, as_found=True)
    tires = [np.where(entry >= 0, chain.tire[entry], -1) for entry in (left, came)]
    sure = np.where(tires[0] == tires[1], left, -1)
    other_unit = _check_unit(depths, chain, sure, moment, mean, new_depth, found)
    judged = [find_growth(tires[0], moment, mean)]
    limit = new_depth[tires[0]]
    if (tires[0] != tires[1]).any():
        # Were tires read as found or as left on a day of moves? Doubt only what is odd either way.
        judged.append(find_growth(tires[1], moment, mean))
        limit = np.fmax(limit, new_depth[tires[1]])
    best = min(range(len(judged)), key=lambda i: judged[i][2].sum())
    before, after, _ = judged[best]
    odd = np.logical_and.reduce([one[2] for one in judged])[visit, groove]
    with np.errstate(invalid="ignore"):
        over = (depth > limit[visit] + GAUGE_TOLERANCE) & (left[visit] >= 0)
    shown = convert(limit[visit[over]], "mm", depths.unit["depth_mm"])
    said = [{"depth": f"{value:.4g}"} for value in shown]
    raw, values = depths.raw["depth_mm"], depths.written("depth_mm", records[over])
    found.add(depths.file, depths.rows[records[over]], raw, values, Found.OVER_NEW, said, doubt=True)
    at = visit[odd], groove[odd]
    other = swapped_with(tires[best], here[0], moment, mean, before, after, at)
    swapped = np.array([*(POSITIONS[p] for p in here[1]), ""], dtype=object)[other]
    _say_growth(depths, records[odd], depth[odd], before[at], after[at], swapped, found)
    return other_unit


def _check_unit(
    depths: Parsed,
    chain: Chain,
    entry: NDArray[np.intp],
    moment: NDArray[np.int64],
    mean: NDArray[np.float64],
    new_depth: NDArray[np.float64],
    found: Findings,
) -> bool:
    """Ask whether all depths are in another unit: tires then start at 0.79 or 1.26 of their new depth."""
    ratio = _first_depth(chain, entry, moment, mean, len(new_depth)) / new_depth
    ratio = ratio[np.isfinite(ratio)]
    unit = depths.unit["depth_mm"]
    if len(ratio) < 4 or np.subtract(*np.quantile(ratio, [0.75, 0.25])) > 0.08 * np.median(ratio):
        return False
    middle = float(np.median(ratio))
    for other in ("mm", "32nds", "mils"):
        if other == unit or abs(middle / convert(1.0, unit, other) - 1) > 0.04:
            continue
        ask = Ask.DEPTH_UNIT_OR_NEW if min(middle, 1 / middle) > 0.5 else None
        said = {"ratio": f"{middle:.2g}", "unit": other, "column_unit": unit}
        found.add(depths.file, 1, depths.raw["depth_mm"], "", Found.DEPTH_UNIT, said, ask, doubt=True)
        return True
    return False


def _first_depth(
    chain: Chain,
    entry: NDArray[np.intp],
    moment: NDArray[np.int64],
    mean: NDArray[np.float64],
    count: int,
) -> NDArray[np.float64]:
    """Depth that each tire had when it was mounted first, by its readings in that place [mm].

    What it read if it was read at once; else on the line through its readings.
    """
    starts = np.r_[True, chain.tire[1:] != chain.tire[:-1]]
    depth = pd.DataFrame(mean).mean(axis=1).to_numpy()
    held = (entry >= 0) & np.isfinite(depth)
    held &= starts[entry]
    since = moment - chain.start[entry]
    run = (moment % DAY - chain.start[entry] % DAY).astype(float)
    held &= (since >= 0) & (run >= 0)
    fresh = held & (since < 60 * DAY) & (run < _NEW_KM)

    def summed(where: NDArray[np.bool_], value: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.bincount(chain.tire[entry[where]], value[where], count).astype(float)

    with np.errstate(divide="ignore", invalid="ignore"):
        one = np.ones(len(run))
        at_once = summed(fresh, depth) / summed(fresh, one)
        number, x, y = summed(held, one), summed(held, run), summed(held, depth)
        spread = summed(held, run * run) - x * x / number
        slope = (summed(held, run * depth) - x * y / number) / spread
        start = (y - slope * x) / number
        soonest = np.full(count, np.inf)
        np.minimum.at(soonest, chain.tire[entry[held]], run[held])
        start[(soonest > _SOON_KM) | (spread < _APART_KM**2 / 2) | (slope > 0)] = np.nan
    return np.where(np.isfinite(at_once), at_once, start)


def _say_growth(
    depths: Parsed,
    records: NDArray[np.intp],
    depth: NDArray[np.float64],
    before: NDArray[np.float64],
    after: NDArray[np.float64],
    swapped: NDArray[np.object_],
    found: Findings,
) -> None:
    unit = depths.unit["depth_mm"]
    codes, said, asks = [], [], []
    places = depths.text["position"].text()[records]
    for value, earlier, later, place, other in zip(depth, before, after, places, swapped, strict=True):
        codes.append(Found.DEPTH_GROWS if value > earlier else Found.DEPTH_UNFIT)
        ask, values = ask_growth(value, earlier, later, unit)
        if other:
            ask, values = Ask.PLACES_SWAPPED, {**values, "first": place, "second": other}
        said.append(values)
        asks.append(ask)
    cells, raw = depths.written("depth_mm", records), depths.raw["depth_mm"]
    found.add(depths.file, depths.rows[records], raw, cells, codes, said, asks, doubt=True)

"""The order of mount records and the chain they make: which tire was where, and when.

Moments on a vehicle are counted in one integer, day x 10⁷ + km, so that they sort by date and then by
odometer; an odometer stays far below 10⁷ km.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings, Values
from tirelife.logbook.parse import Parsed
from tirelife.logbook.values import dates_to_days
from tirelife.positions import OFF, POSITIONS

__all__ = ["DAY", "Chain", "check_chain", "codes_of", "distinct", "moments", "order_mounts", "tire_at"]

DAY = 10_000_000
"""Moments in a day."""
NEVER = np.iinfo(np.int64).max // 2
_OFF = POSITIONS.index(OFF)


@dataclass(frozen=True)
class Chain:
    """Mount records in order: by tire, then time. All arrays have one entry a record.

    ``start`` and ``end`` are moments on the vehicle; ``end`` is ``NEVER`` for a tire still there.
    """

    record: NDArray[np.intp]
    tire: NDArray[np.intp]
    vehicle: NDArray[np.intp]
    position: NDArray[np.intp]
    start: NDArray[np.int64]
    end: NDArray[np.int64]


def codes_of(parsed: Parsed, column: str, ids: NDArray[np.object_]) -> NDArray[np.intp]:
    """Number of each cell's text in a list of ids; -1 for one that is not in it."""
    cells = parsed.text[column]
    return pd.Index(ids, dtype=object).get_indexer(pd.Index(cells.words, dtype=object))[cells.codes]


def moments(day: NDArray[np.int64], km: NDArray[np.float64]) -> NDArray[np.int64]:
    """Moments of readings; one without an odometer counts as the last of its day."""
    whole = np.where(np.isfinite(km), np.rint(np.clip(km, 0, DAY - 1)), DAY - 1)
    return day * DAY + whole.astype(np.int64)


def distinct(*columns: NDArray[np.int64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Number each distinct combination of some whole numbers, and give the first record of each.

    Parameters
    ----------
    *columns : ndarray of int, shape (n,)

    Returns
    -------
    code : ndarray, shape (n,)
        From 0, in order of first appearance.
    first : ndarray, shape (number of combinations,)
    """
    key, size = np.zeros(len(columns[0]), dtype=np.int64), 1.0
    for column in columns:
        low = column.min(initial=0)
        span = int(column.max(initial=0)) - int(low) + 1
        if span > 2**62:  # a day that is not known stands at the lowest whole number there is
            column, low, span = pd.factorize(column)[0], np.int64(0), len(column)
        if size * span > 9e18:
            key, known = pd.factorize(key)
            size = float(len(known))
        key, size = key * span + (column - low), size * span
    code, known = pd.factorize(key)
    first = np.zeros(len(known), dtype=np.intp)
    first[code[::-1]] = np.arange(len(code) - 1, -1, -1)
    return code, first


def order_mounts(
    tire: NDArray[np.intp],
    vehicle: NDArray[np.intp],
    day: NDArray[np.int64],
    km: NDArray[np.float64],
    off: NDArray[np.bool_],
) -> NDArray[np.intp]:
    """Order of mount records: by tire and day; within a day, the vehicle it comes from first.

    Odometers of two vehicles cannot be compared, so on a day that a tire changes vehicles the records of
    the vehicle it was on come first; on one vehicle the odometer decides, and taking off goes before
    putting on.
    """
    n = len(tire)
    leaves = np.zeros(n, dtype=bool)
    order = np.lexsort((~off, km, day, tire))
    if n < 2:
        return order
    for _ in range(2):  # the second pass sees the vehicle left behind in its right place
        order = np.lexsort((~off, km, leaves, day, tire))
        same = (np.diff(tire[order]) == 0) & (np.diff(day[order]) == 0)
        if not (same & (np.diff(vehicle[order]) != 0)).any():
            break
        group = np.r_[0, np.cumsum(~same)]
        last = np.r_[np.flatnonzero(np.diff(group)), n - 1]
        came_from = np.full(group[-1] + 1, -1)
        came_from[1:] = vehicle[order[last[:-1]]]
        starts_tire = np.r_[True, np.diff(tire[order[last]]) != 0]
        came_from[starts_tire] = -1
        known = came_from[group]
        leaves[order] = (known >= 0) & (vehicle[order] != known)
        # A tire seen first on this day comes from the vehicle that it is taken off.
        leaves[order] |= (known < 0) & ~off[order]
    return order


def chain_of(mounts: Parsed, vehicles: NDArray[np.object_], tires: NDArray[np.object_]) -> Chain:
    """Make the chain of all mount records that can be read."""
    tire, vehicle = codes_of(mounts, "tire_id", tires), codes_of(mounts, "vehicle_id", vehicles)
    position = codes_of(mounts, "position", np.array(POSITIONS, dtype=object))
    day, km = dates_to_days(mounts.date["date"]), mounts.number["odometer_km"]
    good = np.flatnonzero((tire >= 0) & (vehicle >= 0) & (position >= 0) & (day > -(10**6)) & np.isfinite(km))
    tire, vehicle, position, day, km = tire[good], vehicle[good], position[good], day[good], km[good]
    order = order_mounts(tire, vehicle, day, km, position == _OFF)
    tire, vehicle, position, day, km = tire[order], vehicle[order], position[order], day[order], km[order]
    start = moments(day, km)
    end = np.full(len(order), NEVER)
    if len(order) > 1:
        follows = tire[1:] == tire[:-1]
        stays = vehicle[1:] == vehicle[:-1]
        # On another vehicle next: when it left this one is known to the day only.
        end[:-1] = np.where(follows, np.where(stays, start[1:], np.maximum(day[1:] * DAY, start[:-1])), NEVER)
    return Chain(good[order], tire, vehicle, position, start, end)


def check_chain(
    mounts: Parsed, chain: Chain, vehicles: NDArray[np.object_], tires: NDArray[np.object_], found: Findings
) -> None:
    """Report tires in two places, two tires in one position, and records that do not follow."""
    if not len(chain.tire):
        return
    follows = np.r_[False, chain.tire[1:] == chain.tire[:-1]]
    before = np.arange(len(chain.tire)) - 1
    was_on = follows & (chain.position[before] != _OFF)
    is_off = chain.position == _OFF
    moved = follows & (chain.vehicle != chain.vehicle[before])
    together = follows & ~moved & (chain.start == chain.start[before])
    twice = together & (chain.position == chain.position[before])
    _say(mounts, chain, twice, Found.MOUNTED_TWICE, None, found, doubt=True)
    two_places = was_on & ~is_off & together & ~twice
    places: list[Values] = [
        {"first": POSITIONS[a], "second": POSITIONS[b]}
        for a, b in zip(chain.position[before][two_places], chain.position[two_places], strict=True)
    ]
    _say(mounts, chain, two_places, Found.TWO_PLACES, places, found, ask=Ask.AT_ONCE)
    still = was_on & ~is_off & moved
    places = [
        {"place": POSITIONS[p], "vehicle_id": vehicles[v]}
        for p, v in zip(chain.position[before][still], chain.vehicle[before][still], strict=True)
    ]
    _say(mounts, chain, still, Found.TWO_PLACES, places, found)
    not_there = is_off & ~twice & (~was_on | moved)
    _say(mounts, chain, not_there, Found.OFF_WHERE_NOT, None, found, doubt=True)
    _check_positions(mounts, chain, vehicles, tires, found)


def _check_positions(
    mounts: Parsed, chain: Chain, vehicles: NDArray[np.object_], tires: NDArray[np.object_], found: Findings
) -> None:
    on = np.flatnonzero((chain.position != _OFF) & (chain.end > chain.start))
    place = chain.vehicle[on] * len(POSITIONS) + chain.position[on]
    order = np.lexsort((chain.start[on], place))
    on, place = on[order], place[order]
    start, end, tire = chain.start[on], chain.end[on], chain.tire[on]
    # Days decide: the records of one day's work may carry odometers a little apart.
    latest = pd.Series(end // DAY).groupby(place).cummax().to_numpy() if len(on) else end
    clash = np.zeros(len(on), dtype=bool)
    clash[1:] = (place[1:] == place[:-1]) & (start[1:] // DAY < latest[:-1])
    holder = np.zeros(len(on), dtype=np.intp)
    for i in np.flatnonzero(clash):
        j = i - 1
        while end[j] // DAY < latest[i - 1]:
            j -= 1
        holder[i] = j
        clash[i] = tire[i] != tire[j]
    hits = np.flatnonzero(clash)
    said: list[Values] = [
        {
            "place": POSITIONS[chain.position[on[j]]],
            "vehicle_id": vehicles[chain.vehicle[on[j]]],
            "tire_id": tires[tire[j]],
            "day": _date(start[j]),
        }
        for j in holder[hits]
    ]
    where = np.zeros(len(chain.tire), dtype=bool)
    where[on[hits]] = True
    by_record = np.argsort(on[hits], kind="stable")
    held = [said[i] for i in by_record]
    _say(mounts, chain, where, Found.PLACE_HELD, held, found)


def _date(moment: np.int64) -> str:
    return str(np.datetime64(int(moment // DAY), "D"))


def _say(
    mounts: Parsed,
    chain: Chain,
    where: NDArray[np.bool_],
    code: Found,
    said: list[Values] | None,
    found: Findings,
    *,
    ask: Ask | None = None,
    doubt: bool = False,
) -> None:
    records = chain.record[where]
    values = mounts.written("tire_id", records)
    found.add(mounts.file, mounts.rows[records], "tire_id", values, code, said, ask, doubt=doubt)


def tire_at(
    chain: Chain,
    vehicle: NDArray[np.intp],
    position: NDArray[np.intp],
    moment: NDArray[np.int64],
    *,
    as_found: bool = False,
) -> NDArray[np.intp]:
    """Which entry of the chain was at a place at a moment; -1 if none was.

    Parameters
    ----------
    chain : Chain
    vehicle, position, moment : ndarray, shape (n,)
    as_found : bool
        On a day of mounts: the tire that was there in the morning, if there was one, and not the one that
        the odometer says. A log does not say whether tires were read before they were moved or after.
    """
    on = np.flatnonzero(chain.position != _OFF)
    if not len(on) or not len(moment):
        return np.full(len(vehicle), -1)
    place_on = chain.vehicle[on] * len(POSITIONS) + chain.position[on]
    order = np.lexsort((chain.end[on], chain.start[on], place_on))
    on, place_on = on[order], place_on[order]
    place = vehicle * len(POSITIONS) + position
    base = min(chain.start.min(), moment.min()) - DAY
    span = 2 * DAY + max(chain.start.max(), moment.max()) - base
    if (max(place_on.max(), place.max()) + 1) * float(span) > 9e18:
        raise OverflowError
    keys = place_on * span + (chain.start[on] - base)
    when = moment // DAY * DAY - 1 if as_found else moment
    at = np.searchsorted(keys, place * span + (when - base), side="right") - 1
    here = (at >= 0) & (place_on[at] == place) & (chain.end[on][at] // DAY >= moment // DAY)
    if as_found:
        return np.where(here, on[at], tire_at(chain, vehicle, position, moment))
    after = np.minimum(at + 1, len(on) - 1)
    soon = ~here & (place_on[after] == place) & (chain.start[on][after] // DAY == moment // DAY)
    return np.where(here, on[at], np.where(soon, on[after], -1))

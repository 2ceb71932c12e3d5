"""Odometers of a vehicle: each reading as typed, in the other unit of distance, or with a digit off."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.road import ANY_KM, Points, Road, road_of
from tirelife.units import convert

__all__ = ["judge_odometers", "judge_tables"]

_ASKED: Final = float(np.log(100.0))
_UNIT, _DIGIT = float(np.log(1 / 50)), float(np.log(1 / 100))
"""Log prior of an odometer in the other unit, and of one with a digit off; our assumptions."""
_SAME_KM: Final = 5.0
"""Readings of one day as close as this are one reading, written down twice [km]; our assumption."""
_CLEARLY = float(np.log(0.5))
"""A named slip is half as likely as one without a name at least."""
_ROUNDS = 4
_TABLE_LEAST, _TABLE_APART = 4, 0.04
"""Readings of a table held against the other tables, and how far their ratio may be off; our assumptions."""


def judge_odometers(
    points: Points, unit: str, ids: NDArray[np.object_], sure: NDArray[np.bool_] | None = None
) -> dict[int, Note]:
    """Readings that are likelier with a slip than as typed, by 100 to 1 or more.

    Parameters
    ----------
    points : Points
    unit : str
        Of the columns, ``mi`` or ``km``.
    ids : ndarray of str
        Vehicles by number.
    sure : ndarray of bool, shape (points,), optional
        Readings that were asked about and stand: not asked about again, and the others are held against them.

    Returns
    -------
    dict of int to Note
        By index of the point: ``slip-odometer-unit`` (unit), ``slip-odometer-digit`` (meant, in the unit) or
        ``slip-cars-swapped`` (vehicle_id).

    Notes
    -----
    A reading is held against the stretches before and after it. A wrong one makes one too long and the other
    too short; a holiday makes one too long and leaves the other, so that it takes two to look like a slip.
    """
    out: dict[int, Note] = {}
    left = _once(points)
    stands = np.zeros(len(points.km), dtype=bool)
    if sure is not None and len(left):
        stands[left] = np.logical_or.reduceat(sure, left)
    for _ in range(_ROUNDS):
        part = points.keep(left)
        road = road_of(part)
        likeliest = np.max([road.log_density(at) for at in road.said()], axis=0, initial=-np.inf)
        odd = np.flatnonzero((likeliest - road.log_density(part.km) > _ASKED - _UNIT) & ~stands[left])
        found = {
            int(part.vehicle[i]): (odds, int(left[i]), note)
            for i, odds, note in _exchanged(part, road, odd, ids)
        }
        for i in odd:
            odds, note = _likelier(float(part.km[i]), road.at(int(i)), unit)
            vehicle = int(part.vehicle[i])
            if note is not None and odds > max(_ASKED, found.get(vehicle, (0.0,))[0]):
                found[vehicle] = (odds, int(left[i]), note)
        if not found:
            break
        gone = {index: note for _, index, note in found.values()}
        out |= gone
        left = left[~np.isin(left, list(gone))]
    return {same: note for index, note in out.items() for same in _with(points, index)}


def _once(points: Points) -> NDArray[np.intp]:
    """Points without those of one day that are another again."""
    again = np.zeros(len(points.km), dtype=bool)
    again[1:] = (np.diff(points.vehicle) == 0) & (np.diff(points.day) == 0) & (np.diff(points.km) <= _SAME_KM)
    return np.flatnonzero(~again)


def _with(points: Points, index: int) -> list[int]:
    """A point and those that are the same again."""
    out = [index]
    for k in range(index + 1, len(points.km)):
        same = points.vehicle[k] == points.vehicle[index] and points.day[k] == points.day[index]
        if not same or points.km[k] - points.km[k - 1] > _SAME_KM:
            break
        out.append(k)
    return out


def _exchanged(
    points: Points, road: Road, odd: NDArray[np.intp], ids: NDArray[np.object_]
) -> list[tuple[int, float, Note]]:
    """Readings of two vehicles on one day that fit each other's vehicle: index, log odds and note of each."""
    out = []
    by_day: dict[float, list[int]] = {}
    for i in odd:
        by_day.setdefault(float(points.day[i]), []).append(int(i))

    def density(i: int, j: int) -> float:
        return float(road.at(i).log_density(points.km[j : j + 1])[0])

    for same in by_day.values():
        for a, i in enumerate(same):
            for j in same[a + 1 :]:
                if points.vehicle[i] == points.vehicle[j]:
                    continue
                odds = density(i, j) + density(j, i) + _UNIT - density(i, i) - density(j, j)
                if odds <= _ASKED:
                    continue
                for one, other in ((i, j), (j, i)):
                    told = (
                        ("odds", float(np.exp(min(odds, 50.0)))),
                        ("vehicle_id", str(ids[points.vehicle[other]])),
                    )
                    out.append((one, odds, Note(Slip.CARS_SWAPPED, Severity.DOUBT, told)))
    return out


def _likelier(km: float, road: Road, unit: str) -> tuple[float, Note | None]:
    sd = float(road.spread()[0])
    if not np.isfinite(sd):
        return 0.0, None

    def density(value: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return road.log_density(np.atleast_1d(np.asarray(value, dtype=float)))

    typed = float(density(km)[0])
    other = "mi" if unit == "km" else "km"
    factor = float(convert(1.0, other, "km")) / float(convert(1.0, unit, "km"))
    as_other = float(density(km * factor)[0]) + np.log(factor) + _UNIT - typed
    shares = _words(round(float(convert(km, "km", unit))))
    words = list(shares)
    inside = np.array([float(convert(float(word), unit, "km")) for word in words])
    each = density(inside) + _DIGIT + np.log(list(shares.values())) - typed
    as_digit = float(np.logaddexp.reduce(each)) if words else -np.inf
    peak = float(np.max([density(at) for at in road.said()[:, 0]]))
    anything = peak + _DIGIT + np.log(sd * np.sqrt(2 * np.pi) / ANY_KM) - typed
    if max(as_other, as_digit) < anything + _CLEARLY:
        return 0.0, None
    if as_other >= as_digit:
        told: tuple[tuple[str, object], ...] = (
            ("odds", float(np.exp(min(as_other, 50.0)))),
            ("meant", round(float(convert(km * factor, "km", unit)))),
            ("column_unit", unit),
            ("unit", other),
        )
        return as_other, Note(Slip.ODOMETER_UNIT, Severity.DOUBT, told)
    best = words[int(np.argmax(each))]
    told = (("odds", float(np.exp(min(as_digit, 50.0)))), ("meant", best), ("unit", unit))
    return as_digit, Note(Slip.ODOMETER_DIGIT, Severity.DOUBT, told)


def _words(value: int) -> dict[int, float]:
    """Numbers that one slip of a finger makes this one of, and the share of slips that make it."""
    word = str(value)
    here = range(len(word))
    made = {
        "digit off": (0.7, [word[:i] + digit + word[i + 1 :] for i in here for digit in "0123456789"]),
        "two exchanged": (0.1, [word[:i] + word[i + 1] + word[i] + word[i + 2 :] for i in here[:-1]]),
        "one lost": (0.1, [word[:i] + d + word[i:] for i in range(len(word) + 1) for d in "0123456789"]),
        "one too many": (0.1, [word[:i] + word[i + 1 :] for i in here]),
    }
    out: dict[int, float] = {}
    for share, words in made.values():
        good = {int(one) for one in words if one and one[0] != "0"} - {value}
        for one in good:
            out[one] = out.get(one, 0.0) + share / len(good)
    return out


def judge_tables(points: Points, table: NDArray[np.intp], unit: str) -> dict[int, Note]:
    """Tables whose odometers are all in the other unit, by those of the other tables.

    Returns
    -------
    dict of int to Note
        By number of the table.
    """
    out: dict[int, Note] = {}
    tables = np.unique(table)
    for one in tables if len(tables) > 1 else ():
        mine, rest = points.keep(table == one), points.keep(table != one)
        span = 1.0 + max(points.day.max() - points.day.min(), 1.0)
        base = points.day.min()

        def key(p: Points, base: float = base, span: float = span) -> NDArray[np.float64]:
            return np.asarray(p.vehicle * span + (p.day - base))

        after = np.searchsorted(key(rest), key(mine))
        before = np.minimum(np.maximum(after - 1, 0), len(rest.km) - 1)
        after = np.minimum(after, len(rest.km) - 1)
        held = (rest.vehicle[before] == mine.vehicle) & (rest.vehicle[after] == mine.vehicle)
        wide = rest.day[after] - rest.day[before]
        share = np.where(wide > 0, (mine.day - rest.day[before]) / np.where(wide > 0, wide, 1.0), 0.0)
        usual = rest.km[before] + share * (rest.km[after] - rest.km[before])
        held &= (usual > 0) & (mine.km > 0)
        if held.sum() < _TABLE_LEAST:
            continue
        ratio = np.log(usual[held] / mine.km[held])
        for other in ("mi", "km"):
            factor = np.log(float(convert(1.0, other, "km")) / float(convert(1.0, unit, "km")))
            if other != unit and np.quantile(np.abs(ratio - factor), 0.75) < _TABLE_APART:
                out[int(one)] = Note(Slip.TABLE_DISTANCE, Severity.DOUBT, (("unit", other),))
    return out

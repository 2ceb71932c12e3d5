"""Odometers of a vehicle: each reading as typed, in the other unit of distance, or with a digit off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.units import convert

__all__ = ["Points", "expected_km", "judge_odometers", "judge_tables"]

_ASKED: Final = float(np.log(100.0))
_UNIT, _DIGIT = float(np.log(1 / 50)), float(np.log(1 / 100))
"""Log prior of an odometer in the other unit, and of one with a digit off; our assumptions."""
_TAIL, _WIDE = 1 / 200, 5.0
"""Share of readings off by so many times the usual; our assumption."""
_PACE_SD, _ERROR_KM, _USUAL_KM = 0.4, 40.0, 40.0
"""Log sd of a stretch's pace about the vehicle's own, error of a reading [km], and a usual day [km]; ours."""
_ANY_KM, _CLEARLY = 300_000.0, float(np.log(0.5))
"""A slip without a name leaves any number up to so many [km]; a named one is half as likely at least."""
_ODD = 3.0
_ROUNDS = 4
_TABLE_LEAST, _TABLE_APART = 4, 0.04
"""Readings of a table held against the other tables, and how far their ratio may be off; our assumptions."""


@dataclass(frozen=True)
class Points:
    """Distinct odometer readings in order of vehicle, day and distance: arrays of shape (points,)."""

    vehicle: NDArray[np.intp]
    day: NDArray[np.float64]
    km: NDArray[np.float64]

    def keep(self, where: NDArray[np.bool_]) -> Points:
        """Some of the points."""
        return Points(self.vehicle[where], self.day[where], self.km[where])


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
    A reading is held against the median of what the two before and the two after it say, at the vehicle's own
    pace, so that one slip beside it does not make it odd.
    """
    out: dict[int, Note] = {}
    left = np.arange(len(points.km))
    for _ in range(_ROUNDS):
        part = Points(points.vehicle[left], points.day[left], points.km[left])
        expected, sd = expected_km(part)
        far = np.abs(part.km - expected) > _ODD * sd
        odd = np.flatnonzero(far if sure is None else far & ~sure[left])
        found = {
            int(part.vehicle[i]): (odds, int(left[i]), note)
            for i, odds, note in _exchanged(part, expected, sd, odd, ids)
        }
        for i in odd:
            odds, note = _likelier(float(part.km[i]), float(expected[i]), float(sd[i]), unit)
            vehicle = int(part.vehicle[i])
            if note is not None and odds > max(_ASKED, found.get(vehicle, (0.0,))[0]):
                found[vehicle] = (odds, int(left[i]), note)
        if not found:
            break
        gone = {index: note for _, index, note in found.values()}
        out |= gone
        left = left[~np.isin(left, list(gone))]
    return out


def _exchanged(
    points: Points,
    expected: NDArray[np.float64],
    sd: NDArray[np.float64],
    odd: NDArray[np.intp],
    ids: NDArray[np.object_],
) -> list[tuple[int, float, Note]]:
    """Readings of two vehicles on one day that fit each other's vehicle: index, log odds and note of each."""
    out = []
    by_day: dict[float, list[int]] = {}
    for i in odd:
        by_day.setdefault(float(points.day[i]), []).append(int(i))
    for same in by_day.values():
        for a, i in enumerate(same):
            for j in same[a + 1 :]:
                if points.vehicle[i] == points.vehicle[j]:
                    continue
                gaps = (points.km[j] - expected[i]) / sd[i], (points.km[i] - expected[j]) / sd[j]
                was = (points.km[i] - expected[i]) / sd[i], (points.km[j] - expected[j]) / sd[j]
                typed = sum(
                    float(np.logaddexp(-0.5 * z**2, -0.5 * (z / _WIDE) ** 2 - np.log(_WIDE) + np.log(_TAIL)))
                    for z in was
                )
                odds = -0.5 * float(gaps[0] ** 2 + gaps[1] ** 2) + _UNIT - typed
                if odds <= _ASKED:
                    continue
                for one, other in ((i, j), (j, i)):
                    told = (
                        ("odds", float(np.exp(min(odds, 50.0)))),
                        ("vehicle_id", str(ids[points.vehicle[other]])),
                    )
                    out.append((one, odds, Note(Slip.CARS_SWAPPED, Severity.DOUBT, told)))
    return out


def expected_km(points: Points) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What each reading should be by its neighbours, and the standard deviation of that [km]."""
    n = len(points.km)
    vehicle, day, km = points.vehicle, points.day, points.km

    def beside(k: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        at = np.arange(n) + k
        inside = (at >= 0) & (at < n)
        at = np.where(inside, at, 0)
        ok = inside & (vehicle[at] == vehicle)
        return np.where(ok, day[at], np.nan), np.where(ok, km[at], np.nan)

    (d1, p1), (d2, p2), (e1, q1), (e2, q2) = (beside(k) for k in (-1, -2, 1, 2))
    with np.errstate(invalid="ignore", divide="ignore"):
        step = np.where(e1 > day, (q1 - km) / (e1 - day), np.nan)
        step = np.where(step > 0, step, np.nan)
        pace = _median_of(step, vehicle)

        def between(
            da: NDArray[np.float64], a: NDArray[np.float64], db: NDArray[np.float64], b: NDArray[np.float64]
        ) -> NDArray[np.float64]:
            share = np.where(db > da, (day - da) / (db - da), 0.5)
            return np.asarray(np.where(b >= a, a + share * (b - a), np.nan))

        said = np.array(
            [
                between(d1, p1, e1, q1), between(d2, p2, e2, q2), between(d1, p1, e2, q2),
                between(d2, p2, e1, q1), p1 + pace * (day - d1), q1 - pace * (e1 - day),
                p2 + pace * (day - d2), q2 - pace * (e2 - day),
            ]
        )  # fmt: skip
        near = np.fmin(day - d1, e1 - day)
    none = np.isnan(said).all(axis=0)
    expected = np.full(n, np.nan)
    expected[~none] = np.nanmedian(said[:, ~none], axis=0)
    sd = _ERROR_KM + _PACE_SD * pace * np.maximum(np.where(np.isnan(near), np.inf, near), 1.0)
    return expected, sd


def _median_of(value: NDArray[np.float64], vehicle: NDArray[np.intp]) -> NDArray[np.float64]:
    """Median by vehicle, spread over its points; the log's own, then a usual day, where there is none."""
    held = np.isfinite(value)
    rest = float(np.median(value[held])) if held.any() else _USUAL_KM
    out = np.full(int(vehicle.max(initial=-1)) + 1, rest)
    order = np.lexsort((value[held], vehicle[held]))
    who, sizes = np.unique(vehicle[held], return_counts=True)
    start = np.cumsum(sizes) - sizes
    sorted_values = value[held][order]
    out[who] = (sorted_values[start + (sizes - 1) // 2] + sorted_values[start + sizes // 2]) / 2
    return np.asarray(out[vehicle])


def _likelier(km: float, expected: float, sd: float, unit: str) -> tuple[float, Note | None]:
    if not np.isfinite(expected):
        return 0.0, None

    def normal(value: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.asarray(-0.5 * ((np.asarray(value) - expected) / sd) ** 2)

    plain = float(normal(km))
    typed = float(np.logaddexp(plain + np.log1p(-_TAIL), plain / _WIDE**2 - np.log(_WIDE) + np.log(_TAIL)))
    other = "mi" if unit == "km" else "km"
    factor = float(convert(1.0, other, "km")) / float(convert(1.0, unit, "km"))
    as_other = float(normal(km * factor)) + np.log(factor) + _UNIT - typed
    shares = _words(round(float(convert(km, "km", unit))))
    words = list(shares)
    inside = np.array([float(convert(float(word), unit, "km")) for word in words])
    each = normal(inside) + _DIGIT + np.log(list(shares.values())) - typed
    as_digit = float(np.logaddexp.reduce(each)) if words else -np.inf
    anything = _DIGIT + np.log(sd * np.sqrt(2 * np.pi) / _ANY_KM) - typed
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

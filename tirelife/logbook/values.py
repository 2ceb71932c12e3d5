"""Turn the texts of a column into values, once a distinct word, and say which words are none."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.number import GROUPED, points_are_decimal, read_number
from tirelife.logbook.schema import Column
from tirelife.units import INSIDE, KINDS, convert

__all__ = [
    "Fault",
    "Faults",
    "choices",
    "dates",
    "dates_to_days",
    "numbers",
    "range_faults",
    "uses_decimal_comma",
]

_COMMA = re.compile(r"[+-]?\d*,\d+")
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})([T ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?(Z|[+-]\d{2}:?\d{2})?)?")
_CLOCK = re.compile(
    r"((?:[01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d+)?|:60(\.0+)?)?|24:00(:00(\.0+)?)?)"
    r"(Z|[+-](?:0\d|1[0-4]):?[0-5]\d)?"
)
"""Times of day of ISO 8601: midnight at the end of a day and leap seconds too, and zones as they are used."""
_YEAR_FIRST = re.compile(
    r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})|(\d{4})-(\d{1,2})-(\d{1,2})|(\d{4})(\d{2})(\d{2})"
)
_YEAR_LAST = re.compile(r"(\d{1,2})[/.\- ](\d{1,2})[/.\- ](\d{4}|\d{2})")
_SYNONYMS = {
    "fl": "LF", "fr": "RF", "rl": "LR", "rr": "RR",
    "left front": "LF", "right front": "RF", "left rear": "LR", "right rear": "RR",
    "front left": "LF", "front right": "RF", "rear left": "LR", "rear right": "RR",
    "spare": "SP", "removed": "OFF", "centre": "center", "middle": "center", "inside": "inner",
    "outside": "outer", "fwd": "front", "rwd": "rear", "awd": "all", "4wd": "all", "warm": "city",
}  # fmt: skip


class Fault(NamedTuple):
    """Index of a word, what is wrong with it, and what to do where that differs for one code."""

    at: int
    code: Found
    ask: Ask | None = None
    values: tuple[tuple[str, object], ...] = ()


@dataclass
class Faults:
    """What is wrong, or doubtful, with some of a column's distinct words."""

    errors: list[Fault]
    doubts: list[Fault]


def uses_decimal_comma(words: NDArray[np.object_]) -> bool:
    """Whether a column clearly writes decimals with a comma: 7,5 but not 45,230."""
    return any(_COMMA.fullmatch(w.strip()) and not GROUPED.fullmatch(w.strip()) for w in words if "," in w)


def numbers(
    words: NDArray[np.object_],
    decimal_comma: bool,
    column: Column | None = None,
    unit: str | None = None,
    *,
    typed: bool = False,
) -> tuple[NDArray[np.float64], Faults]:
    """Read distinct words as numbers, by the grammar of :func:`~tirelife.logbook.number.read_number`.

    Parameters
    ----------
    words : ndarray of str, shape (n,)
    decimal_comma : bool
        The table uses decimal commas, so a point may part thousands.
    column : Column, optional
        Its range leaves out a meaning that cannot be; a lone point in a distance is asked about.
    unit : str, optional
        Of the words.
    typed : bool
        They were written by a program from numbers, so a point is a decimal point.

    Returns
    -------
    values : ndarray, shape (n,)
        NaN for a blank and for what is no number.
    faults : Faults
    """
    stripped = np.array([word.strip() for word in words], dtype=object)
    values = np.array(pd.to_numeric(pd.Series(stripped, dtype=object), errors="coerce"), dtype=float)
    faults = Faults([], [])
    odd = ~np.isfinite(values)
    points = not typed and (decimal_comma or (column is not None and column.kind == "distance"))
    ask_points = points and not points_are_decimal(stripped)
    if ask_points:
        odd |= np.array([bool(GROUPED.fullmatch(w)) for w in stripped], dtype=bool)
    low, high = _typed_range(column, unit)
    for i in np.flatnonzero(odd):
        if not stripped[i]:
            continue
        number = read_number(
            stripped[i], decimal_comma=decimal_comma and not typed, ask_points=ask_points, low=low, high=high
        )
        values[i] = number.value
        if number.code is not None:
            told = Fault(int(i), number.code, number.ask, number.values)
            (faults.errors if np.isnan(number.value) else faults.doubts).append(told)
    return values, faults


def _typed_range(column: Column | None, unit: str | None) -> tuple[float, float]:
    """Range of a column in the unit of its words."""
    if column is None:
        return -np.inf, np.inf
    limits = (column.low, -np.inf), (column.high, np.inf)
    low, high = (free if limit is None else float(limit) for limit, free in limits)
    if unit is None or column.kind not in INSIDE:
        return low, high
    return float(convert(low, INSIDE[column.kind], unit)), float(convert(high, INSIDE[column.kind], unit))


def dates(words: NDArray[np.object_]) -> tuple[NDArray[np.datetime64], Faults]:
    """Read distinct words as ISO 8601 dates; anything else is asked about, never guessed."""
    values = np.full(len(words), np.datetime64("NaT", "D"))
    faults = Faults([], [])
    for i, word in enumerate(words):
        text = word.strip()
        if not text:
            continue
        match = _ISO.fullmatch(text)
        if match:
            day = _day(match[1], match[2], match[3])
            if day is None:
                faults.errors.append(Fault(i, Found.NO_SUCH_DAY))
            elif day.year < 1900:
                faults.errors.append(Fault(i, Found.TOO_LONG_AGO))
            else:
                values[i] = np.datetime64(day, "D")
                if match[4] and not _CLOCK.fullmatch(match[4][1:]):
                    faults.doubts.append(Fault(i, Found.NO_CLOCK, values=(("meant", str(day)),)))
            continue
        faults.errors.append(_no_date(i, text))
    return values, faults


def _no_date(at: int, text: str) -> Fault:
    def write(day: dt.date | None) -> Fault:
        return Fault(at, Found.NOT_A_DATE, Ask.WRITE_IT, (("meant", str(day)),))

    match = _YEAR_FIRST.fullmatch(text)
    if match:
        day = _day(*[part for part in match.groups() if part is not None][:3])
        if day is not None:
            return write(day)
    match = _YEAR_LAST.fullmatch(text)
    if match:
        first, second, year = match.groups()
        year = year if len(year) == 4 else f"20{year}"
        day_first, month_first = _day(year, second, first), _day(year, first, second)
        if day_first and month_first and day_first != month_first:
            both = (("first", str(day_first)), ("second", str(month_first)))
            return Fault(at, Found.NOT_A_DATE, Ask.DAY_OR_MONTH, both)
        if day_first or month_first:
            return write(day_first or month_first)
    if re.fullmatch(r"\d{5}(\.\d*)?", text):
        # Spreadsheets count days from 1899-12-30.
        day = dt.date(1899, 12, 30) + dt.timedelta(days=int(text[:5]))
        return Fault(at, Found.NOT_A_DATE, Ask.DAY_NUMBER, (("meant", str(day)),))
    return Fault(at, Found.NOT_A_DATE)


def _day(year: str, month: str, day: str) -> dt.date | None:
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        return None


def dates_to_days(values: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Days since 1970-01-01; a missing date is a very large negative number."""
    return values.astype("datetime64[D]").astype(np.int64)


def choices(words: NDArray[np.object_], allowed: tuple[str, ...]) -> tuple[NDArray[np.object_], Faults]:
    """Read distinct words as one of a few; another case is accepted, anything else is an error."""
    values = np.array([word.strip() for word in words], dtype=object)
    faults = Faults([], [])
    exact, folded = set(allowed), {choice.lower(): choice for choice in allowed}
    for i, word in enumerate(values):
        if not word or word in exact:
            continue
        if word.lower() in folded:
            values[i] = folded[word.lower()]
            faults.doubts.append(Fault(i, Found.OTHER_CASE, values=(("meant", str(values[i])),)))
            continue
        meant = _SYNONYMS.get(word.lower().replace("_", " ").replace("-", " "), "")
        told = (("choices", allowed), ("meant", meant))
        faults.errors.append(Fault(i, Found.NOT_A_CHOICE, Ask.WRITE_IT if meant in exact else None, told))
    return values, faults


def range_faults(values: NDArray[np.float64], column: Column, unit: str | None) -> Faults:
    """Which values lie outside the column's range, and whether another unit would explain them.

    Parameters
    ----------
    values : ndarray, shape (n,)
        In inside units; NaN is let pass.
    column : Column
    unit : str or None
        The unit of the column in the file.
    """
    faults = Faults([], [])
    with np.errstate(invalid="ignore"):
        low = -np.inf if column.low is None else column.low
        high = np.inf if column.high is None else column.high
        bad = (values < low - 1e-9) | (values > high + 1e-9)
        doubt_low = -np.inf if column.doubt_low is None else column.doubt_low
        doubt_high = np.inf if column.doubt_high is None else column.doubt_high
        odd = ~bad & ((values < doubt_low - 1e-9) | (values > doubt_high + 1e-9))
        if column.kind == "count":
            bad |= np.isfinite(values) & (values != np.round(values))
    for i in np.flatnonzero(bad):
        code, limits = Found.NOT_WHOLE, {}
        if values[i] < low or values[i] > high:
            code = Found.OUT_OF_RANGE
            limits = {"low": _shown(low, column, unit), "high": _shown(high, column, unit)}
        ask, told = _other_unit(values[i], column, unit)
        known = {"column_unit": unit or "", **limits, **told}
        faults.errors.append(Fault(int(i), code, ask, tuple(known.items())))
    for i in np.flatnonzero(odd):
        code = Found.UNUSUALLY_LOW if values[i] < doubt_low else Found.UNUSUALLY_HIGH
        ask, told = _other_unit(values[i], column, unit)
        faults.doubts.append(Fault(int(i), code, ask, tuple(told.items())))
    return faults


def _shown(value: float, column: Column, unit: str | None) -> str:
    return _few(convert(value, INSIDE[column.kind], unit) if unit else value, 4 if unit else 6)


def _few(value: float, digits: int = 4) -> str:
    """A number in few digits; a large one in all of them, and not with an exponent."""
    return f"{value:.{digits}g}" if abs(value) < 10**digits else f"{value:.0f}"


def _other_unit(value: float, column: Column, unit: str | None) -> tuple[Ask | None, dict[str, str]]:
    """Ask about a value that would be usual in another unit of its kind; nothing to ask otherwise."""
    if column.kind == "number" and column.low == 0 and column.high == 1 and 1 < value <= 100:
        return Ask.PERCENT, {"meant": f"{value / 100:.4g}", "typed": f"{value:g}"}
    if unit is None or column.kind not in ("depth", "pressure", "distance", "temperature", "mass"):
        return None, {}
    typed = convert(value, INSIDE[column.kind], unit)
    low = column.doubt_low if column.doubt_low is not None else column.low
    high = column.doubt_high if column.doubt_high is not None else column.high
    for other in KINDS[column.kind]:
        inside = convert(typed, other, INSIDE[column.kind])
        usual = (low is None or inside >= low) and (high is None or inside <= high) and inside > 0
        if other not in (unit, "in") and usual:
            told = {"unit": other, "typed": _few(typed, 6), "meant": _few(convert(typed, other, unit))}
            return Ask.TYPED_UNIT, {**told, "column_unit": unit}
    return None, {}

"""Numbers into sentences: ranges as people say them, no finer than is known, and never a promise."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

from tirelife.errors import InputError
from tirelife.units import LABELS, SHOWN, convert

__all__ = [
    "DATE_ORDERS",
    "date_range",
    "depth",
    "difference",
    "distance",
    "distance_range",
    "full_date",
    "in_order",
    "joined",
    "lead",
    "span_of_time",
    "window_sentence",
]

MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip
DATE_ORDERS: Final = ("mdy", "dmy", "ymd")
"""Orders of day, month and year that a reader may be used to."""
STEPS: Final = (10, 50, 100, 500, 1000, 5000, 10000)
"""Steps that a distance is rounded to."""


def full_date(date: pd.Timestamp, order: str = "mdy") -> str:
    """Write a day in the reader's order; the month is a word, so no order can be misread.

    Examples
    --------
    >>> full_date(pd.Timestamp("2026-03-14"), "dmy")
    '14 March 2026'
    >>> full_date(pd.Timestamp("2026-03-14"))
    'March 14, 2026'
    """
    if order not in DATE_ORDERS:
        raise InputError(f"unknown date order {order!r}: use {', '.join(DATE_ORDERS)}")
    month = MONTHS[date.month - 1]
    return {
        "mdy": f"{month} {date.day}, {date.year}",
        "dmy": f"{date.day} {month} {date.year}",
        "ymd": f"{date.year} {month} {date.day}",
    }[order]


def month_year(date: pd.Timestamp) -> str:
    """Say a month.

    Examples
    --------
    >>> month_year(pd.Timestamp("2027-03-25"))
    'Mar 2027'
    """
    return f"{MONTHS[date.month - 1][:3]} {date.year}"


def _named(date: pd.Timestamp, grain: str, with_year: bool) -> str:
    year = f" {date.year}" if with_year else ""
    if grain == "part":
        part = "early" if date.day <= 10 else "mid" if date.day <= 20 else "late"
        return f"{part} {MONTHS[date.month - 1]}{year}"
    if grain == "month":
        return f"{MONTHS[date.month - 1]}{year}"
    third = "early" if date.month <= 4 else "mid" if date.month <= 8 else "late"
    return f"{third} {date.year}"


def _grain(low: pd.Timestamp, high: pd.Timestamp) -> str:
    # A third of a month under 8 months, a month under 2 years, else a third of a year.
    days = (high - low).days
    return "part" if days < 245 else "month" if days < 730 else "third"


def date_range(low: pd.Timestamp, high: pd.Timestamp) -> str:
    """Say a range of dates.

    Parameters
    ----------
    low, high : Timestamp
        The ends of the range.

    Notes
    -----
    The words get coarser as the range gets wider. Where the ends would be the same words, one is said.

    Examples
    --------
    >>> date_range(pd.Timestamp("2027-03-25"), pd.Timestamp("2027-06-14"))
    'late March to mid June 2027'
    >>> date_range(pd.Timestamp("2027-03-25"), pd.Timestamp("2028-06-14"))
    'March 2027 to June 2028'
    >>> date_range(pd.Timestamp("2027-03-25"), pd.Timestamp("2031-10-14"))
    'early 2027 to late 2031'
    """
    if pd.isna(low) or pd.isna(high):
        return "not known"
    grain = _grain(low, high)
    one_year = low.year == high.year
    first, second = _named(low, grain, not one_year or grain == "third"), _named(high, grain, True)
    if _named(low, grain, True) == second:
        return second
    return f"{first} to {second}"


def window_sentence(
    low: pd.Timestamp, high: pd.Timestamp, as_of: pd.Timestamp, *, subject: str = "They"
) -> str:
    """Say when to plan for new tires.

    Parameters
    ----------
    low, high : Timestamp
        An 80 % range of the date.
    as_of : Timestamp
        Today, as the reader knows it.
    subject : str
        Who reaches the depth: ``"They"``, ``"The left front"``.

    Examples
    --------
    >>> day = pd.Timestamp
    >>> window_sentence(day("2027-03-25"), day("2027-06-14"), day("2026-09-30"))
    'They will most likely need replacing between late March and mid June 2027.'
    >>> window_sentence(day("2026-10-02"), day("2026-11-20"), day("2026-09-30"))
    'They will most likely need replacing between now and mid November 2026.'
    """
    if pd.isna(low) or pd.isna(high):
        return f"{subject} cannot be given a date yet."
    if high <= as_of:
        return f"{subject} should be replaced now."
    said = date_range(low, high)
    if (low - as_of).days <= 14:
        end = _named(high, _grain(low, high), True)
        return f"{subject} will most likely need replacing between now and {end}."
    if " to " not in said:
        return f"{subject} will most likely need replacing around {said}."
    first, second = said.split(" to ")
    return f"{subject} will most likely need replacing between {first} and {second}."


def lead(
    dates: tuple[pd.Timestamp, pd.Timestamp],
    km: tuple[float, float],
    as_of: pd.Timestamp,
    first: str,
    units: str,
) -> str:
    """Say the answer in one breath.

    Parameters
    ----------
    dates : tuple of Timestamp
        80 % range of the date at which the first tire of the set is due.
    km : tuple of float
        The same as distance from now. [km]
    as_of : Timestamp
    first : str
        The tire that is most likely first, in words.
    units : str

    Examples
    --------
    >>> day = pd.Timestamp
    >>> window = day("2027-03-25"), day("2027-06-14")
    >>> said = lead(window, (9000, 14000), day("2026-09-30"), "Left front", "us")
    >>> said.split(". ")[0]
    'Plan for new tires between late March and mid June 2027, after 5,500 to 8,500 more miles'
    >>> said.split(". ")[1]
    'The left front tire will most likely be first.'
    """
    low, high = dates
    if pd.isna(low) or pd.isna(high):
        return "There is not enough to give you a date yet. Measure again in a month or two."
    if high <= as_of:
        return f"The {first.lower()} tire is due now. Plan for new tires before you drive far."
    when = window_sentence(low, high, as_of, subject="").split("replacing ")[1].rstrip(".")
    far = distance_range(*km, units).replace(f" {LABELS[SHOWN[units]['distance']]}", "")
    unit = LABELS[SHOWN[units]["distance"]]
    return (
        f"Plan for new tires {when}, after {far} more {unit}. "
        f"The {first.lower()} tire will most likely be first."
    )


def _step(spread: float) -> float:
    """Largest step that is no more than a fifth of the spread."""
    fine = [step for step in STEPS if step <= spread / 5]
    return fine[-1] if fine else STEPS[0]


def distance(km: float, units: str, spread_km: float | None = None) -> str:
    """Say a distance, rounded to a fifth of its spread at the most.

    Parameters
    ----------
    km : float
        Distance. [km]
    units : str
        ``"us"`` or ``"metric"``.
    spread_km : float, optional
        Width of its range; a quarter of the distance by default. [km]

    Examples
    --------
    >>> distance(17_812.4, "us", 6000)
    '11,000 miles'
    >>> distance(17_812.4, "metric", 900)
    '17,800 km'
    """
    unit = SHOWN[units]["distance"]
    if not np.isfinite(km):
        return "not known"
    spread = abs(km) / 4 if spread_km is None else spread_km
    step = _step(float(convert(spread, "km", unit)))
    return f"{_round(float(convert(km, 'km', unit)), step):,.0f} {LABELS[unit]}"


def distance_range(low_km: float, high_km: float, units: str) -> str:
    """Say a range of distances.

    Examples
    --------
    >>> distance_range(12_700, 21_300, "us")
    '8,000 to 13,000 miles'
    """
    unit = SHOWN[units]["distance"]
    if not (np.isfinite(low_km) and np.isfinite(high_km)):
        return "not known"
    low, high = (float(convert(v, "km", unit)) for v in (low_km, high_km))
    step = _step(high - low)
    first, second = (f"{_round(v, step):,.0f}" for v in (low, high))
    return f"{second} {LABELS[unit]}" if first == second else f"{first} to {second} {LABELS[unit]}"


def _round(value: float, step: float) -> float:
    return float(np.floor(value / step + 0.5) * step)


def span_of_time(days: float) -> str:
    """Say a length of time in the coarsest unit that still means something.

    Examples
    --------
    >>> span_of_time(9), span_of_time(24), span_of_time(100), span_of_time(800)
    ('about 1 week', 'about 3 weeks', 'about 3 months', 'about 2 years')
    """
    if not np.isfinite(days):
        return "not known"
    days = abs(days)
    if days < 4:
        return "a few days"
    for length, word in ((365.25, "year"), (30.4375, "month"), (7.0, "week")):
        if days >= length * (1.5 if word == "year" else 1.6 if word == "month" else 0.5):
            count = max(int(days / length + 0.5), 1)
            return f"about {count} {word}{'s' if count > 1 else ''}"
    return "a few days"


def difference(km: float, days: float, units: str) -> str:
    """Say what a change buys, or costs.

    Examples
    --------
    >>> difference(1450, 45, "us")
    '+900 miles, about 6 weeks'
    >>> difference(-1450, -45, "us")
    '−900 miles, about 6 weeks less'
    >>> difference(20, 1, "us")
    'little or nothing'
    """
    unit = SHOWN[units]["distance"]
    if not np.isfinite(km):
        return "not known"
    value = float(convert(abs(km), "km", unit))
    step = _step(max(value, 500.0))
    rounded = _round(value, step)
    if rounded < 50:
        return "little or nothing"
    sign = "+" if km > 0 else "−"
    time = f", {span_of_time(days)}" if np.isfinite(days) else ""
    return f"{sign}{rounded:,.0f} {LABELS[unit]}{time}" + (" less" if km < 0 and time else "")


def depth(mm: float, units: str) -> str:
    """Say a tread depth.

    Examples
    --------
    >>> depth(1.5875, "us"), depth(4.7625, "us"), depth(1.6, "metric")
    ('2/32 inch', '6/32 inch', '1.6 mm')
    """
    if not np.isfinite(mm):
        return "not known"
    if units == "us":
        return f"{float(convert(mm, 'mm', '32nds')):.1f}".removesuffix(".0") + "/32 inch"
    return f"{mm:.1f} mm"


def joined(words: Sequence[str], last: str = "and") -> str:
    """Join words as a sentence does.

    Examples
    --------
    >>> joined(["a", "b", "c"])
    'a, b and c'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def in_order(units: str) -> str:
    """Usual date order of readers with these units: month first with US units, day first otherwise.

    Examples
    --------
    >>> in_order("metric")
    'dmy'
    """
    return "mdy" if units == "us" else "dmy"

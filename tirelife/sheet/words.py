"""Numbers into sentences: ranges as people say them, no finer than is known, and never a promise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd

from tirelife.sheet.days import day_said
from tirelife.sheet.language import texts
from tirelife.sheet.quantities import depth, distance_step, half_up, label, written
from tirelife.units import SHOWN, convert

__all__ = [
    "date_range",
    "depth",
    "difference",
    "distance",
    "distance_range",
    "full_date",
    "joined",
    "span_of_time",
    "window",
]

SPANS: Final = ((365.25, 1.5 * 365.25, "year"), (30.4375, 1.6 * 30.4375, "month"), (7.0, 3.5, "week"))
"""Lengths of time in days: of one, and from which it is spoken of."""


def full_date(date: pd.Timestamp, order: str = "mdy", say: Mapping[str, str] | None = None) -> str:
    """Write a day in the reader's order; the month is a word, so no order can be misread.

    Examples
    --------
    >>> full_date(pd.Timestamp("2026-03-14"), "dmy")
    '14 March 2026'
    >>> full_date(pd.Timestamp("2026-03-14"))
    'March 14, 2026'
    """
    return day_said(date, order, say or texts())


def month_year(date: pd.Timestamp, say: Mapping[str, str] | None = None) -> str:
    """Say a month.

    Examples
    --------
    >>> month_year(pd.Timestamp("2027-03-25"))
    'Mar 2027'
    """
    return f"{(say or texts())[f'month-{date.month}'][:3]} {date.year}"


def _named(date: pd.Timestamp, grain: str, with_year: bool, say: Mapping[str, str]) -> str:
    part = date.day if grain == "part" else 2.5 * date.month
    third = "early" if part <= 10 else "mid" if part <= 20 else "late"
    pattern = say[f"date-{grain}" + ("-year" if with_year and grain != "third" else "")]
    return pattern.format(part=say[third], month=say[f"month-{date.month}"], year=date.year)


def _grain(low: pd.Timestamp, high: pd.Timestamp) -> str:
    # A third of a month under 8 months, a month under 2 years, else a third of a year.
    days = (high - low).days
    return "part" if days < 245 else "month" if days < 730 else "third"


def date_range(low: pd.Timestamp, high: pd.Timestamp, say: Mapping[str, str] | None = None) -> str:
    """Say a range of dates.

    Parameters
    ----------
    low, high : Timestamp
        The ends of the range.
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

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
    say = say or texts()
    ends = _ends(low, high, say)
    return ends[0] if len(ends) == 1 else say["range"].format(low=ends[0], high=ends[1])


def _ends(low: pd.Timestamp, high: pd.Timestamp, say: Mapping[str, str]) -> tuple[str, ...]:
    """Ends of a range in words; one where both are the same words, or nothing is known."""
    if pd.isna(low) or pd.isna(high):
        return (say["unknown"],)
    grain = _grain(low, high)
    second = _named(high, grain, True, say)
    if _named(low, grain, True, say) == second:
        return (second,)
    return _named(low, grain, low.year != high.year, say), second


def window(
    low: pd.Timestamp, high: pd.Timestamp, as_of: pd.Timestamp, say: Mapping[str, str] | None = None
) -> str:
    """Say when something is due, as a part of a sentence.

    Parameters
    ----------
    low, high : Timestamp
        An 80 % range of the date.
    as_of : Timestamp
        Today, as the reader knows it.
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

    Examples
    --------
    >>> day = pd.Timestamp
    >>> window(day("2027-03-25"), day("2027-06-14"), day("2026-09-30"))
    'between late March and mid June 2027'
    >>> window(day("2026-10-02"), day("2026-11-20"), day("2026-09-30"))
    'between now and mid November 2026'
    """
    say = say or texts()
    ends = _ends(low, high, say)
    if pd.notna(low) and pd.notna(high) and (low - as_of).days <= 14:
        return say["between-now"].format(high=_named(high, _grain(low, high), True, say))
    if len(ends) == 1:
        return say["around"].format(low=ends[0])
    return say["between"].format(low=ends[0], high=ends[1])


def distance(
    km: float, units: str, spread_km: float | None = None, say: Mapping[str, str] | None = None
) -> str:
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
    unit, say = SHOWN[units]["distance"], say or texts()
    if not np.isfinite(km):
        return say["unknown"]
    spread = abs(km) / 4 if spread_km is None else spread_km
    step = distance_step(float(convert(spread, "km", unit)))
    said = f"{half_up(float(convert(km, 'km', unit)), step):,.0f}"
    return f"{written(said, units, say)} {label(unit, say)}"


def distance_range(low_km: float, high_km: float, units: str, say: Mapping[str, str] | None = None) -> str:
    """Say a range of distances.

    Examples
    --------
    >>> distance_range(12_700, 21_300, "us")
    '8,000 to 13,000 miles'
    """
    unit = SHOWN[units]["distance"]
    say = say or texts()
    if not (np.isfinite(low_km) and np.isfinite(high_km)):
        return say["unknown"]
    low, high = (float(convert(v, "km", unit)) for v in (low_km, high_km))
    step = distance_step(high - low)
    first, second = (written(f"{half_up(v, step):,.0f}", units, say) for v in (low, high))
    said = second if first == second else say["range"].format(low=first, high=second)
    return f"{said} {label(unit, say)}"


def span_of_time(days: float, say: Mapping[str, str] | None = None) -> str:
    """Say a length of time in the coarsest unit that still means something.

    Examples
    --------
    >>> span_of_time(9), span_of_time(24), span_of_time(100), span_of_time(800)
    ('about 1 week', 'about 3 weeks', 'about 3 months', 'about 2 years')
    """
    say = say or texts()
    if not np.isfinite(days):
        return say["unknown"]
    days = abs(days)
    for length, least, unit in SPANS:
        if days >= 4 and days >= least:
            count = max(int(days / length + 0.5), 1)
            return say[f"about-{unit}-{'many' if count > 1 else 'one'}"].format(n=count)
    return say["days-few"]


def difference(km: float, days: float, units: str, say: Mapping[str, str] | None = None) -> str:
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
    say = say or texts()
    unit = SHOWN[units]["distance"]
    if not np.isfinite(km):
        return say["unknown"]
    value = float(convert(abs(km), "km", unit))
    step = distance_step(max(value, 500.0))
    rounded = half_up(value, step)
    if rounded < 50:
        return say["little"]
    far = f"{written(f'{rounded:,.0f}', units, say)} {label(unit, say)}"
    code = ("gain" if km > 0 else "loss") + ("-time" if np.isfinite(days) else "")
    return say[code].format(far=far, time=span_of_time(days, say))


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

"""When a tire was made, from its date code, and what is advised about its age."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import pandas as pd

from tirelife.errors import misused
from tirelife.tread.wrong import Wrong

__all__ = ["AgeAdvice", "DateCode", "age_advice", "read_date_code"]


class Aged(StrEnum):
    """What is said of a tire's age, and of its date code."""

    TEN_YEARS = "age-ten-years"
    """The most that several tire makers and European industry advise (from memory)."""
    SIX_YEARS = "age-six-years"
    """When several car makers advise replacement (from memory)."""
    OPEN_DECADE = "age-open-decade"


AGE_ADVICE: Final = ((10.0, Aged.TEN_YEARS), (6.0, Aged.SIX_YEARS))
"""Age in years from which each piece of advice is given. Advice, not law: the trade association holds that no
calendar limit can be set scientifically (Rubber Manufacturers Association, tire service life), and NHTSA
found no age rule needed (2014 summary)."""


_SIX_DAYS: Final = pd.Timedelta(days=6)


@dataclass(frozen=True)
class DateCode:
    """What a tire's date code says.

    Attributes
    ----------
    code : str
        The digits as read.
    week : int
        Week of the year, 1 to 53.
    years : tuple of int
        Years that it can mean, latest first: one for four digits, the open decades for three.
    made_from, made_to : Timestamp
        First day it can mean, and last.
    note : str
        What is left open, a code of :class:`Aged`, or an empty text.
    """

    code: str
    week: int
    years: tuple[int, ...]
    made_from: pd.Timestamp
    made_to: pd.Timestamp
    note: str


@dataclass(frozen=True)
class AgeAdvice:
    """Age of a tire on a day, as a range in years, and the advice for it, an :class:`Aged`; it is not law."""

    made: DateCode
    youngest_years: float
    oldest_years: float
    advice: str


def read_date_code(code: str) -> DateCode:
    """Read the date code moulded on a sidewall.

    Parameters
    ----------
    code : str
        The last four digits of the tire identification number, WWYY, used since 2000; or three digits,
        WWY, before that. The whole number may be given, with or without "DOT" and spaces.

    Raises
    ------
    InputError
        If there is no such code in it, or its week is 00 or above 53.

    Notes
    -----
    Week 1 is taken to begin on 1 January and the others every seven days after, so a day is good to a week.
    Three digits leave the decade open; we offer the 1990s and the 1980s.

    Examples
    --------
    >>> read_date_code("0712").week, read_date_code("0712").years
    (7, (2012,))
    >>> read_date_code("317").years
    (1997, 1987)
    """
    text = re.sub(r"[\s-]", "", str(code)).upper()
    found = re.fullmatch(r"(?:DOT[A-Z0-9]*?|[A-Z0-9]*[A-Z][A-Z0-9]*?)?(\d{4}|\d{3})", text)
    digits = found.group(1) if found else ""
    if not digits:
        raise misused(Wrong.DATE_CODE, text=code)
    week = int(digits[:2])
    if not 1 <= week <= 53:
        raise misused(Wrong.WEEK, text=code, week=digits[:2])
    if len(digits) == 4:
        years: tuple[int, ...] = (2000 + int(digits[2:]),)
        note = ""
    else:
        years = (1990 + int(digits[2]), 1980 + int(digits[2]))
        note = Aged.OPEN_DECADE.value
    return DateCode(digits, week, years, _begins(years[-1], week), _begins(years[0], week) + _SIX_DAYS, note)


def age_advice(code: str, on: str | pd.Timestamp) -> AgeAdvice:
    """Age of a tire on a day, and what is advised at that age.

    Raises
    ------
    InputError
        If the code cannot be read, or lies after the day.

    Examples
    --------
    >>> age_advice("2516", "2026-11-25").advice
    'age-ten-years'
    """
    made, day = read_date_code(code), pd.Timestamp(on)
    youngest = (day - made.made_to).days / 365.25
    if youngest < -7 / 365.25:
        raise misused(Wrong.CODE_AHEAD, text=code, week=made.week, year=made.years[0], day=f"{day:%Y-%m-%d}")
    advice = next((code.value for years, code in AGE_ADVICE if youngest >= years), "")
    oldest = (day - made.made_from).days / 365.25
    return AgeAdvice(made, max(youngest, 0.0), max(oldest, 0.0), advice)


def _begins(year: int, week: int) -> pd.Timestamp:
    return pd.Timestamp(year=year, month=1, day=1) + pd.Timedelta(days=7 * (week - 1))

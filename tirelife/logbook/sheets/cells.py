"""What one cell of a shop's sheet says: depths in any writing, odometers, pressures, dates."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from tirelife.logbook.number import GROUPED, read_number
from tirelife.logbook.sheets.words import folded, vocabulary, wheel_of

__all__ = [
    "DateText",
    "Depths",
    "amount",
    "date_text",
    "depths_of",
    "is_blank",
    "name_of",
    "named_depths",
    "plain_number",
    "section",
]

_VULGAR = {"¼": 0.25, "½": 0.5, "¾": 0.75, "⅛": 0.125, "⅜": 0.375, "⅝": 0.625, "⅞": 0.875}
_NUMBER = r"\d+(?:[.,]\d+)?|[.,]\d+"
_ONE = rf"(?:\d+\s+\d/\d|\d*\s*[{''.join(_VULGAR)}]|{_NUMBER})"
_UNIT = r"(?:/\s*32(?:\s*(?:nds?|ths?|in|inch|\"|''|”))?|32nds?|mm|mils?|\"|'')"
_PART = re.compile(rf"\s*({_ONE})\s*({_UNIT})?\s*\.?\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Depths:
    """Depths of a cell: wheels of an axle or one wheel, grooves of each; and the unit if it is written."""

    wheels: tuple[tuple[float, ...], ...]
    unit: str = ""


def is_blank(cell: Any) -> bool:
    """Whether a cell holds nothing, or one of the signs for nothing."""
    return cell is None or (isinstance(cell, str) and cell.strip().lower() in vocabulary()["blanks"])


def plain_number(text: str) -> float:
    """One number of a depth: 6, 6.5, 6,5, 6 1/2, 6½; NaN for anything else."""
    word = text.strip()
    found = re.fullmatch(r"(\d+)\s+(\d)/(\d)", word)
    if found and int(found[3]):
        return int(found[1]) + int(found[2]) / int(found[3])
    for sign, part in _VULGAR.items():
        if word.endswith(sign):
            whole = word[:-1].strip()
            return (int(whole) if whole else 0) + part
    try:
        return float(word.replace(",", "."))
    except ValueError:
        return math.nan


def depths_of(cell: Any, axle: bool = False, commas: str = "") -> Depths | None:
    """Read a cell of depths.

    Parameters
    ----------
    cell : object
    axle : bool
        The column is of both wheels of an axle, left first.
    commas : {"", "grooves"}
        Whether a lone comma stands between grooves in this sheet.

    Returns
    -------
    Depths or None
        None if it is no depth.

    Examples
    --------
    >>> depths_of("6 1/2"), depths_of('6.5/32"')
    (Depths(wheels=((6.5,),), unit=''), Depths(wheels=((6.5,),), unit='32nds'))
    >>> depths_of("7/6.5", axle=True).wheels
    ((7.0,), (6.5,))
    >>> depths_of("6 1/2 - 7", axle=True).wheels
    ((6.5,), (7.0,))
    >>> depths_of("6-6-5").wheels
    ((6.0, 6.0, 5.0),)
    """
    if isinstance(cell, bool) or cell is None:
        return None
    if isinstance(cell, int | float):
        return Depths(((float(cell),),)) if not axle else Depths(((float(cell),), (float(cell),)))
    if not isinstance(cell, str):
        return None
    text = cell.strip()
    if commas == "grooves" and not axle and re.fullmatch(r"\d+(,\d+)+", text):
        return Depths((tuple(float(part) for part in text.split(",")),))
    single = _parts(text)
    if single is not None and len(single[0]) == 1 and not axle:
        return Depths((tuple(single[0]),), single[1])
    if axle:  # the line of a fraction parts no wheels: 6 1/2 is one depth
        text = _FRACTION.sub(lambda found: f"{plain_number(found[0]):g}", text)
        single = _parts(text)
        for mark in ("|", " / ", ";", "&", " - ", "/", "-", " "):
            sides = [side for side in _split(text, mark) if side]
            if len(sides) != 2:
                continue
            read = [_parts(side) for side in sides]
            if read[0] is not None and read[1] is not None:
                unit = read[0][1] or read[1][1]
                return Depths((tuple(read[0][0]), tuple(read[1][0])), unit)
    if single is None:
        return None
    values = tuple(single[0])
    if not axle:
        return Depths((values,), single[1])
    if len(values) == 2:
        return Depths(((values[0],), (values[1],)), single[1])
    return Depths((values, values), single[1]) if len(values) == 1 else None


@cache
def named_depths(text: str) -> tuple[tuple[str, Depths], ...]:
    """Wheels and depths of a cell that names each wheel; empty for anything else.

    Examples
    --------
    >>> [(wheel, one.wheels[0]) for wheel, one in named_depths("LF 6 RF 6.5, LR: 5-5-4")]
    [('LF', (6.0,)), ('RF', (6.5,)), ('LR', (5.0, 5.0, 4.0))]
    """
    out: dict[str, Depths] = {}
    pieces = [piece for piece in re.split(_CODE, text) if piece is not None]
    if len(pieces) < 5 or pieces[0].strip(" ,;|"):
        return ()
    for code, said in zip(pieces[1::2], pieces[2::2], strict=False):
        wheel, rest = wheel_of(code)
        found = depths_of(said.strip(" ,;|:=-."))
        if rest or wheel in ("", "front", "rear") or wheel in out or found is None:
            return ()
        out[wheel] = found
    return tuple(out.items())


_CODE = re.compile(r"(?<![A-Za-z])([A-Za-z]/?[A-Za-z]/?[A-Za-z]?)(?=[\s:=.-]*\d)")


_FRACTION = re.compile(r"\d+\s+[1-7]/[248](?=\s*(?:$|[|;&/-]|mm|in\b|\"))")


def _split(text: str, mark: str) -> list[str]:
    if mark == "/":
        # Not the line of a fraction: 6/32 is one depth, 7/6.5 two.
        return re.split(r"/(?!\s*32\b)", text)
    return text.split(mark)


def _parts(text: str) -> tuple[list[float], str] | None:
    """Depths of one wheel, and their unit; None if it is something else."""
    whole = _PART.fullmatch(text)
    if whole:
        return [plain_number(whole[1])], _unit(whole[2])
    for pieces in (
        re.split(r"\s*[-–;|]\s*", text),
        re.split(r"/(?!\s*32\b)", text),
        re.split(r",\s+", text),
        re.split(r"\s+", text),
        text.split(","),
    ):
        if len(pieces) < 2 or len(pieces) > 5:
            continue
        read = [_PART.fullmatch(piece) for piece in pieces]
        if all(read):
            units = {_unit(one[2]) for one in read if one} - {""}
            if len(units) < 2:
                return [plain_number(one[1]) for one in read if one], next(iter(units), "")
    return None


def _unit(text: str | None) -> str:
    if not text:
        return ""
    word = text.lower().replace(" ", "")
    return "mm" if word == "mm" else "mils" if word.startswith("mil") else "32nds" if "32" in word else "in"


def amount(cell: Any, thousands: bool | None = None) -> tuple[float, str]:
    """A number with the unit behind it, if there is one: 45,230 mi, 45.2k, 32 psi.

    Parameters
    ----------
    cell : object
    thousands : bool, optional
        Whether a lone mark before three digits parts thousands in this column. Where that is not settled, a
        comma does and a point does not.

    Returns
    -------
    value : float
        NaN if it is no number by the grammar of :func:`~tirelife.logbook.number.read_number`.
    unit : str
    """
    if isinstance(cell, bool) or cell is None:
        return math.nan, ""
    if isinstance(cell, int | float):
        return float(cell), ""
    if not isinstance(cell, str):
        return math.nan, ""
    alone = cell.strip().removeprefix("~").strip()
    found = None if _EXPONENT.fullmatch(alone) else _AMOUNT.fullmatch(alone)
    word, unit = (found[1].strip(), folded(found[2])) if found else (alone, "")
    if GROUPED.fullmatch(word):
        parts = "," in word if thousands is None else thousands
        return float(re.sub("[,.]", "" if parts else ".", word)), unit
    value = read_number(word).value
    return (value * 1000, "") if unit == "k" else (value, unit)


_AMOUNT = re.compile(r"(\d[\d.,' ’]*)\s*([a-zA-Zµ.]*)")
_EXPONENT = re.compile(r"\d+(?:\.\d+)?[eE]\d+")


@dataclass(frozen=True)
class DateText:
    """A date in words: known (``day``), or its two first parts to be told apart by the whole column."""

    day: dt.date | None = None
    first: int = 0
    second: int = 0
    year: int = 0
    dotted: bool = False

    def read(self, day_first: bool) -> dt.date | None:
        """The day, by the order of the column; None if it is no day of the calendar."""
        if self.day is not None:
            return self.day
        day, month = (self.first, self.second) if day_first else (self.second, self.first)
        return _day(self.year, month, day)


@cache
def date_text(text: str) -> DateText | None:
    """Read a date in text as far as it can be read alone; None if it is none.

    Examples
    --------
    >>> date_text("14 Mar 2026").day, date_text("3/4/26").read(day_first=True)
    (datetime.date(2026, 3, 14), datetime.date(2026, 4, 3))
    """
    word = text.strip()
    word = re.sub(r"[T ]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?\s*([ap]m)?$", "", word, flags=re.IGNORECASE).rstrip(
        ","
    )
    word = re.sub(r"^(mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so)[a-z]*[.,]?\s+", "", word, flags=re.I)
    found = re.fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})", word) or re.fullmatch(
        r"(20\d\d)(\d\d)(\d\d)", word
    )
    if found:
        return _known(_day(int(found[1]), int(found[2]), int(found[3])))
    found = re.fullmatch(r"(\d{1,2})\s*([/.\- ])\s*(\d{1,2})\s*[/.\- ]\s*(\d{4}|\d{2})", word)
    if found:
        return DateText(None, int(found[1]), int(found[3]), _year(found[4]), found[2] == ".")
    parts = folded(word).split()
    if len(parts) == 4 and parts[1] in ("de",):
        parts.pop(1)
    parts = [part for part in parts if part != "de"]
    if len(parts) == 3:
        months = {name: int(number) for number, names in vocabulary()["months"].items() for name in names}
        a, b, c = (re.sub(r"(?<=\d)(st|nd|rd|th|er)$", "", part) for part in parts)
        if b in months and a.isdigit() and c.isdigit():
            day, year = (int(a), _year(c)) if len(a) < 4 else (int(c), int(a))
            return _known(_day(year, months[b], day))
        if a in months and b.isdigit() and c.isdigit():
            return _known(_day(_year(c), months[a], int(b)))
    return None


def _known(day: dt.date | None) -> DateText | None:
    return None if day is None else DateText(day)


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        found = dt.date(year, month, day)
    except ValueError:
        return None
    return found if 1980 <= found.year <= 2100 else None


def name_of(cell: Any) -> str:
    """Text of a cell, its spaces one each."""
    return " ".join(str(cell).split())


def section(text: str) -> str:
    """Name of a vehicle that a line of its own begins: what follows ``Vehicle:``, or all of it."""
    found = re.match(r"\s*(?:\w+\.?\s*){1,2}[:#=]\s*(.+)", text)
    return name_of(found[1] if found else text)

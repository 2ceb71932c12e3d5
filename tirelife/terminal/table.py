"""Tables for a terminal: aligned columns, one unit system, numbers rounded to what their range supports."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Container, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tirelife.sheet import day_said, far_within, in_order, numeric, rounded
from tirelife.sheet.language import texts
from tirelife.units import LABELS, SHOWN

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "Column", "date_span", "day_words", "far_span", "framed", "place", "rows_table", "signed_span", "table",
    "unit_of",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """One column: a heading of one or two lines, its cells as text, and the side they stand at."""

    heading: str
    cells: Sequence[str]
    right: bool = False


def table(columns: Sequence[Column], indent: str = "") -> str:
    """Set columns side by side under their headings; columns without any text are left out.

    Examples
    --------
    >>> print(table([Column("tire", ["LF", "RF"]), Column("miles", ["900", "12,000"], right=True)]))
    tire   miles
    LF       900
    RF    12,000
    """
    shown = [c for c in columns if any(c.cells)]
    heads = [c.heading.split("\n") for c in shown]
    deep = max((len(h) for h in heads), default=0)
    heads = [[""] * (deep - len(h)) + h for h in heads]
    wide = [
        max(len(text) for text in (*head, *map(str, c.cells))) for head, c in zip(heads, shown, strict=True)
    ]
    rows = [[head[i] for head in heads] for i in range(deep)]
    rows += [list(row) for row in zip(*(c.cells for c in shown), strict=True)]
    lines = [
        "  ".join(
            text.rjust(width) if c.right else text.ljust(width)
            for text, width, c in zip(row, wide, shown, strict=True)
        ).rstrip()
        for row in rows
    ]
    return "\n".join(indent + line if line else line for line in lines)


def rows_table(heads: Sequence[str], rows: Sequence[Sequence[str]], right: Container[int] = ()) -> str:
    """Set rows of text under headings; columns of these numbers stand at the right.

    Examples
    --------
    >>> print(rows_table(("tire", "miles"), [("LF", "900"), ("RF", "12,000")], right=(1,)))
    tire   miles
    LF       900
    RF    12,000
    """
    cells = zip(*rows, strict=True) if rows else [()] * len(heads)
    pairs = enumerate(zip(heads, cells, strict=True))
    return table([Column(head, said, i in right) for i, (head, said) in pairs])


def framed(frame: pd.DataFrame, indent: str = "") -> str:
    """Set a frame of text under its own headings, which break after a comma; numbers stand at the right.

    Examples
    --------
    >>> import pandas as pd
    >>> print(framed(pd.DataFrame({"Group": ["a", "b"], "Wear, times": ["1.20", "0.9"]})))
            Wear,
    Group   times
    a        1.20
    b         0.9
    """
    columns = [
        Column(str(name).replace(", ", ",\n"), list(frame[name].astype(str)), right=numeric(frame[name]))
        for name in frame
    ]
    return table(columns, indent)


def far_span(low_km: float, high_km: float, units: str) -> str:
    """Range of distances in shown units, without the unit.

    Examples
    --------
    >>> far_span(23_867, 33_035, "us")
    '15,000 to 21,000'
    """
    spread = high_km - low_km
    first, second = far_within(low_km, units, spread), far_within(high_km, units, spread)
    return first if first == second else f"{first} to {second}"


def signed_span(low: float, high: float) -> str:
    """Range of a gain, rounded by its width, with signs.

    Examples
    --------
    >>> signed_span(129.89, 316.56), signed_span(-20.0, 300.0)
    ('+130 to +320', '-20 to +300')
    """
    if not (math.isfinite(low) and math.isfinite(high)):
        return ""
    ends = [rounded(v, high - low) for v in (low, high)]
    first, second = (f"{v:+,.0f}" if v else "0" for v in ends)
    return first if first == second else f"{first} to {second}"


def date_span(low: pd.Timestamp, high: pd.Timestamp) -> str:
    """Range of dates as months; empty where either is not known.

    Examples
    --------
    >>> import pandas as pd
    >>> date_span(pd.Timestamp("2027-11-04"), pd.Timestamp("2028-04-16"))
    'Nov 2027 to Apr 2028'
    """
    if low != low or high != high:
        return ""
    first, second = f"{low:%b %Y}", f"{high:%b %Y}"
    return first if first == second else f"{first} to {second}"


def day_words(day: str | dt.date, units: str, language: str = "en") -> str:
    """A day as the logbook's readers write it; a text is one of a JSON answer.

    Examples
    --------
    >>> day_words("2026-03-14", "us"), day_words("2026-03-14", "metric")
    ('March 14, 2026', '14 March 2026')
    """
    known = dt.date.fromisoformat(day) if isinstance(day, str) else day
    return day_said(known, in_order(units), texts(language))


def unit_of(kind: str, units: str) -> str:
    """Name of the unit that a kind of quantity is shown in."""
    return LABELS[SHOWN[units][kind]]


def place(position: str) -> str:
    """Wheel in words, lower case; what is no wheel stays as it is.

    Examples
    --------
    >>> place("LF"), place("set")
    ('left front', 'set')
    """
    return texts().get(position, position)

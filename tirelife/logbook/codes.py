"""What may be wrong or doubtful in a log, as codes; every branch goes by them, never by the words."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Severity

__all__ = ["ODOMETER_UNUSED", "Found", "doubted", "severity_of"]


class Found(StrEnum):
    """One kind of problem; a slip of a visit or a vehicle is a :class:`tirelife.logbook.Slip` beside it."""

    FILE_UNREADABLE = "file-unreadable"
    FILE_MISSING = "file-missing"
    FILE_TWICE = "file-twice"
    FILE_BESIDE = "file-beside"
    FILE_DAMAGED = "file-damaged"
    FILE_EARLIER_VERSION = "file-earlier-version"
    NEEDS_PYARROW = "needs-pyarrow"
    DELIMITER = "delimiter"
    DECIMAL_COMMAS = "decimal-commas"
    HEADER_UNREADABLE = "header-unreadable"
    HEADER_BELOW = "header-below"
    NO_RECORDS = "no-records"
    RAGGED = "ragged"
    COLUMN_TWICE = "column-twice"
    COLUMN_MISSING = "column-missing"
    COLUMN_UNKNOWN = "column-unknown"
    TWO_UNITS = "two-units"
    UNIT_WRONG = "unit-wrong"
    UNIT_MISSING = "unit-missing"
    BLANK = "blank"
    KEY_TWICE = "key-twice"
    SHARES = "shares"
    ENDS_BEFORE = "ends-before"
    NOT_A_NUMBER = "not-a-number"
    MAY_BE_THOUSANDS = "may-be-thousands"
    """A comma or a point that may part thousands or decimals."""
    THOUSANDS = "thousands"
    DECIMAL_COMMA = "decimal-comma"
    NOT_A_DATE = "not-a-date"
    NO_SUCH_DAY = "no-such-day"
    TOO_LONG_AGO = "too-long-ago"
    NO_CLOCK = "no-clock"
    FUTURE = "future"
    OTHER_CASE = "other-case"
    NOT_A_CHOICE = "not-a-choice"
    OUT_OF_RANGE = "out-of-range"
    NOT_WHOLE = "not-whole"
    UNUSUALLY_LOW = "unusually-low"
    UNUSUALLY_HIGH = "unusually-high"
    NOT_KNOWN = "not-known"
    """A blank of a vehicle that something is assumed for; no slip of whoever records a visit."""
    UNKNOWN_ID = "unknown-id"
    WEEK_ODD = "week-odd"
    WEEK_LATE = "week-late"
    DISTANCE_UNITS = "distance-units"
    REPEATED = "repeated"
    TAKEN = "taken"
    """A tire was mounted where another is, which counts as taken off that day."""
    MOUNTED_TWICE = "mounted-twice"
    TWO_PLACES = "two-places"
    OFF_WHERE_NOT = "off-where-not"
    PLACE_HELD = "place-held"
    NO_TIRE = "no-tire"
    ODOMETER_BACK = "odometer-back"
    ODOMETER_AHEAD = "odometer-ahead"
    OVER_NEW = "over-new"
    DEPTH_GROWS = "depth-grows"
    DEPTH_UNFIT = "depth-unfit"
    DEPTH_UNIT = "depth-unit"
    """All depths of the log may be in another unit."""
    FALLS_FAST = "falls-fast"
    DIGEST = "digest"
    HISTORY_SEALS = "history-seals"
    HISTORY_RULES = "history-rules"
    HISTORY_VISITS = "history-visits"
    HISTORY_RECORDS = "history-records"
    HISTORY_USE = "history-use"
    OTHER_PROGRAM = "other-program"


ODOMETER_UNUSED: Final = (Found.ODOMETER_BACK, Found.ODOMETER_AHEAD)
"""An odometer so doubted is not used; the record keeps its place."""


def severity_of(doubt: bool) -> Severity:
    """How much a problem matters: a doubt is kept and asked about, an error stops the log from being used."""
    return Severity.DOUBT if doubt else Severity.URGENT


def doubted(records: pd.DataFrame, column: str, *codes: StrEnum) -> NDArray[np.bool_]:
    """Which records are doubted in one column.

    Parameters
    ----------
    records : DataFrame
        A table of a logbook, with its column ``codes``; without one nothing is doubted.
    column : str
        In inside units, such as ``depth_mm``.
    *codes : StrEnum
        The doubts that count; any if none is given.

    Examples
    --------
    >>> table = pd.DataFrame({"codes": ["", "depth_mm:depth-grows odometer_km:odometer-back"]})
    >>> doubted(table, "depth_mm").tolist(), doubted(table, "depth_mm", Found.NO_TIRE).tolist()
    ([False, True], [False, False])
    """
    if "codes" not in records:
        return np.zeros(len(records), dtype=bool)
    which, words = pd.factorize(records["codes"].fillna(""))
    wanted = {f"{column}:{code.value}" for code in codes}

    def hit(text: str) -> bool:
        marks = text.split()
        return any(mark in wanted if codes else mark.split(":")[0] == column for mark in marks)

    hits = np.array([hit(str(word)) for word in words], dtype=bool)
    return hits[which] if len(hits) else np.zeros(len(records), dtype=bool)

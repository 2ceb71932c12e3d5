"""What may be wrong or doubtful in a log, as codes; every branch goes by them, never by the words."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Severity

__all__ = ["ODOMETER_ASKED", "ODOMETER_UNUSED", "Ask", "Found", "Slip", "doubted", "severity_of"]


class Found(StrEnum):
    """One kind of problem; a slip that is likelier than what is typed is a :class:`Slip`."""

    FILE_UNREADABLE = "file-unreadable"
    FILE_EMPTY = "file-empty"
    FILE_UTF16 = "file-utf16"
    FILE_NOT_CSV = "file-not-csv"
    FILE_ZERO_BYTE = "file-zero-byte"
    FILE_NOT_UTF8 = "file-not-utf8"
    FILE_MISSING = "file-missing"
    FILE_TWICE = "file-twice"
    FILE_BESIDE = "file-beside"
    FILE_DAMAGED = "file-damaged"
    FILE_CUT = "file-cut"
    FILE_EARLIER_VERSION = "file-earlier-version"
    NEEDS_PYARROW = "needs-pyarrow"
    DELIMITER = "delimiter"
    DECIMAL_COMMAS = "decimal-commas"
    HEADER_UNREADABLE = "header-unreadable"
    HEADER_BELOW = "header-below"
    NO_RECORDS = "no-records"
    UNCLOSED = "unclosed"
    RAGGED = "ragged"
    COLUMN_TWICE = "column-twice"
    COLUMN_MISSING = "column-missing"
    COLUMN_UNKNOWN = "column-unknown"
    TWO_UNITS = "two-units"
    UNITS_DIFFER = "units-differ"
    UNIT_WRONG = "unit-wrong"
    UNIT_NOT_OF_KIND = "unit-not-of-kind"
    UNIT_MISSING = "unit-missing"
    BLANK = "blank"
    KEY_TWICE = "key-twice"
    SHARES = "shares"
    ENDS_BEFORE = "ends-before"
    NOT_A_NUMBER = "not-a-number"
    NOT_FINITE = "not-finite"
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


class Ask(StrEnum):
    """What to do about a problem, where that differs for one code."""

    RENAME_FILE = "rename-file"
    RENAME_COLUMN = "rename-column"
    NAME_COLUMN = "name-column"
    UNIT_IN_NAME = "unit-in-name"
    WRITE_IT = "write-it"
    DAY_OR_MONTH = "day-or-month"
    DAY_NUMBER = "day-number"
    ALL_FUTURE = "all-future"
    FUTURE_VISIT = "future-visit"
    PERCENT = "percent"
    TYPED_UNIT = "typed-unit"
    PLACARD = "placard"
    NEAR_ID = "near-id"
    LOST_ZERO = "lost-zero"
    AT_ONCE = "at-once"
    ODOMETER_REPLACED = "odometer-replaced"
    ODOMETER_TYPED_UNIT = "odometer-typed-unit"
    PLACES_SWAPPED = "places-swapped"
    DEPTH_TYPED_UNIT = "depth-typed-unit"
    DEPTH_UNIT_OR_NEW = "depth-unit-or-new"
    VEHICLE_NEAR = "vehicle-near"
    LOGBOOK_OF_SHEET = "logbook-of-sheet"
    DUAL_ROWS = "dual-rows"


class Slip(StrEnum):
    """A likelier reading of a record, a visit or a vehicle's log than as it is typed."""

    OTHER_UNIT = "slip-other-unit"
    """``unit``: every value of the visit was typed in it."""
    TENFOLD = "slip-tenfold"
    """``factor``: the decimal point of every value of the visit is off."""
    ALL_ZERO = "slip-all-zero"
    ALL_ALIKE = "slip-all-alike"
    """Every reading of the visit is the same, and they do not fit."""
    SWAPPED = "slip-swapped"
    """``swap``: which places changed places."""
    NEW_TIRES = "slip-new-tires"
    """``places``: read as new tires do, without a record of a mount."""
    UNFIT = "slip-unfit"
    """No named slip explains the visit, nor does what came before and after it."""
    CAR_UNIT = "slip-car-unit"
    """``unit``: all depths of a vehicle."""
    CAR_TENFOLD = "slip-car-tenfold"
    """``factor``: the decimal point of all depths of a vehicle is off."""
    CAR_ZERO = "slip-car-zero"
    """All depths of a vehicle are zero."""
    PRESSURE_UNIT = "slip-pressure-unit"
    """``unit``: every pressure of the visit was typed in it."""
    ODOMETER_UNIT = "slip-odometer-unit"
    """``unit``: the odometer of a visit was typed in it."""
    ODOMETER_DIGIT = "slip-odometer-digit"
    """``meant``: the odometer with one digit put right."""
    CAR_DISTANCE = "slip-car-distance"
    """``unit``: all odometers of a vehicle are in it."""
    TABLE_DISTANCE = "slip-table-distance"
    """``unit``: all odometers of a table are in it."""
    TEMPERATURE_UNIT = "slip-temperature-unit"
    """``unit``: the temperature of a visit was typed in it."""
    DIGIT = "slip-digit"
    """``meant``: a depth with one digit put right."""
    GROWS = "slip-grows"
    """``depth_mm``: what a tire gained over its visits."""
    CARS_SWAPPED = "slip-cars-swapped"
    """``vehicle_id``: the visit fits that vehicle, and its visit of the day fits this one."""
    ABSOLUTE = "slip-absolute"
    """Pressures of a visit that fit as absolute ones."""


ODOMETER_ASKED: Final = (
    Found.ODOMETER_AHEAD,
    Slip.ODOMETER_UNIT,
    Slip.ODOMETER_DIGIT,
    Slip.CARS_SWAPPED,
)
"""What an odometer may be asked about; one that was read again and stands is used as it is."""
ODOMETER_UNUSED: Final = (Found.ODOMETER_BACK, *ODOMETER_ASKED)
"""An odometer so doubted is not used; the record keeps its place."""


_NOTES: Final = (
    Found.FILE_EARLIER_VERSION, Found.DELIMITER, Found.DECIMAL_COMMAS, Found.COLUMN_UNKNOWN, Found.NOT_KNOWN,
    Found.OTHER_CASE, Found.THOUSANDS, Found.DECIMAL_COMMA, Found.REPEATED, Found.MOUNTED_TWICE,
)  # fmt: skip
"""Doubts that change no answer: worth knowing, and no reason to read again."""


def severity_of(code: StrEnum, doubt: bool) -> Severity:
    """How much a problem matters.

    Returns
    -------
    Severity
        An error, which stops the log from being used, is a warning; what changes no answer a note.

    Examples
    --------
    >>> severity_of(Found.OTHER_CASE, True).name, severity_of(Found.BLANK, False).name
    ('NOTE', 'WARNING')
    """
    if not doubt:
        return Severity.WARNING
    return Severity.NOTE if code in _NOTES else Severity.DOUBT


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

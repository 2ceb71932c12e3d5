"""What an import asks, takes and leaves out, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tirelife.errors import Problem

__all__ = ["Asked", "How", "Question", "Row", "Settled"]


class Asked(StrEnum):
    """What only a person can say of a sheet."""

    NEAR_SIDE = "asked-near-side"
    MIXED_DATES = "asked-mixed-dates"
    """texts, dates: how many of the dates are texts, and how many are dates."""
    DATES_DISAGREE = "asked-dates-disagree"
    """day_first, month_first: in how many dates."""
    DATES_OPEN = "asked-dates-open"
    DEPTHS_DIFFER = "asked-depths-differ"
    """held: the units."""
    DEPTHS_BARE = "asked-depths-bare"
    DISTANCES_DIFFER = "asked-distances-differ"
    DISTANCES_BARE = "asked-distances-bare"
    THOUSANDS = "asked-thousands"
    """most: the highest odometer."""
    POINTS = "asked-points"
    """word, meant, other: an odometer, and its two meanings."""
    TWO_GROOVES = "asked-two-grooves"
    MORE_GROOVES = "asked-more-grooves"
    WHEEL_NUMBERS = "asked-wheel-numbers"
    HIDDEN = "asked-hidden"
    """rows, tabs: which are hidden."""


class Settled(StrEnum):
    """Why a sheet is taken to be written in a way."""

    GIVEN = "settled-given"
    GIVEN_BARE = "settled-given-bare"
    MONTH_AND_32NDS = "settled-month-and-32nds"
    HEADER = "settled-header"
    NO_OTHER_ORDER = "settled-no-other-order"
    DOTTED = "settled-dotted"
    ODOMETERS_RISE = "settled-odometers-rise"
    IN_HEADERS = "settled-in-headers"
    IN_CELLS = "settled-in-cells"
    IN_TITLE = "settled-in-title"
    BY_COLUMN = "settled-by-column"
    NONE_OVER = "settled-none-over"
    TENTHS = "settled-tenths"
    TOO_DEEP = "settled-too-deep"
    LANGUAGE = "settled-language"
    SPELLING = "settled-spelling"
    MILES_MONTH = "settled-miles-month"
    TIRE_NO_KM = "settled-tire-no-km"
    WHOLE_STEPS = "settled-whole-steps"
    DEPTHS_32NDS = "settled-depths-32nds"
    THOUSANDS = "settled-thousands"
    BEFORE_THREE = "settled-before-three"
    BEFORE_OTHERS = "settled-before-others"
    SEVERAL = "settled-several"
    SEPARATOR = "settled-separator"
    NO_TWO = "settled-no-two"


class How(StrEnum):
    """By what a column was told."""

    GIVEN = "column-given"
    NAME = "column-name"
    CONTENT = "column-content"
    NAME_CONTENT = "column-name-content"
    NAME_ORDER = "column-name-order"
    TICKED = "column-ticked"
    MONTH_DAYS = "column-month-days"
    DATE_PARTS = "column-date-parts"
    NEARER = "column-nearer"
    ABOVE = "column-above"
    ODOMETERS = "column-odometers"
    OTHER_TAB = "column-other-tab"


class Row(StrEnum):
    """Why a row is doubted or left out, or what else it was used for."""

    ABOVE = "row-above"
    TOTAL = "row-total"
    TO_SIGN = "row-to-sign"
    NOTE_ABOVE = "row-note-above"
    SECTION = "row-section"
    NOTHING = "row-nothing"
    HEADER = "row-header"
    NO_VEHICLE = "row-no-vehicle"
    NO_DATE = "row-no-date"
    DATE_UNREAD = "row-date-unread"
    ODOMETER_UNREAD = "row-odometer-unread"
    ODOMETER_FAR = "row-odometer-far"
    NO_WHEEL = "row-no-wheel"
    NO_DEPTH = "row-no-depth"
    NOT_A_WHEEL = "row-not-a-wheel"
    DEPTH_OUTSIDE = "row-depth-outside"
    NO_PRESSURE = "row-no-pressure"
    UNKNOWN = "row-unknown"
    AGAIN = "row-again"
    SECOND = "row-second"
    ON_THE_LINE = "row-on-the-line"
    NO_ODOMETER = "row-no-odometer"
    HIDDEN_TAB = "row-hidden-tab"
    NO_TABLE = "row-no-table"


@dataclass(frozen=True)
class Question:
    """What only a person can say: the setting that is open, what is asked, and the options that answer it."""

    code: str
    asked: Asked
    options: tuple[str, ...]
    values: tuple[tuple[str, object], ...] = ()

    def problem(self, file: str) -> Problem:
        """The question as a problem of a file, which is said in any language."""
        told = (*self.values, ("options", self.options))
        return Problem(file, 0, "", "", code=self.asked, values=told)

    def answered(self, number: str) -> dict[str, object]:
        """Settings that an option makes, by its number from 1; none if there is no such option."""
        if number not in [str(i) for i in range(1, len(self.options) + 1)]:
            return {}
        name, _, value = self.options[int(number) - 1].lstrip("-").partition(" ")
        return {name.replace("-", "_"): value} if value else {"day_first": name == "day-first"}

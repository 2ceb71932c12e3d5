"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    AFTER_END = "logbook-after-end"
    NO_DAY = "logbook-no-day"
    PARTS_UNUSABLE = "logbook-parts-unusable"
    PARTS_FOREIGN = "logbook-parts-foreign"
    PARTS_NOT_EMPTY = "logbook-parts-not-empty"
    NUMBERS = "logbook-numbers"
    TEMPLATE_NAME = "logbook-template-name"
    ROTATION = "logbook-rotation"
    ROTATION_LIKE = "logbook-rotation-like"
    BARE = "logbook-bare"
    BLANK = "logbook-blank"
    TWO = "logbook-two-grooves"
    MORE = "logbook-more-grooves"
    AMOUNT = "logbook-amount"
    NO_DEPTH = "logbook-no-depth"
    DEPTH_RANGE = "logbook-depth-range"
    NEW_DEPTH_RANGE = "logbook-new-depth-range"
    NO_VEHICLE = "logbook-no-vehicle"
    GROOVE_VALUE = "logbook-groove-value"
    DEPTH_COUNT = "logbook-depth-count"
    PRESSURE = "logbook-pressure"
    NEW_VEHICLE = "logbook-new-vehicle"
    SET_ROTATED = "logbook-set-rotated"
    COLUMN_VALUE = "logbook-column-value"
    CORRECT = "logbook-correct"
    VISIT_NEEDS = "logbook-visit-needs"
    TABLE_ROW = "logbook-table-row"
    NAME_WHAT = "logbook-name-what"

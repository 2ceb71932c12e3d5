"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    NO_DISTANCES = "cli-no-distances"
    CAMBER = "cli-camber"
    OUT_TABLE = "cli-out-table"
    CONVERT = "cli-convert"
    NO_FOLDER = "cli-no-folder"
    VEHICLES_OF = "cli-vehicles-of"
    FLEET_WHERE = "cli-fleet-where"
    ENDING = "cli-ending"
    CHUNK = "cli-chunk"
    OUT_PARTS = "cli-out-parts"
    SET_SHARE = "cli-set-share"
    INTERVAL = "cli-interval"
    NAME_WHAT = "cli-name-what"
    PRIOR_LIVES = "cli-prior-lives"
    PRESSURE = "cli-pressure"
    NEW_VEHICLE = "cli-new-vehicle"
    SET_ROTATED = "cli-set-rotated"
    COLUMN_VALUE = "cli-column-value"
    CORRECT = "cli-correct"
    LINE = "cli-line"
    SHEET_WHERE = "cli-sheet-where"
    SHEET_ALL = "cli-sheet-all"
    NO_DATE = "cli-no-date"
    ERROR_DEPTH = "cli-error-depth"
    WORKERS = "cli-workers"
    NEEDS_PARTS = "cli-needs-parts"
    OUT_JSON = "cli-out-json"
    MILES_KM = "cli-miles-km"
    PARTS_VEHICLE = "cli-parts-vehicle"
    VISIT_NEEDS = "cli-visit-needs"
    TABLE_ROW = "cli-table-row"
    NOT_THESE = "cli-not-these"

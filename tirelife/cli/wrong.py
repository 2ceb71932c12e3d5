"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    OUT_TABLE = "cli-out-table"
    CONVERT = "cli-convert"
    NO_FOLDER = "cli-no-folder"
    VEHICLES_OF = "cli-vehicles-of"
    FLEET_WHERE = "cli-fleet-where"
    ENDING = "cli-ending"
    CHUNK = "cli-chunk"
    OUT_PARTS = "cli-out-parts"
    INTERVAL = "cli-interval"
    PRIOR_LIVES = "cli-prior-lives"
    SHEET_WHERE = "cli-sheet-where"
    SHEET_ALL = "cli-sheet-all"
    NO_DATE = "cli-no-date"
    ERROR_DEPTH = "cli-error-depth"
    WORKERS = "cli-workers"
    NEEDS_PARTS = "cli-needs-parts"
    OUT_JSON = "cli-out-json"
    PARTS_VEHICLE = "cli-parts-vehicle"
    NOT_THESE = "cli-not-these"

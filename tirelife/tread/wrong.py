"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    DATE_CODE = "tread-date-code"
    WEEK = "tread-week"
    CODE_AHEAD = "tread-code-ahead"
    WHEELS = "tread-wheels"
    DRIVE = "tread-drive"
    ROADS = "tread-roads"
    PLACE = "tread-place"
    NO_VEHICLE = "tread-no-vehicle"
    WHOSE_FINDING = "tread-whose-finding"
    FINDING = "tread-finding"
    FINDING_POSITION = "tread-finding-position"
    FINDING_KIND = "tread-finding-kind"
    FINDING_DIRECTION = "tread-finding-direction"
    FINDING_DEPTH = "tread-finding-depth"
    NOT_READ = "tread-not-read"

"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    NO_BACKTEST = "outlook-no-backtest"
    ORIGINS = "outlook-origins"
    NO_WHEEL = "outlook-no-wheel"
    TABLE_NAME = "outlook-table-name"
    SEASON = "outlook-season"
    WHEELS = "outlook-wheels"
    OVER_NEW = "outlook-over-new"
    GROOVES = "outlook-grooves"
    DEPTH = "outlook-depth"
    NO_VEHICLE = "outlook-no-vehicle"
    REMOVAL_OUTSIDE = "outlook-removal-outside"
    YEARLY_OUTSIDE = "outlook-yearly-outside"
    ROTATION_OUTSIDE = "outlook-rotation-outside"
    NEW = "outlook-new"
    RUN = "outlook-run"
    YEARLY = "outlook-yearly"
    GRADE = "outlook-grade"
    REMOVAL = "outlook-removal"
    NO_QUANTILES = "outlook-no-quantiles"
    MILES_KM = "outlook-miles-km"

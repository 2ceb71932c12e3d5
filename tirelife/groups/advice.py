"""What a check of a comparison asks for, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Advice"]


class Advice(StrEnum):
    """What to do about a check that failed; its ``about`` stands in the words of some."""

    FEW_RATES = "group-few-rates"
    HIDDEN = "group-hidden"
    FEW_VEHICLES = "group-few-vehicles"
    NOT_ADJUSTED = "group-not-adjusted"
    ONE_VEHICLE = "group-one-vehicle"
    OWN_KIND = "group-own-kind"
    ONE_CAR = "group-one-car"
    INFLATION = "group-inflation"
    LARGE_RATIO = "group-large-ratio"
    WIDE_SPREAD = "group-wide-spread"
    HABITS_UNKNOWN = "group-habits-unknown"

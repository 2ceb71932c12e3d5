"""What a check of a comparison asks for, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Advice", "Apart", "Basis", "Change", "Check", "Remark", "Told", "Worth"]


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


class Check(StrEnum):
    """What of a comparison is checked; ``OWN_KIND`` is followed by ``: `` and the column."""

    RATES_KNOWN = "rates-known"
    HIDDEN = "groups-hidden"
    SPARE_VEHICLES = "spare-vehicles"
    NOT_ADJUSTED = "not-adjusted"
    ONE_VEHICLE = "one-vehicle"
    ONE_CAR = "one-car"
    INFLATION = "inflation"
    LARGEST_RATIO = "largest-ratio"
    TENTHS = "tenths"
    HABITS_RECORDED = "habits-recorded"
    OWN_KIND = "own-kind"


class Told(StrEnum):
    """What two groups' wear says."""

    NOT_APART = "pair-not-apart"
    FASTER = "pair-faster"
    SLOWER = "pair-slower"
    NONE_SHOWN = "pair-none-shown"


class Apart(StrEnum):
    """Why a difference need not be the group itself; ``OWN`` is followed by ``=`` and the column."""

    OWN = "apart-own"
    NOTHING_LEFT = "apart-nothing-left"
    ONE_CAR = "apart-one-car"
    FEW_CARS = "apart-few-cars"


class Worth(StrEnum):
    """What the price of one line is against another."""

    UNKNOWN = "worth-unknown"
    CHEAPER = "worth-cheaper"
    DEARER = "worth-dearer"
    OPEN = "worth-open"


class Remark(StrEnum):
    """What a row of a table rests on."""

    TAKEN_ALIKE = "remark-taken-alike"
    MAY_BE_ROUTES = "remark-may-be-routes"
    CARRIED_OVER = "remark-carried-over"
    NOT_APART = "remark-not-apart"
    NO_PRICE = "remark-no-price"
    NO_NEW_DEPTH = "remark-no-new-depth"
    FEW_TIRES = "remark-few-tires"


class Change(StrEnum):
    """What a group would do otherwise."""

    DROVE = "change-drove"
    WORE = "change-wore"
    PRESSURES = "change-pressures"


class Basis(StrEnum):
    """What a saving rests on."""

    HABITS = "basis-habits"
    ALL = "basis-all"
    PRESSURES = "basis-pressures"

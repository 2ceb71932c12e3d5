"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    NO_COLUMN = "groups-no-column"
    BLANKS = "groups-blanks"
    NOTHING_LEFT = "groups-nothing-left"
    TOGETHER = "groups-together"
    MONTHS = "groups-months"
    NO_DATES = "groups-no-dates"
    BY = "groups-by"
    LEVEL = "groups-level"
    NOT_RECORDED = "groups-not-recorded"
    NO_RATES = "groups-no-rates"
    ONE_GROUP = "groups-one-group"
    TOO_SMALL = "groups-too-small"
    ADJUST = "groups-adjust"
    TOO_FEW = "groups-too-few"
    SAVINGS = "groups-savings"
    COSTS = "groups-costs"
    NO_READINGS = "groups-no-readings"
    TRIAL_RATE = "groups-trial-rate"
    TRIAL_ASKED = "groups-trial-asked"
    TRIAL_PAIRED = "groups-trial-paired"

"""What is wrong with recorded trips, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Fault", "LeftOut", "Sideways"]


class Fault(StrEnum):
    """What can be found wrong with samples, and what was done."""

    MISSING = "trips-missing"
    UNSORTED = "trips-unsorted"
    REPEATED = "trips-repeated"
    NEGATIVE = "trips-negative"
    SPIKES = "trips-spikes"
    JUMPS = "trips-jumps"
    GAPS = "trips-gaps"
    DRIFT = "trips-drift-s"
    SIDE_WRONG = "trips-side-wrong"
    ALONG_WRONG = "trips-along-wrong"
    NO_SPEED = "trips-no-speed"


class LeftOut(StrEnum):
    """Why a trip is not in its vehicle's driving."""

    MPH = "left-out-mph"
    KMH = "left-out-kmh"
    EITHER = "left-out-either"
    NO_SPEED = "left-out-no-speed"
    TOO_SLOW = "left-out-too-slow"
    STILL = "left-out-still"


class Sideways(StrEnum):
    """What is not known of a vehicle's corners."""

    NONE = "trips-no-sideways"
    SOME = "trips-some-sideways"

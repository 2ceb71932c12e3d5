"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    NO_TIRE = "rotation-no-tire"
    NO_RATE = "rotation-no-rate"
    NO_PATTERN = "rotation-no-pattern"
    MOVES = "rotation-moves"
    PLAN_PLACES = "rotation-plan-places"
    PLAN_POSITION = "rotation-plan-position"
    PLAN_INTERVAL = "rotation-plan-interval"
    NO_LINE = "rotation-no-line"
    LINE = "rotation-line"
    DEPTHS = "rotation-depths"
    RATES = "rotation-rates"
    NOT_A_NUMBER = "rotation-not-a-number"
    RATE_RANGE = "rotation-rate-range"
    NO_PRICE = "rotation-no-price"
    AIM = "rotation-aim"
    NO_OWN_PRICE = "rotation-no-own-price"
    LINE_TYPED = "rotation-line-typed"

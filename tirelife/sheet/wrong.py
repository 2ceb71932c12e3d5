"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    NO_TIRE = "sheet-no-tire"
    NO_DRAWING_CODE = "sheet-no-drawing-code"
    DATE_ORDER = "sheet-date-order"
    NOT_DRAWN = "sheet-not-drawn"
    NO_TIRES = "sheet-no-tires"
    NO_SHARES = "sheet-no-shares"
    NO_LANGUAGE = "sheet-no-language"
    PAPER = "sheet-paper"
    NOT_PRINTED = "sheet-not-printed"
    NOT_STARTED = "sheet-not-started"
    NO_BROWSER = "sheet-no-browser"
    PRINT_KIND = "sheet-print-kind"
    TYPED_DEPTHS = "sheet-typed-depths"
    VISIT_HEAD = "sheet-visit-head"
    SET_ROTATED = "sheet-set-rotated"
    PRESSURE_FOUND = "sheet-pressure-found"
    SHOP_UNREAD = "sheet-shop-unread"
    SHOP_TEXT = "sheet-shop-text"
    SHOP_LINES = "sheet-shop-lines"
    SHOP_KEY = "sheet-shop-key"
    SHOP_DATE = "sheet-shop-date"
    SHOP_QUOTES = "sheet-shop-quotes"
    SHOP_LONG = "sheet-shop-long"
    SHOP_LINE = "sheet-shop-line"
    WHICH_VEHICLE = "sheet-which-vehicle"
    NO_VEHICLE = "sheet-no-vehicle"
    NO_LIMIT = "sheet-no-limit"

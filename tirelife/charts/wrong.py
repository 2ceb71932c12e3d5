"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    NO_LIVES = "charts-no-lives"
    NO_TABLE_ROWS = "charts-no-table-rows"
    SHARES = "charts-shares"
    LABELS = "charts-labels"
    BY = "charts-by"
    PANELS = "charts-panels"
    AGAINST = "charts-against"
    NO_RATIO = "charts-no-ratio"
    NO_WHY = "charts-no-why"
    NO_PRESSURE = "charts-no-pressure"
    ESTIMATES = "charts-estimates"
    NO_FORECAST = "charts-no-forecast"
    NO_SPEEDS = "charts-no-speeds"
    COLUMNS = "charts-columns"
    UNITS = "charts-units"
    NO_VEHICLES = "charts-no-vehicles"

"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    SHARES = "driving-shares"
    EVENTS = "driving-events"
    SLOWER = "driving-slower"
    FACTORS = "driving-factors"
    TWO_PARTS = "driving-two-parts"
    NO_PROFILES = "driving-no-profiles"
    WEIGHTS = "driving-weights"
    PROFILE_COLUMNS = "driving-profile-columns"
    MERGE = "driving-merge"
    THRESHOLD = "driving-threshold"
    FRAME_PYARROW = "driving-frame-pyarrow"
    TRIPS_KIND = "driving-trips-kind"
    READING_PYARROW = "driving-reading-pyarrow"
    NO_SAMPLES = "driving-no-samples"
    LENGTHS = "driving-lengths"
    NOT_FINITE = "driving-not-finite"
    NONE_USABLE = "driving-none-usable"
    NEEDS_DASK = "driving-needs-dask"
    NO_CLUSTER = "driving-no-cluster"

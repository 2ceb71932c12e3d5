"""Rows of the table of depths that say where and when they were read, as arrays."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tirelife.logbook.chain import codes_of, moments
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import GROOVES
from tirelife.logbook.values import dates_to_days

__all__ = ["DepthRows", "depth_rows"]

_NO_DAY = -(10**6)
"""Days before this are dates that could not be read."""


class DepthRows(NamedTuple):
    """Readings of whom, where and when; arrays by reading."""

    records: NDArray[np.intp]  # of the table
    vehicle: NDArray[np.intp]
    wheel: NDArray[np.intp]  # in the positions asked for
    groove: NDArray[np.intp]  # in GROOVES
    day: NDArray[np.int64]
    km: NDArray[np.float64]
    moment: NDArray[np.int64]
    depth: NDArray[np.float64]  # mm


def depth_rows(depths: Parsed, vehicles: NDArray[np.object_], positions: tuple[str, ...]) -> DepthRows | None:
    """Readings at these positions with a vehicle, a day, an odometer and a depth, in the table's order.

    None where the table lacks a column for that, or has no such reading.
    """
    needed = ("vehicle_id", "position", "groove")
    if not all(name in depths.text for name in needed) or "date" not in depths.date:
        return None
    if "depth_mm" not in depths.number or "odometer_km" not in depths.number:
        return None
    vehicle = codes_of(depths, "vehicle_id", vehicles)
    wheel = codes_of(depths, "position", np.array(positions, dtype=object))
    groove = codes_of(depths, "groove", np.array(GROOVES, dtype=object))
    day, km = dates_to_days(depths.date["date"]), depths.number["odometer_km"]
    depth = depths.number["depth_mm"]
    good = (vehicle >= 0) & (wheel >= 0) & (groove >= 0) & (day > _NO_DAY) & np.isfinite(km + depth)
    records = np.flatnonzero(good)
    if not len(records):
        return None
    return DepthRows(
        records, vehicle[records], wheel[records], groove[records],
        day[records], km[records], moments(day, km)[records], depth[records],
    )  # fmt: skip

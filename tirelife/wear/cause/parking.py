"""Steering at parking speed."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.driving import STEERED_SHARE
from tirelife.wear.cause.record import Cause
from tirelife.wear.forces import Wheel

__all__ = ["CAUSE"]

FULL_LOCK_USE2: Final = 1.25
"""Energy per metre over load of a steered wheel that creeps at full lock [J/m per N]. Turning on the spot
and wheels that steer against each other wear more than speed and radius predict. Set so that the town cycle
of a proving-ground series costs 4.2 times the rural one, as measured there (LEON-T D3.4)."""


def energy(wheel: Wheel) -> NDArray[np.float64]:
    """``FULL_LOCK_USE2 x load`` on the front wheels over distance at full lock [J/m]; ours.

    Less in the square of turning per metre; see ``slow_turn`` of :class:`~tirelife.driving.DrivingProfile`.
    """
    steered = FULL_LOCK_USE2 * STEERED_SHARE * wheel.load * wheel.moment("slow_turn")
    return np.where(np.asarray(wheel.front, dtype=bool), steered, 0.0)


CAUSE = Cause(
    "parking", 60, "Parking turns", "steering at parking speed", "parking", True, 1.0,
    "a coefficient set by one cycle of one series; our judgement",
    energy=energy, goes_with_load=True
)  # fmt: skip

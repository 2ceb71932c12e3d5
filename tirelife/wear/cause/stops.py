"""Braking."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.wear.cause.record import Cause
from tirelife.wear.forces import Wheel

__all__ = ["CAUSE"]


def energy(wheel: Wheel) -> NDArray[np.float64]:
    """All of the squared force along the road over the braked part of the distance [J/m].

    Each wheel carries its share of ``m a + R + k v²``. A mean of squares: below zero, and so nothing, only
    where a what-if brakes more gently than the car coasts.
    """
    _, brake, load, roll, _ = wheel.forces
    braked = roll**2 * wheel.moment("brake_share") + wheel.air("brake") + wheel.inertia("brake")
    return np.maximum(brake**2 * braked / load, 0.0)


CAUSE = Cause(
    "stops", 40, "Braking", "hard stops", "stops", True, 0.9,
    "wear per energy differed about ten-fold between the cycles of one proving-ground series (LEON-T D3.4, "
    "derived), taken as an 80 % range: ln(10) / 2.56; 14 runs on roads differed six-fold (Cenek et al. 1997)",
    energy=energy
)  # fmt: skip

"""Toe."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.wear.cause.record import Cause
from tirelife.wear.forces import Wheel

__all__ = ["CAUSE"]

TOE_USE_PER_DEG: Final = 0.20
"""Side force over load per degree of slip angle of a passenger tire, near zero slip (our assumption, 0.12
to 0.30)."""
WHEEL_DIAMETER_MM: Final = 660.0
"""Diameter at which toe is taken to have been measured [mm]; 26 in, an ordinary car tire."""


def energy(wheel: Wheel) -> NDArray[np.float64]:
    """Energy that toe leaves in the contact patch of each wheel of an axle [J/m].

    Each wheel slips sideways by half the total toe; with side force in proportion to the slip angle the
    energy goes with the square of toe (Schallamach and Turner 1960, recalled).
    """
    angle = np.degrees(np.arctan(np.asarray(wheel.toe_mm, dtype=float) / WHEEL_DIAMETER_MM)) / 2
    return np.asarray(wheel.load * (TOE_USE_PER_DEG * angle) ** 2)


CAUSE = Cause(
    "alignment", 70, "Wheels out of line", "toe", "toe", False, 0.9,
    "wear per energy differed about ten-fold between the cycles of one proving-ground series (LEON-T D3.4, "
    "derived), taken as an 80 % range: ln(10) / 2.56; 14 runs on roads differed six-fold (Cenek et al. 1997)",
    energy=energy, goes_with_load=True
)  # fmt: skip

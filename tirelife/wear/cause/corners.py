"""Bends and turns at speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.units import GRAVITY
from tirelife.wear.cause.record import Cause
from tirelife.wear.forces import Wheel

__all__ = ["CAUSE"]


def energy(wheel: Wheel) -> NDArray[np.float64]:
    """Side force squared over load; each wheel carries side force in proportion to its load [J/m]."""
    return np.asarray(wheel.load * wheel.moment("ay2") / GRAVITY**2)


CAUSE = Cause(
    "corners", 50, "Bends and turns", "corners", "turns", True, 0.9,
    "wear per energy differed about ten-fold between the cycles of one proving-ground series (LEON-T D3.4, "
    "derived), taken as an 80 % range: ln(10) / 2.56; 14 runs on roads differed six-fold (Cenek et al. 1997)",
    energy=energy, goes_with_load=True
)  # fmt: skip

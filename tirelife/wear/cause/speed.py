"""Air drag that the driven wheels pull against."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.wear.cause.record import Cause
from tirelife.wear.forces import Wheel

__all__ = ["CAUSE"]


def energy(wheel: Wheel) -> NDArray[np.float64]:
    """Drag squared, and its product with rolling resistance, over the pulled part of the distance [J/m]."""
    pull, _, load, _, _ = wheel.forces
    return np.asarray(pull**2 * wheel.air("drive") / load)


CAUSE = Cause(
    "speed", 20, "Speed", "speed", "speed", True, 0.9,
    "wear per energy differed about ten-fold between the cycles of one proving-ground series (LEON-T D3.4, "
    "derived), taken as an 80 % range: ln(10) / 2.56; 14 runs on roads differed six-fold (Cenek et al. 1997)",
    energy=energy
)  # fmt: skip

"""Rolling along, the drive against it, and the part of wear that needs no force."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.wear.cause.record import Cause
from tirelife.wear.forces import Wheel

__all__ = ["CAUSE"]


def energy(wheel: Wheel) -> NDArray[np.float64]:
    """Rolling resistance squared, over the pulled part of the distance [J/m].

    A driven wheel carries its share of the vehicle's rolling resistance, as in HDM-4; others their own.
    """
    pull, _, load, roll, _ = wheel.forces
    own = np.where(pull > 0, 0.0, np.asarray(wheel.vehicle["rolling_resistance"], dtype=float) * load)
    return np.asarray((pull**2 * roll**2 + own**2) * wheel.moment("drive_share") / load)


CAUSE = Cause(
    "base", 10, "Rolling along", "rolling", "", False, 0.9,
    "the same coefficients as the others, so the same spread, and a share that needs no force; our judgement",
    energy=energy, free=1.0
)  # fmt: skip

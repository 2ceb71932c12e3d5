"""Pressure below the placard."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tirelife.wear.cause.record import Cause

__all__ = ["CAUSE"]


def of_whole(pressure: Any) -> NDArray[np.float64]:
    """What low pressure adds to all other causes: wear over wear at the placard, less 1."""
    return np.asarray(pressure, dtype=float) - 1


CAUSE = Cause(
    "pressure", 80, "Low pressure", "pressure", "pressure", True, 0.9,
    "two points and a straight line (NHTSA, FMVSS 138); one study has abrasion rise with pressure at equal "
    "forces (KIT 2024): as wide as the others, our judgement",
    of_whole=of_whole
)  # fmt: skip

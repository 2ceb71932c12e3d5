"""Where a tire can be on a vehicle: the codes of positions, axle by axle, and what follows from a code.

A vehicle with more wheels needs more codes here, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

__all__ = [
    "AXLES", "BESIDE", "FRONT", "MOUNTED", "OFF", "POSITIONS", "REAR", "ROAD", "SPARE", "axle_of",
]  # fmt: skip

FRONT: Final = ("LF", "RF")
REAR: Final = ("LR", "RR")
AXLES: Final[Mapping[str, tuple[str, str]]] = {"front": FRONT, "rear": REAR}
"""Positions of an axle, left before right."""
ROAD: Final = (*FRONT, *REAR)
"""The wheels on the road, in the order of every answer."""
SPARE: Final = "SP"
"""A spare that takes its turn."""
MOUNTED: Final = (*ROAD, SPARE)
OFF: Final = "OFF"
"""Off the vehicle."""
POSITIONS: Final = (*MOUNTED, OFF)
BESIDE: Final[Mapping[str, str]] = {a: b for pair in AXLES.values() for a, b in (pair, pair[::-1])}
"""The wheel at the other end of an axle."""
_AXLE_OF = {position: axle for axle, pair in AXLES.items() for position in pair} | {SPARE: "spare"}


def axle_of(position: str) -> str:
    """Name of the axle that a position is on: ``front``, ``rear`` or ``spare``; empty for any other text.

    Examples
    --------
    >>> [axle_of(position) for position in ("RF", "LR", "SP", "OFF")]
    ['front', 'rear', 'spare', '']
    """
    return _AXLE_OF.get(position, "")

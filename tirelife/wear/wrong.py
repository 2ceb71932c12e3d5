"""What a caller of this room may have got wrong, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Wrong"]


class Wrong(StrEnum):
    """Arguments that cannot be used."""

    HALF_TURN = "wear-half-turn"
    CAMBER = "wear-camber"
    DIAMETER = "wear-diameter"
    AXLE = "wear-axle"
    SPECIFICATION = "wear-specification"
    LINES = "wear-lines"
    PRESSURE_FACTORS = "wear-pressure-factors"
    FACTORS = "wear-factors"
    NO_VEHICLE = "wear-no-vehicle"
    DRIVE = "wear-drive"
    NO_MASS = "wear-no-mass"
    AMOUNT = "wear-amount"
    SHARE = "wear-share"
    NO_DISTANCES = "wear-no-distances"
    CAMBER_READINGS = "wear-camber-readings"

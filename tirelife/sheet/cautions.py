"""What a page always says, whatever the numbers are."""

from __future__ import annotations

from typing import Final

__all__ = ["ABOVE", "CAUTIONS", "LOOK_NOW"]

CAUTIONS: Final = (
    "This is an estimate, not a safety check. A look at the tire always comes first.",
    "Have a tire checked now if you see cords, a bulge, a cut, cracks, or wear bars level with the tread, "
    "or if it loses more than {leak} a month.",
    "Legal depth differs by place, season and vehicle. Your local code and the vehicle's placard rule.",
    "Wet grip falls well before the legal depth. Many drivers change earlier.",
    "Set pressures cold, to the placard. Never let air out of a hot tire.",
    "Age or damage can end a tire before its tread does.",
)
"""Cautions in plain words. Leak: more than 2 psi a month (a tire maker's user guide of 2023; GAO-07-246R)."""

LOOK_NOW: Final = "Have these looked at by a qualified person before you drive far:"
"""What stands above a list of tires at or under the depth set."""
ABOVE: Final = "First see the note above. "
"""What stands before the dates where such a list stands."""

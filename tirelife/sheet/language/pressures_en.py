"""English: a vehicle's pressures."""

from __future__ import annotations

from typing import Final

__all__ = ["PRESSURES"]

PRESSURES: Final[dict[str, str]] = {
    "air-caution": "Set pressures cold, to the placard. Never bleed a hot tire.",
    "air-leaks": "loses {loss} a month: have the tire, its valve and wheel inspected",
    "air-leaks-far": "loses {loss} a month: have the tire, its valve and wheel inspected before it is driven far",
    "air-ran-25-low": "has run more than 25 % low: have it looked at inside and out before relying on it",
    "air-ran-low": "has run low: set it to the placard when cold, and check it monthly",
    "air-ran-high": "has run above the placard: correct it when cold, never by bleeding a hot tire",
    "air-let-out-warm": "had air let out of it warm when it was last set: check it cold, and never bleed a hot tire",
    "air-set-warm": "was last set warm, so it is low once cold: check it cold",
    "air-placard-assumed": "is compared with {placard}, assumed, since the log states no placard",
    "air-no-placard": "Where no placard pressure stands, the log states none: read it on the vehicle before you set a tire. What ran low is told against one that is assumed.",
    "air-no-distance": "has run no distance on the road, so there is nothing to weigh",
    "air-mostly-assumed": "most of its distance has no reading on both sides: pressures there are assumed",
    "air-beyond-published": "its effect on life is extrapolated beyond the published 17 to 35 psi (117 to 241 kPa)",
    "air-high-effect-unknown": "no effect of over-inflation on life is published: counted as none",
    "air-wheel": "Wheel", "air-placard": "Placard, cold", "air-hot": "If set hot", "air-last": "Last reading",
    "air-below": "Ran below by", "air-days": "Days over 10 % low",
}  # fmt: skip

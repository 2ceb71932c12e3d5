"""English: whether to trust the fit behind an answer, and why not."""

from __future__ import annotations

from typing import Final

__all__ = ["FIT_REASONS", "HELD", "TRUST"]

TRUST: Final[dict[str, str]] = {
    "good": "The fit behind these numbers holds.",
    "rough": "The fit behind these numbers is rough: take their ranges for a guess.",
    "refused": "The fit behind these numbers was refused. They come from what was read last on each tire, "
    "and from wear rates that were held before these readings.",
}
"""By how far a fit is to be trusted."""

HELD: Final[dict[str, str]] = {
    "held": "The ranges held: {cover} of {forecasts} later readings fell in their 80 % ranges.",
    "narrow": "The ranges are too narrow here: only {cover} of {forecasts} later readings fell in their "
    "80 % ranges.",
    "wide": "The ranges are wider than they need be: {cover} of {forecasts} later readings fell in their "
    "80 % ranges.",
    "few": "Only {forecasts} readings came later: too few to judge the ranges.",
}
"""By how the ranges of a back-test held."""

FIT_REASONS: Final[dict[str, str]] = {
    "not-converged": "Its spreads had not settled after {value} rounds.",
    "second-start": "It settled from a second start only, with new depths held to what is known of them.",
    "unsolved": "A depth or a distance is out of all proportion: check the logbook.",
    "off-its-readings": "It stands apart from the last readings of {share} of the tires: look for a gauge, a "
    "unit or an odometer that is wrong.",
    "out-of-scale": "No tires live as long, or as short, as it says: look for wrong units or odometers.",
    "ranges-lost": "{value} of its ranges could not be found.",
    "gradient": "One more step would still better it.",
    "new-depth-off": "Tires did not start from the new depth that is stated for them: correct it.",
    "starts-unidentified": "All tires of a line were read at about one distance: their new depth is as stated.",
    "far-readings": "{share} of the readings are far off; they count less.",
    "one-sided": "Readings err more to one side: look for a gauge that sticks, or a groove that was missed.",
    "visit-effects": "All readings of one day lean alike: compare the gauges with a master.",
    "early-leavers": "Tires that left with tread on them had worn unlike the rest.",
    "wanders": "Wear rates change as tires go: look for changed habits.",
    "bends": "Wear is bending: a straight line through the depths would mislead.",
    "left-out": "{value} readings have no known tire, depth or distance, and are left out.",
    "odd-tires": "{value} of the tires wore unlike their vehicle and line.",
    "prior-rate": "The readings say next to nothing about how fast these tires wear: published rates answer.",
}
"""By the code of a fit's reason."""

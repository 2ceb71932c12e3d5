"""What each cause does to a tread, and how likely it is before the gauge is read: the numbers of the model.

The patterns follow handbooks: pressure, one-sided wear and feathering from US Army TM 9-2610-200-14, p.
2-12, and the service texts of the 1997 Mercury Villager and 2006 Pontiac G6; normal shoulder wear of some
radials from TM 5-3820-256-24-3, section c; cornering (rounded outside shoulder, steps) and the inner rows
of overloaded axles from the 1942-47 Chevrolet passenger car shop manual, tire section; both shoulders from
hard cornering also in the G6 text; one edge from roads that fall to a side from the 1942-47 Chevrolet manual
and the 1967 Chevrolet truck service manual, p. 10-2. They say which ribs wear, not how deep: the depths by
groove, the spreads and the odds here are our assumptions (common practice, no source) unless a line says
otherwise. Odds are data: :func:`tirelife.tread.causes.weigh_wheels` takes others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

__all__ = ["CAUSE_NAMES", "NEEDS_ANGLES", "NOT_A_FAULT", "NOT_TO_MEND", "ODDS", "Shape"]

CAUSE_NAMES: Final[dict[str, str]] = {
    "even_wear": "even wear",
    "low_pressure": "low pressure",
    "high_pressure": "high pressure",
    "normal_shoulder_wear": "normal shoulder wear",
    "hard_cornering": "hard cornering",
    "overload": "overload",
    "toe_in": "toe-in",
    "toe_out": "toe-out",
    "camber": "camber",
    "road_crown": "crowned roads",
    "diagonal_wear": "diagonal wear",
    "cupping": "cupping",
    "flat_spot": "flat spot",
}
"""Causes, and their names for people. Diagonal wear is toe of an axle that rolls freely, which slips and
grips in turn."""

NEEDS_ANGLES: Final = ("toe_in", "toe_out", "camber", "diagonal_wear")
"""Causes that only measured angles settle."""

NOT_A_FAULT: Final = ("even_wear", "normal_shoulder_wear")
"""What is no fault, and so is never offered as something to correct."""


NOT_TO_MEND: Final = (*NOT_A_FAULT, "road_crown")
"""What nobody can put right on the car: these, and roads that fall to a side, for which there is no
correction (Chevrolet truck service manual 1967, p. 10-2)."""


@dataclass(frozen=True)
class Shape:
    """Depth of the five grooves, outer to inner, for 1 mm of the cause, and the share of cases that look
    so.
    """

    depth: tuple[float, float, float, float, float]
    share: float


CENTER: Final = (Shape((0.0, -0.5, -1.0, -0.5, 0.0), 0.7), Shape((0.0, -0.15, -1.0, -0.15, 0.0), 0.3))
LOW: Final = (
    Shape((-1.0, -0.55, 0.0, -0.55, -1.0), 0.4),
    Shape((-1.0, -0.2, 0.0, -0.2, -1.0), 0.3),
    Shape((-0.5, -1.0, 0.0, -1.0, -0.5), 0.3),
)
"""Low pressure wears the ribs next to the edges, and then the edges: both shoulders in TM 9-2610-200-14;
the second rib is common practice, no source (TMC RP 219, from memory)."""
SHOULDERS: Final = (Shape((-1.0, -0.2, 0.0, -0.2, -1.0), 0.6), Shape((-1.0, -0.5, 0.0, -0.5, -1.0), 0.4))
CORNERING: Final = (
    Shape((-1.0, -0.35, 0.0, -0.15, -0.55), 0.35),
    Shape((-1.0, -0.3, 0.0, -0.1, -0.3), 0.25),
    Shape((-1.0, -0.4, -0.05, -0.25, -0.8), 0.25),
    Shape((-1.0, -0.45, -0.1, 0.0, 0.0), 0.15),
)
"""Hard cornering rounds the outside shoulder (Chevrolet 1942-47), alone or with the inner one less; both
shoulders in the 2006 G6 text."""
OVERLOAD: Final = (
    Shape((-1.0, -0.5, 0.0, -0.5, -1.0), 0.35),
    Shape((-1.0, -0.2, 0.0, -0.2, -1.0), 0.2),
    Shape((-0.8, -0.3, 0.0, -0.4, -1.0), 0.25),
    Shape((0.0, -0.25, -0.5, -0.75, -1.0), 0.2),
)
"""Too much load flexes a tire as too little air does (TM 9-2610-200-14, p. 2-12); on rear axles the inside
rows go first, in part as from camber alone, since the axle bows (Chevrolet 1942-47, Fig. 8: "pure camber wear
on the rear from overloaded axles")."""
EDGE: Final = (-1.0, -0.4, -0.1, 0.0, 0.0)
SLOPE: Final = (-1.0, -0.75, -0.5, -0.25, 0.0)
TOE: Final = (Shape(EDGE, 0.6), Shape(SLOPE, 0.4))
"""Toe scrubs the outer edges (toe-in) or the inner edges (toe-out) of both wheels of an axle."""
CAMBER: Final = (Shape(EDGE, 0.35), Shape(SLOPE, 0.65))
"""Camber wears the edge that the wheel leans on."""
ROAD_CROWN: Final = (
    Shape((-0.6, -0.24, -0.06, 0.0, 0.0), 0.35),
    Shape((-0.6, -0.45, -0.3, -0.15, 0.0), 0.65),
)
"""Roads that fall to a side wear as excess camber does (Chevrolet 1942-47; "high cambered roads" among the
causes of side wear, less common than camber or low pressure, Chevrolet truck 1967, p. 10-2). Which edges
follows from statics: the car is held up by side forces on all its tires, as in a steady turn up the slope, so
the edges on the low side wear, the outer ones of the wheels there and the inner ones of the others. It takes
less than other causes: a fall of 2 to 4 % asks for 0.02 to 0.04 g, the square of which is 12 to 48 % of what
the usual driver's turns come to (:func:`tirelife.driving.default_profile`); by how much less is our
assumption."""
DRIVEN_TOE_CENTER: Final = Shape((-0.2, -0.6, -1.0, -0.6, -0.2), 0.1)
"""Excess toe on driven wheels can wear the center too (Mercury Villager 1997 service text)."""

AMPLITUDES: Final = np.geomspace(0.35, 6.0, 9)
"""Depths that a cause may have taken from the rib it wears most [mm]."""
AMPLITUDE_MEDIAN: Final = 1.25
AMPLITUDE_LOG_SD: Final = 0.7
WHEEL_LOG_SD: Final = 0.3
"""Spread of the logarithm of what one cause does to the two wheels of an axle."""

MISSED: Final = {"cupping": 0.03, "diagonal_wear": 0.03, "flat_spot": 0.15}
"""Chance that the spots read miss what is there; our assumption."""
AROUND_MM: Final = np.array([0.25, 0.4, 0.6, 0.9, 1.3, 1.8])
"""Spreads from spot to spot that cupping may have [mm]."""
FLAT_MM: Final = np.array([0.5, 0.8, 1.2, 1.8, 2.6, 3.6, 5.0, 7.0])
"""Depths of flat spots, to a bald patch of a new tread [mm]."""

NATURAL_TILT: Final = (0.12, 0.04)
NATURAL_CROWN: Final = (0.12, 0.05)
NATURAL_GROOVE: Final = (0.06, 0.02)
"""Unevenness of a tread that wears evenly: a standard deviation in mm for a new tire, and what each mm of
wear adds. UTQG tests found groove differences of 10 to 50 % with the outside grooves wearing more
(NHTSA/SwRI 1984-85); what is beyond a few per cent of that kind we call normal shoulder wear."""

ODDS: Final[Mapping[str, float]] = {
    "low_pressure both": 0.12,
    "low_pressure one": 0.05,
    "high_pressure both": 0.06,
    "high_pressure one": 0.015,
    "normal_shoulder_wear": 0.02,
    "hard_cornering front": 0.04,
    "hard_cornering rear": 0.012,
    "overload front": 0.004,
    "overload rear": 0.012,
    "toe_in front": 0.10,
    "toe_out front": 0.07,
    "toe_in rear": 0.05,
    "toe_out rear": 0.05,
    "toe felt only": 0.06,
    "camber one": 0.03,
    "camber both": 0.01,
    "road_crown right": 0.02,
    "road_crown left": 0.004,
    "diagonal_wear free both": 0.03,
    "diagonal_wear free one": 0.015,
    "diagonal_wear driven both": 0.002,
    "diagonal_wear driven one": 0.002,
    "diagonal_wear with toe": 3.0,
    "cupping free both": 0.06,
    "cupping free one": 0.05,
    "cupping driven both": 0.012,
    "cupping driven one": 0.012,
    "flat_spot both": 0.006,
    "flat_spot one": 0.015,
    "normal_shoulder_wear on both axles": 4.0,
    "hard_cornering on both axles": 12.0,
    "overload on both axles": 2.0,
    "low_pressure on both axles": 2.5,
    "high_pressure on both axles": 3.0,
    "road_crown on both axles": 6.0,
}
"""Odds of each cause on an axle against none of its kind (pressure; angle; round the tread), and factors for
one cause on both axles. ``one`` is each single wheel; ``toe felt only`` counts where a feathered edge was
felt. Low pressure is near what was found at 336 filling stations in 2001: 27 % of cars with at least one
tire 8 psi low, 13 % with two or more (NHTSA press release 46-01). Cups come mostly to wheels that are not
driven (Villager service text), and diagonal wear to the rear of front-drive cars (trade text on wear
patterns of misaligned front-drive cars). Roads that fall to the ``right`` are those of a country that
drives on the right; where it drives on the left, swap the two. ``diagonal_wear with toe`` is a factor where
the axle's toe has worn an edge as well."""

PRESSURE_RATIO: Final[dict[str, tuple[float, float]]] = {
    "none": (0.96, 0.07),
    "low_pressure": (0.79, 0.09),
    "high_pressure": (1.20, 0.09),
    "normal_shoulder_wear": (1.00, 0.05),
    "hard_cornering": (0.98, 0.06),
    "overload": (0.98, 0.06),
}
"""Mean and spread of cold pressure over placard where each cause is at work."""
LOG_CORNERING: Final[dict[str, tuple[float, float]]] = {"none": (0.0, 0.5), "hard_cornering": (0.9, 0.5)}
"""The same for the logarithm of the driver's mean squared side acceleration over the usual driver's."""
LOAD_RATIO: Final[dict[str, tuple[float, float]]] = {"none": (0.72, 0.10), "overload": (1.02, 0.12)}
"""The same for the load on a tire over what its load index allows. Treadwear grading loads a tire to 0.85
(49 CFR 575.104, from memory); ordinary cars carry less."""

ROADS: Final[dict[str, dict[str, float]]] = {
    "crowned": {"road_crown": 0.50, "": 0.05},
    "level": {"road_crown": 0.05, "": 0.50},
}
"""Chance that a driver, asked, names such roads where they have worn the tread, and where they have not; our
assumption."""

TOE_MM: Final[dict[str, tuple[float, float]]] = {
    "none": (0.5, 1.5),
    "toe_in": (5.0, 3.0),
    "toe_out": (-5.0, 3.0),
}
"""The same for total toe as measured, in positive [mm]."""
CAMBER_DEG: Final[dict[str, tuple[float, float]]] = {
    "none": (-0.4, 0.7),
    "outer": (1.8, 1.0),
    "inner": (-2.3, 1.0),
}
"""The same for camber, leaning out positive [degrees]."""
STRAY: Final = 0.05
"""Share of records that say nothing about the time the tread wore in: a slip, or an angle measured after
it was set."""

SIGNS: Final[dict[str, dict[str, float]]] = {
    "feathered_edge inward": {"toe_in": 0.50, "toe_out": 0.01, "camber": 0.04, "": 0.02},
    "feathered_edge outward": {"toe_in": 0.01, "toe_out": 0.50, "camber": 0.04, "": 0.02},
    "feathered_edge": {"toe_in": 0.51, "toe_out": 0.51, "camber": 0.08, "": 0.04},
    "smooth": {"toe_in": 0.06, "toe_out": 0.06, "": 0.50},
    "cups": {"cupping": 0.60, "diagonal_wear": 0.20, "": 0.02},
    "diagonal": {"diagonal_wear": 0.60, "cupping": 0.06, "": 0.01},
    "flat_spot": {"flat_spot": 0.70, "": 0.01},
    "rounded_shoulder": {"hard_cornering": 0.50, "low_pressure": 0.06, "": 0.03},
}
"""Chance that a finding is made where a cause is at work; "" where none of those named is. High edges
toward the vehicle's middle mean toe-in, away from it toe-out (Villager service text); the chances are our
assumption."""

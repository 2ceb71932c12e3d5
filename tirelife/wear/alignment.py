"""The alignment worksheet: toe and camber by tape and level, beside the specification, and their cost."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final

import numpy as np
import pandas as pd

from tirelife.driving import DrivingProfile, default_profile
from tirelife.errors import misused
from tirelife.positions import AXLES
from tirelife.units import convert
from tirelife.wear.cause import (
    CAUSE_LOG_SD,
    WHEEL_DIAMETER_MM,
)
from tirelife.wear.severities import (
    severity,
)
from tirelife.wear.vehicle import Vehicle
from tirelife.wear.wrong import Wrong

__all__ = [
    "PREPARATION",
    "Judged",
    "Measured",
    "Range",
    "Step",
    "camber_without_runout",
    "compare_with_specification",
    "sideways_slip",
    "toe_angle_deg",
    "toe_wear",
    "total_toe",
    "worksheet",
    "worksheet_typed",
]


class Step(StrEnum):
    """A step before or while measuring; the words are in :mod:`tirelife.language`."""

    FLOOR = "align-floor"
    PRESSURES = "align-pressures"
    TIRES = "align-tires"
    LOOSENESS = "align-looseness"
    LOAD = "align-load"
    SETTLE = "align-settle"
    SCRIBE = "align-scribe"
    MEASURE = "align-measure"
    TURN = "align-turn"


class Judged(StrEnum):
    """What a row of the worksheet says beside its figures."""

    NO_SPECIFICATION = "align-no-specification"
    INSIDE = "align-inside"
    OUTSIDE = "align-outside"
    BOTH_WHEELS = "align-both-wheels"
    WEAR = "align-wear"


PREPARATION: Final = tuple(Step)
"""Steps before and while measuring, in order: what handbooks of the trade ask for (common practice)."""


@dataclass(frozen=True)
class Measured:
    """Toe and camber of an axle as measured; what was not measured is None.

    Attributes
    ----------
    front_mm, rear_mm : float
        Distance between the scribed lines at hub height, in front of and behind the wheels. [mm]
    front_turned_mm, rear_turned_mm : float or None
        The same after half a turn of the wheels. [mm]
    diameter_mm : float
        Diameter of the tread where the lines were scribed; 660 mm (26 in) if it was not measured. [mm]
    camber_left_deg, camber_right_deg : float or None
        Camber, top leaning out positive. [°]
    camber_left_turned_deg, camber_right_turned_deg : float or None
        The same after half a turn. [°]
    """

    front_mm: float
    rear_mm: float
    front_turned_mm: float | None = None
    rear_turned_mm: float | None = None
    diameter_mm: float = WHEEL_DIAMETER_MM
    camber_left_deg: float | None = None
    camber_right_deg: float | None = None
    camber_left_turned_deg: float | None = None
    camber_right_turned_deg: float | None = None


@dataclass(frozen=True)
class Range:
    """A vehicle's specification of one quantity, as its maker gives it: from ``low`` to ``high``."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low <= self.high):
            raise misused(Wrong.SPECIFICATION, low=self.low, high=self.high)


def total_toe(
    front_mm: float,
    rear_mm: float,
    front_turned_mm: float | None = None,
    rear_turned_mm: float | None = None,
) -> float:
    """Total toe of an axle, in positive.

    Parameters
    ----------
    front_mm, rear_mm : float
        Distance between the scribed lines at hub height, in front of and behind the wheels. [mm]
    front_turned_mm, rear_turned_mm : float, optional
        The same after half a turn of both wheels; run-out has changed sides and the mean is free of it. [mm]

    Returns
    -------
    float [mm]

    Raises
    ------
    InputError
        If a distance is not between 500 and 3500 mm, or only one was taken again.

    Examples
    --------
    >>> total_toe(1500.0, 1504.0, 1501.0, 1503.0)
    3.0
    """
    if (front_turned_mm is None) != (rear_turned_mm is None):
        raise misused(Wrong.HALF_TURN)
    first = [(front_mm, rear_mm)]
    if front_turned_mm is not None and rear_turned_mm is not None:
        first.append((front_turned_mm, rear_turned_mm))
    for distance in (d for pair in first for d in pair):
        if not 500 <= distance <= 3500:
            raise misused(Wrong.LINES, given=distance)
    return float(np.mean([rear - front for front, rear in first]))


def camber_without_runout(reading_deg: float, turned_deg: float | None = None) -> float:
    """Camber from one reading, or from two half a turn apart, which average out run-out [°].

    Examples
    --------
    >>> camber_without_runout(-0.9, -0.5)
    -0.7
    """
    readings = [reading_deg] if turned_deg is None else [reading_deg, turned_deg]
    if any(not -20 <= r <= 20 for r in readings):
        raise misused(Wrong.CAMBER, given=readings)
    return float(np.mean(readings))


def toe_angle_deg(toe_mm: float, diameter_mm: float) -> float:
    """Angle between the two wheels of an axle, from toe at a diameter [°].

    Examples
    --------
    >>> round(toe_angle_deg(25.4 / 8, 26 * 25.4), 4)  # 1/8 in at 26 in
    0.2755
    """
    if not (math.isfinite(diameter_mm) and diameter_mm > 0):
        raise misused(Wrong.DIAMETER, given=diameter_mm)
    return math.degrees(math.atan(toe_mm / diameter_mm))


def sideways_slip(toe_mm: float, diameter_mm: float, distance: float) -> float:
    """How far toe drags rubber sideways over a distance.

    Parameters
    ----------
    toe_mm : float
        Toe of one wheel; or total toe, and the answer is that of both wheels together. [mm]
    diameter_mm : float
        Where it was measured. [mm]
    distance : float
        In any unit.

    Returns
    -------
    float
        ``distance x toe / diameter``, in the unit of ``distance``; never negative.

    Examples
    --------
    >>> round(sideways_slip(0.17 * 25.4, 30 * 25.4, 12_000), 1)  # miles a year
    68.0
    """
    return distance * abs(math.tan(math.radians(toe_angle_deg(toe_mm, diameter_mm))))


def toe_wear(
    toe_mm: float,
    axle: str,
    vehicle: Vehicle | None = None,
    profile: DrivingProfile | None = None,
    diameter_mm: float = WHEEL_DIAMETER_MM,
) -> pd.DataFrame:
    """Wear that an axle's toe adds, with a range.

    Parameters
    ----------
    toe_mm : float
        Total toe. [mm]
    axle : {"front", "rear"}
    vehicle : Vehicle, optional
        An ordinary front-drive car if left out.
    profile : DrivingProfile, optional
        The default one if left out.
    diameter_mm : float
        Where toe was measured. [mm]

    Returns
    -------
    DataFrame
        One row: ``wear_ratio`` (with this toe over without), ``low, high`` (80 % range), ``life_share``.

    Notes
    -----
    Slip grows with toe and so does side force, so wear grows with its square (Schallamach and Turner 1960,
    recalled). The side force of 0.20 of the load per degree is our assumption; the range comes from it.
    """
    if axle not in ("front", "rear"):
        raise misused(Wrong.AXLE, axle=axle)
    angle_mm = WHEEL_DIAMETER_MM * math.tan(math.radians(toe_angle_deg(toe_mm, diameter_mm)))
    table = severity(
        profile or default_profile(),
        vehicle or Vehicle(),
        front_toe_mm=angle_mm if axle == "front" else 0.0,
        rear_toe_mm=angle_mm if axle == "rear" else 0.0,
    )
    wheel = table.loc[[AXLES[axle][0]]].iloc[0].astype(float)
    extra = wheel["alignment"] / (wheel["severity"] - wheel["alignment"])
    factor = math.exp(1.2816 * CAUSE_LOG_SD["alignment"])
    return pd.DataFrame(
        {
            "wear_ratio": [1 + extra],
            "low": [1 + extra / factor],
            "high": [1 + extra * factor],
            "life_share": [1 / (1 + extra)],
        }
    )


def compare_with_specification(found: dict[str, float], specification: dict[str, Range]) -> pd.DataFrame:
    """Measured figures beside the vehicle's specification.

    Parameters
    ----------
    found : dict of str to float
        By name, such as ``toe_mm`` or ``camber_left_deg``.
    specification : dict of str to Range
        As the user copied it from the vehicle's own manual, in the same units.

    Returns
    -------
    DataFrame
        ``quantity, found, low, high, inside, off_by`` (outside the range by so much; 0 inside) and ``note``,
        a code of :class:`Judged`.
        A figure without a specification is not judged.
    """
    rows: list[tuple[str, float, float, float, bool | None, float, str]] = []
    for name, value in found.items():
        limits = specification.get(name)
        if limits is None:
            rows.append((name, value, math.nan, math.nan, None, math.nan, Judged.NO_SPECIFICATION.value))
            continue
        off = max(limits.low - value, value - limits.high, 0.0)
        note = Judged.INSIDE if off == 0 else Judged.OUTSIDE
        rows.append((name, value, limits.low, limits.high, off == 0, off, note.value))
    columns = ["quantity", "found", "low", "high", "inside", "off_by", "note"]
    return pd.DataFrame(rows, columns=columns)


def worksheet(
    measured: Measured,
    axle: str,
    specification: dict[str, Range] | None = None,
    *,
    vehicle: Vehicle | None = None,
    profile: DrivingProfile | None = None,
    km_per_year: float | None = None,
) -> pd.DataFrame:
    """Fill in the worksheet of one axle.

    Parameters
    ----------
    measured : Measured
    axle : {"front", "rear"}
    specification : dict of str to Range, optional
        Of ``toe_mm``, ``camber_left_deg``, ``camber_right_deg``, from the vehicle's own manual.
    vehicle, profile
        As for :func:`toe_wear`.
    km_per_year : float, optional
        To say how far toe drags the tires in a year. [km]

    Returns
    -------
    DataFrame
        ``quantity, found, low, high, inside, off_by, note``: toe in mm, inches and degrees, run-out, camber,
        sideways slip in m per km and feet per mile of both wheels together, and the wear of toe on each
        wheel with its 80 % range in ``low`` and ``high`` of that row.

    Raises
    ------
    InputError
        If a figure cannot be right.
    """
    toe = total_toe(measured.front_mm, measured.rear_mm, measured.front_turned_mm, measured.rear_turned_mm)
    found = {
        "toe_mm": toe,
        "toe_in": toe / 25.4,
        "toe_deg": toe_angle_deg(toe, measured.diameter_mm),
    }
    if measured.front_turned_mm is not None and measured.rear_turned_mm is not None:
        first = measured.rear_mm - measured.front_mm
        found["runout_mm"] = abs(first - (measured.rear_turned_mm - measured.front_turned_mm)) / 2
    for side in ("left", "right"):
        reading = getattr(measured, f"camber_{side}_deg")
        if reading is not None:
            turned = getattr(measured, f"camber_{side}_turned_deg")
            found[f"camber_{side}_deg"] = camber_without_runout(reading, turned)
    judged = compare_with_specification(found, specification or {})
    derived = {
        "slip_m_per_km": sideways_slip(toe, measured.diameter_mm, 1000.0),
        "slip_ft_per_mile": sideways_slip(toe, measured.diameter_mm, 5280.0),
    }
    if km_per_year is not None:
        derived["slip_km_per_year"] = sideways_slip(toe, measured.diameter_mm, km_per_year)
    both = Judged.BOTH_WHEELS.value
    rows = [(k, v, math.nan, math.nan, None, math.nan, both) for k, v in derived.items()]
    cost = toe_wear(toe, axle, vehicle, profile, measured.diameter_mm).iloc[0]
    rows.append(
        ("wear_ratio", cost["wear_ratio"], cost["low"], cost["high"], None, math.nan,
         Judged.WEAR.value)
    )  # fmt: skip
    free = judged["quantity"].isin(["toe_in", "toe_deg", "runout_mm"]) & judged["inside"].isna()
    judged["note"] = judged["note"].where(~free, "")
    return pd.concat([judged, pd.DataFrame(rows, columns=judged.columns)], ignore_index=True)


def worksheet_typed(given: Mapping[str, Any]) -> pd.DataFrame:
    """Fill in the worksheet with what was typed, lengths in one unit.

    Parameters
    ----------
    given : mapping
        By the name of an option of ``tirelife align``: ``axle``; ``unit`` of lengths, mm or in; pairs
        ``distances``, ``turned``, ``toe_spec`` [unit], ``camber_spec`` [°]; ``camber_left`` and
        ``camber_right``, one or two readings [°]; ``diameter`` [unit]; ``miles_a_year`` [mi]. What was not
        measured is None.

    Returns
    -------
    DataFrame
        As of :func:`worksheet`.

    Raises
    ------
    InputError
        If there are no distances, or more than two readings of a camber, or a figure cannot be right.
    """
    if given["distances"] is None:
        raise misused(Wrong.NO_DISTANCES)
    camber: dict[str, float] = {}
    for side in ("left", "right"):
        readings = given[f"camber_{side}"] or []
        if len(readings) > 2:
            raise misused(Wrong.CAMBER_READINGS, side=side)
        camber |= dict(zip((f"camber_{side}_deg", f"camber_{side}_turned_deg"), readings, strict=False))

    def mm(name: str) -> list[float]:
        return [float(convert(value, given["unit"], "mm")) for value in given[name] or ()]

    measured = Measured(*mm("distances"), *mm("turned"), **camber)
    if given["diameter"] is not None:
        measured = replace(measured, diameter_mm=float(convert(given["diameter"], given["unit"], "mm")))
    limits = {}
    if given["toe_spec"]:
        limits["toe_mm"] = Range(*mm("toe_spec"))
    if given["camber_spec"]:
        limits |= dict.fromkeys(("camber_left_deg", "camber_right_deg"), Range(*given["camber_spec"]))
    miles = given["miles_a_year"]
    year = None if miles is None else float(convert(miles, "mi", "km"))
    return worksheet(measured, given["axle"], limits, km_per_year=year)

"""The treadwear grade's arithmetic: regression, course severity, projected mileage, grade.

In the regulation's own units: miles, and mils (0.001 in) of tread depth.

References
----------
.. [1] 49 CFR 575.104, Uniform Tire Quality Grading Standards, paragraph (e)(2)(ix). Its numbered text was not
   read: the procedure and the formulas with 62, 800 and 402 are from memory (confidence high).
.. [2] NHTSA interpretation 10811 (1995): P = projected mileage x 100 / 30,000, cut to the nearest lower
   20; its example, 5,000 miles, gives 16.67 and so 00. Read.
.. [3] 61 FR 47437 (9 September 1996): base course wear rate frozen at 1.34. Read. With 402 = 30,000 x 1.34 /
   100 the two forms of P agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from tirelife.errors import InputError
from tirelife.rates.lines import straight_line

__all__ = [
    "BASE_RATE",
    "BREAK_IN_MILES",
    "INDICATOR_MILS",
    "WearRate",
    "course_adjustment",
    "nine_point_rate",
    "projected_miles",
    "treadwear_grade",
    "treadwear_index",
    "two_point_rate",
]

BASE_RATE: Final = 1.34
"""Base course wear rate, frozen in 1996 [mils per 1,000 miles]."""
BREAK_IN_MILES: Final = 800.0
INDICATOR_MILS: Final = 62.0
"""The 1/16 in of the treadwear indicator, cut from 62.5 [mils]."""


@dataclass(frozen=True)
class WearRate:
    """Depth after break-in [mils] and wear rate [mils per 1,000 miles, positive]."""

    reference_mils: float
    rate: float


def nine_point_rate(miles: ArrayLike, depth_mils: ArrayLike) -> WearRate:
    """Wear rate by least squares, y = a + b x / 1000 (paragraph (A)(1)).

    Parameters
    ----------
    miles : array_like, shape (n,)
        Distance after break-in: 0, 800 ... 6,400 in the regulation. [miles]
    depth_mils : array_like, shape (n,)
        Mean depth of all readings. [mils]

    Examples
    --------
    >>> nine_point_rate([0, 800, 1600], [320, 316, 312])
    WearRate(reference_mils=320.0, rate=5.0)
    """
    line = straight_line(np.asarray(miles, float) / 1000, depth_mils)
    return WearRate(line.intercept, -line.slope + 0.0)


def two_point_rate(depth_start_mils: float, depth_end_mils: float, miles: float = 6400.0) -> WearRate:
    """Wear rate from the first and the last depth alone (paragraph (A)(2)).

    Parameters
    ----------
    depth_start_mils, depth_end_mils : float
        After break-in and at the end. [mils]
    miles : float
        Between them; > 0. [miles]
    """
    _positive("miles", miles)
    return WearRate(float(depth_start_mils), 1000 * (depth_start_mils - depth_end_mils) / miles)


def course_adjustment(monitor_rates: ArrayLike, base_rate: float = BASE_RATE) -> float:
    """Course severity adjustment factor: base course wear rate over the monitoring tires' mean (B, C).

    Parameters
    ----------
    monitor_rates : array_like
        Wear rates of the course monitoring tires in the same convoy; mean > 0. [mils per 1,000 miles]
    base_rate : float
        [mils per 1,000 miles]
    """
    mean = float(np.mean(np.asarray(monitor_rates, float)))
    _positive("mean rate of the monitoring tires", mean)
    return base_rate / mean


def projected_miles(reference_mils: float, adjusted_rate: float) -> float:
    """Projected mileage, 1000 (a - 62) / b' + 800 (paragraph (E)).

    Parameters
    ----------
    reference_mils : float
        Depth after break-in. [mils]
    adjusted_rate : float
        Wear rate times the course adjustment; > 0. [mils per 1,000 miles]

    Examples
    --------
    >>> projected_miles(320, 5)
    52400.0
    """
    _positive("adjusted_rate", adjusted_rate)
    return 1000 * (reference_mils - INDICATOR_MILS) / adjusted_rate + BREAK_IN_MILES


def treadwear_index(miles: float, base_rate: float = BASE_RATE) -> float:
    """P, the grade before it is cut: projected mileage x base course wear rate / 402 (paragraph (F)).

    Parameters
    ----------
    miles : float
        Projected mileage.
    base_rate : float
        [mils per 1,000 miles]

    Examples
    --------
    >>> round(treadwear_index(5000), 2)
    16.67
    """
    return miles * base_rate / 402


def treadwear_grade(index: float) -> int:
    """Cut P to the nearest lower step of 20.

    A grade is a ratio to the monitoring tire on the government's course, and no mileage (NHTSA
    interpretations nht80-4.18 and aiam4024).

    Examples
    --------
    >>> treadwear_grade(399.99), treadwear_grade(400), treadwear_grade(16.67)
    (380, 400, 0)
    """
    if not np.isfinite(index) or index < 0:
        raise InputError(f"P = {index}: a treadwear index is a number from 0 up.")
    # Half a billionth forgives rounding in the last digit of a P that is a whole step.
    return int(20 * np.floor(index / 20 + 5e-10))


def _positive(name: str, value: float) -> None:
    if not value > 0:
        raise InputError(f"{name} is {value}: it must be over 0.")

"""What error a pressure gauge may have by its accuracy grade."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import InputError

__all__ = ["ASME_GRADES", "EN_CLASSES", "grade_tolerance"]

ASME_GRADES: Final[dict[str, tuple[float, float, float]]] = {
    "4A": (0.1, 0.1, 0.1),
    "3A": (0.25, 0.25, 0.25),
    "2A": (0.5, 0.5, 0.5),
    "1A": (1.0, 1.0, 1.0),
    "A": (2.0, 1.0, 2.0),
    "B": (3.0, 2.0, 3.0),
    "C": (4.0, 3.0, 4.0),
    "D": (5.0, 5.0, 5.0),
}
"""ASME B40.100: largest error in per cent of the span, in its low quarter, middle half and high quarter.
Grade A as printed by gauge makers; the other grades from memory."""

EN_CLASSES: Final = ("0.1", "0.16", "0.25", "0.4", "0.6", "1.0", "1.6", "2.5", "4.0")
"""EN 837-1 accuracy classes: the class is the largest error in per cent of the full scale."""


def grade_tolerance(reading: ArrayLike, span: float, grade: str) -> NDArray[np.float64]:
    """Largest error that a dial gauge of an accuracy grade may have at a reading.

    Parameters
    ----------
    reading : array_like
        In any unit of pressure, from 0 to ``span``.
    span : float
        Full scale of the dial, from 0, in the same unit.
    grade : str
        A grade of ASME B40.100 (``"A"``, ``"B"``, ``"1A"`` …) or a class of EN 837-1 (``"1.6"`` …).

    Returns
    -------
    ndarray
        Same unit.

    Raises
    ------
    InputError
        If the grade is not known, or a reading is not on the dial.

    Examples
    --------
    >>> float(grade_tolerance(32, 60, "B")), float(grade_tolerance(32, 60, "A"))
    (1.2, 0.6)
    """
    value = np.asarray(reading, dtype=float)
    if not span > 0 or not np.all((value >= 0) & (value <= span)):
        raise InputError(f"a reading must lie on the dial, from 0 to {span:g}.")
    if grade in ASME_GRADES:
        low, middle, high = ASME_GRADES[grade]
        percent = np.select([value < span / 4, value <= 3 * span / 4], [low, middle], high)
    elif grade in EN_CLASSES:
        percent = np.full(value.shape, float(grade))
    else:
        raise InputError(f"unknown grade {grade!r}: use one of {', '.join((*ASME_GRADES, *EN_CLASSES))}.")
    return np.asarray(percent * span / 100)

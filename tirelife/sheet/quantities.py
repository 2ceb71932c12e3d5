"""Depths, pressures and distances in words: rounded here alone; the page's script rounds alike."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from tirelife.units import LABELS, SHOWN, convert

__all__ = [
    "UNKNOWN", "decimals", "depth", "distance_step", "far", "far_within", "half_up", "label",
    "percent_over", "places", "pressure", "rounded", "written",
]  # fmt: skip

UNKNOWN: Final = "not known"
_STEPS: Final = (1, 2, 5)
FAR_STEPS: Final = (10, 50, 100, 500, 1000, 5000, 10000)
"""Steps that a distance with a range is rounded to."""
SPACE: Final = "\u00a0"
"""Sets off thousands in some languages, but not in numbers of four digits (from memory: the academies'
Ortografía of 2010)."""


def percent_over(ratio: float) -> str:
    """Say how far a ratio lies over 1, or under it, with its sign where it rounds to anything.

    Examples
    --------
    >>> percent_over(1.124), percent_over(0.9), percent_over(0.999)
    ('+12%', '-10%', '0%')
    """
    said = f"{100 * (ratio - 1):+.0f}%"
    return "0%" if said[1:] == "0%" else said


def written(text: str, units: str, say: Mapping[str, str] | None = None) -> str:
    """Give a number as Python writes it the point and the sign of thousands of a language.

    Parameters
    ----------
    text : str
        Digits with a point before decimals and commas between thousands; what else stands in it stays.
    units : str
        ``"us"`` or ``"metric"``: readers of one language may write numbers by two habits.
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

    Examples
    --------
    >>> written("1,234.5", "metric", {"point-metric": ",", "group-metric": "."})
    '1.234,5'
    """
    if say is None:
        return text
    point, group = say[f"point-{units}"], say[f"group-{units}"]
    if group == SPACE and len(text.partition(".")[0].strip("-−+").replace(",", "")) <= 4:
        group = ""
    return text.translate({ord(","): group, ord("."): point})


def label(unit: str, say: Mapping[str, str] | None = None) -> str:
    """Name a unit as people write it."""
    return LABELS[unit] if say is None else say.get(f"label-{unit}", LABELS[unit])


def half_up(value: float, step: float = 1.0) -> float:
    """Round to a multiple of ``step``, halves upwards, as the page's script does.

    Examples
    --------
    >>> half_up(2.5), half_up(-2.5), half_up(1240, 500)
    (3.0, -2.0, 1000.0)
    """
    return float(np.floor(value / step + 0.5) * step)


def places(value: float, digits: int) -> str:
    """Write a number with so many digits after the point, halves upwards, thousands set off.

    Examples
    --------
    >>> places(1234.25, 1), places(-0.01, 1)
    ('1,234.3', '0.0')
    """
    return f"{half_up(value * 10**digits) / 10**digits:,.{digits}f}"


def decimals(spread: float) -> int:
    """Digits after the point that show a tenth of a range's width; none where there is no width.

    Examples
    --------
    >>> decimals(0.4), decimals(1013.0), decimals(0.0)
    (2, 0, 0)
    """
    return max(-math.floor(math.log10(spread / 10)), 0) if spread > 0 else 0


DEEP: Final = {"us": "/32 inch", "metric": " mm"}
"""What follows the number of a depth."""


def depth(mm: float, units: str, say: Mapping[str, str] | None = None, *, tenths: bool = False) -> str:
    """Say a tread depth; of whole 32nds no tenth is said, unless it stands in a column beside others.

    Examples
    --------
    >>> depth(1.5875, "us"), depth(4.7625, "us"), depth(1.6, "metric"), depth(1.5875, "us", tenths=True)
    ('2/32 inch', '6/32 inch', '1.6 mm', '2.0/32 inch')
    """
    if not np.isfinite(mm):
        return UNKNOWN if say is None else say["unknown"]
    unit = SHOWN[units]["depth"]
    said = places(float(convert(mm, "mm", unit)), 1)
    if unit == "32nds" and not tenths:
        said = said.removesuffix(".0")
    return written(said, units, say) + (DEEP if say is None else {n: say[f"deep-{n}"] for n in DEEP})[units]


def pressure(kpa: float, units: str, say: Mapping[str, str] | None = None) -> str:
    """Say a pressure, or a difference of pressures.

    Examples
    --------
    >>> pressure(13.79, "us"), pressure(13.79, "metric")
    ('2 psi', '14 kPa')
    """
    unit = SHOWN[units]["pressure"]
    value = float(convert(kpa, "kpa", unit))
    digits = 1 if unit == "psi" and value < 10 else 0
    return f"{written(places(value, digits).removesuffix('.0'), units, say)} {label(unit, say)}"


def distance_step(spread: float) -> float:
    """Largest step of a distance that is no more than a fifth of its range, both in one unit.

    Examples
    --------
    >>> distance_step(6000.0), distance_step(20.0)
    (1000, 10)
    """
    return next((step for step in reversed(FAR_STEPS) if step <= spread / 5), FAR_STEPS[0])


def far(km: float, units: str, say: Mapping[str, str] | None = None, spread_km: float = math.nan) -> str:
    """Say a distance, rounded by its range; one without a range to the next 500 miles or 1,000 km, or to the
    next 100 where it is shorter.

    Examples
    --------
    >>> far(9656.0, "us"), far(400.0, "metric"), far(9656.0, "us", spread_km=30_000.0)
    ('6,000 miles', '400 km', '6,000 miles')
    """
    unit = SHOWN[units]["distance"]
    value = float(convert(km, "km", unit))
    if math.isfinite(spread_km):
        step = distance_step(float(convert(spread_km, "km", unit)))
    else:
        step = 500.0 if unit == "mi" else 1000.0
        step = step if value >= step else 100.0
    said = places(half_up(value, step), 0)
    return f"{written(said, units, say)} {label(unit, say)}"


def rounded(value: float, spread: float) -> float:
    """Round to the largest step of 1, 2 or 5 times a power of ten that is at most a tenth of a spread.

    Parameters
    ----------
    value : float
    spread : float
        Width of the range of the value, in its own unit; where it is not above 0, two figures are kept.

    Examples
    --------
    >>> rounded(17_931.4, 5_700), rounded(0.0157, 0.02), rounded(123.4, 0)
    (18000.0, 0.016, 120.0)
    """
    if not math.isfinite(value):
        return value
    if not (math.isfinite(spread) and spread > 0):
        spread = 10 ** math.floor(math.log10(abs(value))) if value else 1.0
    power = math.floor(math.log10(spread / 10))
    step = max(s * 10.0**power for s in _STEPS if s * 10.0**power <= spread / 10 * (1 + 1e-9))
    return round(round(value / step) * step, max(-power, 0))


def far_within(km: float, units: str, spread_km: float) -> str:
    """Distance in shown units, rounded by its range, without its unit; empty where it is not known.

    Examples
    --------
    >>> far_within(28_857, "us", 9_000)
    '18,000'
    """
    if not math.isfinite(km):
        return ""
    return far(km, units, spread_km=spread_km).removesuffix(f" {label(SHOWN[units]['distance'])}")

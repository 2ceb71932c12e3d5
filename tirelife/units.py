"""Exact unit factors; the only place where one unit becomes another.

Inside the package everything is in mm, km, kPa, °C, m/s, kg and N. Other units exist at the edges:
they ride in a column's name when a table is read, and in a column's name when an answer is written.

References
----------
.. [1] International yard and pound agreement (1959): 1 in = 25.4 mm, 1 mi = 1.609344 km,
   1 lb = 0.45359237 kg, all exact.
.. [2] ISO 80000-3 and -4 (2006): standard acceleration of free fall 9.80665 m/s², exact.

Examples
--------
>>> convert(10, "32nds", "mm")
7.9375
>>> round(convert(32, "psi", "kpa"), 4)
220.6322
>>> convert(212, "f", "c")
100.0
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from tirelife.errors import misused

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "GRAVITY", "INSIDE", "KINDS", "LABELS", "SHOWN", "convert", "kind_of", "shown", "shown_as", "split_unit",
]  # fmt: skip

INCH_32ND_MM: Final = 25.4 / 32
MILE_KM: Final = 1.609344
"""Exact, by the agreement of 1959 [1]."""

GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s²]."""

_PSI_KPA = 0.45359237 * GRAVITY / 0.0254**2 / 1000


class Wrong(StrEnum):
    """Units that cannot be used."""

    CONVERT = "units-convert"
    UNIT = "units-unit"


KINDS: Final[dict[str, dict[str, tuple[float, float]]]] = {
    "depth": {"mm": (1.0, 0.0), "32nds": (INCH_32ND_MM, 0.0), "mils": (0.0254, 0.0), "in": (25.4, 0.0)},
    "distance": {"km": (1.0, 0.0), "mi": (MILE_KM, 0.0)},
    "pressure": {"kpa": (1.0, 0.0), "psi": (_PSI_KPA, 0.0), "bar": (100.0, 0.0)},
    "temperature": {"c": (1.0, 0.0), "f": (5 / 9, -32.0)},
    "mass": {"kg": (1.0, 0.0), "lb": (0.45359237, 0.0)},
    "speed": {"mps": (1.0, 0.0), "mph": (0.44704, 0.0), "kmh": (1 / 3.6, 0.0)},
    "acceleration": {"mps2": (1.0, 0.0), "g": (GRAVITY, 0.0)},
    "frequency": {"per_100km": (1.0, 0.0), "per_100mi": (1 / MILE_KM, 0.0)},
    "area": {"m2": (1.0, 0.0), "ft2": (0.09290304, 0.0)},
    "angle": {"deg": (1.0, 0.0)},
    "time": {"s": (1.0, 0.0)},
}
"""By kind of quantity: each unit as (factor, offset), with inside value = (value + offset) * factor."""

INSIDE: Final[dict[str, str]] = {kind: next(iter(units)) for kind, units in KINDS.items()}
"""The unit of each kind that is used inside."""

LABELS: Final[dict[str, str]] = {
    "32nds": "32nds", "mm": "mm", "mils": "mils", "in": "in", "km": "km", "mi": "miles", "kpa": "kPa",
    "psi": "psi", "bar": "bar", "c": "°C", "f": "°F", "kg": "kg", "lb": "lb", "mps": "m/s", "mph": "mph",
    "kmh": "km/h", "mps2": "m/s²", "g": "g", "per_100km": "per 100 km", "per_100mi": "per 100 miles",
    "m2": "m²", "ft2": "ft²", "deg": "°", "s": "s",
}  # fmt: skip
"""How a unit is written for people."""

SHOWN: Final[dict[str, dict[str, str]]] = {
    "us": {"depth": "32nds", "distance": "mi", "pressure": "psi"},
    "metric": {"depth": "mm", "distance": "km", "pressure": "kpa"},
}
"""Units in which each kind of quantity is shown to people, by what the logbook uses."""

_KIND_OF = {unit: kind for kind, units in KINDS.items() for unit in units}
_LONGEST_FIRST = sorted(_KIND_OF, key=len, reverse=True)


def kind_of(unit: str) -> str:
    """Return the kind of quantity that a unit measures.

    Examples
    --------
    >>> kind_of("psi")
    'pressure'
    """
    try:
        return _KIND_OF[unit]
    except KeyError:
        raise misused(Wrong.UNIT, unit=unit, known=", ".join(_KIND_OF)) from None


def convert(value: Any, unit: str, to: str) -> Any:
    """Convert a number, array or column from one unit to another of the same kind.

    Parameters
    ----------
    value : float or array_like
        Any shape. [unit]
    unit, to : str
        Units as they stand at the end of a column's name, such as ``"32nds"`` or ``"kpa"``.

    Returns
    -------
    same type and shape as ``value`` [to]

    Raises
    ------
    InputError
        If a unit is unknown or the two measure different things.
    """
    kind = kind_of(unit)
    if kind_of(to) != kind:
        raise misused(Wrong.CONVERT, unit=unit, to=to, kind=kind, other=kind_of(to))
    if unit == to:
        return value
    factor, offset = KINDS[kind][unit]
    factor_to, offset_to = KINDS[kind][to]
    return (value + offset) * (factor / factor_to) - offset_to


def split_unit(column: str, kinds: Sequence[str] | None = None) -> tuple[str, str | None]:
    """Split a column's name into what it holds and its unit, if it ends in one.

    Parameters
    ----------
    column : str
    kinds : sequence of str, optional
        Kinds of quantity to look for; all by default.

    Examples
    --------
    >>> split_unit("new_depth_32nds")
    ('new_depth', '32nds')
    >>> split_unit("hard_stops_per_100mi")
    ('hard_stops', 'per_100mi')
    >>> split_unit("position")
    ('position', None)
    """
    for unit in _LONGEST_FIRST:
        if column.endswith(f"_{unit}") and (kinds is None or _KIND_OF[unit] in kinds):
            return column[: -len(unit) - 1], unit
    return column, None


def shown_as(name: str, units: str) -> tuple[str, tuple[float, ...]]:
    """How a quantity is called in the units that people see, and the factors that bring its number there.

    Parameters
    ----------
    name : str
        Its parts say the unit inside: ``km_left_p50``, ``placard_kpa``, ``wear_mm_per_1000km``.
    units : {"us", "metric"}

    Examples
    --------
    >>> shown_as("depth_now_mm", "us"), shown_as("position", "us"), shown_as("km_on", "metric")
    (('depth_now_32nds', (1.2598425196850394,)), ('position', ()), ('km_on', ()))
    """
    parts, factors = name.split("_"), []
    for i, part in enumerate(parts):
        under = i > 0 and parts[i - 1] == "per"
        unit = part.removeprefix("1000") if under else part
        to = SHOWN[units].get(_KIND_OF.get(unit, ""), unit)
        if unit in INSIDE.values() and to != unit:
            factors.append(convert(1.0, to, unit) if under else convert(1.0, unit, to))
            parts[i] = part.replace(unit, to)
    return "_".join(parts), tuple(factors)


def shown(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Copy of a table in the units that people see, in values and in the names of columns.

    Parameters
    ----------
    table : DataFrame
        Depths, distances and pressures in mm, km and kPa, as the names of their columns say.
    units : {"us", "metric"}

    Examples
    --------
    >>> import pandas as pd
    >>> shown(pd.DataFrame({"life_km": [16093.44], "cost_per_1000km": [1.0]}), "us")
       life_mi  cost_per_1000mi
    0  10000.0         1.609344
    """
    out, names = table.copy(), {}
    for name in map(str, table.columns):
        names[name], factors = shown_as(name, units)
        for factor in factors:
            out[name] = out[name].astype(float) * factor
    return out.rename(columns=names)

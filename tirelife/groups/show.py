"""Tables of this room in the units that people see."""

from __future__ import annotations

import pandas as pd

from tirelife.units import convert

__all__ = ["in_units"]


def in_units(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Return a table of this room in a logbook's units, in values and names.

    Parameters
    ----------
    table : DataFrame
        Columns in inside units: ``rate_mm_per_1000km``, ``cost_per_1000km``, ``distance_km``.
    units : str
        ``"us"`` or ``"metric"``.

    Examples
    --------
    >>> in_units(pd.DataFrame({"cost_per_1000km": [1.0], "life_km": [16093.44]}), "us")
       cost_per_1000mi  life_mi
    0         1.609344  10000.0
    """
    out = table.copy()
    if units != "us":
        return out
    names = {}
    per = convert(1.0, "mi", "km")
    for name in map(str, table.columns):
        if name.endswith("mm_per_1000km"):
            out[name] = convert(out[name], "mm", "32nds") * per
            names[name] = name.replace("mm_per_1000km", "32nds_per_1000mi")
        elif name.endswith("per_1000km"):
            out[name] = out[name] * per
            names[name] = name.replace("per_1000km", "per_1000mi")
        elif "km" in name.split("_"):
            out[name] = convert(out[name], "km", "mi")
            names[name] = "_".join("mi" if part == "km" else part for part in name.split("_"))
    return out.rename(columns=names)

"""Published tread depth against mileage, nine points, as a logbook of one tire.

Tamhane and Dunlop, Statistics and Data Analysis, 2000, Table 10.1 (data read in public code, attribution from memory):
1000 miles 0, 4, ... 32; depth in mils.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from tests.outlook.folders import COLUMNS, write

DEPTHS = (394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33)


def nine_points(folder: Path, points: int, places: tuple[str, ...] = ("LF",)) -> Path:
    """Write the first so many points; the dates are ours, 120 days apart."""
    days = [str(d.date()) for d in pd.date_range("2024-01-01", periods=9, freq="120D")]
    depths = [
        (days[i], 4000 * i, "V1", place, "center", DEPTHS[i]) for i in range(points) for place in places
    ]
    return write(
        folder,
        vehicles=[("V1", "front", 32, 32)],
        tires=pd.DataFrame({"tire_id": list(places), "tire_line": "A", "new_depth_mils": DEPTHS[0]}),
        mounts=[(days[0], 0, "V1", place, place) for place in places],
        depths=pd.DataFrame(depths, columns=[*COLUMNS["depths"][:-1], "depth_mils"]),
    )

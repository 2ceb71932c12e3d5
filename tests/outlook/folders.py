"""Small logbook folders written by hand, for tests of this room."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

COLUMNS = {
    "vehicles": ["vehicle_id", "drive", "placard_front_psi", "placard_rear_psi"],
    "tires": ["tire_id", "tire_line", "new_depth_32nds"],
    "mounts": ["date", "odometer_mi", "vehicle_id", "tire_id", "position"],
    "depths": ["date", "odometer_mi", "vehicle_id", "position", "groove", "depth_32nds"],
    "odometer": ["date", "vehicle_id", "odometer_mi"],
}


def write(folder: Path, **tables: list[tuple] | pd.DataFrame) -> Path:
    """Write the tables given, as rows in the order of COLUMNS or as frames."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        frame = rows if isinstance(rows, pd.DataFrame) else pd.DataFrame(rows, columns=COLUMNS[name])
        frame.to_csv(folder / f"{name}.csv", index=False)
    return folder


def one_car(folder: Path, visits: list[tuple], drive: str = "front", **more) -> Path:
    """One car on four tires since 2024-01-01 at 10,000 miles; visits are (date, odometer_mi, depth_32nds)."""
    places = ("LF", "RF", "LR", "RR")
    tables = {
        "vehicles": [("V1", drive, 32, 32)],
        "tires": [(f"T{i}", "Line A", 10) for i in range(4)],
        "mounts": [("2024-01-01", 10_000, "V1", f"T{i}", p) for i, p in enumerate(places)],
        "depths": [
            (date, miles, "V1", place, groove, depth)
            for date, miles, depth in visits
            for place in places
            for groove in ("outer", "center", "inner")
        ],
    }
    return write(folder, **{**tables, **more})

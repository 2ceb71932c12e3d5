"""Small logbooks by hand, written as a user would and read back."""

import pandas as pd

from tirelife.logbook import GROOVES, read_logbook

POSITIONS = ("LF", "RF", "LR", "RR")
EVEN = (6.0,) * 5


def write_book(folder, depths, mounts=None, vehicles=None, tires=None, **others):
    """Write tables in mm and km; anything not given is one front-drive car on tires mounted at 10,000 km."""
    folder.mkdir(parents=True, exist_ok=True)
    if vehicles is None:
        vehicles = pd.DataFrame(
            {"vehicle_id": ["V1"], "drive": ["front"], "placard_front_kpa": [230], "placard_rear_kpa": [220]}
        )
    if mounts is None:
        mounts = pd.DataFrame(
            {
                "date": "2025-01-01",
                "odometer_km": 10_000,
                "vehicle_id": "V1",
                "tire_id": [f"T-{p}" for p in POSITIONS],
                "position": POSITIONS,
            }
        )
    if tires is None:
        tires = pd.DataFrame({"tire_id": mounts["tire_id"].unique(), "tire_line": "A", "new_depth_mm": 8.0})
    tables = {"vehicles": vehicles, "tires": tires, "mounts": mounts, "depths": depths, **others}
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    return folder


def make_book(folder, depths, **tables):
    return read_logbook(write_book(folder, depths, **tables))


def read_depths(by_groove, position="LF", date="2025-07-01", km=20_000, spot=None, gauge="", vehicle="V1"):
    """Depth readings of one tire on one day; a list of depths in a groove is one a spot."""
    rows = []
    for groove, found in by_groove.items():
        for i, depth in enumerate(found if isinstance(found, list) else [found]):
            rows.append(
                {
                    "date": date,
                    "odometer_km": km,
                    "vehicle_id": vehicle,
                    "position": position,
                    "groove": groove,
                    "depth_mm": depth,
                    "spot": i + 1 if spot is None else spot,
                    "gauge_id": gauge,
                }
            )
    return pd.DataFrame(rows)


def two_visits(folder, front):
    """A car read twice as its front tires come to depths across the tread, its rear ones evenly [mm]."""
    visits = [("2025-04-01", 15_000, 0.5), ("2025-07-01", 20_000, 1.0)]
    parts = [
        read_depths(
            {g: 8 - share * (8 - d) for g, d in zip(GROOVES, front if p[1] == "F" else EVEN, strict=True)},
            position=p,
            date=date,
            km=km,
        )
        for date, km, share in visits
        for p in POSITIONS
    ]
    return make_book(folder, pd.concat(parts))

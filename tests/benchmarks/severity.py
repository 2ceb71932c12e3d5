"""Severity of every stretch of a fleet: mounts, habits and pressures combined, by number of vehicles."""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from tirelife.logbook import BANDS, Logbook
from tirelife.wear import add_reference, stretch_severity

PLACES = np.array(["LF", "RF", "LR", "RR"])
DAY = pd.Timestamp("2024-01-01")


def fleet(vehicles: int) -> Logbook:
    """Four tires a vehicle, three rotations, three rounds of pressures and three records of habits each."""
    rng = np.random.default_rng(1)
    name = np.char.add("V", np.arange(vehicles).astype(str))
    each, place = np.repeat(name, 4), np.tile(PLACES, vehicles)
    tire = np.char.add(each, np.char.add("-", place))
    mounts, pressures, habits = [], [], []
    for turn in range(3):
        day, km = DAY + pd.Timedelta(days=200 * turn), 10_000.0 * turn
        moved = np.tile(np.roll(PLACES, 2 * turn), vehicles)
        mounts.append(
            {"date": day, "odometer_km": km, "vehicle_id": each, "tire_id": tire, "position": moved}
        )
        pressures.append(
            {"date": day + pd.Timedelta(days=90), "vehicle_id": each, "position": place,
             "pressure_kpa": rng.normal(215, 10, 4 * vehicles), "state": "cold", "odometer_km": km + 4500,
             "ambient_c": np.nan, "set_to_kpa": 230.0, "gauge_id": ""}
        )  # fmt: skip
        rates = {f"hard_{what}_per_100km": rng.gamma(2, 1, vehicles) for what in ("starts", "stops", "turns")}
        until = day + pd.Timedelta(days=199)
        habits.append(
            {"vehicle_id": name, "from_date": day, "to_date": until} | dict.fromkeys(BANDS, 0.2) | rates
        )
    ends = {"date": DAY + pd.Timedelta(days=600), "vehicle_id": name, "odometer_km": 30_000.0}
    plain = {"drive": rng.choice(["front", "rear", "all"], vehicles)}
    plain |= {
        "placard_front_kpa": 230.0,
        "placard_rear_kpa": 220.0,
        "mass_kg": np.nan,
        "front_load_share": np.nan,
    }
    tables = {
        "vehicles": pd.DataFrame({"vehicle_id": name} | plain | {"drag_area_m2": np.nan}),
        "mounts": pd.concat(map(pd.DataFrame, mounts), ignore_index=True),
        "pressures": pd.concat(map(pd.DataFrame, pressures), ignore_index=True),
        "habits": pd.concat(map(pd.DataFrame, habits), ignore_index=True),
        "odometer": pd.DataFrame(ends),
        "depths": pd.DataFrame(
            columns=["date", "vehicle_id", "odometer_km", "position", "depth_mm", "gauge_id"]
        ),
        "alignment": pd.DataFrame(columns=["date", "odometer_km", "vehicle_id", "axle", "toe_mm"]),
        "gauges": pd.DataFrame(columns=["gauge_id", "date", "kind", "reading", "master", "unit"]),
    }
    for table in tables.values():
        table["row"], table["doubt"] = np.arange(len(table)) + 2, ""
    return Logbook(tables, pd.DataFrame(), "metric", DAY + pd.Timedelta(days=600), Path())


def small() -> list[dict[str, object]]:
    return run((1_000, 10_000))


def run(sizes: Sequence[int] = (1_000, 10_000, 100_000)) -> list[dict[str, object]]:
    rows = []
    for vehicles in sizes:
        book = fleet(vehicles)
        begun = time.perf_counter()
        parts = stretch_severity(book)
        took = time.perf_counter() - begun
        ends = pd.DataFrame(
            {"tire_id": parts["tire_id"], "date": parts["to_date"], "odometer_km": parts["to_km"]}
        )
        begun = time.perf_counter()
        add_reference(book, ends)
        rows.append(
            {
                "name": f"severity of {vehicles:,} vehicles",
                "figure": round(took, 2),
                "unit": "s",
                "against": f"{len(parts):,} parts",
                "note": f"reference distance at {len(ends):,} visits {time.perf_counter() - begun:.2f} s",
            }
        )
    return rows

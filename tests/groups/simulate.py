"""Simulated fleets of driver groups with known effects; imports nothing from tirelife.

Invented data: they show that ranges hold and that checks fire. They prove nothing about real drivers.
Groups differ in how they wear tires, and also in the cars, sites and tire lines that they use, so that a raw
comparison misleads.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

ROAD = ("LF", "RF", "LR", "RR")
CROSS = {"LF": "LR", "RF": "RR", "LR": "RF", "RR": "LF"}
AXLE = {"front": 0.6, "rear": -0.3, "all": 0.1}
"""Log of front over rear wear by drive."""
LINES = {"Line A": 0.0, "Line B": 0.1, "Line C": 0.3}
MIXES = {  # by group in turn: drives, share on the hard site, tire lines
    "drive": ((0.6, 0.2, 0.2), (0.2, 0.6, 0.2), (0.3, 0.2, 0.5)),
    "site": (0.2, 0.7, 0.5),
    "line": ((0.6, 0.3, 0.1), (0.2, 0.3, 0.5), (0.3, 0.3, 0.4)),
}


@dataclass(frozen=True)
class Groups:
    """How a fleet is made."""

    effects: tuple[float, ...] = (0.0, 0.15, -0.10)  # log wear of each group
    vehicles: int = 8  # a group, Poisson
    vehicle_sd: float = 0.15
    tire_sd: float = 0.08
    site_effect: float = 0.25
    mass_exponent: float = 0.5
    reading_sd_mm: float = 0.2
    step_mm: float = 0.4  # gauge step, about a half thirty-second
    visits: int = 6
    visit_km: float = 7000.0
    own_drive: bool = False  # each group has a drive layout of its own
    own_cars: bool = False  # each group has one car


def _car(rng: np.random.Generator, fleet: Groups, g: int) -> dict:
    mix = g % 3
    kinds = ("front", "rear", "all")
    drive = kinds[mix] if fleet.own_drive else str(rng.choice(kinds, p=MIXES["drive"][mix]))
    site = "hill" if rng.random() < MIXES["site"][mix] else "plain"
    mass = {"front": 1300.0, "rear": 1700.0, "all": 1500.0}[drive] * np.exp(rng.normal(0, 0.08))
    log_wear = rng.normal(0, fleet.vehicle_sd) + fleet.site_effect * (site == "hill")
    log_wear += fleet.mass_exponent * np.log(mass / 1400)
    return {"drive": drive, "site": site, "mass_kg": round(mass), "log_wear": log_wear, "mix": mix}


def rates(rng: np.random.Generator, fleet: Groups = Groups()) -> pd.DataFrame:
    """One row a tire with its log wear rate as if measured, without the steps in between."""
    rows = []
    for g, effect in enumerate(fleet.effects):
        for v in range(1 if fleet.own_cars else max(2, rng.poisson(fleet.vehicles))):
            car = _car(rng, fleet, g)
            rotated = rng.random() < 0.6
            for _ in range(rng.integers(1, 3)):
                line = str(rng.choice(list(LINES), p=MIXES["line"][car["mix"]]))
                for w in range(4):
                    front = rng.uniform(0.35, 0.65) if rotated else float(w < 2)
                    se = rng.uniform(0.03, 0.09)
                    mean = -2.4 + effect + car["log_wear"] + LINES[line]
                    mean += np.log(front * np.exp(AXLE[car["drive"]]) + 1 - front)
                    log_rate = mean + rng.normal(0, fleet.tire_sd) + rng.normal(0, se)
                    rows.append(
                        {
                            "tire_id": f"T{len(rows)}", "vehicle_id": f"V{g}{v}", "driver_group": "ABCDEFGH"[g],
                            "drive": car["drive"], "site": car["site"], "mass_kg": car["mass_kg"], "tire_line": line,
                            "front_share": front, "warm_share": rng.uniform(0.3, 0.7), "km": 40_000.0,
                            "log_rate": log_rate, "se_log": se, "rate_mm_per_1000km": np.exp(log_rate), "used": True,
                            "note": "", "mid_date": pd.Timestamp("2024-06-01"),
                        }
                    )  # fmt: skip
    return pd.DataFrame(rows)


def write_fleet(folder: Path, rng: np.random.Generator, fleet: Groups = Groups()) -> Path:
    """Write a logbook folder with depths read at visits, rotations and gauge error."""
    vehicles, tires, mounts, depths = [], [], [], []
    start = pd.Timestamp("2023-01-05")
    for g, effect in enumerate(fleet.effects):
        for v in range(1 if fleet.own_cars else max(2, rng.poisson(fleet.vehicles))):
            car = _car(rng, fleet, g)
            name = f"V{g}{v:02d}"
            vehicles.append(
                {
                    "vehicle_id": name, "drive": car["drive"], "placard_front_kpa": 230, "placard_rear_kpa": 220,
                    "driver_group": "ABCDEFGH"[g], "mass_kg": car["mass_kg"], "site": car["site"],
                }
            )  # fmt: skip
            rotates = rng.random() < 0.6
            odometer, day = (
                float(rng.integers(5_000, 60_000)),
                start + pd.Timedelta(days=int(rng.integers(60))),
            )
            place, depth, rate = {}, {}, {}

            def fit_new(
                day=day,
                odometer=odometer,
                name=name,
                place=place,
                depth=depth,
                rate=rate,
                car=car,
                effect=effect,
                mounts=mounts,
                tires=tires,
            ):
                line = str(rng.choice(list(LINES), p=MIXES["line"][car["mix"]]))
                for p in ROAD:
                    if p in place:
                        mounts.append((day, odometer, name, place[p], "OFF"))
                    tire = f"T{len(tires):04d}"
                    tires.append({"tire_id": tire, "tire_line": line, "new_depth_mm": 8.0, "price": 120.0})
                    mounts.append((day, odometer, name, tire, p))
                    place[p], depth[tire] = tire, 8.0 + rng.normal(0, 0.08)
                    rate[tire] = -2.8 + effect + car["log_wear"] + LINES[line] + rng.normal(0, fleet.tire_sd)

            fit_new()
            for _ in range(fleet.visits):
                km = fleet.visit_km * rng.uniform(0.7, 1.3)
                odometer, day = odometer + km, day + pd.Timedelta(days=int(km / 55))
                lean = rng.normal(0, 0.1)
                for p, tire in place.items():
                    axle = AXLE[car["drive"]] if p in ("LF", "RF") else 0.0
                    depth[tire] -= np.exp(rate[tire] + axle) * km / 1000
                    for groove in ("outer", "center", "inner"):
                        read = depth[tire] + lean + rng.normal(0, fleet.reading_sd_mm)
                        read = max(round(read / fleet.step_mm) * fleet.step_mm, 0.0)
                        depths.append((day, odometer, name, p, groove, round(read, 3)))
                if min(depth[tire] for tire in place.values()) < 2.5:
                    fit_new(day, odometer)
                elif rotates:
                    place.update({CROSS[p]: tire for p, tire in list(place.items())})
                    mounts += [(day, odometer, name, tire, p) for p, tire in place.items()]
    folder.mkdir(parents=True, exist_ok=True)
    pd.DataFrame(vehicles).to_csv(folder / "vehicles.csv", index=False)
    pd.DataFrame(tires).to_csv(folder / "tires.csv", index=False)
    for table, rows, columns in (
        ("mounts", mounts, ["date", "odometer_km", "vehicle_id", "tire_id", "position"]),
        ("depths", depths, ["date", "odometer_km", "vehicle_id", "position", "groove", "depth_mm"]),
    ):
        pd.DataFrame(rows, columns=columns).round({"odometer_km": 1}).to_csv(
            folder / f"{table}.csv", index=False
        )
    return folder

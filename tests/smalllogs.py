"""Random small logbooks of cars whose tires came part-worn, with known truth; imports nothing from tirelife.

Invented data: 1 to 3 cars, 1 to 5 visits, new depths not written down. Rates are drawn from the law that the
published prior states (mean life 45,000 miles from 10/32 to 2/32, NHTSA FMVSS 138 analysis; best and worst tenths of
drivers two-fold apart, TST 1(2) 1973), so that ranges can be checked against it.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

INCH_32ND = 25.4 / 32
MILE = 1.609344
REMOVAL_MM = 2 * INCH_32ND
PLACES = ("LF", "RF", "LR", "RR")
AXLES = np.log([1.46, 1.46, 0.54, 0.54])
"""Usual wear of a front-driven car's wheels over their mean, as the contact-patch energy has it."""
OTHER_AXLES = {
    "front": [1.35, 1.35, 0.65, 0.65], "rear": [0.85, 0.85, 1.15, 1.15], "all": [1.05, 1.05, 0.95, 0.95],
}  # fmt: skip
"""Invented: wear of the wheels over their mean, by drive."""


def small_log(
    folder: Path, rng: np.random.Generator, part_worn: float = 1.0, other: bool = False
) -> pd.DataFrame:
    """Write one small logbook; return its truth, one row a tire.

    ``part_worn`` is the share of sets that were not new when mounted; with ``other`` the cars are driven at any
    axle, lines differ more in depth, gauges read deep or shallow, tires of one car differ with long tails, and
    the distance of a day varies more. Columns: ``tire_id, last_read_mm,
    since_km`` (distance since that reading), ``wear_mm_per_km``, ``depth_mm`` (today), ``true_km_left``.
    """
    bias = rng.normal(0, 0.3) if other else 0.0
    gauge_step = float(rng.choice([0.5, 1.0]))
    rate_place = np.log(8 * INCH_32ND / (45_000 * MILE)) + 0.055 + rng.normal(0, 0.25)
    tables: dict[str, list[dict]] = {
        name: [] for name in ("vehicles", "tires", "mounts", "depths", "odometer")
    }
    truth = []
    end = pd.Timestamp("2026-03-02")
    grooves = ("center",) if rng.random() < 0.5 else ("outer", "center", "inner")
    for car in range(int(rng.integers(1, 4))):
        name, km_day = f"C{car}", 46 * np.exp(rng.normal(0, 0.35))
        odometer = float(rng.uniform(8_000, 150_000))
        drive, usual = "front", AXLES
        if other:
            drive = str(rng.choice(["front", "rear", "all"]))
            usual = np.log(OTHER_AXLES[drive])
            km_day *= np.exp(rng.normal(0, 0.4))
        tables["vehicles"].append(
            {"vehicle_id": name, "drive": drive, "placard_front_psi": 33, "placard_rear_psi": 33}
        )
        axle = rng.normal(0, 0.35) / 2
        own = (
            rate_place
            + rng.normal(0, 0.27)
            + rng.normal(0, 0.176)
            + (0.08 * rng.standard_t(4, 4) if other else rng.normal(0, 0.08, 4))
        )
        rate = np.exp(own + usual + np.array([axle, axle, -axle, -axle]))
        line = f"Line {rng.integers(3)}"
        new = rng.normal(10.5 * INCH_32ND, 1.2 if other else 0.8)
        start = np.full(4, new) + rng.normal(0, 0.1, 4)
        if rng.random() < part_worn:
            start = np.repeat(rng.uniform(3 * INCH_32ND, new, 2), 2) + rng.normal(0, 0.15, 4)
        rates = rate * km_day  # mm a day
        days = np.cumsum(rng.integers(50, 220, int(rng.integers(1, 6))))
        days = days - days[0] if rng.random() < 0.5 else days
        start = np.maximum(start, REMOVAL_MM + rates * days[0] + 0.2)
        live = np.append(True, ((start - rates * days[1:, None]) > REMOVAL_MM).all(axis=1))
        days = days[np.cumprod(live).astype(bool)]  # worn out, the car is seen no more
        mounted = end - pd.Timedelta(days=int(days[-1] + rng.integers(0, 60)))
        for place in range(4):
            tire = f"{name}-{PLACES[place]}"
            tables["tires"].append({"tire_id": tire, "tire_line": line, "new_depth_32nds": ""})
            row = {"date": mounted, "odometer_mi": odometer / MILE, "vehicle_id": name}
            tables["mounts"].append({**row, "tire_id": tire, "position": PLACES[place]})
        seen = np.full(4, np.nan)
        for day in days:
            lean = rng.normal(0, 0.2)
            row = {"date": mounted + pd.Timedelta(days=int(day)), "vehicle_id": name}
            row["odometer_mi"] = (odometer + km_day * day) / MILE
            for place in range(4):
                true = (start[place] - rates[place] * day) / INCH_32ND
                read = true + lean + bias + rng.normal(0, 0.25, len(grooves))
                read = np.maximum(np.round(read / gauge_step) * gauge_step, 0.0)
                seen[place] = read.mean() * INCH_32ND
                for groove, value in zip(grooves, read, strict=True):
                    tables["depths"].append(
                        {**row, "position": PLACES[place], "groove": groove, "depth_32nds": value}
                    )
        run = km_day * (end - mounted).days
        tables["odometer"].append({"date": end, "vehicle_id": name, "odometer_mi": (odometer + run) / MILE})
        now = start - rate * run
        truth += [
            {
                "tire_id": f"{name}-{PLACES[place]}",
                "last_read_mm": seen[place],
                "since_km": run - km_day * days[-1],
                "wear_mm_per_km": rate[place],
                "depth_mm": now[place],
                "true_km_left": max((now[place] - REMOVAL_MM) / rate[place], 0.0),
            }
            for place in range(4)
        ]
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        columns = ["date", "odometer_mi", "vehicle_id", "position", "groove", "depth_32nds"]
        frame = pd.DataFrame(rows, columns=columns if name == "depths" else None)
        frame.to_csv(folder / f"{name}.csv", index=False)
    return pd.DataFrame(truth)

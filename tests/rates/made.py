"""Small fleets as frames, with known truth; knows nothing of how the fit works."""

import numpy as np
import pandas as pd


def frames(
    vehicles=30, visits=7, seed=1, *, km=7000.0, rate=5e-5, vehicle_sd=0.2, tire_sd=0.08, axle=0.3, q=0.0,
    lines=(0.0, 0.2), groups=(), gauge_sd=0.12, visit_sd=0.12, mould_sd=0.08, scatter=0.0, rotate=2, new=8.0,
    per_vehicle=4,
):  # fmt: skip
    """Tire-visits, tires and vehicles, reference distance given; the truth is in tires and vehicles."""
    rng = np.random.default_rng(seed)
    rows, tires, cars = [], [], []
    for v in range(vehicles):
        vehicle = f"V{v:04d}"
        own = rng.normal(0, vehicle_sd)
        group = int(rng.integers(len(groups))) if groups else None
        effect = own + (groups[group] if groups else 0.0)
        cars.append((vehicle, "front", f"G{group}" if groups else "", own))
        line = int(rng.integers(len(lines)))
        front = np.arange(4) < 2
        log_rate = np.log(rate) + effect + lines[line] + rng.normal(0, tire_sd, 4)
        start = new + rng.normal(0, mould_sd, 4)
        run = np.zeros((4, 2))
        worn, shared_date = np.zeros(4), pd.Timestamp("2024-01-01")
        for j in range(visits):
            step = km * rng.uniform(0.6, 1.4)
            side = np.where(front, axle / 2, -axle / 2)
            scattered = step + np.sqrt(scatter * step) * rng.normal(size=4)
            left = np.maximum(start - worn, 0.05) / start
            worn = worn + np.exp(log_rate + side) * scattered * left**q
            run[np.arange(4), np.where(front, 0, 1)] += step
            shared_date += pd.Timedelta(days=90)
            lean = rng.normal(0, visit_sd)
            for t in range(per_vehicle):
                depth = start[t] - worn[t] + lean + rng.normal(0, gauge_sd)
                place = ("L" if t % 2 == 0 else "R") + ("F" if front[t] else "R")
                rows.append((vehicle, f"{vehicle}-{t}", place, shared_date, run[t].sum(), depth, *run[t]))
            if rotate and j % rotate == 1:
                front = ~front
        for t in range(per_vehicle):
            tires.append((f"{vehicle}-{t}", f"Line {'ABCDEF'[line]}", new, log_rate[t], start[t] - worn[t]))
    columns = [
        "vehicle_id", "tire_id", "position", "date", "odometer_km", "depth_mm", "reference_front_km",
        "reference_rear_km",
    ]  # fmt: skip
    read = pd.DataFrame(rows, columns=columns)
    read["reference_km"] = read["tire_km"] = read["odometer_km"]
    tires = pd.DataFrame(
        tires, columns=["tire_id", "tire_line", "new_depth_mm", "true_log_rate", "true_depth"]
    )
    return read, tires, pd.DataFrame(cars, columns=["vehicle_id", "drive", "driver_group", "true_effect"])

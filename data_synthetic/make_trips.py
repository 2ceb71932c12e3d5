"""Make a few recorded trips of the demo cars: invented data, for the demo only, never a proof of anything.

Run ``python data_synthetic/make_trips.py`` to write ``trips.csv`` again; the seed is fixed. A trip is a list of roads,
each with a speed to hold; the car gets up to speed, holds it, brakes for the next road and turns into it. One trip
has a gap in the recording, one a spike, as real recordings do.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

SEED = 20261101
ROADS = {
    # speed to hold [m/s] and its spread, share of roads
    "village": (11.5, 1.5, 0.35),
    "lane": (16.5, 2.0, 0.35),
    "main road": (23.5, 1.8, 0.25),
    "dual carriageway": (29.5, 1.2, 0.05),
}
DRIVERS = {"V03": ("on call", 1.9, 2.2), "V01": ("day rounds", 1.4, 1.6), "V02": ("evening rounds", 1.2, 1.4)}


def main() -> None:
    """Write ``trips.csv`` beside this script."""
    rng = np.random.default_rng(SEED)
    trips = []
    for vehicle, (group, push, brake) in DRIVERS.items():
        for number in range(1, 5):
            trip = drive(rng, push, brake)
            trip.insert(0, "trip_id", f"{vehicle}-{number}")
            trip.insert(0, "vehicle_id", vehicle)
            trip["date"] = pd.Timestamp("2026-10-05") + pd.Timedelta(days=2 * number)
            trip["driver_group"] = group
            trips.append(trip)
    trips[1] = trips[1].drop(index=range(200, 226))
    trips[6].loc[150, "speed_mps"] = 71.3
    out = pd.concat(trips, ignore_index=True)
    out["date"] = out["date"].dt.date
    out.to_csv(Path(__file__).parent / "trips.csv", index=False, lineterminator="\n")


def drive(rng: np.random.Generator, push: float, brake: float) -> pd.DataFrame:
    """One trip at 1 Hz: time [s], speed [m/s] and heading [degrees]."""
    speed, heading = [0.0, 0.0, 0.0], [90.0, 90.0, 90.0]
    names = list(ROADS)
    shares = [ROADS[name][2] for name in names]
    for _ in range(int(rng.integers(4, 8))):
        hold, spread, _ = ROADS[names[rng.choice(len(names), p=shares)]]
        target = max(5.0, rng.normal(hold, spread))
        gain = push * rng.lognormal(0, 0.2)
        while speed[-1] < target - 0.5:
            _step(rng, speed, heading, min(target, speed[-1] + gain * (1 - 0.6 * speed[-1] / target)), 0.0)
        for _ in range(int(rng.integers(40, 110))):
            _step(rng, speed, heading, speed[-1] + 0.15 * (target - speed[-1]) + rng.normal(0, 0.12), 0.0)
        slow = brake * rng.lognormal(0, 0.2)
        end = 0.0 if rng.random() < 0.45 else 5.5
        while speed[-1] > end + 0.3:
            _step(rng, speed, heading, max(end, speed[-1] - slow), 0.0)
        for _ in range(int(rng.integers(3, 20)) if end == 0 else 0):
            _step(rng, speed, heading, 0.0, 0.0)
        turn = rng.choice([-90.0, 90.0])
        for _ in range(4):
            _step(rng, speed, heading, max(min(4.0, speed[-1] + 1.3), speed[-1]), turn / 4)
    while speed[-1] > 0:
        _step(rng, speed, heading, max(0.0, speed[-1] - brake), 0.0)
    return pd.DataFrame(
        {
            "time_s": np.arange(len(speed)),
            "speed_mps": np.round(speed, 2),
            "heading_deg": np.round(np.mod(heading, 360), 1),
        }
    )


def _step(rng: np.random.Generator, speed: list[float], heading: list[float], to: float, turn: float) -> None:
    speed.append(max(0.0, to))
    heading.append(heading[-1] + turn + (rng.normal(0, 0.15) if to > 1 else 0.0))


if __name__ == "__main__":
    main()

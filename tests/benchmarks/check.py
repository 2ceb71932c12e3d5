"""How long ``tirelife check`` takes on 1,000,000 depth rows, against pandas reading the same file."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from tests.benchmarks.start import seconds

VEHICLES, VISITS, SPOTS = 2500, 20, 1
PLACES, GROOVES = ("LF", "RF", "LR", "RR"), ("outer", "outer_mid", "center", "inner_mid", "inner")
LIMIT = 4.0


def write_logbook(folder: Path, seed: int = 1) -> Path:
    """Write a logbook of 2,500 cars: 20 visits, tires rotated at every fourth, 1,000,000 depths."""
    rng = np.random.default_rng(seed)
    ids = [f"V{i:04d}" for i in range(VEHICLES)]
    shape = (VEHICLES, VISITS, len(PLACES), len(GROOVES) * SPOTS)
    car, visit, place, groove = (axis.ravel() for axis in np.indices(shape))
    days = pd.Timestamp("2024-01-01") + pd.to_timedelta(np.arange(VISITS) * 40, unit="D")
    day = days.strftime("%Y-%m-%d").to_numpy()
    depth = 10 - 0.3 * visit + rng.normal(0, 0.15, car.size)
    pd.DataFrame(
        {
            "date": day[visit],
            "odometer_mi": 10_000 + 7 * car + 1000 * visit,
            "vehicle_id": np.array(ids)[car],
            "position": np.array(PLACES)[place],
            "groove": np.array(GROOVES)[groove],
            "depth_32nds": np.round(depth * 2) / 2,
            "gauge_id": np.array(["D1", "D2"])[car % 2],
        }
    ).to_csv(folder / "depths.csv", index=False)
    pd.DataFrame(
        {"vehicle_id": ids, "drive": "front", "placard_front_psi": 33, "placard_rear_psi": 33}
    ).to_csv(folder / "vehicles.csv", index=False)
    tires = [f"{v}-{p}" for v in ids for p in range(4)]
    pd.DataFrame({"tire_id": tires, "tire_line": "A", "new_depth_32nds": 10.3}).to_csv(
        folder / "tires.csv", index=False
    )
    mounts = [
        (day[visit], 10_000 + 7 * i + 1000 * visit, v, f"{v}-{p}", PLACES[(p + visit // 4) % 4])
        for i, v in enumerate(ids)
        for visit in range(0, VISITS, 4)
        for p in range(4)
    ]
    names = ["date", "odometer_mi", "vehicle_id", "tire_id", "position"]
    pd.DataFrame(mounts, columns=names).to_csv(folder / "mounts.csv", index=False)
    return folder


def run() -> list[dict[str, object]]:
    """Time both as commands, from start to end."""
    with tempfile.TemporaryDirectory() as name:
        folder = write_logbook(Path(name))
        file = str(folder / "depths.csv")
        bare = seconds("-c", "import sys, pandas; pandas.read_csv(sys.argv[1])", file)
        check = seconds("-m", "tirelife", "check", str(folder))
    return [
        {
            "name": "tirelife check, 1,000,000 depth rows",
            "figure": round(check, 2),
            "unit": "s",
            "against": f"pandas reads the file in {bare:.2f} s",
            "note": f"{check / bare:.1f} times; limit {LIMIT:g} times; each a command from start to end",
        }
    ]


small = run

if __name__ == "__main__":
    for row in run():
        print(row)

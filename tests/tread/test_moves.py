"""Readings taken on the day of a move, before it or after it, find their tire."""

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import stretches
from tirelife.tread.moves import choose_side
from tirelife.tread.visits import _stretch_of

RATE = {"front": 1.3e-4, "rear": 0.6e-4}
VEHICLES = pd.DataFrame({"vehicle_id": [f"C{n}" for n in range(6)], "drive": "front"})
ORDER = ("LF", "RF", "LR", "RR")


def fleet(measured: str, cars: int = 6):
    """Cars whose four tires cross over at every visit and are measured just before or just after it."""
    rng = np.random.default_rng(5)
    mounts, depths, truth = [], [], []
    for car in range(cars):
        vehicle, on, km = f"C{car}", {p: f"C{car}-{p}" for p in ORDER}, 1000.0
        depth = {tire: 8.0 + rng.normal(0, 0.1) for tire in on.values()}
        day = pd.Timestamp("2025-01-01")
        mounts += [(day, km, vehicle, tire, p) for p, tire in on.items()]
        for _ in range(6):
            day, km = day + pd.Timedelta(days=90), km + 8000
            for p, tire in on.items():
                depth[tire] -= 8000 * RATE["front" if p in ("LF", "RF") else "rear"]
            moved = {"LR": on["LF"], "RR": on["RF"], "RF": on["LR"], "LF": on["RR"]}
            if measured == "after":
                on = moved
            for p, tire in on.items():
                depths.append((day, km, vehicle, p, "center", depth[tire] + rng.normal(0, 0.1), ""))
                truth.append(tire)
            on = moved
            mounts += [(day, km, vehicle, tire, p) for p, tire in on.items()]
    columns = ["date", "odometer_km", "vehicle_id"]
    mounts = pd.DataFrame(mounts, columns=[*columns, "tire_id", "position"])
    depths = pd.DataFrame(depths, columns=[*columns, "position", "groove", "depth_mm", "doubt"])
    return stretches(mounts, mounts[columns]), depths, np.array(truth)


@pytest.mark.parametrize("measured", ["before", "after"])
def test_the_shops_habit_is_found_from_the_depths(measured):
    path, depths, truth = fleet(measured)
    row = choose_side(depths, *_stretch_of(depths, path), path, VEHICLES)
    assert (path["tire_id"].to_numpy()[row] == truth).all()


def test_a_new_tire_measured_on_the_day_it_comes_on_is_not_taken_for_the_worn_one_that_left():
    path, depths, truth = fleet("before")
    last = depths["date"].max()
    mounts = pd.DataFrame(
        {"date": last, "odometer_km": 49000.0, "vehicle_id": "C0", "tire_id": ["new"], "position": ["LF"]}
    )
    old = path["tire_id"][(path["vehicle_id"] == "C0") & (path["position"] == "LF") & path["open"]].iloc[0]
    path.loc[(path["tire_id"] == old) & path["open"], ["open", "to_date"]] = False, last
    path = pd.concat(
        [path, stretches(mounts, mounts[["date", "vehicle_id", "odometer_km"]])], ignore_index=True
    )
    spot = (depths["vehicle_id"] == "C0") & (depths["position"] == "LF") & (depths["date"] == last)
    depths.loc[spot, "depth_mm"] = 8.1
    row = choose_side(depths, *_stretch_of(depths, path), path, VEHICLES)
    assert (path["tire_id"].to_numpy()[row[spot.to_numpy()]] == "new").all()
    assert (path["tire_id"].to_numpy()[row[~spot.to_numpy()]] == truth[~spot.to_numpy()]).all()

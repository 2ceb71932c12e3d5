"""Depth readings for comparing engines, and their sums put into one form."""

import numpy as np
import pandas as pd

from tirelife.logbook import GROOVES
from tirelife.tread.reduction import KEYS, SUM_COLUMNS

DOUBLES = [c for c in SUM_COLUMNS if c.endswith(("_mm", "_mm2", "_km"))]


def readings(n=4000, seed=3):
    rng = np.random.default_rng(seed)
    depth = np.round(rng.uniform(1.5, 9.0, n) / 0.396875) * 0.396875
    depth[::97] = np.nan
    return pd.DataFrame(
        {
            "vehicle_id": rng.choice([f"V{i:03d}" for i in range(40)], n),
            "position": rng.choice(["LF", "RF", "LR", "RR"], n),
            "date": pd.to_datetime("2025-01-01") + pd.to_timedelta(rng.integers(0, 5, n) * 90, unit="D"),
            "odometer_km": rng.uniform(1000, 1002, n),
            "groove": rng.choice(GROOVES, n),
            "depth_mm": depth,
            "gauge_id": rng.choice(["D1", "D2", ""], n),
            "doubt": rng.choice(["", "", "", "depth grew"], n),
        }
    )


def tidy(sums):
    sums = sums.sort_values(list(KEYS), ignore_index=True)
    sums["date"] = pd.to_datetime(sums["date"])
    whole = ["doubtful", *(f"n_{g}" for g in GROOVES)]
    return sums.astype(dict.fromkeys(whole, "int64") | dict.fromkeys(DOUBLES, "float64"))

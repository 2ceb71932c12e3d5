"""Frames of tires where they stand today, by hand: sure of everything but what a test says."""

import numpy as np
import pandas as pd

from tirelife.rates.posterior import POSTERIOR_COLUMNS
from tirelife.tread import Verdict

SURE = {
    **dict.fromkeys(POSTERIOR_COLUMNS, 0.0),
    "at_depth": 6.0, "at_log_wear": np.log(1e-4),
    "since_front_km": 0.0, "since_rear_km": 0.0, "unread_km": 0.0, "here": 1.0, "log_sd": 0.0, "walk_share": 0.5,
    "q_share_0": 1.0, "q_mean_0": 0.0, "q_sd_0": 0.1, "q_share_1": 0.0, "q_mean_1": 0.0, "q_sd_1": 0.1,
    "there": 1.0, "limit_mm": 2.0, "limit_sd_mm": 0.0, "bend_log_sd": 0.0,
    "chance": 0.0, "since_km": 1_000.0, "every_km": 10_000.0, "every_log_sd": 0.0, "interval_log_sd": 0.0,
    "km_per_day": 50.0, "year_log_sd": 0.0, "drift_log_sd": 0.0, "age_days": np.inf, "spare_turns": False,
    "vehicle_id": "V1", "verdict": Verdict.OVER, "position": "LF", "axle": "front",
}  # fmt: skip
"""6 mm left, 0.1 mm per 1000 km, straight, off at 2 mm: 40,000 km; never rotated, 50 km a day."""
AXLES = {"LF": "front", "RF": "front", "LR": "rear", "RR": "rear", "SP": "spare"}


def stands(count=1, **columns):
    """So many tires; a column is one value for all or a value a tire, and axles go with positions."""
    frame = pd.DataFrame({**SURE, **columns}, index=range(count))
    return frame if "axle" in columns else frame.assign(axle=frame["position"].map(AXLES))

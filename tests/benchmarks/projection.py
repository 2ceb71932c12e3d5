"""Ranges of distances, dates and first-of-set on fleets of known future.

    python -m tests.benchmarks.projection [SEEDS] [VEHICLES]

Prints a row a fleet: share of tires in the 80 % range of distance and of date, of sets in that of the first due,
error of today's depth and its stated sd [32nds], mean log bias and pinball loss of the distance [km].
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from tests.fleets import BENT, INCH_32ND, WELL, coverage, simulate
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast, present_state, set_outlook
from tirelife.rates import fit_logbook

LEVELS = (0.1, 0.25, 0.5, 0.75, 0.9)
FLEETS = {
    **{f"gap {days}": replace(WELL, gap_days=days) for days in (20, 150, 300, 500)},
    "none rotate": replace(WELL, rotation=None),
    "half rotate": replace(WELL, rotating_share=0.5),
    "worn sets replaced": replace(WELL, days=1350),
    "70 % of visits without depths": replace(WELL, read_share=0.3, visit_days=60.0),
    "whole 32nds": replace(WELL, step_32nds=1.0),
    "one mileage": replace(WELL, visits=1, days=500, km_day_sd=0.02),
    **{f"bent: {name}": fleet for name, fleet in BENT.items()},
}


def run(fleet, seed: int) -> dict[str, float]:
    """Scores of one fleet."""
    with tempfile.TemporaryDirectory() as folder:
        truth = simulate(Path(folder), fleet, seed)
        book = read_logbook(Path(folder))
        fit = fit_logbook(book)
        state, table = present_state(book, fit), forecast(book, fit)
        sets = set_outlook(state).query("group == 'set'").set_index("vehicle_id")
    both = table.merge(truth, on="tire_id", suffixes=("", "_true"))
    now = state.set_index("tire_id").loc[both["tire_id"]]
    score = coverage(table, truth)
    first = truth.groupby("vehicle_id")["true_km_left"].min().reindex(sets.index)
    inside = (first >= sets["km_left_p10"]) & (first <= sets["km_left_p90"])
    miss = (
        both["true_km_left"].to_numpy()[:, None]
        - both[[f"km_left_p{round(100 * p)}" for p in LEVELS]].to_numpy()
    )
    error = (now["mean_depth_mm"].to_numpy() - both["depth_mm"].to_numpy()) / INCH_32ND
    return {
        "km": score["cover_80"],
        "date": score["date_80"],
        "set": float(inside.mean()),
        "depth_error": float(np.sqrt(np.nanmean(error**2))),
        "depth_sd": float(now["mean_depth_sd_mm"].mean() / INCH_32ND),
        "log_bias": score["log_bias"],
        "pinball_km": float(np.nanmean(np.maximum(np.array(LEVELS) * miss, (np.array(LEVELS) - 1) * miss))),
    }


def main(seeds: int, vehicles: int, only: str = "") -> None:
    for name, fleet in FLEETS.items():
        if only in name:
            rows = [run(replace(fleet, vehicles=vehicles), 100 + seed) for seed in range(seeds)]
            mean = pd.DataFrame(rows).mean()
            print(f"{name:32}", " ".join(f"{k} {v:.3f}" for k, v in mean.items()), flush=True)


if __name__ == "__main__":
    main(*(int(arg) for arg in sys.argv[1:3]), *sys.argv[3:4])

"""Ranges on 2,000 random small logbooks of cars that came on part-worn tires, and no new depths."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from tests.smalllogs import INCH_32ND, REMOVAL_MM, small_log
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast
from tirelife.rates import fit_logbook

LOGS = 2000


def answers(logs: int = LOGS, seed: int = 24, part_worn: float = 1.0) -> pd.DataFrame:
    """Forecasts of random small logs beside their truth."""
    rng, out = np.random.default_rng(seed), []
    for log in range(logs):
        with tempfile.TemporaryDirectory() as name:
            truth = small_log(Path(name), rng, part_worn)
            book = read_logbook(name)
            fit = fit_logbook(book)
            table = forecast(book, fit).merge(truth, on="tire_id").assign(log=log)
            out.append(table.merge(fit.tires[["tire_id", "visits"]], on="tire_id"))
    return pd.concat(out, ignore_index=True)


def run() -> list[dict[str, object]]:
    """Score them: by visits, in all, and the depth today beside the last reading."""
    table = answers()
    gone = table["last_read_mm"] - table["depth_now_mm"]
    # A step of a whole-32nds gauge and three sds of gauge and visit; four times the mean life's rate.
    gauge = (0.5 + 3 * 0.32) * INCH_32ND
    most = gauge + 4 * 1.46 * 8 * INCH_32ND / 72_420 * table["since_km"]
    out = int(((gone < -gauge) | (gone > most)).sum())
    left = table[table["depth_mm"] > REMOVAL_MM]
    inside = (left["true_km_left"] >= left["km_left_p10"]) & (left["true_km_left"] <= left["km_left_p90"])
    by_log = inside.groupby(left["log"]).agg(["sum", "count"])
    share = inside.mean()
    error = np.sqrt(((by_log["sum"] - share * by_log["count"]) ** 2).sum()) / len(left)
    rows = [
        {
            "name": f"{LOGS} small logs, part-worn and no new depths: 80 % range holds",
            "figure": round(100 * share, 1),
            "unit": "%",
            "against": "74 to 88 %",
            "note": f"standard error {100 * error:.1f}, by logbook; {len(left)} tires",
        },
        {
            "name": "depth today further from the last reading than gauge and wear allow",
            "figure": out,
            "unit": "tires",
            "against": f"of {len(table)}",
            "note": "",
        },
    ]
    for visits, own in inside.groupby(left["visits"]):
        rows.append(
            {
                "name": f"80 % range holds, read {visits} times",
                "figure": round(100 * own.mean(), 1),
                "unit": "%",
                "against": "",
                "note": f"{len(own)} tires",
            }
        )
    return rows


if __name__ == "__main__":
    for row in run():
        print(row)

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

LOGS, OTHERS = 2000, 500


def answers(logs: int = LOGS, seed: int = 24, part_worn: float = 1.0, other: bool = False) -> pd.DataFrame:
    """Forecasts of random small logs beside their truth."""
    rng, out = np.random.default_rng(seed), []
    for log in range(logs):
        with tempfile.TemporaryDirectory() as name:
            truth = small_log(Path(name), rng, part_worn, other)
            book = read_logbook(name)
            fit = fit_logbook(book)
            table = forecast(book, fit).merge(truth, on="tire_id").assign(log=log)
            out.append(table.merge(fit.tires[["tire_id", "visits"]], on="tire_id"))
    return pd.concat(out, ignore_index=True)


def run() -> list[dict[str, object]]:
    """Score them: by visits, in all, and the depth today beside the last reading; and logs of another kind."""
    rows = score(answers(), f"{LOGS} small logs, part-worn and no new depths")
    return rows + score(answers(OTHERS, 25, other=True), f"{OTHERS} small logs of another kind")


def score(table: pd.DataFrame, what: str) -> list[dict[str, object]]:
    """Rows of the results for one lot of logs."""
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
            "name": f"{what}: 80 % range holds",
            "figure": round(100 * share, 1),
            "unit": "%",
            "against": "74 to 88 %",
            "note": f"standard error {100 * error:.1f}, by logbook; {len(left)} tires",
        },
        {
            "name": f"{what}: depth today further from the last reading than gauge and wear allow",
            "figure": out,
            "unit": "tires",
            "against": f"of {len(table)}",
            "note": "",
        },
    ]
    # Where the gauge stands at the limit no distance is projected: it is none, whatever the fit says.
    spent = left["verdict"] == "at-or-under"
    over = (left.loc[spent, "depth_mm"] - REMOVAL_MM).mean() / INCH_32ND
    rows.append(
        {
            "name": f"{what}: the same without tires whose least reading is at the limit, for which none is left",
            "figure": round(100 * inside[~spent].mean(), 1),
            "unit": "%",
            "against": "74 to 88 %",
            "note": f"{int(spent.sum())} tires read at the limit have {over:.1f}/32 above it, on average",
        }
    )
    for visits, own in inside[~spent].groupby(left["visits"]):
        rows.append(
            {
                "name": f"{what}: read {visits} times, not at the limit",
                "figure": round(100 * own.mean(), 1),
                "unit": "%",
                "against": "74 to 88 %",
                "note": f"{len(own)} tires",
            }
        )
    return rows


if __name__ == "__main__":
    for row in run():
        print(row)

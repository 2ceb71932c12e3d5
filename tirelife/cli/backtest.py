"""``tirelife backtest``: hide the last visits, forecast them, and score the forecasts."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from tirelife.cli.prior import add_prior, prior_of
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife backtest data_synthetic/logbook
  tirelife backtest LOGBOOK --hide 2 --json
Coverage is the share of hidden readings inside their 50, 80 and 90 % ranges; the interval score (of the 80 %
range) and CRPS are in depth, smaller is better; bias is the reading less the forecast."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument(
        "--hide", type=int, default=1, metavar="N", help="visits of each vehicle to hide (default: 1)"
    )
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    add_prior(parser)
    parser.add_argument("--json", action="store_true", help="verdict, scores and calibration as JSON")


def run(args: argparse.Namespace) -> int:
    """Back-test and print."""
    from tirelife.cli.progress import progress
    from tirelife.logbook import read_logbook
    from tirelife.outlook import backtest, calibration

    prior = prior_of(args)
    with progress("steps: read, back-test, calibrate") as tell:
        tell(0, 3)
        book = read_logbook(args.logbook, as_of=args.as_of)
        tell(1, 3)
        result = backtest(book, args.hide, prior)
        tell(2, 3)
        found = calibration(book, prior)
    scores = _shown(result.scores, book.units)
    if args.json:
        rows = json.loads(scores.to_json(orient="records"))
        told = {"factor": found.factor, "vehicles": found.vehicles, "readings": found.readings}
        print(
            json.dumps({"verdict": result.verdict, "scores": rows, "calibration": told}, ensure_ascii=False)
        )
    else:
        print(result.verdict, end="\n\n")
        print(scores.to_string(index=False, float_format=lambda v: f"{v:.3g}", na_rep="-"))
        if found.readings:
            rests = f"{found.readings} hidden readings of {found.vehicles} vehicles"
            print(f"\nForecasts multiply the spread of wear ahead by {found.factor:.2f}, from {rests}.")
        else:
            print("\nToo few readings could be hidden to calibrate the ranges; they stay as fitted.")
    return 0


def _shown(scores: pd.DataFrame, units: str) -> pd.DataFrame:
    """Scores in the logbook's units."""
    if units != "us":
        return scores
    out = scores.copy()
    names = {}
    for name in out.columns:
        for unit, other in (("mm", "32nds"), ("km", "mi")):
            if name.endswith(f"_{unit}"):
                out[name] = convert(out[name], unit, other)
                names[name] = f"{name.removesuffix(unit)}{other}"
    miles = {
        "0 to 8,000 km": "0 to 5,000 mi", "8,000 to 16,000 km": "5,000 to 10,000 mi",
        "16,000 to 32,000 km": "10,000 to 20,000 mi", "over 32,000 km": "over 20,000 mi",
    }  # fmt: skip
    out["ahead"] = out["ahead"].replace(miles)
    return out.rename(columns=names)

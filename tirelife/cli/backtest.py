"""``tirelife backtest``: forecast from earlier days, and score the forecasts on what came later."""

from __future__ import annotations

import argparse
import json
import math
from typing import TYPE_CHECKING

from tirelife.cli.prior import add_prior, prior_of
from tirelife.cli.table import day_words
from tirelife.cli.values import json_rows
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["add", "run", "score_table"]

EPILOG = """examples:
  tirelife backtest data_synthetic/logbook
  tirelife backtest LOGBOOK --origin 2025-06-30 --origin 2025-12-31 --out predictions.csv
  tirelife backtest LOGBOOK --origins 5 --json
The logbook is cut on each day, fitted and forecast as it was known then. In their 80 % ranges should be 80
%, with the standard error beside it; forecasts of one vehicle lean together. The weighted interval score,
the width of the 80 % range and the bias (seen less forecast) are in the unit given, and rounded to a tenth
of that score: smaller is better. Distances and dates of tires that are not yet worn out are censored, not
left out. --out has every quantile of every forecast; --csv and --json have the scores."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument(
        "--origin",
        action="append",
        default=[],
        metavar="DATE",
        help="a day to forecast from; may be repeated",
    )
    parser.add_argument(
        "--origins",
        type=int,
        default=3,
        metavar="N",
        help="or how many days, spread over the visits (default: 3)",
    )
    parser.add_argument(
        "--as-of", metavar="DATE", help="the last day that counts (default: the last record's)"
    )
    parser.add_argument("--all", action="store_true", help="print every part: distance ahead, moved, visits")
    add_prior(parser)
    parser.add_argument("--out", metavar="FILE", help="write every forecast quantile here, .csv or .parquet")
    parser.add_argument("--csv", action="store_true", help="print the scores as CSV, for a program")
    parser.add_argument("--json", action="store_true", help="verdict, scores and calibration as JSON")


def run(args: argparse.Namespace) -> int:
    """Back-test and print."""
    if args.out and not str(args.out).lower().endswith((".csv", ".parquet")):
        raise misused(Wrong.OUT_TABLE, out=args.out)
    from tirelife.cli.progress import progress
    from tirelife.logbook import csv_text, read_logbook
    from tirelife.outlook import backtest, calibration
    from tirelife.outlook.files import plain_dates, write_table
    from tirelife.sheet.backtest_tables import backtest_words, in_shown_units

    prior = prior_of(args)
    with progress("steps: read, back-test, calibrate") as tell:
        tell(0, 3)
        book = read_logbook(args.logbook, as_of=args.as_of)
        tell(1, 3)
        result = backtest(book, args.origin or args.origins, prior)
        tell(2, 3)
        found = calibration(book, prior)
    scores, words = in_shown_units(result.scores, book.units), backtest_words(result, book.units)
    if args.out:
        write_table(result.predictions, args.out, for_spreadsheet=args.for_spreadsheet)
        print(f"{len(result.predictions):,} forecast quantiles written to {args.out}")
    if args.json:
        told = {
            "held": result.held.value,
            "verdict": words,
            "origins": json.loads(json_rows(plain_dates(result.origins))),
            "scores": json.loads(json_rows(scores)),
            "calibration": {"factor": found.factor, "vehicles": found.vehicles, "readings": found.readings},
        }
        print(json.dumps(told, ensure_ascii=False))
    elif args.csv:
        print(csv_text(scores, for_spreadsheet=args.for_spreadsheet), end="")
    elif not args.out:
        days = "; ".join(day_words(day, book.units) for day in result.origins["origin"])
        print(f"{words}\n\nForecast from {days}:\n")
        print(score_table(scores if args.all else scores[scores["part"] == "all"], book.units))
        if found.readings:
            rests = f"{found.readings} later readings of {found.vehicles} vehicles"
            print(f"\nForecasts multiply the spread of wear ahead by {found.factor:.2f}, from {rests}.")
        else:
            print("\nToo few readings came later to calibrate the ranges; they stay as fitted.")
    return 0


def score_table(scores: pd.DataFrame, units: str) -> str:
    """Scores for a reader, in the units they are in, rounded to a tenth of the weighted interval score."""
    from tirelife.cli.table import Column, table
    from tirelife.sheet.backtest_tables import method_words, part_words, target_words
    from tirelife.sheet.quantities import rounded

    rows = [{str(k): v for k, v in row.items()} for row in scores.to_dict("records")]

    def told(name: str) -> list[str]:
        return [_plain(rounded(row[name], row["weighted_interval"])) for row in rows]

    cover = []
    for row in rows:
        share, error = 100 * row["cover_80"], 100 * row["cover_80_error"]
        plus = f" ± {error:.0f}" if math.isfinite(error) else ""
        cover.append(f"{share:.0f}{plus}" if math.isfinite(share) else "too few")
    what = [
        target_words(row["target"]) + ("" if row["part"] == "all" else f", {part_words(row['part'], units)}")
        for row in rows
    ]
    many = [
        f"{row['forecasts']:,}" + (f", {row['censored']:,} not yet worn out" if row["censored"] else "")
        for row in rows
    ]
    return table(
        [
            Column("forecast of", [f"{w}, {row['unit']}" for w, row in zip(what, rows, strict=True)]),
            Column("by", [method_words(row["method"]) for row in rows]),
            Column("how many", many),
            Column("worth", [f"{row['worth']:,}" for row in rows], right=True),
            Column(
                "in 80 %\nrange, %",
                [
                    f"{c}{'' if row['pit_inside'] else ', curve outside'}"
                    for c, row in zip(cover, rows, strict=True)
                ],
            ),
            Column("interval\nscore", told("weighted_interval"), right=True),
            Column("width of\n80 % range", told("sharpness"), right=True),
            Column("seen less\nforecast", told("bias"), right=True),
        ]
    )


def _plain(value: float) -> str:
    """A rounded value without trailing zeros."""
    if not math.isfinite(value):
        return ""
    return f"{value:,.0f}" if abs(value) >= 10 or value == 0 else f"{value:,.6f}".rstrip("0").rstrip(".")

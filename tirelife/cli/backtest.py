"""``tirelife backtest``: forecast from earlier days, and score the forecasts on what came later."""

from __future__ import annotations

import argparse

from tirelife import outlook, terminal
from tirelife.cli.asked import prior_of, read
from tirelife.cli.options import option
from tirelife.cli.printed import print_csv, print_json, table_name

OPTIONS = (
    "for-spreadsheet", "logbook",
    option("--origin DATE", "a day to forecast from; may be repeated", many=True),
    option("--origins N", "or how many days, spread over the visits (default: 3)", type=int, default=3),
    "as-of", option("--all", "print every part: distance ahead, moved, visits"), "prior",
    option("--out FILE", "write every forecast quantile here, .csv or .parquet"), "csv", "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Back-test and print."""
    table_name(args.out)
    prior = prior_of(args)
    with terminal.progress("steps: read, back-test, calibrate") as tell:
        tell(0, 3)
        book = read(args)
        tell(1, 3)
        result = outlook.backtest(book, args.origin or args.origins, prior)
        tell(2, 3)
        found = outlook.calibration(book, prior)
    if args.out:
        outlook.write_table(result.predictions, args.out, for_spreadsheet=args.for_spreadsheet)
        print(f"{len(result.predictions):,} forecast quantiles written to {args.out}")
    if args.json:
        print_json(terminal.backtest_answer(result, found, book.units))
    elif args.csv:
        print_csv(terminal.backtest_scores(result, book.units), args)
    elif not args.out:
        print(terminal.backtest_text(result, found, book.units, parts=args.all))
    return 0

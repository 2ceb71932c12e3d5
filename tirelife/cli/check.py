"""``tirelife check``: list every problem in a logbook."""

from __future__ import annotations

import argparse

from tirelife import language, logbook, terminal
from tirelife.cli.asked import day, limits_of
from tirelife.cli.options import option
from tirelife.cli.printed import print_json

OPTIONS = (
    "for-spreadsheet", "logbook", "as-of", "limits", "language", "json",
    option("--out FILE.csv", "also write all problems to a CSV file"),
    option("--show N", "rows shown of each kind (default 3)", type=int, default=3),
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Check the logbook and print what was found; 2 if any of it is an error."""
    problems, book = logbook.check_and_read(args.logbook, as_of=day(args.as_of, "--as-of"))
    told: dict[str, object] = {"urgent": [], "near": []}
    if book is not None:
        removal, _ = limits_of(args, book)
        told = terminal.told_verdicts(book, removal, language=args.language)
    if args.out:
        worded = language.worded(problems, args.language)
        logbook.write_csv(worded, args.out, for_spreadsheet=args.for_spreadsheet)
    if args.json:
        print_json({**told, "problems": language.worded(problems, args.language).to_dict("records")})
    else:
        said = terminal.problems_text(problems, args.logbook, max(args.show, 1), args.language)
        print("\n".join([*terminal.verdict_lines(told, args.language), said]))
    return 0 if problems["doubt"].all() else 2

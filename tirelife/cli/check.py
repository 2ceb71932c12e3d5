"""``tirelife check``: list every problem in a logbook."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tirelife.cli.limits import add_limits, removal_for
from tirelife.cli.tongue import add_language
from tirelife.cli.verdict import told_verdicts, verdict_lines

if TYPE_CHECKING:
    import pandas as pd

_EPILOG = """examples:
  tirelife check data_synthetic/logbook
  tirelife check LOGBOOK --out problems.csv
Tires that were read at their removal depth, or near it, come first; a logbook with errors is not judged.
Exit code 2 if there are errors; 0 if there are none, or only doubts."""


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = _EPILOG
    parser.add_argument("logbook", metavar="LOGBOOK", help="folder of tables, or a logbook in one file")
    parser.add_argument("--as-of", metavar="DATE", help="leave out what is dated after this day")
    add_limits(parser)
    add_language(parser)
    parser.add_argument(
        "--json", action="store_true", help="all problems, and the tires at or near their limit, as JSON"
    )
    parser.add_argument("--out", metavar="FILE.csv", help="also write all problems to a CSV file")
    parser.add_argument(
        "--show", type=int, default=3, metavar="N", help="rows shown of each kind (default 3)"
    )


def run(args: argparse.Namespace) -> int:
    """Check the logbook and print what was found; 2 if any of it is an error."""
    from tirelife.language import worded
    from tirelife.logbook import check_and_read

    problems, book = check_and_read(args.logbook, as_of=args.as_of)
    told: dict[str, Any] = {"urgent": [], "near": []}
    if book is not None:
        removal, _ = removal_for(args, book.as_of, book)
        told = told_verdicts(book, removal, language=args.language)
    if args.out:
        from tirelife.logbook.export import write_csv

        write_csv(worded(problems, args.language), args.out, for_spreadsheet=args.for_spreadsheet)
    errors = int((~problems["doubt"]).sum())
    if args.json:
        answer = {**told, "problems": worded(problems, args.language).to_dict("records")}
        json.dump(answer, sys.stdout, indent=1, ensure_ascii=False)
        print()
    else:
        said = summary(problems, str(args.logbook), max(args.show, 1), args.language)
        print("\n".join([*verdict_lines(told, args.language), said]))
    return 2 if errors else 0


def summary(problems: pd.DataFrame, logbook: str, show: int, language: str = "en") -> str:
    """Problems as text: by kind, the first rows of each and how many more there are."""
    from tirelife.language import line_words, list_words, worded

    table = list_words(language)
    errors = problems[~problems["doubt"]]
    doubts = problems[problems["doubt"]]
    lines = []
    for title, part in (("errors", errors), ("doubts", doubts)):
        if not len(part):
            continue
        lines.append(f"{table[title]}: {len(part):,}")
        words = worded(part, language)
        for _, kind in words.groupby(["file", "column", "what"], sort=False):
            for p in kind.head(show).to_dict("records"):
                said = line_words(
                    p["file"], p["row"], p["column"], p["value"], (p["what"], p["advice"]), language
                )
                lines.append(f"  {said}")
            if len(kind) > show:
                more = table["more"].format(n=f"{len(kind) - show:,}", row=kind["row"].max())
                lines.append(f"  {more}")
        lines.append("")
    counts = [_count(len(part), what, table) for part, what in ((errors, "error"), (doubts, "doubt"))]
    verdict = f"{logbook}: {', '.join(counts)}."
    if len(errors):
        verdict += f" {table['correct']}"
    elif len(doubts):
        verdict += f" {table['kept']}"
    return "\n".join([*lines, verdict])


def _count(n: int, what: str, table: Mapping[str, str]) -> str:
    return table[f"{what}-{'one' if n == 1 else 'many'}"].format(n=f"{n:,}")

"""``tirelife groups``: compare driver groups fairly, and what they cost."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from tirelife.cli.numbers import number
from tirelife.cli.tongue import add_language
from tirelife.cli.values import json_rows
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.groups import GroupComparison
    from tirelife.logbook import Logbook

__all__ = ["add", "run"]

EPILOG = """examples:
  tirelife groups data_synthetic/logbook
  tirelife groups LOGBOOK --by tire_line --out lines.csv
  tirelife groups LOGBOOK --fitting 20 --rotation 25 --budget --json
Ratios are adjusted for tire line, drive, mass, slow roads, axle and season, and for site, route, depot or
region where the vehicles table has them. A group differs for many reasons; recorded habits explain some.
Use no figure of this kind alone to judge a person."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("logbook", help="folder (or SQLite file) with the tables")
    parser.add_argument(
        "--by", metavar="COLUMN", default="driver_group",
        help="column of the vehicles or tires table (default: driver_group)",
    )  # fmt: skip
    parser.add_argument(
        "--adjust",
        metavar="COLUMN",
        nargs="*",
        help="adjust for these columns (also axle, season, slow_road_share) and no others",
    )
    parser.add_argument(
        "--min-vehicles", type=int, metavar="N", help="show no smaller group (default: 3; 1 for tire columns)"
    )
    parser.add_argument("--level", type=number, default=0.95, help="of the ranges (default: 0.95)")
    parser.add_argument("--fitting", type=number, default=0.0, metavar="MONEY", help="fitting, a tire")
    parser.add_argument("--rotation", type=number, default=0.0, metavar="MONEY", help="one rotation of a set")
    parser.add_argument(
        "--interval",
        type=number,
        metavar="DISTANCE",
        help="between rotations (default: 5000 miles, or 8000 km)",
    )
    parser.add_argument("--budget", action="store_true", help="add the tires to buy in the coming 12 months")
    parser.add_argument("--as-of", metavar="DATE", help="the last day that counts")
    parser.add_argument("--out", metavar="FILE", help="write the pairs to this .csv or .parquet")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    add_language(parser)


def run(args: argparse.Namespace) -> int:
    """Compare and write."""
    if args.out and not str(args.out).lower().endswith((".csv", ".parquet")):
        raise misused(Wrong.OUT_TABLE, out=args.out)
    if args.interval is not None and not 0 < args.interval < 1e6:
        raise misused(Wrong.INTERVAL, given=f"{args.interval:g}")
    from tirelife.groups import compare_groups, in_units
    from tirelife.logbook import read_logbook

    book = read_logbook(args.logbook, as_of=args.as_of)
    from tirelife.outlook import kept_fit

    factors = kept_fit(book).factors
    comparison = compare_groups(book, args.by, args.adjust, args.level, args.min_vehicles, factors=factors)
    inside = _tables(book, comparison, args)
    tables = {name: in_units(table, book.units) for name, table in inside.items()}
    if args.out:
        from tirelife.outlook.files import write_table

        write_table(_said(tables, args.language)["pairs"], args.out, for_spreadsheet=args.for_spreadsheet)
        print(f"{len(tables['pairs'])} pairs written to {args.out}", file=sys.stderr)
    if args.json:
        print(
            json.dumps(
                _plain(book, comparison, _said(tables, args.language), args.language),
                indent=2,
                ensure_ascii=False,
            )
        )
    elif not args.out:
        print(_text(book, comparison, inside, args.language))
    return 0


def _tables(book: Logbook, comparison: GroupComparison, args: argparse.Namespace) -> dict[str, pd.DataFrame]:
    """Everything that is written, in inside units."""
    import numpy as np

    from tirelife.groups import Costs, break_even, cost_table, replacements_by_month, savings

    behind = comparison.groups.set_index("group")[["tires", "vehicles", "distance_km"]]
    pairs = comparison.pairs.copy()
    for side in ("group", "other"):
        for name in behind:
            pairs[f"{side}_{name}"] = pairs[side].map(behind[name]).to_numpy()
    tables = {"groups": comparison.groups, "pairs": pairs, "why": comparison.why, "checks": comparison.checks}
    default = (5000.0, "mi") if book.units == "us" else (8000.0, "km")
    interval = convert(args.interval or default[0], default[1], "km")
    costs = Costs(args.fitting, args.rotation, interval)
    cost = cost_table(comparison, costs)
    if cost["cost_per_1000km"].notna().any():
        tables["costs"] = cost
        if comparison.by == "tire_line":
            tables["break_even"] = break_even(comparison, costs)
        else:
            tables["savings"] = savings(book, comparison, costs)
    if args.budget:
        tables["budget"] = replacements_by_month(book, rng=np.random.default_rng(0))
    return tables


def _plain(
    book: Logbook, comparison: GroupComparison, tables: dict[str, pd.DataFrame], language: str
) -> dict[str, Any]:
    return {
        "by": comparison.by,
        "adjusted_for": list(comparison.adjusted_for),
        "level": comparison.level,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "units": book.units,
        "groups_not_shown": comparison.hidden,
        **{name: json.loads(json_rows(table)) for name, table in tables.items()},
        "cautions": _cautions(language),
    }


def _cautions(language: str) -> list[str]:
    """What is said beside every comparison."""
    from tirelife.sheet.group_tables import group_texts

    return [text for code, text in group_texts(language).items() if code.startswith("caution-")]


def _said(tables: dict[str, pd.DataFrame], language: str) -> dict[str, pd.DataFrame]:
    """Tables with the words of their codes beside them."""
    from tirelife.sheet.group_tables import group_texts, pair_words, worth_words

    say = group_texts(language)
    out = dict(tables, pairs=tables["pairs"].assign(words=pair_words(tables["pairs"], language)))
    if "break_even" in out:
        out["break_even"] = out["break_even"].assign(words=worth_words(out["break_even"], language))
    if "savings" in out:
        rows = out["savings"].to_dict("records")
        words = [say[row["change"]].format(other=row["other"]) for row in rows]
        out["savings"] = out["savings"].assign(words=words)
    return out


def _text(book: Logbook, comparison: GroupComparison, tables: dict[str, pd.DataFrame], language: str) -> str:
    """The answer, then what it rests on; ``tables`` in inside units."""
    from tirelife.cli.table import day_words, framed
    from tirelife.sheet import group_tables as words
    from tirelife.sheet.fit_words import check_table
    from tirelife.sheet.language import upper_first

    units, say = book.units, words.group_texts(language)
    adjusted = ", ".join(
        say.get(f"column-{name}", name.replace("_", " ")) for name in comparison.adjusted_for
    )
    lines = [
        say["said-first"].format(
            by=upper_first(say.get(f"column-{comparison.by}", comparison.by.replace("_", " "))),
            day=day_words(book.as_of, units, language),
            adjusted=adjusted or say["said-nothing"],
        ),
        "",
        *words.pair_words(comparison.pairs, language),
    ]
    if comparison.hidden:
        lines.append(say["said-hidden"].format(n=comparison.hidden))
    parts = {
        "groups": words.group_table(comparison, units, language),
        "pairs": words.pair_table(comparison, language),
        "why": words.why_table(comparison, language),
    }
    if "costs" in tables:
        parts["costs"] = words.cost_table(tables["costs"], units, language)
    if "savings" in tables:
        parts["savings"] = words.saving_table(tables["savings"], language)
    if "budget" in tables:
        parts["budget"] = words.budget_table(tables["budget"], language)
    parts["checks"] = check_table(comparison.checks, failed=True, language=language)
    for name, table in parts.items():
        if len(table):
            lines += ["", say[f"part-{name}"], framed(table)]
    if "break_even" in tables:
        lines += ["", say["part-even"], *words.worth_words(tables["break_even"], language)]
    if comparison.checks["passed"].astype(bool).all():
        lines += ["", say["said-passed"]]
    return "\n".join([*lines, "", *_cautions(language)])

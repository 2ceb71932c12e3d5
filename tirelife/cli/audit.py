"""``tirelife audit``: hold a logbook file against its history, and list every change by day."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

_EPILOG = """examples:
  tirelife audit logbook.sqlite
  tirelife audit logbook.sqlite --since 2026-11-01 --json
Exit code 2 if the file does not match its history; times are UTC."""
_DEEDS = {
    "import": "imported",
    "visit": "visit",
    "insert": "written",
    "change": "changed",
    "supersede": "superseded",
    "withdraw": "withdrawn",
}


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = _EPILOG
    parser.add_argument("logbook", metavar="LOGBOOK", help="a logbook in one file")
    parser.add_argument("--since", metavar="DATE", default="", help="changes from this day on")
    parser.add_argument("--json", action="store_true", help="print the changes as JSON")


def run(args: argparse.Namespace) -> int:
    """List the changes; 2 if a record or the history is not as it was written."""
    from tirelife.logbook import to_problems
    from tirelife.logbook.history import logbook_changes, untrue

    changes = logbook_changes(args.logbook)
    changes = changes[changes["at"] >= args.since]
    wrong = untrue(args.logbook)
    if args.json:
        rows = changes.astype(object).where(changes.notna(), None).to_dict("records")
        json.dump(rows, sys.stdout, indent=1, ensure_ascii=False)
        print()
    else:
        print(_text(changes))
    for problem in to_problems(wrong):
        print(f"tirelife audit: {problem}", file=sys.stderr)
    if not len(wrong):
        print("Every record matches its digest, and the history its seals.", file=sys.stderr)
    return 2 if (~wrong["doubt"] | wrong["row"].eq(0)).any() else 0


def _text(changes: pd.DataFrame) -> str:
    lines: list[str] = []
    day = ""
    for entry in changes.to_dict("records"):
        at, table, row = str(entry["at"]), str(entry["table"]), entry["row"]
        if at[:10] != day:
            day = at[:10]
            lines += [*[""] * bool(lines), day]
        where = f" {row}" if table == "visits" else f" {table} row {row}" if table else ""
        other = " by another program" if entry["by"] == "another program" else ""
        said = _said(entry["before"], entry["after"])
        lines.append(f"  {at[11:19]} {_DEEDS.get(entry['deed'], entry['deed'])}{where}{other}: {said}")
    return "\n".join(lines)


def _said(before: dict[str, Any] | None, after: dict[str, Any] | None) -> str:
    if before is not None and after is not None:
        return ", ".join(f"{name} {before[name]} to {after[name]}" for name in after)
    held = after if after is not None else before or {}
    return ", ".join(
        str(v) if k in ("note", "at") else f"{k} {v}" for k, v in held.items() if k not in _UNSHOWN
    )


_UNSHOWN = ("digests", "rest", "at")

"""``tirelife audit``: hold a logbook file against its history, and list every change by day."""

from __future__ import annotations

import argparse

from tirelife import logbook, terminal
from tirelife.cli.asked import day
from tirelife.cli.options import option
from tirelife.cli.printed import aside, print_json

OPTIONS = (
    option("logbook LOGBOOK", "a logbook in one file"),
    option("--since DATE", "changes from this day on"), "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """List the changes; 2 if a record or the history is not as it was written."""
    since = day(args.since, "--since")
    changes = logbook.logbook_changes(args.logbook)
    if since is not None:
        changes = changes[changes["at"] >= since]
    wrong = logbook.untrue(args.logbook)
    if args.json:
        print_json(changes.astype(object).where(changes.notna(), None).to_dict("records"))
    else:
        print(terminal.changes_text(changes))
    aside(*(f"tirelife audit: {problem}" for problem in logbook.to_problems(wrong)))
    if not len(wrong):
        aside("Every record matches its digest, and the history its seals.")
    return 2 if (~wrong["doubt"] | wrong["row"].eq(0)).any() else 0

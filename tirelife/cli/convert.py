"""``tirelife convert``: copy a logbook between a folder and a single file."""

from __future__ import annotations

import argparse

from tirelife import language, logbook
from tirelife.cli.options import option
from tirelife.cli.printed import aside
from tirelife.cli.wrong import Wrong
from tirelife.errors import InputError, misused

OPTIONS = (
    option("source SRC", "folder of tables, or a logbook in one file", nargs="?"),
    option("target DST", "a file that ends in .sqlite or .db, or a new folder"),
    option("--empty", "make a new, empty logbook instead of a copy", choices=("us", "metric")), "language",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Copy, and say what a person should know."""
    if (args.source is None) == (args.empty is None):
        raise misused(Wrong.CONVERT)
    notes = []
    if args.empty:
        logbook.create_logbook(args.target, args.empty)
    else:
        notes = logbook.convert_logbook(args.source, args.target)
    for note in notes:
        told = {
            name: value.said(args.language) if isinstance(value, InputError) else value
            for name, value in note.values
        }
        aside(f"tirelife convert: {language.code_words(note.code, told, args.language)}")
    print(f"{args.target} written.")
    return 0

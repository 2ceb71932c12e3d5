"""``tirelife convert``: copy a logbook between a folder and a single file."""

from __future__ import annotations

import argparse
import sys

from tirelife.cli.tongue import add_language

_EPILOG = """examples:
  tirelife convert data_synthetic/logbook logbook.sqlite   a folder into one file, for daily use
  tirelife convert logbook.sqlite exported                 a file into a folder of CSV tables
  tirelife convert logbook.sqlite backup.sqlite            a backup, even while others are writing
  tirelife convert --empty us new.sqlite                   a new, empty logbook
Every record, its order, every unknown column and every cell's text are kept. DST must not be there yet."""


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = _EPILOG
    parser.add_argument("source", metavar="SRC", nargs="?", help="folder of tables, or a logbook in one file")
    parser.add_argument("target", metavar="DST", help="a file that ends in .sqlite or .db, or a new folder")
    parser.add_argument(
        "--empty", choices=("us", "metric"), help="make a new, empty logbook instead of a copy"
    )
    add_language(parser)


def run(args: argparse.Namespace) -> int:
    """Copy, and say what a person should know."""
    from tirelife.cli.wrong import Wrong
    from tirelife.errors import InputError, misused
    from tirelife.language import code_words
    from tirelife.logbook.convert import convert_logbook, create_logbook

    if (args.source is None) == (args.empty is None):
        raise misused(Wrong.CONVERT)
    if args.empty:
        create_logbook(args.target, args.empty)
        said = []
    else:
        said = convert_logbook(args.source, args.target)
    for note in said:
        told = {
            name: value.said(args.language) if isinstance(value, InputError) else value
            for name, value in note.values
        }
        print(f"tirelife convert: {code_words(note.code, told, args.language)}", file=sys.stderr)
    print(f"{args.target} written.")
    return 0

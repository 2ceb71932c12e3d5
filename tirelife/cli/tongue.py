"""The language that a page is said in."""

from __future__ import annotations

import argparse

from tirelife.language import LANGUAGES

__all__ = ["add_language"]


def add_language(parser: argparse.ArgumentParser) -> None:
    """Add the argument that chooses it."""
    parser.add_argument(
        "--language",
        choices=LANGUAGES,
        default="en",
        help="of what is said: English, or Spanish (default: en)",
    )

"""The fit that a command leans on."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    from tirelife.rates import Prior

__all__ = ["add_fresh", "add_prior", "prior_of"]


def add_prior(parser: argparse.ArgumentParser) -> None:
    """Add the argument that names it."""
    parser.add_argument("--prior", metavar="FILE", help="a fit saved as JSON, to lean on")
    parser.add_argument(
        "--lives",
        metavar="FILE.csv",
        help="published lives of your own, by region and kind of tire, before ours",
    )


def add_fresh(parser: argparse.ArgumentParser) -> None:
    """Add the argument that makes a fit anew, for a command that uses the one kept from last time."""
    parser.add_argument(
        "--fresh",
        action="store_true",
        help="fit anew; by default the fit of an unchanged logbook is used again (kept in the user's cache)",
    )


def prior_of(args: argparse.Namespace) -> Prior | None:
    """Read the fit that ``--prior`` names, or the lives of ``--lives``; None if neither is given.

    Raises InputError if one cannot be read, or both are given.
    """
    if args.prior and args.lives:
        raise misused(Wrong.PRIOR_LIVES)
    if args.lives:
        from dataclasses import astuple, replace

        from tirelife.rates import PUBLISHED
        from tirelife.rates.lives import read_lives

        return replace(PUBLISHED, lives=tuple(astuple(one) for one in read_lives(args.lives)))
    if not args.prior:
        return None
    from tirelife.rates import load_prior

    return load_prior(args.prior)

"""The fit that a command leans on."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tirelife.rates import Prior

__all__ = ["add_fresh", "add_prior", "prior_of"]


def add_prior(parser: argparse.ArgumentParser) -> None:
    """Add the argument that names it."""
    parser.add_argument("--prior", metavar="FILE", help="a fit saved as JSON, to lean on")


def add_fresh(parser: argparse.ArgumentParser) -> None:
    """Add the argument that makes a fit anew, for a command that uses the one kept from last time."""
    parser.add_argument(
        "--fresh",
        action="store_true",
        help="fit anew; by default the fit of an unchanged logbook is used again (kept in the user's cache)",
    )


def prior_of(args: argparse.Namespace) -> Prior | None:
    """Read the fit that ``--prior`` names; None if it names none. Raises InputError if it cannot be read."""
    if not args.prior:
        return None
    from tirelife.rates import load_prior

    return load_prior(args.prior)

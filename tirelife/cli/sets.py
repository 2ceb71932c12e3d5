"""Shares of the year's distance on sets that take turns, as told to a command."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["add_shares", "told_book"]


def add_shares(parser: argparse.ArgumentParser) -> None:
    """Add the argument that tells them."""
    parser.add_argument(
        "--set-share",
        action="append",
        default=[],
        metavar="VEHICLE=SHARE",
        help="of the year's distance run on the set now on, where sets take turns (default: the logbook's "
        "winter_share of the vehicle, else learned from the mounts)",
    )


def told_book(args: argparse.Namespace, book: Logbook) -> Logbook:
    """The logbook with the shares that were told, for all that is answered from it.

    Raises
    ------
    InputError
        If one is no share of a vehicle of this logbook whose sets take turns.
    """
    from tirelife.rates.turns import sets_in_turn, told_shares

    shares = {}
    for text in args.set_share:
        vehicle, _, share = text.rpartition("=")
        try:
            value = float(share)
        except ValueError:
            value = 0.0
        if not vehicle or not 0 < value < 1:
            raise misused(Wrong.SET_SHARE, text=text)
        shares[vehicle] = value
    if not shares:
        return book
    turning = set(sets_in_turn(book)["vehicle_id"])
    if without := sorted(set(shares) - turning):
        raise misused(Wrong.NO_SETS, vehicles=", ".join(without))
    return told_shares(book, shares)

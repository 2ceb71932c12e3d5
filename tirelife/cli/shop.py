"""The shop that a page names."""

from __future__ import annotations

import argparse
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from tirelife.cli.wrong import Wrong
from tirelife.errors import misused

if TYPE_CHECKING:
    from tirelife.sheet.shop import Shop

__all__ = ["add_shop", "shop_of"]


def add_shop(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name it."""
    parser.add_argument(
        "--shop", metavar="FILE.toml", help="the shop's name, telephone, note and next_date, for the page"
    )
    parser.add_argument("--shop-name", metavar="NAME", help="before the file's")
    parser.add_argument("--telephone", metavar="NUMBER", help="before the file's")
    parser.add_argument("--note", metavar="TEXT", help="a word to the customer, before the file's")
    parser.add_argument("--next-date", metavar="DATE", help="the next appointment, before the file's")


def shop_of(args: argparse.Namespace) -> Shop:
    """Read the shop's details; an option goes before the file.

    Raises InputError if the file or a value cannot be used.
    """
    from tirelife.sheet.shop import NO_SHOP, read_shop

    shop = read_shop(args.shop) if args.shop else NO_SHOP
    given = {"name": args.shop_name, "telephone": args.telephone, "note": args.note}
    shop = replace(shop, **{what: text for what, text in given.items() if text is not None})
    if args.next_date is None:
        return shop
    try:
        return replace(shop, next_date=date.fromisoformat(args.next_date))
    except ValueError:
        raise misused(Wrong.NEXT_DATE, word=args.next_date) from None

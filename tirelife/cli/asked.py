"""What a command answers from: the logbook, the depth at which a tire comes off, and the fit."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from tirelife import logbook, outlook, rates, sheet
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["Asked", "asked", "day", "depth_of", "file_name", "interval_km", "limits_of", "prior_of", "read"]


@dataclass(frozen=True)
class Asked:
    """A logbook with what the options say of it; ``removal`` is by position [mm], ``rule`` in words."""

    book: Logbook
    prior: Prior | None
    removal: pd.Series
    rule: str
    fresh: bool

    @cached_property
    def fit(self) -> WearFit:
        """The fit: that of last time, unless ``fresh``."""
        return outlook.kept_fit(self.book, self.prior, fresh=self.fresh)

    @property
    def limit(self) -> float:
        """The stricter axle's removal depth. [mm]"""
        return sheet.road_most(self.removal)


def asked(args: argparse.Namespace) -> Asked:
    """Read what the options name; an option that a command does not have is as if it were not given.

    Raises
    ------
    InputError
        If something cannot be read, or an option says what cannot be.
    """
    depth_of(args)  # before anything is read
    prior, book = prior_of(args), rates.told_shares(read(args), rates.shares_typed(args.set_share))
    removal, rule = limits_of(args, book)
    return Asked(book, prior, removal, rule, getattr(args, "fresh", False))


def depth_of(args: argparse.Namespace) -> float | None:
    """The removal depth that is given outright [mm]; None if none is."""
    return logbook.told_depth(args.removal_depth) if args.removal_depth else None


def limits_of(args: argparse.Namespace, book: Logbook) -> tuple[pd.Series, str]:
    """Removal depth by position [mm], and the rule in words: :func:`tirelife.sheet.removal_limits`."""
    return sheet.removal_limits(
        book.as_of,
        book,
        depth_mm=depth_of(args),
        place=args.place,
        rules_for=args.rules_for,
        file=args.limits,
    )


def read(args: argparse.Namespace) -> Logbook:
    """Read the logbook as it was known on ``--as-of``."""
    return logbook.read_logbook(args.logbook, as_of=day(args.as_of, "--as-of"))


def prior_of(args: argparse.Namespace) -> Prior | None:
    """The fit that ``--prior`` names, or what is published with ``--lives``; None if neither is given."""
    saved, lives = getattr(args, "prior", None), getattr(args, "lives", None)
    if saved and lives:
        raise misused(Wrong.PRIOR_LIVES)
    return rates.load_prior(saved) if saved else rates.lives_prior(lives) if lives else None


def interval_km(args: argparse.Namespace, units: str) -> float | None:
    """The distance between rotations that ``--interval`` gives in a logbook's units; None without it."""
    if args.interval is None:
        return None
    if not 0 < args.interval < 1e6:
        raise misused(Wrong.INTERVAL, given=f"{args.interval:g}")
    return float(convert(args.interval, SHOWN[units]["distance"], "km"))


def day(word: str | None, option: str) -> str | None:
    """A date that an option gives, as ISO; None if it is not given."""
    try:
        return None if word is None else date.fromisoformat(word).isoformat()
    except ValueError:
        raise misused(Wrong.NO_DATE, option=option, word=word) from None


def file_name(name: str | None, *endings: str) -> None:
    """Raise unless a file that is to be written ends in one of these and its folder is there."""
    if name and not name.lower().endswith(endings):
        raise misused(Wrong.ENDING, name=name, ending=endings[0])
    if name and not Path(name).resolve().parent.is_dir():
        raise misused(Wrong.NO_FOLDER, name=name)

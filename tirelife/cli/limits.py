"""Removal depth of a command: given outright, or by place, axle and season."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Final

from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.positions import MOUNTED
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook

__all__ = ["add_limits", "parse_depth", "removal_for", "road_most"]

DEFAULT: Final = "2/32"


def add_limits(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say when a tire has to come off."""
    parser.add_argument(
        "--removal-depth",
        metavar="DEPTH",
        help=f'such as 2/32, 4/32, 1.6mm or "3 mm" (default: that of --place, else {DEFAULT})',
    )
    parser.add_argument(
        "--place",
        metavar="PLACE",
        help="whose removal depth counts, such as US or EU/Austria, by axle and by season on the last day "
        "that counts; --removal-depth wins",
    )
    parser.add_argument(
        "--rules-for",
        choices=("car", "truck or bus"),
        default="car",
        help="whose rules of the place count: car, light trucks too, or truck or bus, which may have another "
        "depth on the front axle (US: 4/32 front, 2/32 rear, 49 CFR 393.75)",
    )
    parser.add_argument(
        "--limits", metavar="FILE", help="a CSV of removal depths that adds to the built-in ones"
    )


def removal_for(
    args: argparse.Namespace, as_of: pd.Timestamp, book: Logbook | None = None
) -> tuple[pd.Series, str]:
    """Removal depth by position [mm], and the rule in words; no words where no place was named.

    Where the place has another depth for a season, ``winter LF`` and so on stand beside the positions, for
    sets in store: a winter set is held to the depth of the winter that it goes on again in, whatever day it
    is today (:func:`tirelife.outlook.stored.stored_state`). A logbook whose vehicles are all of one
    ``region`` that has such a depth names the place itself; one whose sets take turns and that names none is
    told to.

    Raises
    ------
    InputError
        If a depth or the file cannot be read, the place is not known, or has no limit for such
        vehicles on that day.
    """
    import pandas as pd

    from tirelife.tread import removal_depths

    limits = removal_depths(args.limits)
    place = args.place or ("US" if args.limits or args.rules_for != "car" else "") or _of_region(book, limits)
    if args.removal_depth or not place:
        depth = parse_depth(args.removal_depth or DEFAULT)
        ask = not args.removal_depth and book is not None and _winter_sets(book)
        return pd.Series(depth, index=list(MOUNTED)), NO_PLACE if ask else ""
    depths, said = _by_position(place, as_of, args.rules_for, limits)
    rule = f"removal depth of {place} on {as_of:%Y-%m-%d}: {said}"
    middle = {"winter": as_of.replace(month=1, day=15), "summer": as_of.replace(month=7, day=15)}
    seasons = {name: _by_position(place, day, args.rules_for, limits) for name, day in middle.items()}
    if not seasons["winter"][0].equals(seasons["summer"][0]):
        for name, (found, _) in seasons.items():
            depths = pd.concat([depths, found.add_prefix(f"{name} ")])
        deep = f"{road_most(seasons['winter'][0]):g} mm"
        rule += f"; winter sets in store are held to {deep}, their season's: {seasons['winter'][1]}"
    return depths, rule


NO_PLACE: Final = (
    "no place is named, so winter sets are held to the same depth as others: "
    "--place NAME applies its winter depth where it has one"
)


def road_most(removal: pd.Series) -> float:
    """The stricter axle's removal depth, of the wheels on the road. [mm]"""
    return float(removal[list(MOUNTED)].max())


def _by_position(place: str, day: pd.Timestamp, vehicles: str, limits: pd.DataFrame) -> tuple[pd.Series, str]:
    import pandas as pd

    from tirelife.tread import removal_depth

    front, rear = (
        removal_depth(place, axle, day, vehicles=vehicles, limits=limits) for axle in ("front", "rear")
    )
    if any(found.depth_mm != found.depth_mm for found in (front, rear)):
        raise misused(Wrong.NO_LIMIT, place=place, day=f"{day:%Y-%m-%d}")
    depths = {"LF": front, "RF": front, "LR": rear, "RR": rear}
    by_position = {position: found.depth_mm for position, found in depths.items()}
    by_position["SP"] = max(front.depth_mm, rear.depth_mm)
    sources = list(dict.fromkeys(f"{f.source}{f', {f.dated}' if f.dated else ''}" for f in (front, rear)))
    return pd.Series(by_position), "; ".join(sources)


def _of_region(book: Logbook | None, limits: pd.DataFrame) -> str:
    """The one region of all vehicles, if it has a depth for a season; else empty."""
    if book is None or "region" not in book.vehicles:
        return ""
    found = {str(region).strip() for region in book.vehicles["region"].fillna("")}
    seasonal = set(limits.loc[limits["season_from"] != "", "place"])
    return found.pop() if len(found) == 1 and found <= seasonal else ""


def _winter_sets(book: Logbook) -> bool:
    from tirelife.rates.turns import sets_in_turn

    return bool(len(sets_in_turn(book)))


def parse_depth(text: str) -> float:
    """Read a depth such as ``2/32``, ``2/32 in``, ``3 mm`` or ``62.5 mils`` [mm].

    Raises
    ------
    InputError
        If it is not a depth, has no unit, or lies outside 0 to 25 mm.

    Examples
    --------
    >>> parse_depth("2/32"), parse_depth("1.6 mm"), parse_depth("0.0625in")
    (1.5875, 1.6, 1.5875)
    """
    from tirelife.logbook.number import told_number

    word = text.strip().lower()
    found = re.fullmatch(r"(\d*[.,]?\d+)\s*(/32(?:nds)?(?:\s*in(?:ch)?)?|32nds|mm|mils|in)", word)
    if not found:
        raise misused(Wrong.NO_DEPTH, text=text)
    unit = "32nds" if "32" in found.group(2) else found.group(2)
    depth = float(convert(told_number("removal depth", found.group(1), low=0, high=1000), unit, "mm"))
    if not 0 <= depth <= 25:
        raise misused(Wrong.DEPTH_RANGE, text=text)
    return depth

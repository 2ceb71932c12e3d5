"""Removal depth of a command: given outright, or by place, axle and season."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Final

from tirelife.errors import InputError
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["add_limits", "parse_depth", "removal_for"]

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


def removal_for(args: argparse.Namespace, as_of: pd.Timestamp) -> tuple[pd.Series, str]:
    """Removal depth by position [mm], and the rule in words; no words where no place was named.

    Raises
    ------
    InputError
        If a depth or the file cannot be read, the place is not known, or has no limit for such
        vehicles on that day.
    """
    import pandas as pd

    from tirelife.tread import removal_depth, removal_depths

    limits = removal_depths(args.limits)
    place = args.place or ("US" if args.limits or args.rules_for != "car" else "")
    by_axle = (
        {
            axle: removal_depth(place, axle, as_of, vehicles=args.rules_for, limits=limits)
            for axle in ("front", "rear")
        }
        if place
        else {}
    )
    if args.removal_depth or not place:
        depth = parse_depth(args.removal_depth or DEFAULT)
        return pd.Series(depth, index=["LF", "RF", "LR", "RR", "SP"]), ""
    if any(found.depth_mm != found.depth_mm for found in by_axle.values()):
        raise InputError(
            f"--place {place}: no limit is known there on {as_of:%Y-%m-%d}. Give --removal-depth."
        )
    front, rear = by_axle["front"], by_axle["rear"]
    depths = {"LF": front, "RF": front, "LR": rear, "RR": rear}
    by_position = {position: found.depth_mm for position, found in depths.items()}
    by_position["SP"] = max(front.depth_mm, rear.depth_mm)
    sources = list(dict.fromkeys(f"{f.source}{f', {f.dated}' if f.dated else ''}" for f in by_axle.values()))
    return pd.Series(by_position), f"removal depth of {place} on {as_of:%Y-%m-%d}: {'; '.join(sources)}"


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
        raise InputError(f"removal depth {text!r} is not a depth. Give it as 2/32, 4/32, 1.6mm or 3mm.")
    unit = "32nds" if "32" in found.group(2) else found.group(2)
    depth = float(convert(told_number("removal depth", found.group(1), low=0, high=1000), unit, "mm"))
    if not 0 <= depth <= 25:
        raise InputError(
            f"removal depth {text!r} is outside 0 to 25 mm. Give it as 2/32, 4/32, 1.6mm or 3mm."
        )
    return depth

"""Depth at which a tire comes off: given outright, or by place, axle and season, and the rule in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.errors import misused
from tirelife.positions import MOUNTED
from tirelife.rates import sets_in_turn
from tirelife.sheet.wrong import Wrong
from tirelife.tread import REMOVAL_DEPTH_MM, removal_depth, removal_depths

if TYPE_CHECKING:
    from pathlib import Path

    from tirelife.logbook import Logbook

__all__ = ["NO_PLACE", "removal_limits", "road_most"]

NO_PLACE: Final = (
    "no place is named, so winter sets are held to the same depth as others: "
    "--place NAME applies its winter depth where it has one"
)


def removal_limits(
    as_of: pd.Timestamp,
    book: Logbook | None = None,
    *,
    depth_mm: float | None = None,
    place: str | None = None,
    rules_for: str = "car",
    file: str | Path | None = None,
) -> tuple[pd.Series, str]:
    """Removal depth by position [mm], and the rule in words; no words where no place was named.

    Where the place has another depth for a season, ``winter LF`` and so on stand beside the positions, for
    sets in store: a winter set is held to the depth of the winter that it goes on again in, whatever day it
    is today (:func:`tirelife.outlook.stored.stored_state`). A logbook whose vehicles are all of one
    ``region`` that has such a depth names the place itself; one whose sets take turns and that names none is
    told to.

    Parameters
    ----------
    as_of : Timestamp
        The day that decides which rule and which season holds.
    book : Logbook, optional
    depth_mm : float, optional
        Goes before any place. [mm]
    place : str, optional
        Such as ``US`` or ``EU/Austria``.
    rules_for : {"car", "truck or bus"}
    file : str or Path, optional
        A CSV of removal depths that adds to the built-in ones.

    Raises
    ------
    InputError
        If the file cannot be read, the place is not known, or has no limit for such vehicles on that day.
    """
    limits = removal_depths(file)
    place = place or ("US" if file or rules_for != "car" else "") or _of_region(book, limits)
    if depth_mm is not None or not place:
        ask = depth_mm is None and book is not None and bool(len(sets_in_turn(book)))
        depth = REMOVAL_DEPTH_MM if depth_mm is None else depth_mm
        return pd.Series(depth, index=list(MOUNTED)), NO_PLACE if ask else ""
    depths, said = _by_position(place, as_of, rules_for, limits)
    rule = f"removal depth of {place} on {as_of:%Y-%m-%d}: {said}"
    middle = {"winter": as_of.replace(month=1, day=15), "summer": as_of.replace(month=7, day=15)}
    seasons = {name: _by_position(place, day, rules_for, limits) for name, day in middle.items()}
    if not seasons["winter"][0].equals(seasons["summer"][0]):
        for name, (found, _) in seasons.items():
            depths = pd.concat([depths, found.add_prefix(f"{name} ")])
        deep = f"{road_most(seasons['winter'][0]):g} mm"
        rule += f"; winter sets in store are held to {deep}, their season's: {seasons['winter'][1]}"
    return depths, rule


def road_most(removal: pd.Series) -> float:
    """The stricter axle's removal depth, of the wheels on the road. [mm]"""
    return float(removal[list(MOUNTED)].max())


def _by_position(place: str, day: pd.Timestamp, vehicles: str, limits: pd.DataFrame) -> tuple[pd.Series, str]:
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

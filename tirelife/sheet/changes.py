"""What each change would buy: the same sums as the sliders, with the range that the model of wear allows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.logbook import ROAD_POSITIONS
from tirelife.sheet import words
from tirelife.sheet.interactive import recompute

if TYPE_CHECKING:
    from tirelife.wear import Change, Conditions

__all__ = ["COLUMNS", "change_rows", "offered"]

COLUMNS: Final = ["change", "before_km", "after_km", "after_low_km", "after_high_km", "days", "said"]
Z80: Final = 1.2816
TOE_MM: Final = 1.5
"""Total toe from which setting the wheels straight is offered; our choice. [mm]"""
SHOWN_ROWS: Final = 6
LOW: Final = 1.005
"""Wear by low pressure from which keeping it up is offered; our choice."""

SAME: Final = {"Pressures at the placard": "Pressure put right", "Wheels set straight": "Toe put right"}
"""Changes that the log's own figures call for, and the correction of a pattern that would be the same."""


def offered(now: Conditions) -> list[Change]:
    """Changes worth showing to the driver of one vehicle."""
    from tirelife.wear import Change

    out = []
    if float(np.mean(now.pressure)) > LOW:
        out.append(Change("Pressures at the placard", pressure_kept=True))
    if max(abs(now.front_toe_mm), abs(now.rear_toe_mm)) > TOE_MM:
        out.append(Change("Wheels set straight", front_toe_mm=0.0, rear_toe_mm=0.0))
    out += [
        Change("Gentler starts, by a fifth", starts=0.8),
        Change("Gentler stops, by a fifth", stops=0.8),
        Change("Slower in bends, by a tenth", turns=0.81),
        Change("5 mph slower on fast roads", by_mps=5 * 0.44704),
    ]
    return out


LEAST_KM: Final = 80.0
"""A change that buys less than this, 50 miles, is not said to help; our choice. [km]"""


def change_rows(
    state: Mapping[str, Any],
    now: Conditions,
    changes: list[Change],
    units: str,
    corrections: pd.DataFrame | None = None,
    *,
    may_rotate: bool = True,
) -> pd.DataFrame:
    """Distance left in the set before and after each change, and after each rotation that is offered.

    Parameters
    ----------
    state : mapping
        From :func:`tirelife.sheet.assume.slider_state`.
    now : Conditions
        What the tires are taken to go on with.
    changes : list of Change
    units : str
    corrections : DataFrame, optional
        This vehicle's rows of :func:`tirelife.outlook.correction_ratios`: what the tread's pattern shows.
        What is offered by the log's pressures or measured toe as well is not said twice.
    may_rotate : bool
        Whether rotating is among what is offered: not where the decision stands against it.

    Returns
    -------
    DataFrame
        :data:`COLUMNS`: middle of the distance left in the first tire of the set; 80 % range of what it is
        after, from how surely wear is known to answer; days gained; the gain in words. The largest gains
        first, :data:`SHOWN_ROWS` at the most; of the rotations only the best.
    """
    from tirelife.wear import ratio_of

    before = recompute(state, {})
    rows = []
    for change in changes:
        table = ratio_of(now, now.after(change)).set_index("position")
        sides = {
            side: recompute(state, {}, (table["ratio"] * np.exp(side * Z80 * table["log_sd"])).to_dict())
            for side in (-1, 0, 1)
        }
        rows.append(_row(change.name, before, sides[0], sides[1], sides[-1], units))
    if corrections is not None and len(corrections):
        told = {SAME.get(change.name) for change in changes}
        rows += _corrected(state, before, corrections[~corrections["change"].isin(told)], units)
    turned = []
    for said, name in next(c["options"] for c in state["controls"] if c["id"] == "rotation"):
        if may_rotate and name not in ("log", "none"):
            after = recompute(state, {"rotation": name})
            turned.append(_row(f"Rotate {said}", before, after, after, after, units))
    rows += sorted(turned, key=lambda row: -row[2])[:1]
    out = pd.DataFrame(rows, columns=COLUMNS)
    known = out[out["after_km"].notna() & out["before_km"].notna()]
    return known.sort_values("after_km", ascending=False, kind="stable", ignore_index=True)[:SHOWN_ROWS]


def worthwhile(changes: pd.DataFrame) -> pd.Series:
    """Which changes buy at least :data:`LEAST_KM` in the middle of their range."""
    return changes["after_km"] - changes["before_km"] >= LEAST_KM


def _corrected(
    state: Mapping[str, Any], before: Any, corrections: pd.DataFrame, units: str
) -> list[list[Any]]:
    """A row a cause put right, where the set may last longer by it."""
    from tirelife.outlook import gain_factors

    rows = []
    for name, wheels in corrections.groupby("change", sort=False):
        factors = pd.DataFrame(gain_factors(wheels, np.array([0.1, 0.5, 0.9])), index=wheels["position"])
        wear = (1 / factors).reindex(ROAD_POSITIONS).fillna(1.0)
        sides = [{str(place): float(ratio) for place, ratio in wear[i].items()} for i in range(3)]
        low, middle, high = (recompute(state, {}, side) for side in sides)
        if high["overall"]["km"][2] > LOW * before["overall"]["km"][2]:
            rows.append(_row(str(name), before, middle, low, high, units))
    return rows


def _row(name: str, before: Any, after: Any, low: Any, high: Any, units: str) -> list[Any]:
    """What is gained is the middle of the gain draw by draw, as :func:`tirelife.outlook.what_if` has it."""

    def gained(case: Any, what: str) -> float:
        return float(np.median(case["overall"][what] - before["overall"][what]))

    begin = float(before["overall"]["km"][2])
    gains = [gained(case, "km_drawn") for case in (after, low, high)]
    days = gained(after, "days_drawn")
    return [name, begin, *(begin + gain for gain in gains), days, words.difference(gains[0], days, units)]

"""Tires in store, of sets that take turns: where they stand and what lies ahead of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from tirelife.logbook import kept
from tirelife.outlook.ageing import AGE_LIMIT_YEARS
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_states
from tirelife.positions import OFF
from tirelife.rates import (
    of_winter,
    sets_in_turn,
    turn_columns,
)

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["stored_state"]


def stored_state(
    book: Logbook,
    fit: WearFit,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    age_limit_years: float = AGE_LIMIT_YEARS,
) -> pd.DataFrame:
    """Today's posterior of each tire in store whose set goes on again.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    removal_depth_mm : float or Series
        For all, or by the position that the tire was at; where it has ``winter LF`` and so on (and ``summer
        LF``), a set that is on the car in January is held to those, another to the summer's. [mm]
    age_limit_years : float

    Returns
    -------
    DataFrame
        As :func:`tirelife.outlook.present_state`, with the positions that the tires come back to: the state
        of the logbook with the sets changed today, and the days on which the set is on.
        An empty frame where no set takes turns. It is kept with the logbook, so that pages of a whole fleet
        do not work it out anew for each vehicle.
    """
    if isinstance(removal_depth_mm, pd.Series):
        return _stored(book, fit, tuple(removal_depth_mm.items()), age_limit_years)
    return _stored(book, fit, float(removal_depth_mm), age_limit_years)


@kept
def _stored(
    book: Logbook, fit: WearFit, depths: float | tuple[tuple[object, float], ...], age_limit_years: float
) -> pd.DataFrame:
    """Do so for depths that can be a key: one, or pairs of a position and its depth."""
    sets = sets_in_turn(book)
    stored = sets.loc[~sets["on"].astype(bool), "tire_id"]
    if stored.empty:
        return pd.DataFrame()
    swapped = _swapped(book, sets)
    removal = _by_season(pd.Series(dict(depths)) if isinstance(depths, tuple) else depths)
    winter = set(sets.loc[of_winter(sets), "tire_id"])
    parts = []
    for season, state in present_states(swapped, fit, removal, age_limit_years).items():
        mine = state["tire_id"].isin(stored)
        if season:
            mine &= state["tire_id"].isin(winter) == (season == "winter")
        parts.append(state[mine])
    state = pd.concat(parts).sort_index(kind="stable").reset_index(drop=True)
    return state.assign(**turn_columns(book, state["tire_id"]))


def _by_season(removal_depth_mm: float | pd.Series) -> dict[str, float | pd.Series]:
    """Removal depths of winter and of summer sets in store; under an empty name where they are the same."""
    if not isinstance(removal_depth_mm, pd.Series) or "winter LF" not in removal_depth_mm:
        return {"": removal_depth_mm}
    return {
        season: removal_depth_mm.filter(like=f"{season} ").rename(lambda name: name.split()[1])
        for season in ("winter", "summer")
    }


def _swapped(book: Logbook, sets: pd.DataFrame) -> Logbook:
    """The logbook as it would be with the sets changed today."""
    mounts = book.mounts
    odometer = book.odometer.groupby("vehicle_id")["odometer_km"].max()
    off, on = sets[sets["on"]], sets[~sets["on"]]
    rows = pd.concat(
        [off.assign(position=OFF), on], ignore_index=True
    )[["vehicle_id", "tire_id", "position"]]  # fmt: skip
    rows["date"] = book.as_of
    rows["odometer_km"] = rows["vehicle_id"].map(odometer)
    rows["row"], rows["doubt"], rows["codes"] = 0, "", ""
    made = pd.concat([mounts, rows.reindex(columns=mounts.columns)], ignore_index=True)
    for name in {"doubt", "codes"} & set(made):
        made[name] = made[name].fillna("")
    return replace(book, tables={**book.tables, "mounts": made})

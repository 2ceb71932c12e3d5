"""Tires in store, of sets that take turns: where they stand and what lies ahead of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from tirelife.logbook import kept
from tirelife.outlook.ageing import AGE_LIMIT_YEARS
from tirelife.outlook.seasons import sets_in_turn, turn_columns
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_state

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["stored_state"]


@kept
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
        For all, or by the position that the tire was at. [mm]
    age_limit_years : float

    Returns
    -------
    DataFrame
        As :func:`tirelife.outlook.present_state`, with the positions that the tires come back to: the state
        of the logbook with the sets changed today, and the days on which the set is on.
        An empty frame where no set takes turns. It is kept with the logbook, so that pages of a whole fleet
        do not work it out anew for each vehicle.
    """
    sets = sets_in_turn(book)
    stored = sets.loc[~sets["on"].astype(bool), "tire_id"]
    if stored.empty:
        return pd.DataFrame()
    state = present_state(_swapped(book, sets), fit, removal_depth_mm, age_limit_years)
    state = state[state["tire_id"].isin(stored)].reset_index(drop=True)
    return state.assign(**turn_columns(book, state["tire_id"]))


def _swapped(book: Logbook, sets: pd.DataFrame) -> Logbook:
    """The logbook as it would be with the sets changed today."""
    mounts = book.mounts
    odometer = book.odometer.groupby("vehicle_id")["odometer_km"].max()
    off, on = sets[sets["on"]], sets[~sets["on"]]
    rows = pd.concat(
        [off.assign(position="OFF"), on], ignore_index=True
    )[["vehicle_id", "tire_id", "position"]]  # fmt: skip
    rows["date"] = book.as_of
    rows["odometer_km"] = rows["vehicle_id"].map(odometer)
    rows["row"], rows["doubt"], rows["codes"] = 0, "", ""
    made = pd.concat([mounts, rows.reindex(columns=mounts.columns)], ignore_index=True)
    for name in {"doubt", "codes"} & set(made):
        made[name] = made[name].fillna("")
    return replace(book, tables={**book.tables, "mounts": made})

"""What the vehicles of a logbook are taken to go on with: driving, pressures and toe, a row a vehicle."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving import default_profile, profiles_from_habits, profiles_to_frame
from tirelife.inflation import pressure_path, pressure_wear
from tirelife.logbook import Logbook, kept
from tirelife.positions import ROAD
from tirelife.wear.reference import toe_history
from tirelife.wear.vehicle import vehicle_table

__all__ = ["PRESSURES", "TOES", "book_about", "conditions_table"]

PRESSURES: Final = tuple(f"pressure_{position}" for position in ROAD)
"""Columns of wear over wear at placard pressure, by position."""
TOES: Final = ("front_toe_mm", "rear_toe_mm")
"""Columns of total toe, by axle."""
SMALL: Final = 5_000
"""Mounts of a logbook that is not worth cutting."""
_YEAR: Final = pd.Timedelta(days=365)


@kept
def conditions_table(book: Logbook) -> pd.DataFrame:
    """Conditions that each vehicle of a logbook is taken to go on with.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        Indexed by ``vehicle_id``, in the order of ``book.vehicles``: the columns of a frame of driving
        profiles (the latest habits, the default profile where there are none), those of
        :func:`tirelife.wear.vehicle_table`, ``pressure_LF`` … ``pressure_RR`` (wear over wear at placard
        pressure, over the 365 days before it was last seen, weighted by distance; 1 where nothing was run)
        and ``front_toe_mm``, ``rear_toe_mm`` (total toe as last measured; 0 where it never was).
    """
    vehicles = vehicle_table(book)
    habits = profiles_from_habits(book).drop_duplicates("vehicle_id", keep="last").set_index("vehicle_id")
    driven = habits.drop(columns=["from_date", "to_date"]).reindex(vehicles.index)
    usual = profiles_to_frame([default_profile()])
    unknown = ~vehicles.index.isin(habits.index)
    for name in driven:
        driven[name] = driven[name].where(~unknown, usual[name].iloc[0])
    path = pressure_path(book)
    km = (path["to_km"] - path["from_km"]).to_numpy(float)
    wear = pressure_wear(path["cold_kpa"], path["placard_kpa"])
    run = path[["vehicle_id", "position", "to_date"]].assign(km=km, worn=km * wear)
    run = run[np.isfinite(wear) & (km > 0)]
    run = run[run["to_date"] > run.groupby("vehicle_id")["to_date"].transform("max") - _YEAR]
    sums = run.groupby(["vehicle_id", "position"])[["km", "worn"]].sum()
    pressure = _spread(sums["worn"] / sums["km"], vehicles.index, ROAD, 1.0)
    toe = toe_history(book).drop_duplicates(["vehicle_id", "axle"], keep="last")
    toe2 = toe.set_index(["vehicle_id", "axle"])["toe2_mm2"].astype(float)
    square = _spread(toe2, vehicles.index, ("front", "rear"), 0.0)
    places = pd.DataFrame(np.hstack([pressure, np.sqrt(square)]), vehicles.index, [*PRESSURES, *TOES])
    return pd.concat([driven, vehicles, places], axis=1)


def _spread(
    values: pd.Series[float], vehicles: pd.Index, places: tuple[str, ...], missing: float
) -> NDArray[np.float64]:
    """Values by vehicle and place as an array of shape (vehicles, places)."""
    wanted = pd.MultiIndex.from_product([vehicles, places])
    flat = values.reindex(wanted).to_numpy(dtype=np.float64)
    return np.where(np.isnan(flat), missing, flat).reshape(len(vehicles), len(places))


def book_about(book: Logbook, vehicle_ids: Collection[str]) -> Logbook:
    """The part of a logbook that says anything about the tires of some of its vehicles.

    A small logbook is given whole: what is known of all its vehicles is there already, or soon will be.
    """
    mounts = book.tables["mounts"]
    if len(mounts) <= SMALL:
        return book
    tires = mounts.loc[mounts["vehicle_id"].isin(vehicle_ids), "tire_id"].unique()
    vehicles = {*vehicle_ids, *mounts.loc[mounts["tire_id"].isin(tires), "vehicle_id"]}
    tables = {
        name: table[table["vehicle_id"].isin(vehicles)] if "vehicle_id" in table else table
        for name, table in book.tables.items()
    }
    return replace(book, tables=tables)

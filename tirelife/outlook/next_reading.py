"""When to measure again: the reading that narrows the window most, while there is time to plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.errors import InputError
from tirelife.outlook.forecast import distance_quantiles
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_state
from tirelife.rates.result import READING, VISIT

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["next_reading", "reading_gains"]

STEPS: Final = 12
"""Distances tried, evenly, up to :data:`LATEST` of the shortest likely distance left."""
LATEST: Final = 0.6
"""A reading later than this share of the 10 % distance leaves too little time to plan; an assumption."""
ENOUGH: Final = 0.9
"""The first reading that brings this share of what the latest would bring is the one; an assumption."""
LEAST_KM: Final = 1_000.0


def next_reading(
    book: Logbook,
    fit: WearFit,
    vehicle_id: str,
    removal_depth_mm: float = REMOVAL_DEPTH_MM,
    state: pd.DataFrame | None = None,
) -> pd.Series:
    """When a vehicle is best measured again, and how much that narrows its window.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
    vehicle_id : str
    removal_depth_mm : float [mm]
    state : DataFrame, optional
        From :func:`tirelife.outlook.present_state`, if it is at hand.

    Returns
    -------
    Series
        One of the rows of :func:`reading_gains`: the first that brings :data:`ENOUGH` of the most that any
        can; all NaN where no tire has a forecast or the first is due at once.

    Raises
    ------
    InputError
        If the vehicle is not in the logbook.
    """
    gains = reading_gains(book, fit, vehicle_id, removal_depth_mm, state)
    if gains["narrower"].isna().all():
        return gains.iloc[-1]
    enough = gains["narrower"] >= ENOUGH * gains["narrower"].max()
    return gains.iloc[int(np.argmax(enough.to_numpy()))]


def reading_gains(
    book: Logbook,
    fit: WearFit,
    vehicle_id: str,
    removal_depth_mm: float = REMOVAL_DEPTH_MM,
    state: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """How much narrower the window of a vehicle's first tire due would be after a reading further on.

    Returns
    -------
    DataFrame
        A row a distance: vehicle_id, position (of the tire that is due first), ahead_km, date, width_km
        (of the 80 % range without it), width_after_km (expected, with it) and narrower (the share that goes).

    Notes
    -----
    Before the reading is made only its error is known, and that is enough: for jointly normal quantities the
    variance left does not depend on what is read. First-order in depth D and log rate r: the distance left is
    (D - limit) / r; a reading at x sees D - r x with the fit's reading and visit error.
    """
    if vehicle_id not in set(book.vehicles["vehicle_id"]):
        raise InputError(f"vehicle {vehicle_id!r} is not in the vehicles table.")
    state = present_state(book, fit, removal_depth_mm) if state is None else state
    state = state[(state["vehicle_id"] == vehicle_id) & (state["position"] != "SP")].reset_index(drop=True)
    km = distance_quantiles(state)
    columns = ["vehicle_id", "position", "ahead_km", "date", "width_km", "width_after_km", "narrower"]
    bare = {"vehicle_id": vehicle_id, "position": "", "date": pd.NaT}
    if not len(state) or not np.isfinite(km[:, 2]).any():
        return pd.DataFrame([bare]).reindex(columns=columns)
    first = int(np.nanargmin(km[:, 2]))
    row, latest = state.iloc[first], LATEST * float(km[first, 0])
    if latest < LEAST_KM:
        return pd.DataFrame([bare | {"position": row["position"]}]).reindex(columns=columns)
    x = np.linspace(latest / STEPS, latest, STEPS)
    spread = fit.components.set_index("term")["estimate"]
    error2 = float(spread[READING]) ** 2 + float(spread[VISIT]) ** 2
    rate = float(np.exp(row["log_wear"]))
    left = max(float(row["mean_depth_mm"] - row["limit_mm"]), 1e-3)
    var_d, var_r = float(row["mean_depth_sd_mm"]) ** 2, float(row["log_wear_sd"]) ** 2
    cov = float(row["depth_log_wear_cov"])
    # Where it ends, (D - limit) / rate: slope by depth 1 / rate, by log rate -left / rate.
    by = np.array([1.0, -left]) / rate
    total = np.array([[var_d, cov], [cov, var_r]])
    before = float(by @ total @ by)
    after = []
    for ahead in x:
        sees = np.array([1.0, -rate * ahead])
        with_end = by @ total @ sees
        after.append(before - with_end**2 / (sees @ total @ sees + error2))
    ratio = np.sqrt(np.maximum(after, 0.0) / before)
    width = float(km[first, -1] - km[first, 0])
    days = np.floor(x / float(row["km_per_day"])).astype("timedelta64[D]")
    date = np.datetime64(row["as_of"], "D") + days
    out = pd.DataFrame({"vehicle_id": vehicle_id, "position": row["position"], "ahead_km": x})
    out["date"] = date.astype("datetime64[us]")
    return out.assign(width_km=width, width_after_km=width * ratio, narrower=1 - ratio)[columns]

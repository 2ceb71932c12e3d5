"""What ends a tire's life, and what a forecast has to say beside its numbers."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas.api.typing import NaTType

from tirelife.errors import InputError
from tirelife.tread import Verdict, read_date_code

__all__ = ["limits_and_notes"]

AT_LIMIT: Final = (
    "by the estimate at the removal depth: no distance left; have a qualified person look at it now; "
    "the local code decides"
)
AT_LIMIT_READ: Final = (
    "read at or under the removal depth: no distance left; have a qualified person look at it now; "
    "the local code decides"
)
NEAR_LIMIT: Final = "read near the removal depth: plan its replacement, and do not rotate it"
SLOWING: Final = (
    "wear is bending: it slows as the tread gets thinner, so a straight line falls short; wide range"
)
SPEEDING: Final = "wear is bending: it is faster now than before; wide range; look for a cause"
SPARE: Final = "spare: runs no distance where it lies; age limits it"
NEVER_READ: Final = "never read: from its new depth and the fleet's wear; wide range"
ONE_VISIT: Final = "one visit: leans on its vehicle, its tire line and the fleet; wide range"
STALE: Final = "not read for over a year: today's depth is a projection; measure it"
NO_WEAR: Final = "not known: its readings show next to no wear; check the depths, and measure again"
FAR: Final = "a date over 60 years ahead is not given"
STALE_DAYS: Final = 365
"""A reading is old after so long; common practice, no source."""
BEND_LOG: Final = np.log(1.25)
"""A bend is worth a word from a rate that changes by a quarter between new and the limit; an assumption."""


def limits_and_notes(
    state: pd.DataFrame, result: pd.DataFrame, made_week: pd.Series | None, age_limit_years: float
) -> tuple[NDArray[np.object_], NDArray[np.object_]]:
    """What limits each tire, and notes; both object arrays of text, in the order of ``state``."""
    median = result["km_left_p50"].to_numpy(dtype=float)
    known = np.isfinite(median)
    limited = np.where(known, state["groove"].to_numpy(dtype=object), "").astype(object)
    parts: list[tuple[NDArray[np.bool_], str | NDArray[np.object_]]] = []
    read_down = (state["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
    parts.append((read_down, AT_LIMIT_READ))
    parts.append(((state["verdict"] == Verdict.NEAR).to_numpy(dtype=bool), NEAR_LIMIT))
    parts.append((known & (median <= 0) & ~read_down, AT_LIMIT))
    aged, words = _age(result, made_week, age_limit_years)
    limited[aged] = "age"
    parts.append((aged, words))
    lies = (state["position"] == "SP").to_numpy(dtype=bool) & ~known
    limited[lies] = "age"
    parts.append((lies, SPARE))
    turn = _bend(state)
    parts.append((turn < -BEND_LOG, SLOWING))
    parts.append((turn > BEND_LOG, SPEEDING))
    visits = state["visits"].to_numpy()
    parts.append(((visits == 0) & known, NEVER_READ))
    parts.append(((visits == 1) & known, ONE_VISIT))
    age = (state["as_of"] - state["last_date"]).dt.days.to_numpy(dtype=float)
    parts.append(((age > STALE_DAYS) & (visits > 0) & known, STALE))
    parts.append((known & result["date_p90"].isna().to_numpy(), FAR))
    parts.append((~known & ~lies, _unknown(state)))
    return limited, _joined(len(state), parts)


def _bend(state: pd.DataFrame) -> NDArray[np.float64]:
    """Log of the wear rate from here to the limit over the one before: by the fit's curvature or its own."""
    depth = np.maximum(state["mean_depth_mm"].to_numpy(dtype=float), 0.1)
    new = np.maximum(state["new_depth_mm"].to_numpy(dtype=float), depth)
    limit = np.clip(state["limit_mm"].to_numpy(dtype=float), 0.1, depth)
    by_fit = -state["q"].to_numpy(dtype=float) * np.log(new / limit)
    return np.asarray(state["bend"].to_numpy(dtype=float) + np.nan_to_num(by_fit))


def _age(
    result: pd.DataFrame, made_week: pd.Series | None, years: float
) -> tuple[NDArray[np.bool_], NDArray[np.object_]]:
    """Which tires reach the age limit before their median date, and the words."""
    count = len(result)
    words = np.full(count, "", dtype=object)
    aged = np.zeros(count, dtype=bool)
    if made_week is None:
        return aged, words
    ends: dict[str, pd.Timestamp | NaTType] = {}
    for code in made_week.unique():
        try:
            ends[code] = read_date_code(code).made_to + pd.DateOffset(years=round(years)) if code else pd.NaT
        except InputError:
            ends[code] = pd.NaT
    end = pd.to_datetime(made_week.map(ends)).to_numpy()
    date = result["date_p50"].to_numpy()
    aged = ~np.isnat(end) & (np.isnat(date) | (end < date))
    for i in np.flatnonzero(aged):
        day = pd.Timestamp(end[i])
        words[i] = (
            f"{years:g} years old by {day:%Y-%m-%d}, before its tread is down: age advice, maker's rule first"
        )
    return aged, words


def _unknown(state: pd.DataFrame) -> NDArray[np.object_]:
    why = state["reason"].to_numpy(dtype=object).copy()
    why[np.isfinite(state[["mean_depth_mm", "log_wear", "limit_mm"]].to_numpy(dtype=float)).all(axis=1)] = (
        NO_WEAR
    )
    why[why == ""] = "not known: no depth or no distance to go by"
    why[state["odometer_km"].isna().to_numpy()] = "not known: no odometer reading for this vehicle"
    return np.asarray(why, dtype=object)


def _joined(
    count: int, parts: list[tuple[NDArray[np.bool_], str | NDArray[np.object_]]]
) -> NDArray[np.object_]:
    note = np.full(count, "", dtype=object)
    for chosen, words in parts:
        rows = np.flatnonzero(chosen)
        said = words if isinstance(words, str) else words[rows]
        note[rows] = np.where(note[rows] == "", said, note[rows] + "; " + said)
    return note

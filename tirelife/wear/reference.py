"""Reference distance: the distance that each tire has run, weighted by how hard it was on the tire."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving import default_profile, profiles_from_habits, profiles_to_frame
from tirelife.driving.profile import MOMENTS
from tirelife.inflation import beyond_published, pressure_path, pressure_wear
from tirelife.logbook import Logbook, cut_stretches, kept, record_at
from tirelife.wear.energy import CAUSES, causes_at_wheel, severity_log_sd
from tirelife.wear.vehicle import vehicle_table

__all__ = ["add_reference", "reference_at", "stretch_severity", "toe_history"]

_FRONT: Final = ("LF", "RF")


@kept
def stretch_severity(book: Logbook, exponent: float = 1.0) -> pd.DataFrame:
    """Severity of every part of every tire's distance over which conditions were constant.

    Parameters
    ----------
    book : Logbook
    exponent : float
        Power to which severity is raised, so that data can stretch or shrink what the model says; the
        causes keep their shares. Default 1.

    Returns
    -------
    DataFrame
        ``tire_id, vehicle_id, position, from_date, to_date, from_km, to_km, severity``, one column a cause of
        :data:`~tirelife.wear.CAUSES`, which sum to it, ``severity_log_sd``, ``driving`` (where the profile
        comes from: habits recorded for these dates, for the nearest dates, or the default profile),
        ``pressure_source`` and ``pressure_beyond`` (outside the published range of pressures). In the order
        of ``book.stretches``; the distances of the parts sum to theirs. A spare wears nothing: severity 0.

    Notes
    -----
    Mounts are cut at pressure readings, at the edges of habits and at alignment measurements. Habits for
    the nearest dates stand where none were recorded, and an ordinary vehicle's figures where the logbook
    has none.
    """
    odometer = book.odometer
    path = pressure_path(book)
    parts = path.drop(columns=["start_kpa", "end_kpa", "ratio"]).rename(columns={"source": "pressure_source"})
    habits = profiles_from_habits(book)
    toe = toe_history(book)
    edges = (
        (habits["vehicle_id"], habits["from_date"]),
        (habits["vehicle_id"], pd.to_datetime(habits["to_date"]) + pd.Timedelta(days=1)),
        (toe["vehicle_id"], toe["from_date"]),
    )
    cuts = pd.concat(
        [pd.DataFrame({"vehicle_id": v.astype(object), "date": pd.to_datetime(d)}) for v, d in edges]
    )
    parts = cut_stretches(parts, cuts, "vehicle_id", odometer)
    moments, driving, log_sd = _driving_of(parts, habits)
    vehicle = vehicle_table(book).loc[parts["vehicle_id"]]
    front = parts["position"].isin(_FRONT).to_numpy()
    wear = pressure_wear(parts["cold_kpa"], parts["placard_kpa"])
    causes = causes_at_wheel(moments, vehicle, front, wear, _toe_of(parts, toe))
    on_road = (parts["position"] != "SP").to_numpy()
    total = np.sum(list(causes.values()), axis=0)
    rescale = np.where(on_road, total ** (exponent - 1), 0.0)
    out = parts[["tire_id", "vehicle_id", "position", "from_date", "to_date", "from_km", "to_km"]].copy()
    out["severity"] = total * rescale
    for cause in CAUSES:
        out[cause] = causes[cause] * rescale
    out["severity_log_sd"] = np.abs(exponent) * severity_log_sd(causes, log_sd)
    out["driving"] = driving
    out["pressure_source"] = parts["pressure_source"].to_numpy()
    out["pressure_beyond"] = beyond_published(parts["cold_kpa"], parts["placard_kpa"])
    return out


def add_reference(book: Logbook, visits: pd.DataFrame, exponent: float = 1.0) -> pd.DataFrame:
    """Add to tire-visits the distance run so far, weighted by severity.

    Parameters
    ----------
    book : Logbook
    visits : DataFrame
        ``tire_id, date, odometer_km``; other columns are kept.
    exponent : float
        As for :func:`stretch_severity`.

    Returns
    -------
    DataFrame
        ``visits`` with ``reference_km``, and its parts run on the front and on the rear axle,
        ``reference_front_km`` and ``reference_rear_km``. [km] NaN for a tire with no mount on or before the
        date.

    Examples
    --------
    With an even severity of 1 a tire's reference distance is the distance it has run.
    """
    parts = stretch_severity(book, exponent)
    return reference_at(parts, visits)


def reference_at(parts: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Reference distance of tires at visits, from the parts of :func:`stretch_severity`."""
    out = visits.copy()
    names = ["reference_km", "reference_front_km", "reference_rear_km"]
    if parts.empty or visits.empty:
        return out.assign(**dict.fromkeys(names, np.nan))
    length = (parts["to_km"] - parts["from_km"]).to_numpy(float)
    severity = parts["severity"].to_numpy(float)
    front = parts["position"].isin(_FRONT).to_numpy()
    runs = pd.DataFrame(
        {"front": np.where(front, severity * length, 0.0), "rear": np.where(front, 0.0, severity * length)}
    )
    tire = parts["tire_id"].to_numpy()
    before = (runs.groupby(tire, sort=False).cumsum() - runs).to_numpy(float)
    # Of the parts begun by that day the last one counts; a visit on the day of a move stands at the end
    # of one part and at the start of the next, which is the same distance.
    row = record_at(visits["tire_id"], visits["date"], parts["tire_id"], parts["from_date"])
    known = row >= 0
    since = visits["odometer_km"].to_numpy(float) - parts["from_km"].to_numpy(float)[row]
    now = np.clip(since, 0.0, length[row]) * severity[row]
    at_front = np.where(known, before[row, 0] + np.where(front[row], now, 0.0), np.nan)
    at_rear = np.where(known, before[row, 1] + np.where(front[row], 0.0, now), np.nan)
    out["reference_km"] = at_front + at_rear
    out["reference_front_km"], out["reference_rear_km"] = at_front, at_rear
    return out


def toe_history(book: Logbook) -> pd.DataFrame:
    """Toe of each axle from date to date.

    Returns
    -------
    DataFrame
        ``vehicle_id, axle, from_date, toe2_mm2``: the mean square of total toe from that date on; sorted.

    Notes
    -----
    Of two measurements of one axle on one day the first row is taken as found and the last as set.
    Between days the mean of the squares as set and as next found stands, before the first the square as
    first found, after the last the square as last set (our assumption; toe mostly changes at a knock, on
    a day that nobody knows).
    """
    columns = ["vehicle_id", "axle", "from_date", "toe2_mm2"]
    given = book.alignment
    given = given[given["toe_mm"].notna()] if len(given) else given
    if given.empty:
        return pd.DataFrame(columns=columns)
    keys = ["vehicle_id", "axle"]
    days = given.sort_values("row").groupby([*keys, "date"], as_index=False)["toe_mm"].agg(["first", "last"])
    found, left = days["first"].astype(float) ** 2, days["last"].astype(float) ** 2
    next_found = found.groupby([days[k] for k in keys]).shift(-1)
    ahead = pd.DataFrame(
        {
            "vehicle_id": days["vehicle_id"],
            "axle": days["axle"],
            "from_date": days["date"],
            "toe2_mm2": np.where(next_found.isna(), left, (left + next_found) / 2),
        }
    )
    before = days.drop_duplicates(keys)
    start = pd.DataFrame(
        {
            "vehicle_id": before["vehicle_id"],
            "axle": before["axle"],
            "from_date": pd.Timestamp("1900-01-01"),
            "toe2_mm2": before["first"].astype(float) ** 2,
        }
    )
    return pd.concat([start, ahead], ignore_index=True).sort_values(
        [*keys, "from_date"], kind="stable", ignore_index=True
    )


def _toe_of(parts: pd.DataFrame, toe: pd.DataFrame) -> NDArray[np.float64]:
    """Root mean square toe of each part's axle [mm]; 0 where never measured."""
    axle = np.where(parts["position"].isin(_FRONT), "front", "rear")
    row = record_at(
        parts["vehicle_id"].astype(str) + "\x1f" + axle,
        parts["from_date"],
        toe["vehicle_id"].astype(str) + "\x1f" + toe["axle"].astype(str),
        toe["from_date"],
    )
    square = np.append(toe["toe2_mm2"].to_numpy(float), 0.0)
    return np.asarray(np.sqrt(square[row]))


def _driving_of(
    parts: pd.DataFrame, habits: pd.DataFrame
) -> tuple[pd.DataFrame, NDArray[np.object_], NDArray[np.float64]]:
    """Moments, where they come from, and their log sd, for each part."""
    columns = [*MOMENTS, "log_sd"]
    usual = profiles_to_frame([default_profile()])[columns]
    asked = (parts["vehicle_id"], parts["from_date"], habits["vehicle_id"], habits["from_date"])
    back, forward = record_at(*asked), record_at(*asked, ahead=True)
    row = np.where(back >= 0, back, forward)
    table = pd.concat([habits[columns].astype(float), usual], ignore_index=True).iloc[row]
    ends = np.append(habits["to_date"].to_numpy("datetime64[s]"), np.datetime64("1900-01-01", "s"))
    # A record of habits holds through its last day.
    inside = parts["from_date"].to_numpy("datetime64[s]") < ends[back] + np.timedelta64(1, "D")
    source = np.select(
        [row < 0, (back < 0) | ~inside], ["default profile", "habits of the nearest dates"], "habits"
    )
    return table, source.astype(object), table["log_sd"].to_numpy(float)

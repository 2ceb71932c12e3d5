"""Reference distance: the distance that each tire has run, weighted by how hard it was on the tire."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.axles import is_front
from tirelife.driving import MOMENTS, default_profile, profiles_from_habits, profiles_to_frame
from tirelife.inflation import beyond_published, pressure_path, pressure_wear
from tirelife.logbook import Logbook, cut_stretches, kept, record_at
from tirelife.positions import SPARE
from tirelife.wear.cause import CAUSES, RECORDS
from tirelife.wear.energy import causes_at_wheel
from tirelife.wear.factors import ASSUMED, Factors, severity_log_sd
from tirelife.wear.unknowns import FIGURE_SD, vehicle_log_sd
from tirelife.wear.vehicle import vehicle_table

__all__ = [
    "add_reference",
    "cause_distance",
    "reference_at",
    "stretch_severity",
    "toe_history",
    "usual_moments",
]


@kept
def stretch_severity(book: Logbook, factors: Factors = ASSUMED) -> pd.DataFrame:
    """Severity of every part of every tire's distance over which conditions were constant.

    Parameters
    ----------
    book : Logbook
    factors : Factors
        Of the causes, as assumed or as learned from a log, and how far its habits are believed.

    Returns
    -------
    DataFrame
        ``tire_id, vehicle_id, position, from_date, to_date, from_km, to_km, severity``, one column a cause of
        :data:`~tirelife.wear.CAUSES`, which sum to it, ``severity_log_sd`` (of the causes, the driving
        profile and the vehicle's figures that are defaults), ``driving`` (where the profile comes from:
        habits recorded for these dates, for the nearest dates, or the default profile),
        ``pressure_source`` and ``pressure_beyond`` (outside the published range of pressures). In the order
        of ``book.stretches``; the distances of the parts sum to theirs. A spare wears nothing: severity 0.

    Notes
    -----
    Mounts are cut at pressure readings, at the edges of habits and at alignment measurements. Habits for
    the nearest dates stand where none were recorded, and an ordinary vehicle's figures where the logbook
    has none.
    """
    parts, habits, toe = _parts(book), _habits(book), _toe(book)
    vehicles = vehicle_table(book)
    front = is_front(parts["position"])
    kind, habit, toe_row, which = (parts[name].to_numpy() for name in ("kind", "habit", "toe_row", "which"))
    one = np.empty(int(kind.max()) + 1 if len(kind) else 0, dtype=np.int64)
    one[kind] = np.arange(len(kind))
    moments = factors.believed(_moments_of(habits, habit[one]))
    toe_mm = np.sqrt(np.append(toe["toe2_mm2"].to_numpy(float), 0.0))[toe_row[one]]
    vehicle = vehicles.iloc[which[one]]
    priced = causes_at_wheel(moments, vehicle, front[one], 1.0, toe_mm)
    told, texts = pd.factorize(vehicle["assumed"].astype(str))  # many vehicles, few texts
    assumed = {name: np.array([name in text for text in texts], dtype=bool)[told] for name in FIGURE_SD}
    figures = vehicle_log_sd(moments, vehicle, front[one], toe_mm, assumed)
    whole = np.sum(list(priced.values()), axis=0)[kind]
    causes = {cause: priced[cause][kind] for cause in CAUSES}
    factor = parts["pressure_wear"].to_numpy()
    causes |= {cause.name: cause.of_whole(factor) * whole for cause in RECORDS if cause.of_whole}
    causes = factors.weigh(causes)
    whole = np.sum(list(causes.values()), axis=0)
    log_sd = severity_log_sd(causes, moments["log_sd"].to_numpy(float)[kind], figures[kind], factors)
    on_road = (parts["position"] != SPARE).to_numpy()
    out = parts[["tire_id", "vehicle_id", "position", "from_date", "to_date", "from_km", "to_km"]].copy()
    out["severity"] = whole * on_road
    for cause in CAUSES:
        out[cause] = causes.pop(cause) * on_road
    out["severity_log_sd"] = log_sd
    for name in ("driving", "pressure_source", "pressure_beyond"):
        out[name] = parts[name].array
    return out


@kept
def _habits(book: Logbook) -> pd.DataFrame:
    return profiles_from_habits(book)


@kept
def _toe(book: Logbook) -> pd.DataFrame:
    return toe_history(book)


@kept
def _parts(book: Logbook) -> pd.DataFrame:
    """Parts of every tire's distance, whatever the causes' factors are.

    Returns
    -------
    DataFrame
        The first columns of :func:`stretch_severity`, its last three, ``pressure_wear``, ``habit`` and
        ``toe_row`` (rows of the habits and of toe, -1 for none), ``which`` (row of the vehicle) and ``kind``:
        parts of one vehicle and axle under the same habits and toe differ by pressure alone, so that each
        kind is priced once.
    """
    path = pressure_path(book)
    parts = path.drop(columns=["start_kpa", "end_kpa", "ratio"]).rename(columns={"source": "pressure_source"})
    habits, toe = _habits(book), _toe(book)
    edges = (
        (habits["vehicle_id"], habits["from_date"]),
        (habits["vehicle_id"], pd.to_datetime(habits["to_date"]) + pd.Timedelta(days=1)),
        (toe["vehicle_id"], toe["from_date"]),
    )
    cuts = pd.concat(
        [pd.DataFrame({"vehicle_id": v.astype(str), "date": pd.to_datetime(d)}) for v, d in edges]
    )
    parts = cut_stretches(parts, cuts, "vehicle_id", book.odometer)
    front = is_front(parts["position"])
    habit, driving = _habit_of(parts, habits)
    toe_row = _toe_of(parts, front, toe)
    which = vehicle_table(book).index.get_indexer(pd.Index(parts["vehicle_id"]))
    # A row of habits stands for its vehicle, a row of toe for its axle.
    of_driving = np.where(habit >= 0, habit, len(habits) + which)
    kind, _ = pd.factorize(of_driving * (len(toe) + 2) + np.where(toe_row >= 0, toe_row + 2, front))
    out = parts[["tire_id", "vehicle_id", "position", "from_date", "to_date", "from_km", "to_km"]].copy()
    out["driving"], out["pressure_source"] = driving, parts["pressure_source"].array
    out["pressure_beyond"] = beyond_published(parts["cold_kpa"], parts["placard_kpa"])
    out["pressure_wear"] = pressure_wear(parts["cold_kpa"], parts["placard_kpa"])
    return out.assign(habit=habit, toe_row=toe_row, which=which, kind=kind)


def add_reference(book: Logbook, visits: pd.DataFrame, factors: Factors = ASSUMED) -> pd.DataFrame:
    """Add to tire-visits the distance run so far, weighted by severity.

    Parameters
    ----------
    book : Logbook
    visits : DataFrame
        ``tire_id, date, odometer_km``; other columns are kept.
    factors : Factors
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
    parts = stretch_severity(book, factors)
    return reference_at(parts, visits)


def reference_at(parts: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Reference distance of tires at visits, from the parts of :func:`stretch_severity`.

    Returns
    -------
    DataFrame
        ``visits`` with reference_km, reference_front_km and reference_rear_km. [km]
    """
    out = visits.copy()
    names = ["reference_km", "reference_front_km", "reference_rear_km"]
    if parts.empty or visits.empty:
        return out.assign(**dict.fromkeys(names, np.nan))
    at_front, at_rear = _run_by(parts, visits, parts[["severity"]].to_numpy(float))[..., 0]
    out["reference_km"] = at_front + at_rear
    out["reference_front_km"], out["reference_rear_km"] = at_front, at_rear
    return out


def cause_distance(parts: pd.DataFrame, visits: pd.DataFrame) -> NDArray[np.float64]:
    """What each cause took of the reference distance of tires at visits, on either axle.

    Parameters
    ----------
    parts : DataFrame
        From :func:`stretch_severity`.
    visits : DataFrame
        As for :func:`add_reference`, n rows.

    Returns
    -------
    ndarray, shape (2, n, causes)
        Front and rear, in the order of :data:`~tirelife.wear.CAUSES`; they sum to what :func:`add_reference`
        adds. [km] NaN for a tire with no mount by then.
    """
    if parts.empty or visits.empty:
        return np.full((2, len(visits), len(CAUSES)), np.nan)
    return _run_by(parts, visits, parts[list(CAUSES)].to_numpy(float))


def _run_by(parts: pd.DataFrame, visits: pd.DataFrame, each: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance weighted by ``each`` (parts, c) that tires ran by visits, front and rear: (2, visits, c)."""
    length = (parts["to_km"] - parts["from_km"]).to_numpy(float)[:, None]
    front = is_front(parts["position"])[:, None]
    runs = np.hstack([np.where(front, each * length, 0.0), np.where(front, 0.0, each * length)])
    tire = parts["tire_id"].to_numpy()
    before = (pd.DataFrame(runs).groupby(tire, sort=False).cumsum() - runs).to_numpy(float)
    # Of the parts begun by that day the last one counts; a visit on the day of a move stands at the end
    # of one part and at the start of the next, which is the same distance.
    row = record_at(visits["tire_id"], visits["date"], parts["tire_id"], parts["from_date"])
    known = (row >= 0)[:, None]
    since = visits["odometer_km"].to_numpy(float) - parts["from_km"].to_numpy(float)[row]
    now = np.clip(since, 0.0, length[row, 0])[:, None] * each[row]
    count = each.shape[1]
    at_front = np.where(known, before[row, :count] + np.where(front[row], now, 0.0), np.nan)
    at_rear = np.where(known, before[row, count:] + np.where(front[row], 0.0, now), np.nan)
    return np.stack([at_front, at_rear])


def usual_moments(book: Logbook) -> tuple[float, ...]:
    """Moments of a log's usual driving, in the order of ``MOMENTS``: the mean over its vehicles of their
    habits, each weighted by its days.

    Empty where it has no habits.
    """
    habits = _habits(book)
    if habits.empty:
        return ()
    days = (habits["to_date"] - habits["from_date"]).dt.days.to_numpy(float) + 1.0
    weighted = habits[list(MOMENTS)].mul(days, axis=0).groupby(habits["vehicle_id"]).sum()
    own = weighted.div(pd.Series(days).groupby(habits["vehicle_id"]).sum(), axis=0)
    return tuple(float(v) for v in own.mean())


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


def _toe_of(parts: pd.DataFrame, front: NDArray[np.bool_], toe: pd.DataFrame) -> NDArray[np.int64]:
    """Row of the toe of each part's axle; -1 where never measured."""
    out = np.full(len(parts), -1)
    for axle, here in (("front", front), ("rear", ~front)):
        rows = np.flatnonzero(toe["axle"] == axle)
        if not len(rows):
            continue
        own, asked = toe.iloc[rows], parts.loc[here, ["vehicle_id", "from_date"]]
        found = record_at(asked["vehicle_id"], asked["from_date"], own["vehicle_id"], own["from_date"])
        out[here] = np.where(found >= 0, rows[found], -1)
    return out


def _habit_of(parts: pd.DataFrame, habits: pd.DataFrame) -> tuple[NDArray[np.int64], pd.Series]:
    """Row of the habits of each part, -1 where there are none, and where they come from."""
    said = ["habits", "nearest habits", "default profile"]
    held = habits["vehicle_id"], habits["from_date"]
    row = record_at(parts["vehicle_id"], parts["from_date"], *held)
    ends = np.append(habits["to_date"].to_numpy("datetime64[s]"), np.datetime64("1900-01-01", "s"))
    # A record of habits holds through its last day.
    inside = parts["from_date"].to_numpy("datetime64[s]") < ends[row] + np.timedelta64(1, "D")
    early = np.flatnonzero(row < 0)
    later = parts.iloc[early]
    row[early] = record_at(later["vehicle_id"], later["from_date"], *held, ahead=True)
    source = np.where(row < 0, 2, np.where(inside, 0, 1))
    return row, pd.Series(said, dtype="str").iloc[source].set_axis(parts.index)


def _moments_of(habits: pd.DataFrame, row: NDArray[np.int64]) -> pd.DataFrame:
    """Moments and log sd of rows of habits; of the default profile where the row is -1."""
    columns = [*MOMENTS, "log_sd"]
    usual = profiles_to_frame([default_profile()])[columns]
    return pd.concat([habits[columns].astype(float), usual], ignore_index=True).iloc[row]

"""From a logbook to what each wheel position has done to its tires lately.

Tires are moved, and a pattern moves with them. So the depths of all tires at all visits are laid to the
distances they ran at each position: see :mod:`tirelife.tread.positions`.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.inflation import PressureSource, pressure_path
from tirelife.logbook import GROOVES, ROAD_POSITIONS, doubted
from tirelife.tread.causes import Wheel
from tirelife.tread.positions import position_patterns
from tirelife.tread.profile import profiles_of, spot_table
from tirelife.tread.service import load_ratios
from tirelife.tread.visits import groove_states

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["LOOK_BACK_KM", "Weak", "WheelHistory", "wheel_histories"]

LOOK_BACK_KM: Final = 25_000.0
"""Visits longer ago than this before the vehicle's last one do not count; our assumption. [km]"""
_DOUBT_SD_MM: Final = 2.0
"""What a doubt about a groove's depth adds to its error; our assumption."""
_LITTLE_WEAR_MM: Final = 0.5
"""Wear at a position under which its pattern says little; our assumption."""
_LITTLE_MM: Final = 1.5
"""Error of the difference between the edges from which a position is said to be little known; our
assumption."""


class Weak(StrEnum):
    """Why little can be told of a position."""

    LITTLE_WORN = "little-worn"
    """Its tires have worn little here so far."""
    ELSEWHERE = "ran-elsewhere"
    """Its tires ran mostly elsewhere."""


@dataclass(frozen=True, eq=False)
class WheelHistory:
    """What one position did to its tires, and where that is known from.

    Attributes
    ----------
    position : str
    wheel : Wheel
        For :func:`tirelife.tread.causes.weigh_wheels`.
    from_date, to_date : Timestamp
        The time in which the pattern grew; ``from_date`` is when the first tire in question was mounted.
    run_km : float
        Distance on this position in that time.
    tires : tuple of str
        The tires it is read from.
    weak : Weak or None
        What weakens the evidence.
    """

    position: str
    wheel: Wheel
    from_date: pd.Timestamp
    to_date: pd.Timestamp
    run_km: float
    tires: tuple[str, ...]
    weak: Weak | None


def wheel_histories(
    book: Logbook,
    vehicles: Iterable[str] | None = None,
    *,
    resolution_mm: float | Mapping[str, float] | None = None,
    look_back_km: float = LOOK_BACK_KM,
) -> dict[str, dict[str, WheelHistory]]:
    """What each position of a vehicle did to its tires lately.

    Parameters
    ----------
    book : Logbook
    vehicles : iterable of str, optional
        Vehicles wanted; all of them by default.
    resolution_mm : float or mapping of str to float, optional
        Step of the gauges; inferred where it is not given. [mm]
    look_back_km : float
        Visits within this distance before the vehicle's last one count, and for each tire the one before
        them. [km]

    Returns
    -------
    dict of dict
        By vehicle and position; positions where no tire that was read has run are left out.

    Notes
    -----
    A groove whose reading is doubtful counts less. A position whose tires ran little there, or were never
    read before they came, is little known: its wheel has large variances and ``weak`` says so.
    """
    wanted = list(dict.fromkeys(book.vehicles["vehicle_id"] if vehicles is None else vehicles))
    states = groove_states(book, resolution_mm)
    states = states[states["vehicle_id"].isin(wanted) & (states["tire_id"] != "")]
    states = states.sort_values(["tire_id", "tire_km", "date"], ignore_index=True)
    depths = book.depths
    depths = depths[depths["vehicle_id"].isin(wanted)]
    profiles = profiles_of(states, depths)
    states = _doubt_more(states.assign(reading_sd_mm=profiles["reading_sd_mm"]), depths)
    path = book.stretches
    path = path[path["position"].isin(ROAD_POSITIONS) & path["tire_id"].isin(set(states["tire_id"]))]
    pressure = _known_pressure(book, wanted)
    new = book.tires.set_index("tire_id")["new_depth_mm"]
    by_vehicle = dict(list(states.groupby("vehicle_id")))
    by_tire: dict[Hashable, pd.DataFrame] = dict(list(path.groupby("tire_id")))
    out: dict[str, dict[str, WheelHistory]] = {}
    for vehicle in wanted:
        seen = by_vehicle.get(vehicle)
        table = None if seen is None else _table(vehicle, seen, by_tire, new, look_back_km)
        if table is None:
            out[vehicle] = {}
            continue
        at = depths[depths["vehicle_id"] == vehicle]
        out[vehicle] = _histories(
            table,
            at,
            pressure[pressure["vehicle_id"] == vehicle],
            _camber(book, vehicle),
            load_ratios(book, vehicle),
        )
    return out


def _doubt_more(states: pd.DataFrame, depths: pd.DataFrame) -> pd.DataFrame:
    """Add to the error of grooves whose reading is doubtful for its depth."""
    place = ["vehicle_id", "position", "date"]
    doubtful = depths[doubted(depths, "depth_mm")]
    out = states.copy()
    rows = pd.MultiIndex.from_frame(states[place])
    for groove, found in doubtful.groupby("groove"):
        odd = rows.isin(pd.MultiIndex.from_frame(found[place]))
        out.loc[odd, f"var_{groove}_mm2"] += _DOUBT_SD_MM**2
    return out


@dataclass(frozen=True, eq=False)
class _Table:
    """Visits of one vehicle's tires that count: rows of groove states, with distances by position."""

    seen: pd.DataFrame
    run_km: NDArray[np.float64]
    tire: NDArray[np.int64]
    start_mm: NDArray[np.float64]
    began: list[pd.Timestamp]


def _table(
    vehicle: str,
    seen: pd.DataFrame,
    paths: Mapping[Hashable, pd.DataFrame],
    new: pd.Series,
    look_back_km: float,
) -> _Table | None:
    since = float(seen["odometer_km"].max()) - look_back_km
    parts, runs, numbers, starts, began = [], [], [], [], []
    for tire, rows in seen.groupby("tire_id", sort=False):
        path = paths.get(tire)
        if path is None:
            continue  # it has only lain in the spare's place
        here = path[path["vehicle_id"] == vehicle]
        run = np.array([_run(here, km) for km in rows["tire_km"].to_numpy(float)])
        old = np.flatnonzero(rows["odometer_km"].to_numpy(float) < since)
        first = int(old[-1]) if len(old) else 0
        if first + 1 == len(rows) and len(old):
            continue  # nothing was read lately
        came_new = not len(old) and float(rows["tire_km"].iloc[0]) - run[0].sum() < 1.0
        if came_new:
            depth = float(new.get(tire, np.nan))
            starts.append(depth if np.isfinite(depth) else np.inf)
            began.append(here["from_date"].min())
        else:
            run = run - run[first]
            starts.append(np.nan)
            began.append(rows["date"].iloc[first])
        parts.append(rows.iloc[first:])
        runs.append(run[first:])
        numbers.append(np.full(len(rows) - first, len(starts) - 1))
    if not parts:
        return None
    return _Table(
        pd.concat(parts, ignore_index=True),
        np.concatenate(runs),
        np.concatenate(numbers),
        np.array(starts),
        began,
    )


def _run(path: pd.DataFrame, tire_km: float) -> NDArray[np.float64]:
    """Distance of a tire's own first so many kilometres that it ran at each position of these stretches."""
    begin = path["before_km"].to_numpy(float)
    run = np.clip(tire_km - begin, 0.0, path["to_km"].to_numpy(float) - path["from_km"].to_numpy(float))
    at = path["position"].to_numpy(object)
    return np.array([run[at == position].sum() for position in ROAD_POSITIONS])


def _histories(
    table: _Table,
    depths: pd.DataFrame,
    pressure: pd.DataFrame,
    camber: Mapping[str, float],
    load: Mapping[str, float],
) -> dict[str, WheelHistory]:
    seen = table.seen
    depth = seen[[f"{g}_mm" for g in GROOVES]].to_numpy(float)
    variance = seen[[f"var_{g}_mm2" for g in GROOVES]].to_numpy(float)
    found = position_patterns(depth, variance, table.run_km, table.tire, table.start_mm)
    out = {}
    for i, position in enumerate(ROAD_POSITIONS):
        ran = np.flatnonzero(table.run_km[:, i] > 1.0)
        if not len(ran):
            continue
        read = np.isfinite(depth[ran]).any(axis=0)
        last = seen.loc[ran[_lately(table, ran, i)]]
        from_date = min(table.began[n] for n in set(table.tire[ran]))
        to_date = last["date"]
        spots = spot_table(
            depths[(depths["position"] == last["position"]) & (depths["date"] == last["date"])]
        )
        covariance = found.covariance_mm2[i]
        apart = covariance[0, 0] + covariance[4, 4] - 2 * covariance[0, 4]
        weak = None
        if found.wear_mm[i] < _LITTLE_WEAR_MM:
            weak = Weak.LITTLE_WORN
        elif read[0] and read[4] and np.sqrt(apart) > _LITTLE_MM:
            weak = Weak.ELSEWHERE
        wheel = Wheel(
            np.where(read, found.depth_mm[i], np.nan),
            covariance,
            float(found.wear_mm[i]),
            spots if len(spots) else None,
            float(last["reading_sd_mm"]),
            _ratio(pressure, position, from_date, to_date),
            camber.get(position, np.nan),
            load.get(position, np.nan),
        )
        tires = tuple(dict.fromkeys(seen.loc[ran, "tire_id"]))
        most = np.zeros(len(table.start_mm))
        np.maximum.at(most, table.tire, table.run_km[:, i])
        out[position] = WheelHistory(position, wheel, from_date, to_date, float(most.sum()), tires, weak)
    return out


def _lately(table: _Table, rows: NDArray[np.int64], place: int) -> int:
    """Which of some rows is the last whose tire had run mostly at a place since it was read before."""
    before = np.zeros_like(table.run_km)
    same = table.tire[1:] == table.tire[:-1]
    before[1:][same] = table.run_km[:-1][same]
    since = table.run_km - before
    mostly = since[rows, place] >= 0.5 * since[rows].sum(axis=1)
    dates = table.seen["date"].to_numpy()[rows]
    order = np.lexsort((dates, mostly))
    return int(order[-1])


def _known_pressure(book: Logbook, vehicles: list[str]) -> pd.DataFrame:
    """Pressure path of some vehicles, where it rests on a reading."""
    if book.pressures.empty:
        return pd.DataFrame(
            columns=["vehicle_id", "position", "from_date", "to_date", "from_km", "to_km", "ratio"]
        )
    path = pressure_path(book)
    return path[path["vehicle_id"].isin(vehicles) & (path["source"] != PressureSource.ASSUMED)]


def _ratio(pressure: pd.DataFrame, position: str, from_date: pd.Timestamp, to_date: pd.Timestamp) -> float:
    """Cold pressure over placard at a position between two days, by distance; NaN where there is no
    reading.
    """
    there = pressure[pressure["position"] == position]
    there = there[(there["to_date"] > from_date) & (there["from_date"] < to_date)]
    run = (there["to_km"] - there["from_km"]).to_numpy(float)
    if not run.sum():
        return float("nan")
    return float(np.average(there["ratio"].to_numpy(float), weights=run))


def _camber(book: Logbook, vehicle_id: str) -> dict[str, float]:
    out: dict[str, float] = {}
    for axle, pair in (("front", ("LF", "RF")), ("rear", ("LR", "RR"))):
        last = _last_alignment(book, vehicle_id, axle)
        if last is not None:
            out |= dict(
                zip(pair, (float(last["camber_left_deg"]), float(last["camber_right_deg"])), strict=True)
            )
    return out


def _last_alignment(book: Logbook, vehicle_id: str, axle: str) -> pd.Series | None:
    table = book.alignment
    table = table[(table["vehicle_id"] == vehicle_id) & (table["axle"] == axle)]
    return table.sort_values("date").iloc[-1] if len(table) else None


def measured_toe(book: Logbook, vehicle_id: str) -> dict[str, float]:
    """Total toe of each axle as last measured, in positive [mm]; axles never measured are left out."""
    found = {axle: _last_alignment(book, vehicle_id, axle) for axle in ("front", "rear")}
    return {axle: float(row["toe_mm"]) for axle, row in found.items() if row is not None}

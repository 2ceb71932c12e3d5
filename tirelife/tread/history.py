"""From a logbook to what each wheel position has done to its tires lately.

Tires are moved, and a pattern moves with them. So the depths of all tires at all visits are laid to the
distances they ran at each position: see :mod:`tirelife.tread.positions`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.inflation import PressureSource, pressure_path, stated_placard
from tirelife.logbook import GROOVES, doubted
from tirelife.positions import AXLES, ROAD
from tirelife.tread.causes import Wheel
from tirelife.tread.positions import position_patterns
from tirelife.tread.profile import profiles_of, spots_of
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
    visits = _Visits.of(states)
    path = book.stretches
    path = path[path["position"].isin(ROAD) & path["tire_id"].isin(set(states["tire_id"]))]
    paths, mounted = _paths(path), set(path["tire_id"])
    pressure = _by_place(_known_pressure(book, wanted))
    spots = _by_place(depths, "date")
    camber, load = _camber(book), load_ratios(book)
    tires = book.tires
    new = dict(zip(tires["tire_id"].astype(str), tires["new_depth_mm"].astype(float), strict=True))
    rows = {str(v): np.asarray(i) for v, i in states.groupby("vehicle_id").indices.items()}
    out: dict[str, dict[str, WheelHistory]] = {}
    for vehicle in wanted:
        table = None
        if vehicle in rows:
            table = _table(vehicle, visits, rows[vehicle], paths, mounted, new, look_back_km)
        records = _Records(vehicle, spots, pressure, camber.get(vehicle, {}), load.get(vehicle, {}))
        out[vehicle] = {} if table is None else _histories(table, records)
    return out


@dataclass(frozen=True, eq=False)
class _Visits:
    """Columns of the groove states of all vehicles, in order of tire and distance."""

    tire: NDArray[np.object_]
    position: NDArray[np.object_]
    date: list[pd.Timestamp]
    day: NDArray[np.datetime64]
    tire_km: NDArray[np.float64]
    odometer_km: NDArray[np.float64]
    depth: NDArray[np.float64]
    variance: NDArray[np.float64]
    reading_sd_mm: NDArray[np.float64]

    @classmethod
    def of(cls, states: pd.DataFrame) -> _Visits:
        return cls(
            states["tire_id"].to_numpy(object),
            states["position"].to_numpy(object),
            list(states["date"]),
            states["date"].to_numpy("datetime64[ns]"),
            states["tire_km"].to_numpy(float),
            states["odometer_km"].to_numpy(float),
            states[[f"{g}_mm" for g in GROOVES]].to_numpy(float),
            states[[f"var_{g}_mm2" for g in GROOVES]].to_numpy(float),
            states["reading_sd_mm"].to_numpy(float),
        )


class _Path(NamedTuple):
    """Stretches of one tire on one vehicle's road positions."""

    begin_km: NDArray[np.float64]
    long_km: NDArray[np.float64]
    at: NDArray[np.float64]
    """A row a stretch, a column a position: 1 where it ran there."""
    from_date: pd.Timestamp | None

    def run_km(self, tire_km: NDArray[np.float64]) -> NDArray[np.float64]:
        """Distance of the tire's own first so many kilometres that it ran at each position."""
        done = np.clip(tire_km[:, None] - self.begin_km[None, :], 0.0, self.long_km[None, :])
        return np.asarray(done @ self.at)


_NOWHERE: Final = _Path(np.empty(0), np.empty(0), np.empty((0, len(ROAD))), None)


def _paths(path: pd.DataFrame) -> dict[tuple[str, str], _Path]:
    """Stretches by vehicle and tire."""
    begin = path["before_km"].to_numpy(float)
    long = (path["to_km"] - path["from_km"]).to_numpy(float)
    at = (path["position"].to_numpy(object)[:, None] == np.array(ROAD, object)).astype(float)
    since = list(path["from_date"])
    found: dict[Any, Any] = path.groupby(["vehicle_id", "tire_id"]).indices
    return {
        (str(vehicle), str(tire)): _Path(begin[i], long[i], at[i], min(since[k] for k in i))
        for (vehicle, tire), i in found.items()
    }


def _by_place(table: pd.DataFrame, *more: str) -> dict[tuple[Any, ...], dict[str, NDArray[np.generic]]]:
    """Columns of the rows of each vehicle and position (and what else), as arrays."""
    columns = {str(name): table[name].to_numpy() for name in table}
    found: dict[Any, Any] = table.groupby(["vehicle_id", "position", *more]).indices
    return {place: {name: column[i] for name, column in columns.items()} for place, i in found.items()}


class _Records(NamedTuple):
    """What is recorded of one vehicle beside the depths by groove."""

    vehicle: str
    readings: Mapping[tuple[Any, ...], Mapping[str, NDArray[np.generic]]]
    """By vehicle, position and date."""
    pressure: Mapping[tuple[Any, ...], Mapping[str, NDArray[np.generic]]]
    """By vehicle and position."""
    camber: Mapping[str, float]
    load: Mapping[str, float]


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

    visits: _Visits
    rows: NDArray[np.int64]
    run_km: NDArray[np.float64]
    tire: NDArray[np.int64]
    start_mm: NDArray[np.float64]
    began: list[pd.Timestamp]


def _table(
    vehicle: str,
    visits: _Visits,
    mine: NDArray[np.int64],
    paths: Mapping[tuple[str, str], _Path],
    mounted: Collection[str],
    new: Mapping[str, float],
    look_back_km: float,
) -> _Table | None:
    since = float(visits.odometer_km[mine].max()) - look_back_km
    parts, runs, numbers, starts = [], [], [], []
    began: list[Any] = []
    cuts = np.flatnonzero(visits.tire[mine][1:] != visits.tire[mine][:-1]) + 1
    for rows in np.split(mine, cuts):
        tire = str(visits.tire[rows[0]])
        if tire not in mounted:
            continue  # it has only lain in the spare's place
        path = paths.get((vehicle, tire), _NOWHERE)
        run = path.run_km(visits.tire_km[rows])
        old = np.flatnonzero(visits.odometer_km[rows] < since)
        first = int(old[-1]) if len(old) else 0
        if first + 1 == len(rows) and len(old):
            continue  # nothing was read lately
        came_new = not len(old) and float(visits.tire_km[rows[0]]) - run[0].sum() < 1.0
        if came_new:
            depth = float(new.get(tire, np.nan))
            starts.append(depth if np.isfinite(depth) else np.inf)
            began.append(pd.NaT if path.from_date is None else path.from_date)
        else:
            run = run - run[first]
            starts.append(np.nan)
            began.append(visits.date[rows[first]])
        parts.append(rows[first:])
        runs.append(run[first:])
        numbers.append(np.full(len(rows) - first, len(starts) - 1))
    if not parts:
        return None
    return _Table(
        visits,
        np.concatenate(parts),
        np.concatenate(runs),
        np.concatenate(numbers),
        np.array(starts),
        began,
    )


def _histories(table: _Table, records: _Records) -> dict[str, WheelHistory]:
    visits, rows = table.visits, table.rows
    depth, variance = visits.depth[rows], visits.variance[rows]
    found = position_patterns(depth, variance, table.run_km, table.tire, table.start_mm)
    out = {}
    for i, position in enumerate(ROAD):
        ran = np.flatnonzero(table.run_km[:, i] > 1.0)
        if not len(ran):
            continue
        read = np.atleast_1d(np.isfinite(depth[ran]).any(axis=0))
        last = int(rows[ran[_lately(table, ran, i)]])
        from_date, to_date = min(table.began[n] for n in set(table.tire[ran])), visits.date[last]
        there = records.readings.get((records.vehicle, visits.position[last], to_date))
        spots = None if there is None else spots_of(there["spot"], there["groove"], there["depth_mm"])
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
            spots if spots is not None and len(spots) else None,
            float(visits.reading_sd_mm[last]),
            _ratio(records.pressure.get((records.vehicle, position)), from_date, to_date),
            records.camber.get(position, np.nan),
            records.load.get(position, np.nan),
        )
        tires = tuple(dict.fromkeys(visits.tire[rows[ran]]))
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
    dates = table.visits.day[table.rows[rows]]
    order = np.lexsort((dates, mostly))
    return int(order[-1])


def _known_pressure(book: Logbook, vehicles: list[str]) -> pd.DataFrame:
    """Pressure path of some vehicles, where it rests on a reading and a placard that the log states."""
    if book.pressures.empty:
        return pd.DataFrame(
            columns=["vehicle_id", "position", "from_date", "to_date", "from_km", "to_km", "ratio"]
        )
    path = pressure_path(book)
    # A placard assumed from these same readings says nothing of how far off it they are.
    stated = np.isfinite(stated_placard(book.vehicles, path["vehicle_id"], path["position"]))
    return path[path["vehicle_id"].isin(vehicles) & (path["source"] != PressureSource.ASSUMED) & stated]


def _ratio(
    there: Mapping[str, NDArray[np.generic]] | None, from_date: pd.Timestamp, to_date: pd.Timestamp
) -> float:
    """Cold pressure over placard at a position between two days, by distance; NaN where there is no
    reading.
    """
    if there is None:
        return float("nan")
    begun, ended = (there[name].astype("datetime64[ns]") for name in ("from_date", "to_date"))
    within = (ended > np.datetime64(from_date)) & (begun < np.datetime64(to_date))
    run = (there["to_km"].astype(float) - there["from_km"].astype(float))[within]
    if not run.sum():
        return float("nan")
    return float(np.average(there["ratio"].astype(float)[within], weights=run))


def _camber(book: Logbook) -> dict[str, dict[str, float]]:
    """Camber of each wheel as last measured, by vehicle [degrees]."""
    out: dict[str, dict[str, float]] = {}
    for row in _last_alignments(book).to_dict("records"):
        for position, side in zip(AXLES[row["axle"]], ("left", "right"), strict=True):
            out.setdefault(row["vehicle_id"], {})[position] = float(row[f"camber_{side}_deg"])
    return out


def _last_alignments(book: Logbook) -> pd.DataFrame:
    """The last measurement of each axle."""
    table = book.alignment.sort_values("date", kind="stable")
    return table.drop_duplicates(["vehicle_id", "axle"], keep="last")


def measured_toe(book: Logbook) -> dict[str, dict[str, float]]:
    """Total toe of each axle as last measured, in positive, by vehicle [mm].

    Vehicles and axles never measured are left out.
    """
    out: dict[str, dict[str, float]] = {}
    for row in _last_alignments(book).to_dict("records"):
        out.setdefault(row["vehicle_id"], {})[row["axle"]] = float(row["toe_mm"])
    return out

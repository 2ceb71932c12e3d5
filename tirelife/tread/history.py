"""From a logbook to what each wheel position has done to its tires lately.

Tires are moved, and a pattern moves with them. So the wear between two visits belongs to the place where
the tire ran in between: a position is read from all tires that ran there in the time that counts, and the
profile a tire brought along is taken off.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.inflation import pressure_path
from tirelife.logbook import GROOVES, ROAD_POSITIONS
from tirelife.tread.causes import Wheel
from tirelife.tread.profile import profiles_of, spot_table
from tirelife.tread.visits import groove_states

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["LOOK_BACK_KM", "WheelHistory", "wheel_histories"]

LOOK_BACK_KM: Final = 25_000.0
"""Wear that ended longer ago than this before the last visit does not count; our assumption. [km]"""
MOULD_SD_MM: Final = 0.06
"""How far grooves of a new tire differ from its stated depth [mm]; our assumption."""
_MOSTLY: Final = 0.8
"""Share of the distance between two visits from which a tire's wear is laid to one position."""


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
    note : str
        What weakens the evidence, or an empty text.
    """

    position: str
    wheel: Wheel
    from_date: pd.Timestamp
    to_date: pd.Timestamp
    run_km: float
    tires: tuple[str, ...]
    note: str


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
        Wear counts that ended within this distance before the vehicle's last visit. [km]

    Returns
    -------
    dict of dict
        By vehicle and position; positions with no reading are left out.

    Notes
    -----
    From a tire's mounting to its first reading the pattern is the reading itself: a new tread is even.
    Wear between visits is laid to the position where at least 80 % of the distance was run (our
    assumption). A position whose tires were never seen to wear there is read from the profile of the tire
    that is on it, whose pattern may then be from another place: ``note`` says so, and the model trusts it
    less.
    """
    wanted = list(dict.fromkeys(book.vehicles["vehicle_id"] if vehicles is None else vehicles))
    states = groove_states(book, resolution_mm)
    own = set(states.loc[states["vehicle_id"].isin(wanted), "tire_id"]) - {""}
    states = states[states["tire_id"].isin(own)].sort_values(
        ["tire_id", "tire_km", "date"], ignore_index=True
    )
    path = book.stretches
    path = path[path["tire_id"].isin(own) & path["position"].isin(ROAD_POSITIONS)]
    depths = book.depths
    depths = depths[depths["vehicle_id"].isin(set(states["vehicle_id"]))]
    source = _Source(
        states,
        path,
        dict(list(path.groupby("tire_id"))),
        profiles_of(states, depths),
        depths,
        _known_pressure(book, wanted),
        book.tires.set_index("tire_id")["new_depth_mm"],
    )
    pieces = _pieces(source)
    return {vehicle: _histories(book, vehicle, source, pieces, look_back_km) for vehicle in wanted}


@dataclass(frozen=True, eq=False)
class _Source:
    """The tables that histories are read from."""

    states: pd.DataFrame
    path: pd.DataFrame
    paths: dict[Hashable, pd.DataFrame]
    profiles: pd.DataFrame
    depths: pd.DataFrame
    pressure: pd.DataFrame
    new: pd.Series


def _histories(
    book: Logbook, vehicle_id: str, source: _Source, pieces: list[_Piece], look_back_km: float
) -> dict[str, WheelHistory]:
    own = [piece for piece in pieces if piece.vehicle_id == vehicle_id]
    camber = _camber(book, vehicle_id)
    out = {}
    for position in ROAD_POSITIONS:
        mine = _recent([piece for piece in own if piece.position == position], look_back_km, own)
        found = _sum_up(position, mine) or _as_it_is(position, vehicle_id, source)
        if found is None:
            continue
        spots, spread = _spots(source, found)
        wheel = Wheel(
            found.change,
            found.variance,
            found.wear_mm,
            spots,
            spread,
            _ratio(source.pressure, position, found),
            camber.get(position, np.nan),
            not found.note,
        )
        out[position] = WheelHistory(
            position, wheel, found.from_date, found.to_date, found.run_km, found.tires, found.note
        )
    return out


def _known_pressure(book: Logbook, vehicles: list[str]) -> pd.DataFrame:
    """Pressure path of some vehicles, where it rests on a reading."""
    if book.pressures.empty:
        return pd.DataFrame(
            columns=["vehicle_id", "position", "from_date", "to_date", "from_km", "to_km", "ratio"]
        )
    path = pressure_path(book)
    return path[path["vehicle_id"].isin(vehicles) & ~path["source"].str.contains("no reading")]


@dataclass(frozen=True, eq=False)
class _Piece:
    """Change of one tire's grooves while it ran on one position."""

    vehicle_id: str
    position: str
    tires: tuple[str, ...]
    from_date: pd.Timestamp
    to_date: pd.Timestamp
    to_km: float
    run_km: float
    wear_mm: float
    change: NDArray[np.float64]
    variance: NDArray[np.float64]
    last: tuple[str, str, pd.Timestamp]  # vehicle, position and day of the reading that ends it
    note: str = ""


def _pieces(source: _Source) -> list[_Piece]:
    """Changes between visits, visits on one position run together."""
    out = []
    for tire, seen in source.states.groupby("tire_id", sort=False):
        mine = source.paths[tire]
        km = [0.0, *seen["tire_km"].to_list()]
        places = [_mostly_at(mine, a, b) for a, b in pairwise(km)]
        start: int | None = None  # row of the visit at which the piece began; None for the mounting
        place = ("", "")
        for i in range(len(seen)):
            here = places[i]
            if i and here != place:
                start = i - 1
            place = here
            if place[0] and (i + 1 == len(seen) or places[i + 1] != place):
                out.append(_piece(str(tire), place, seen, start, i, mine, source.new))
    return out


def _mostly_at(path: pd.DataFrame, from_km: float, to_km: float) -> tuple[str, str]:
    """Vehicle and position on which a tire ran most of a distance of its own; empty if on none."""
    if to_km - from_km < 1.0 or path.empty:
        return ("", "")
    begin = path["before_km"].to_numpy(float)
    end = begin + path["to_km"].to_numpy(float) - path["from_km"].to_numpy(float)
    run = np.clip(np.minimum(end, to_km) - np.maximum(begin, from_km), 0.0, None)
    total: dict[tuple[str, str], float] = {}
    for vehicle, position, part in zip(path["vehicle_id"], path["position"], run, strict=True):
        total[vehicle, position] = total.get((vehicle, position), 0.0) + float(part)
    place = max(total, key=lambda key: total[key])
    return place if total[place] >= _MOSTLY * (to_km - from_km) else ("", "")


def _piece(
    tire: str,
    place: tuple[str, str],
    seen: pd.DataFrame,
    start: int | None,
    end: int,
    path: pd.DataFrame,
    new: pd.Series,
) -> _Piece:
    depth, variance = _grooves(seen.iloc[end])
    if start is None:
        change, extra = depth, np.full(5, MOULD_SD_MM**2)
        wear = float(new.get(tire, np.nan)) - float(seen["depth_mm"].iloc[end])
        began, from_km = path["from_date"].min(), 0.0
    else:
        first, extra = _grooves(seen.iloc[start])
        change = depth - first
        wear = -float(np.nanmean(change)) if np.isfinite(change).any() else np.nan
        began, from_km = seen["date"].iloc[start], float(seen["tire_km"].iloc[start])
    row = seen.iloc[end]
    return _Piece(
        *place,
        (tire,),
        began,
        row["date"],
        float(row["odometer_km"]),
        float(row["tire_km"]) - from_km,
        wear,
        change,
        variance + extra,
        (str(row["vehicle_id"]), str(row["position"]), row["date"]),
    )


def _grooves(row: pd.Series) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    depth = np.array([row[f"{g}_mm"] for g in GROOVES], float)
    return depth, np.array([row[f"var_{g}_mm2"] for g in GROOVES], float)


def _recent(mine: list[_Piece], look_back_km: float, pieces: list[_Piece]) -> list[_Piece]:
    """Pieces of a position that ended lately; the last one in any case."""
    if not mine:
        return []
    now = max(piece.to_km for piece in pieces)
    last = max(mine, key=lambda piece: piece.to_km)
    return [piece for piece in mine if piece is last or piece.to_km > now - look_back_km]


def _sum_up(position: str, pieces: list[_Piece]) -> _Piece | None:
    """Add the changes of all tires that ran on a position; grooves that every one of them has."""
    if not pieces:
        return None
    last = max(pieces, key=lambda piece: piece.to_km)
    change = np.sum([piece.change for piece in pieces], axis=0)
    if np.isfinite(change).sum() < min(3, np.isfinite(last.change).sum()):
        pieces, change = [last], last.change  # too few grooves were read every time
    wear = float(np.sum([piece.wear_mm for piece in pieces]))
    return _Piece(
        last.vehicle_id,
        position,
        tuple(dict.fromkeys(t for piece in pieces for t in piece.tires)),
        min(piece.from_date for piece in pieces),
        last.to_date,
        last.to_km,
        float(np.sum([piece.run_km for piece in pieces])),
        wear,
        change,
        np.sum([piece.variance for piece in pieces], axis=0),
        last.last,
    )


def _as_it_is(position: str, vehicle_id: str, source: _Source) -> _Piece | None:
    """The profile of the tire on a position whose tires were never seen to wear there."""
    states = source.states
    here = states[(states["vehicle_id"] == vehicle_id) & (states["position"] == position)]
    if here.empty:
        return None
    row = here.sort_values("date").iloc[-1]
    tire = str(row["tire_id"])
    depth, variance = _grooves(row)
    mine = source.paths[tire]
    places = list(dict.fromkeys(p for p in mine["position"] if p != position))
    note = f"tire {tire} ran at {', '.join(places)} before: its pattern may be from there" if places else ""
    return _Piece(
        vehicle_id,
        position,
        (tire,),
        mine["from_date"].min(),
        row["date"],
        float(row["odometer_km"]),
        float(row["tire_km"]),
        float(source.new.get(tire, np.nan)) - float(row["depth_mm"]),
        depth,
        variance + MOULD_SD_MM**2,
        (vehicle_id, position, row["date"]),
        note,
    )


def _spots(source: _Source, piece: _Piece) -> tuple[pd.DataFrame | None, float]:
    """Readings round the tire at the end of a piece, and the spread of single readings."""
    vehicle, position, day = piece.last
    at, profiles = source.depths, source.profiles
    here = (at["vehicle_id"] == vehicle) & (at["position"] == position) & (at["date"] == day)
    table = spot_table(at[here])
    row = (profiles["vehicle_id"] == vehicle) & (profiles["position"] == position) & (profiles["date"] == day)
    spread = profiles.loc[row, "reading_sd_mm"]
    return (table if len(table) else None), float(spread.iloc[0])


def _ratio(pressure: pd.DataFrame, position: str, piece: _Piece) -> float:
    """Cold pressure over placard in the time of a piece, by distance; NaN where there is no reading."""
    there = pressure[(pressure["position"] == position) & (pressure["vehicle_id"] == piece.vehicle_id)]
    there = there[(there["to_date"] > piece.from_date) & (there["from_date"] < piece.to_date)]
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

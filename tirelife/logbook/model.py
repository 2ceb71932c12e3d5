"""The logbook in memory: tables in inside units, and the stretches each tire has run."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, wraps
from inspect import signature
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.chain import order_mounts
from tirelife.logbook.codes import ODOMETER_UNUSED, doubted
from tirelife.logbook.distance import held_to_the_last_day, with_usable_odometers
from tirelife.positions import OFF, SPARE

if TYPE_CHECKING:
    from tirelife.logbook.read import AsRead

__all__ = ["Logbook", "kept", "stretches"]


KEPT_ROWS: Final = 200_000
"""Rows up to which a derived table is kept with its logbook."""


@dataclass(frozen=True, eq=False)
class Logbook:
    """A checked logbook, with nothing after ``as_of`` in it.

    Attributes
    ----------
    tables : mapping of str to DataFrame
        All tables but ``trips``, in inside units (``depth_mm``, ``odometer_km``, ``pressure_kpa``); a table
        that is not there is an empty frame with its columns. Each has ``row`` (as a spreadsheet counts)
        ``doubt`` (why the record is doubtful, or an empty text) and ``codes`` (the same as codes, each
        with its column; see :func:`tirelife.logbook.doubted`).
    problems : DataFrame
        The doubts found: file, row, column, value, what, advice, doubt, code.
    units : str
        ``"us"`` or ``"metric"``: what the logbook uses, and answers are shown in.
    as_of : Timestamp
        The last day that counts.
    source : Path
        Where it was read from.
    trips : Path or None
        The recorded trips, if there are any; they are reduced where they lie, never loaded whole.
    as_read : AsRead or None
        The records before they were checked against each other, from which doubts of an earlier day are
        worked out; None for a logbook of over a million records, or one that was not read.
    """

    tables: Mapping[str, pd.DataFrame]
    problems: pd.DataFrame
    units: str
    as_of: pd.Timestamp
    source: Path
    trips: Path | None = None
    as_read: AsRead | None = field(default=None, repr=False)

    @property
    def vehicles(self) -> pd.DataFrame:
        """One row a vehicle."""
        return self.tables["vehicles"].copy()

    @property
    def tires(self) -> pd.DataFrame:
        """One row a tire, for its whole life."""
        return self.tables["tires"].copy()

    @property
    def mounts(self) -> pd.DataFrame:
        """One row a tire that goes onto a position, or off."""
        return self.tables["mounts"].copy()

    @property
    def depths(self) -> pd.DataFrame:
        """One row a depth reading in one groove."""
        return self.tables["depths"].copy()

    @property
    def odometer(self) -> pd.DataFrame:
        """Every odometer reading in any table: date, vehicle_id, odometer_km, sorted, without repeats.

        A reading whose odometer goes back or runs ahead of all others is left out; it keeps its place, and
        its doubt, in its own table. Of a vehicle whose newest depth or move has such a one, that day has a
        row on the mean pace of the others.
        """
        return self._odometer.copy()

    @cached_property
    def _odometer(self) -> pd.DataFrame:
        parts = {name: self.tables[name] for name in self._unused if len(self.tables[name])}
        columns = ["date", "vehicle_id", "odometer_km"]
        readings = [part.loc[~self._unused[name], columns].drop_duplicates() for name, part in parts.items()]
        if not readings:
            return self.tables["odometer"][columns].copy()
        known = pd.concat(readings, ignore_index=True).dropna().drop_duplicates()
        days = [
            self.tables[name].loc[self._unused[name], columns[:2]]
            for name in ("mounts", "depths")
            if self._unused[name].any()
        ]
        if days:
            known = held_to_the_last_day(known, pd.concat(days, ignore_index=True))
        return known.sort_values(["vehicle_id", "date", "odometer_km"], ignore_index=True)

    def odometer_unused(self, name: str) -> NDArray[np.bool_]:
        """Which records of a table have an odometer that is doubted, and so left out of :attr:`odometer`."""
        return self._unused[name].copy()

    @cached_property
    def _unused(self) -> dict[str, NDArray[np.bool_]]:
        names = ("odometer", "mounts", "depths", "pressures", "alignment")
        return {name: doubted(self.tables[name], "odometer_km", *ODOMETER_UNUSED) for name in names}

    @property
    def pressures(self) -> pd.DataFrame:
        """One row a pressure reading."""
        return self.tables["pressures"].copy()

    @property
    def habits(self) -> pd.DataFrame:
        """One row a vehicle and stretch of dates: how it was driven."""
        return self.tables["habits"].copy()

    @property
    def gauges(self) -> pd.DataFrame:
        """One row a comparison of a gauge with a master, in the units of the comparison."""
        return self.tables["gauges"].copy()

    @property
    def alignment(self) -> pd.DataFrame:
        """One row a measured axle."""
        return self.tables["alignment"].copy()

    @property
    def stretches(self) -> pd.DataFrame:
        """What each tire ran where; see :func:`stretches`."""
        return self._stretches.copy()

    @cached_property
    def _stretches(self) -> pd.DataFrame:
        moves = with_usable_odometers(self.tables["mounts"], self._unused["mounts"], self._odometer)
        return stretches(moves, self._odometer)


def kept(function: Callable[..., pd.DataFrame]) -> Callable[..., pd.DataFrame]:
    """Decorate a function of a logbook, so that what it makes is kept with the logbook.

    A forecast asks for the same tables from many rooms; each is made once, and copies are handed out.
    Tables of over :data:`KEPT_ROWS` rows are made anew each time, to spare memory.
    """
    shape, name = signature(function), f"{function.__module__}.{function.__qualname__}"

    @wraps(function)
    def once(book: Logbook, *args: Any, **kwargs: Any) -> pd.DataFrame:
        bound = shape.bind(book, *args, **kwargs)
        bound.apply_defaults()
        key = (name, *list(bound.arguments.values())[1:])
        try:
            held: dict[Any, pd.DataFrame] = book.__dict__.setdefault("_kept", {})
            found = held.get(key)
        except (AttributeError, TypeError):  # not a logbook, or an argument that is no key
            return function(book, *args, **kwargs)
        if found is None:
            found = function(book, *args, **kwargs)
            if len(found) > KEPT_ROWS:
                return found
            held[key] = found
        return found.copy()

    return once


def stretches(mounts: pd.DataFrame, odometer: pd.DataFrame) -> pd.DataFrame:
    """Turn mount records into one row a tire, position and stretch of distance.

    Parameters
    ----------
    mounts : DataFrame
        date, odometer_km, vehicle_id, tire_id, position.
    odometer : DataFrame
        date, vehicle_id, odometer_km: every reading known.

    Returns
    -------
    DataFrame
        tire_id, vehicle_id, position, from_date, to_date, from_km, to_km, open, before_km; sorted by tire and
        date. An open stretch (the tire is still there) runs to the vehicle's last known reading and has
        ``open`` True. A tire that turns up on another vehicle left the one before on that day, at the
        odometer on the line between its readings; our assumption, since a checked logbook says when it came
        off. ``before_km`` is the distance that the tire had run when the stretch began; a tire lying in the
        spare's place runs none.
    """
    tire = pd.factorize(mounts["tire_id"], sort=True)[0]
    vehicle = pd.factorize(mounts["vehicle_id"])[0]
    day = mounts["date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    km = mounts["odometer_km"].to_numpy(dtype=float)
    off = (mounts["position"] == OFF).to_numpy()
    order = order_mounts(tire, vehicle, day, km, off)
    chain = mounts.iloc[order].reset_index(drop=True)
    tire, vehicle = tire[order], vehicle[order]
    follows = np.r_[tire[1:] == tire[:-1], np.zeros(min(len(tire), 1), dtype=bool)]
    stays = follows & np.r_[vehicle[1:] == vehicle[:-1], np.zeros(min(len(tire), 1), dtype=bool)]
    last = odometer.groupby("vehicle_id")[["date", "odometer_km"]].max().reindex(chain["vehicle_id"])
    out = chain[["tire_id", "vehicle_id", "position"]].copy()
    out["from_date"], out["from_km"] = chain["date"], chain["odometer_km"]
    out["to_date"] = chain["date"].shift(-1).where(follows, pd.Series(last["date"].to_numpy()))
    out["to_km"] = chain["odometer_km"].shift(-1).where(stays, pd.Series(last["odometer_km"].to_numpy()))
    away = np.flatnonzero(follows & ~stays & ~off[order])
    if len(away):
        out.loc[away, "to_km"] = _odometer_on(out.loc[away, "vehicle_id"], out.loc[away, "to_date"], odometer)
    out["open"] = ~follows
    out["to_date"] = np.maximum(out["to_date"], out["from_date"])
    out["to_km"] = np.fmax(out["to_km"], out["from_km"])
    out = out.loc[out["position"] != OFF, _STRETCH_COLUMNS[:-1]].reset_index(drop=True)
    run = (out["to_km"] - out["from_km"]).where(out["position"] != SPARE, 0.0)
    out["before_km"] = run.groupby(out["tire_id"]).cumsum() - run
    return out


_STRETCH_COLUMNS = [
    "tire_id", "vehicle_id", "position", "from_date", "to_date", "from_km", "to_km", "open", "before_km",
]  # fmt: skip


def _odometer_on(vehicle: pd.Series, date: pd.Series, odometer: pd.DataFrame) -> list[float]:
    """Odometer of a vehicle on a day, on the straight line between its readings. [km]"""
    out = []
    for one, day in zip(vehicle, date, strict=True):
        known = odometer[odometer["vehicle_id"] == one]
        days = (known["date"] - day) / pd.Timedelta("1D")
        out.append(float(np.interp(0.0, days, known["odometer_km"])) if len(known) else np.nan)
    return out

"""The logbook in memory: tables in inside units, and the stretches each tire has run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd

__all__ = ["Logbook", "stretches"]


@dataclass(frozen=True, eq=False)
class Logbook:
    """A checked logbook, with nothing after ``as_of`` in it.

    Attributes
    ----------
    tables : mapping of str to DataFrame
        All tables but ``trips``, in inside units (``depth_mm``, ``odometer_km``, ``pressure_kpa``); a table
        that is not there is an empty frame with its columns. Each has ``row`` (as a spreadsheet counts)
        and ``doubt`` (why the record is doubtful, or an empty text).
    problems : DataFrame
        The doubts found: file, row, column, value, what, advice, doubt.
    units : str
        ``"us"`` or ``"metric"``: what the logbook uses, and answers are shown in.
    as_of : Timestamp
        The last day that counts.
    source : Path
        Where it was read from.
    trips : Path or None
        The recorded trips, if there are any; they are reduced where they lie, never loaded whole.
    """

    tables: Mapping[str, pd.DataFrame]
    problems: pd.DataFrame
    units: str
    as_of: pd.Timestamp
    source: Path
    trips: Path | None = None

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
        """Every odometer reading in any table: date, vehicle_id, odometer_km, sorted, without repeats."""
        parts = [self.tables[name] for name in ("odometer", "mounts", "depths", "pressures", "alignment")]
        columns = ["date", "vehicle_id", "odometer_km"]
        readings = pd.concat([part[columns] for part in parts if len(part)], ignore_index=True)
        return (
            readings.dropna()
            .drop_duplicates()
            .sort_values(["vehicle_id", "date", "odometer_km"], ignore_index=True)
        )

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

    @cached_property
    def stretches(self) -> pd.DataFrame:
        """What each tire ran where; see :func:`stretches`."""
        return stretches(self.mounts, self.odometer)


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
        ``open`` True. ``before_km`` is the distance that the tire had run when the stretch began; a tire
        lying in the spare's place runs none.
    """
    chain = mounts.sort_values(["tire_id", "date", "odometer_km"], kind="stable", ignore_index=True)
    by_tire = chain.groupby("tire_id", sort=False)
    ended = by_tire["date"].shift(-1)
    same_vehicle = by_tire["vehicle_id"].shift(-1) == chain["vehicle_id"]
    ended_km = by_tire["odometer_km"].shift(-1).where(same_vehicle)
    last = odometer.groupby("vehicle_id")[["date", "odometer_km"]].max()
    out = pd.DataFrame(
        {
            "tire_id": chain["tire_id"],
            "vehicle_id": chain["vehicle_id"],
            "position": chain["position"],
            "from_date": chain["date"],
            "to_date": ended,
            "from_km": chain["odometer_km"],
            "to_km": ended_km,
            "open": ended.isna(),
        }
    )
    now = last.reindex(out["vehicle_id"])
    out["to_date"] = out["to_date"].where(~out["open"], pd.Series(now["date"].to_numpy(), index=out.index))
    out["to_km"] = out["to_km"].where(
        out["to_km"].notna(), pd.Series(now["odometer_km"].to_numpy(), index=out.index)
    )
    out["to_km"] = np.maximum(out["to_km"], out["from_km"])
    out = out[out["position"] != "OFF"].reset_index(drop=True)
    run = (out["to_km"] - out["from_km"]).where(out["position"] != "SP", 0.0)
    out["before_km"] = run.groupby(out["tire_id"]).cumsum() - run
    return out

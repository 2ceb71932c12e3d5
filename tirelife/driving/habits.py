"""The driving of vehicles as the logbook's ``habits`` table."""

from __future__ import annotations

from typing import Final

import pandas as pd

from tirelife.driving.profile import COLUMNS, EVENTS
from tirelife.driving.trips import TripSummary
from tirelife.logbook import BANDS
from tirelife.units import INSIDE, convert, kind_of, split_unit

__all__ = ["habits_table", "in_units"]

_SHOWN: Final = {
    "us": {"distance": "mi", "speed": "mph", "frequency": "per_100mi"},
    "metric": {"distance": "km", "speed": "kmh", "frequency": "per_100km"},
}


def habits_table(
    summary: TripSummary,
    from_date: str | pd.Timestamp | None = None,
    to_date: str | pd.Timestamp | None = None,
) -> pd.DataFrame:
    """Habits of each vehicle, as the logbook's table of that name is written.

    Parameters
    ----------
    summary : TripSummary
    from_date, to_date : date, optional
        First and last day for vehicles whose trips have no date.

    Returns
    -------
    DataFrame
        vehicle_id, from_date, to_date (blank where unknown), the five shares, hard starts, stops and
        turns per 100 miles; then what the logbook keeps beside its own columns: whole distance, moments (SI),
        ``log_sd``, thresholds, counted distance, counts of trips, ``lateral_share``, ``turning_share`` and
        ``note``. A profile is made from
        the moments again by :func:`profiles_from_habits`.
    """
    out = summary.vehicles.copy()
    for name, day in (("from_date", from_date), ("to_date", to_date)):
        if day is not None:
            out[name] = out[name].fillna(pd.Timestamp(day))
        out[name] = out[name].dt.strftime("%Y-%m-%d").fillna("")
    rates = {}
    for event in EVENTS:
        rates[event] = event.replace("per_100km", "per_100mi")
        out[event] = convert(out[event], "per_100km", "per_100mi")
    moments = [c for c in COLUMNS if c not in (*BANDS, *EVENTS, "source")]
    names = ["vehicle_id", "from_date", "to_date", *BANDS, *EVENTS, *moments]
    kept = ["counted_km", "trips", "trips_left_out", "lateral_share", "turning_share", "note"]
    return out[[*names, *kept]].rename(columns=rates)


def in_units(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Distances, speeds and event rates in ``us`` or ``metric`` units, their names changed with them.

    Columns in other units (m/s², m²/s³, s, 1/km) stay as they are.
    """
    out, names = table.copy(), {}
    for column in table.columns:
        stem, unit = split_unit(str(column), ["distance", "speed", "frequency"])
        if (
            unit is None
            or stem.endswith("_per")
            or unit != INSIDE[kind_of(unit)]
            or table[column].dtype.kind not in "fiu"
        ):
            continue
        shown = _SHOWN[units][kind_of(unit)]
        out[column] = convert(table[column], unit, shown)
        names[column] = f"{stem}_{shown}"
    return out.rename(columns=names)

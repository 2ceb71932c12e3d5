"""What each tire's pressures add up to: shortfall by distance, leak, life, and what to do."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.inflation.cold import ColdNote, hot_target, placard_at, pressure_at, stated_placard
from tirelife.inflation.life import beyond_published, pressure_wear
from tirelife.inflation.path import PressureSource, pressure_path, tire_readings
from tirelife.logbook import Logbook, kept
from tirelife.positions import ROAD, SPARE
from tirelife.units import convert

__all__ = [
    "INSPECT_KPA_PER_MONTH",
    "PRESSURE_LOG_SD",
    "PressureNote",
    "leaks",
    "pressure_summary",
    "pressures_now",
]

INSPECT_KPA_PER_MONTH: Final = convert(2.0, "psi", "kpa")
"""Loss above which a tire should be inspected: 2 psi a month (a tire maker's user guide, 2023; GAO-07-246R
calls 1 to 2 psi a month normal). [kPa per month]"""
URGENT_KPA_PER_MONTH: Final = convert(3.0, "psi", "kpa")
"""Loss from which it is looked at before the vehicle is driven far: 3 psi a month (common practice, no
source). [kPa per month]"""
PRESSURE_LOG_SD: Final = 0.30
"""Standard deviation of the logarithm of the published effect of pressure on wear (our judgement: one
maker's data, two points, a straight line by assumption)."""
_MONTH_DAYS: Final = 365.25 / 12
_SHORTEST_DAYS: Final = 14
"""Readings closer together than this say more about the gauge than about a leak (our choice)."""
_RIB_SHARE: Final = 0.25
"""Share of distance more than 10 % off the placard from which a rib pattern is expected (our choice)."""


class PressureNote(StrEnum):
    """What a tire's pressures ask for, or leave open."""

    LEAKS = "leaks"
    """loss_kpa_per_month: more than 2 psi a month; tire, valve and wheel are looked at."""
    RAN_FLAT = "ran-25-low"
    """Run more than 25 % low: looked at inside and out before it is relied on."""
    LOW = "ran-low"
    """Set to the placard when cold, and check monthly."""
    HIGH = "ran-high"
    """Above the placard: correct it when cold, never by bleeding a hot tire."""
    LET_OUT = "let-out-warm"
    """Air was let out warm when it was last set: checked cold, and never bled hot."""
    SET_WARM = "set-warm"
    """It was last set warm, to less than the placard once cold."""
    PLACARD_ASSUMED = "placard-assumed"
    """placard_kpa: the log states no placard; what is below or above is told against this one, assumed."""
    NO_DISTANCE = "no-distance"
    MOSTLY_ASSUMED = "mostly-assumed"
    """Most of the distance has no reading on both sides."""
    BEYOND_PUBLISHED = "beyond-published"
    """The effect on life is extrapolated beyond the published 17 to 35 psi."""
    HIGH_UNKNOWN = "high-effect-unknown"
    """No effect of over-inflation on life is published: counted as none."""


@kept
def leaks(book: Logbook) -> pd.DataFrame:
    """Pressure lost by each tire between one reading and the next.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        ``tire_id, vehicle_id, from_date, to_date, months, loss_kpa`` (negative where it rose),
        ``loss_kpa_per_month, loss_se_kpa_per_month, same_temperature``. Readings under 14 days apart are left
        out.

    Notes
    -----
    Where the temperature outside is known for both readings, the later one is brought to the earlier one's
    by the gas law, so that cold weather does not pass for a leak; ``same_temperature`` says where.
    """
    readings = tire_readings(book)
    names = ["found_kpa", "date", "ambient_c", "se_kpa"]
    after = readings.groupby("tire_id", sort=False)[names].shift(-1)
    known = (readings["ambient_c"].notna() & after["ambient_c"].notna()).to_numpy(dtype=bool)
    later = after["found_kpa"].astype(float).to_numpy(copy=True)
    later[known] = pressure_at(later[known], after["ambient_c"][known], readings["ambient_c"][known])
    months = (after["date"] - readings["date"]).dt.days / _MONTH_DAYS
    loss = readings["left_kpa"].astype(float) - later
    out = pd.DataFrame(
        {
            "tire_id": readings["tire_id"],
            "vehicle_id": readings["vehicle_id"],
            "from_date": readings["date"],
            "to_date": after["date"],
            "months": months,
            "loss_kpa": loss,
            "loss_kpa_per_month": loss / months,
            "loss_se_kpa_per_month": np.hypot(readings["se_kpa"], after["se_kpa"]) / months,
            "same_temperature": known,
        }
    )
    enough = (out["months"] * _MONTH_DAYS >= _SHORTEST_DAYS) & out["loss_kpa"].notna()
    return out[enough].reset_index(drop=True)


def pressures_now(book: Logbook) -> pd.DataFrame:
    """The rows of :func:`pressure_summary` of tires that are now on the road."""
    summary, path = pressure_summary(book), book.stretches
    on = path.loc[path["open"] & path["position"].isin(ROAD), "tire_id"]
    return summary[summary["tire_id"].isin(on)]


@kept
def pressure_summary(book: Logbook) -> pd.DataFrame:
    """Summary of each tire's pressures over all the distance it has run.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        One row a tire: ``vehicle_id, tire_id, position`` (its last place), ``km``; ``share_assumed`` (of the
        distance not between two readings); ``shortfall_kpa`` (mean over distance of how far below placard);
        ``share_over_10_low, share_over_25_low, share_over_10_high`` (of the distance more than 10 %, 25 %
        below, 10 % above placard); ``life_share`` with ``life_low, life_high`` (80 % range; tread life over
        life at placard, had it all been run so); ``share_beyond`` (of the distance outside the pressures
        that the published effect covers); ``leak_kpa_per_month, leak_se_kpa_per_month``;
        ``newest_kpa_per_month`` (between the last two readings); ``inspect``;
        ``ribs`` (which wear first, or empty); ``km_low`` and ``days_low`` (run more than 10 % low);
        ``placard_kpa`` and ``hot_target_kpa`` (what to set hot, where it cannot wait for cold) of its place
        now, as the log states it (NaN where it is assumed); ``last_kpa`` and ``last_date`` (cold, as last
        left); ``notes`` (tuple of :class:`tirelife.codes.Note`, codes of :class:`PressureNote`).

    Notes
    -----
    A tire is to be inspected when its loss, overall or since the last reading, is above 2 psi a month and
    above twice its standard error. Low pressure wears both shoulders, high pressure the center (US Army
    TM 9-2610-200-14, p. 2-12); over-inflation has no published effect on life and counts as neutral.
    """
    path = pressure_path(book)
    path = path[path["position"] != SPARE]
    start, end, placard = (path[c].to_numpy(float) for c in ("start_kpa", "end_kpa", "placard_kpa"))
    km = (path["to_km"] - path["from_km"]).to_numpy(float)
    cold = path["cold_kpa"].to_numpy(float)
    weights = pd.DataFrame(
        {
            "tire_id": path["tire_id"].to_numpy(),
            "km": km,
            "share_assumed": km * (path["source"] != PressureSource.BETWEEN).to_numpy(),
            "shortfall_kpa": km * _mean_below(start, end, placard),
            "share_over_10_low": km * _share_below(start, end, 0.90 * placard),
            "share_over_25_low": km * _share_below(start, end, 0.75 * placard),
            "share_over_10_high": km * (1 - _share_below(start, end, 1.10 * placard)),
            "_wear": km * pressure_wear(cold, placard),
            "share_beyond": km * beyond_published(cold, placard),
        }
    )
    total = weights.groupby("tire_id", sort=False).sum()
    mean = total.drop(columns="km").div(total["km"].where(total["km"] > 0), axis=0)
    last = book.stretches.drop_duplicates("tire_id", keep="last").set_index("tire_id")
    out = last[["vehicle_id", "position"]].join(total["km"]).join(mean)
    out["km"] = out["km"].fillna(0.0)
    extra = out.pop("_wear") - 1
    out["life_share"] = 1 / (1 + extra)
    half = np.exp(1.2816 * PRESSURE_LOG_SD)
    out["life_low"], out["life_high"] = 1 / (1 + extra * half), 1 / (1 + extra / half)
    out = out.join(_leak_by_tire(leaks(book)))
    out["inspect"] = out["inspect"].eq(True)
    low, high = out["share_over_10_low"] >= _RIB_SHARE, out["share_over_10_high"] >= _RIB_SHARE
    out["ribs"] = np.select([low, high], ["both shoulders", "center"], "")
    out["km_low"] = out["km"] * out["share_over_10_low"]
    days = (path["to_date"] - path["from_date"]).dt.days.to_numpy(float)
    low_days = days * _share_below(start, end, 0.90 * placard)
    out["days_low"] = pd.Series(low_days).groupby(path["tire_id"].to_numpy()).sum()
    placards = stated_placard(book.vehicles, out["vehicle_id"], out["position"])
    out["placard_kpa"], out["hot_target_kpa"] = placards, hot_target(placards)
    assumed = placard_at(book.vehicles, out["vehicle_id"], out["position"])
    out["_assumed_kpa"] = np.where(np.isnan(placards), assumed, np.nan)
    read = tire_readings(book).sort_values("date")
    newest = read.drop_duplicates("tire_id", keep="last").set_index("tire_id")
    out["last_kpa"], out["last_date"] = newest["left_kpa"].astype(float), newest["date"]
    when_set = newest["note"].reindex(out.index).fillna("")
    rows = out.assign(when_set=when_set).to_dict("records")
    notes = [_notes({str(k): v for k, v in row.items()}) for row in rows]
    out["notes"] = pd.Series(notes, index=out.index, dtype=object)
    out = out.rename_axis("tire_id").reset_index()
    first = ["vehicle_id", "tire_id", "position", "km"]
    return out[[*first, *(c for c in out if c not in (*first, "_assumed_kpa"))]]


def _leak_by_tire(lost: pd.DataFrame) -> pd.DataFrame:
    by_tire = lost.groupby("tire_id")
    months = by_tire["months"].sum()
    error = lost["loss_se_kpa_per_month"] * lost["months"]
    out = pd.DataFrame(
        {
            "leak_kpa_per_month": by_tire["loss_kpa"].sum() / months,
            "leak_se_kpa_per_month": np.sqrt((error**2).groupby(lost["tire_id"]).sum()) / months,
        }
    )
    newest = by_tire[["loss_kpa_per_month", "loss_se_kpa_per_month"]].last()
    overall = out.set_axis(newest.columns, axis=1)
    out["newest_kpa_per_month"] = newest["loss_kpa_per_month"]
    out["inspect"] = _too_fast(overall) | _too_fast(newest)
    return out


def _too_fast(rate: pd.DataFrame) -> pd.Series:
    loss = rate["loss_kpa_per_month"]
    return loss.gt(INSPECT_KPA_PER_MONTH) & loss.gt(2 * rate["loss_se_kpa_per_month"])


def _notes(row: dict[str, object]) -> tuple[Note, ...]:
    """What one tire's sums ask for, and what they leave open."""
    get = {name: float(value) for name, value in row.items() if isinstance(value, int | float)}
    notes = []
    if row["inspect"]:
        loss = max(get["leak_kpa_per_month"], get["newest_kpa_per_month"])
        severity = Severity.URGENT if loss >= URGENT_KPA_PER_MONTH else Severity.WARNING
        notes.append(Note(PressureNote.LEAKS, severity, (("loss_kpa_per_month", loss),)))
    if get["share_over_25_low"] > 0:
        notes.append(Note(PressureNote.RAN_FLAT, Severity.WARNING))
    if row["ribs"] == "both shoulders":
        notes.append(Note(PressureNote.LOW, Severity.DOUBT))
    if row["ribs"] == "center":
        notes.append(Note(PressureNote.HIGH, Severity.DOUBT))
    last_set = str(row["when_set"]).split()
    if ColdNote.LET_OUT in last_set:
        notes.append(Note(PressureNote.LET_OUT, Severity.WARNING))
    elif ColdNote.SET_WARM in last_set:
        notes.append(Note(PressureNote.SET_WARM, Severity.DOUBT))
    if not math.isnan(get["_assumed_kpa"]):
        assumed = (("placard_kpa", get["_assumed_kpa"]),)
        notes.append(Note(PressureNote.PLACARD_ASSUMED, values=assumed))
    open_ = {
        PressureNote.NO_DISTANCE: get["km"] == 0,
        PressureNote.MOSTLY_ASSUMED: get["share_assumed"] > 0.5,
        PressureNote.BEYOND_PUBLISHED: get["share_beyond"] > 0,
        PressureNote.HIGH_UNKNOWN: get["share_over_10_high"] > 0,
    }
    return (*notes, *(Note(code) for code, so in open_.items() if so))


def _share_below(
    start: NDArray[np.float64], end: NDArray[np.float64], limit: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Share of a straight path from start to end that lies below a limit."""
    low, span = np.minimum(start, end), np.abs(end - start)
    part = (limit - low) / np.where(span > 0, span, 1.0)
    return np.where(span > 0, np.clip(part, 0.0, 1.0), (low < limit).astype(float))


def _mean_below(
    start: NDArray[np.float64], end: NDArray[np.float64], limit: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean over a straight path of how far it lies below a limit."""
    lowest = np.maximum(limit - np.minimum(start, end), 0.0)
    highest = np.maximum(limit - np.maximum(start, end), 0.0)
    # Below the limit the path is a triangle, or a trapezium where it never rises above.
    return np.asarray(_share_below(start, end, limit) * (lowest + highest) / 2)

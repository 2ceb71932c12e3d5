"""What each tire's pressures add up to: shortfall by distance, leak, life, and what to do."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.inflation.cold import pressure_at
from tirelife.inflation.life import beyond_published, pressure_wear
from tirelife.inflation.path import BETWEEN, pressure_path, tire_readings
from tirelife.logbook import Logbook
from tirelife.units import convert

__all__ = ["INSPECT_KPA_PER_MONTH", "PRESSURE_LOG_SD", "leaks", "pressure_summary"]

INSPECT_KPA_PER_MONTH: Final = convert(2.0, "psi", "kpa")
"""Loss above which a tire should be inspected: 2 psi a month (a tire maker's user guide, 2023; GAO-07-246R
calls 1 to 2 psi a month normal). [kPa per month]"""
PRESSURE_LOG_SD: Final = 0.30
"""Standard deviation of the logarithm of the published effect of pressure on wear (our judgement: one
maker's data, two points, a straight line by assumption)."""
_MONTH_DAYS: Final = 365.25 / 12
_SHORTEST_DAYS: Final = 14
"""Readings closer together than this say more about the gauge than about a leak (our choice)."""
_RIB_SHARE: Final = 0.25
"""Share of distance more than 10 % off the placard from which a rib pattern is expected (our choice)."""


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
        that the published effect covers); ``leak_kpa_per_month, leak_se_kpa_per_month``; ``inspect``;
        ``ribs`` (which wear first, or empty); ``advice``; ``note`` (what was assumed or is not known).

    Notes
    -----
    A tire is to be inspected when its loss, overall or since the last reading, is above 2 psi a month and
    above twice its standard error. Low pressure wears both shoulders, high pressure the center (US Army
    TM 9-2610-200-14, p. 2-12); over-inflation has no published effect on life and counts as neutral.
    """
    path = pressure_path(book)
    path = path[path["position"] != "SP"]
    start, end, placard = (path[c].to_numpy(float) for c in ("start_kpa", "end_kpa", "placard_kpa"))
    km = (path["to_km"] - path["from_km"]).to_numpy(float)
    cold = path["cold_kpa"].to_numpy(float)
    weights = pd.DataFrame(
        {
            "tire_id": path["tire_id"].to_numpy(),
            "km": km,
            "share_assumed": km * (path["source"] != BETWEEN).to_numpy(),
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
    out["advice"] = _advice(out)
    out["note"] = _notes(out)
    out = out.rename_axis("tire_id").reset_index()
    first = ["vehicle_id", "tire_id", "position", "km"]
    return out[[*first, *(c for c in out if c not in first)]]


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
    out["inspect"] = _too_fast(overall) | _too_fast(newest)
    return out


def _too_fast(rate: pd.DataFrame) -> pd.Series:
    loss = rate["loss_kpa_per_month"]
    return loss.gt(INSPECT_KPA_PER_MONTH) & loss.gt(2 * rate["loss_se_kpa_per_month"])


def _advice(out: pd.DataFrame) -> list[str]:
    return _join(
        {
            "loses more than 2 psi a month: have the tire, valve and wheel inspected": out["inspect"],
            "has run more than 25 % low: have it looked at inside and out before relying on it": (
                out["share_over_25_low"] > 0
            ),
            "set to the placard when cold, and check monthly": out["ribs"] == "both shoulders",
            "above the placard: check and correct it when cold, never by bleeding a hot tire": (
                out["ribs"] == "center"
            ),
        }
    )


def _notes(out: pd.DataFrame) -> list[str]:
    return _join(
        {
            "has run no distance on the road, so there is nothing to weigh": out["km"] == 0,
            "most of the distance has no reading on both sides: pressures there are assumed": (
                out["share_assumed"] > 0.5
            ),
            "effect on life extrapolated beyond the published 17 to 35 psi (117 to 241 kPa)": (
                out["share_beyond"] > 0
            ),
            "no effect of over-inflation on life is published: counted as none": out["share_over_10_high"]
            > 0,
        }
    )


def _join(texts: dict[str, pd.Series]) -> list[str]:
    rows = zip(*(flags.to_numpy(bool) for flags in texts.values()), strict=True)
    return ["; ".join(text for flag, text in zip(row, texts, strict=True) if flag) for row in rows]


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

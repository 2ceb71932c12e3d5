"""Frames that the page's charts take: grooves as read, readings, the way ahead, shares of causes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.logbook import GROOVES
from tirelife.positions import ROAD
from tirelife.sheet.days import day_said
from tirelife.sheet.language import texts, upper_first
from tirelife.wear.cause import CAUSES

if TYPE_CHECKING:
    from pandas._libs.tslibs.nattype import NaTType

__all__ = ["LEVELS", "axle_shares", "band_ahead", "labelled", "last_grooves", "limiting_readings"]

LEVELS: Final = (10, 25, 50, 75, 90)
FURTHEST_DAYS: Final = 36_525
"""A path ahead is not dated past a hundred years."""
POINTS: Final = 13
"""Points of a path ahead."""


def last_grooves(
    read: pd.DataFrame,
    rows: pd.DataFrame,
    new_depth: pd.Series,
    say: Mapping[str, str] | None = None,
    order: str = "mdy",
) -> tuple[pd.DataFrame, pd.Timestamp | NaTType]:
    """Least depth of each groove on the last day that its tire was read, and where that was.

    Parameters
    ----------
    read : DataFrame
        From :func:`tirelife.tread.measured_grooves`.
    rows : DataFrame
        tire_id, position, label: the tires wanted, where they are now.
    new_depth : Series
        By tire_id. [mm]
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.
    order : str
        Of day, month and year.

    Returns
    -------
    DataFrame
        position (now), groove, depth_mm (as read: the gauge's bias is not taken off), new_depth_mm, label:
        the tire, the wheel at which it was read where that is another one, and the day where that is an
        earlier one than the vehicle's last. A groove that was not read that day is left out.
    Timestamp
        Day of the last reading; NaT if there is none.
    """
    out, say = [], say or texts()
    whole = read["read_date"].max() if len(read) else pd.NaT
    for tire in rows.to_dict("records"):
        own = read[read["tire_id"] == tire["tire_id"]]
        own = own[own["read_date"] == own["read_date"].max()].set_index("groove")
        if own.empty:
            continue
        at, day = str(own["read_at_position"].iloc[0]), own["read_date"].iloc[0]
        told = {"tire": tire["label"], "where": say.get(at, at), "day": day_said(day, order, say)}
        code = ("-at" if at != tire["position"] else "") + ("-on" if day != whole else "")
        label = say[f"page-read{code}"].format(**told) if code else tire["label"]
        for groove in GROOVES:
            if groove in own.index:
                depth = float(own.loc[groove, "least_raw_mm"])
                out.append([tire["position"], groove, depth, float(new_depth[tire["tire_id"]]), label])
    columns = ["position", "groove", "depth_mm", "new_depth_mm", "label"]
    return pd.DataFrame(out, columns=columns), whole


def limiting_readings(visits: pd.DataFrame, rows: pd.DataFrame, vehicle_id: str) -> pd.DataFrame:
    """Readings in the groove that limits each tire, on this vehicle's odometer."""
    out = []
    for tire in rows.to_dict("records"):
        own = visits[(visits["tire_id"] == tire["tire_id"]) & (visits["vehicle_id"] == vehicle_id)]
        column = f"{tire['limited_by']}_mm" if tire["limited_by"] in GROOVES else "depth_mm"
        depth = own[column].fillna(own["shallowest_mm"])
        out.append(
            pd.DataFrame(
                {
                    "label": tire["label"],
                    "odometer_km": own["odometer_km"],
                    "date": own["date"],
                    "depth_mm": depth,
                }
            )
        )
    return pd.concat(out, ignore_index=True)


def band_ahead(rows: pd.DataFrame, removal_mm: float, reach_km: float | None = None) -> pd.DataFrame:
    """Depth ahead of each tire: straight from today's depth to the removal depth, at each quantile; NaN for a
    tire that is down already, and for a middle without distance left.

    Parameters
    ----------
    rows : DataFrame
        label, odometer_km, as_of, depth_now_mm, km_left_p10 …, date_p50.
    removal_mm : float [mm]
    reach_km : float, optional
        How far ahead; a little past the longest 90 % distance by default. [km]
    """
    quantiles = [f"km_left_p{q}" for q in LEVELS]
    known = rows[rows["km_left_p50"].notna()]
    reach = reach_km if reach_km is not None else ahead_km(rows)
    out = []
    for tire in known.to_dict("records"):
        along = np.linspace(0, reach, POINTS)
        per_day = tire["km_left_p50"] / max((tire["date_p50"] - tire["as_of"]).days, 1)
        days = np.minimum(along / per_day, FURTHEST_DAYS) if per_day > 0 else along * 0
        frame = pd.DataFrame({"label": tire["label"], "odometer_km": tire["odometer_km"] + along})
        frame["date"] = tire["as_of"] + pd.to_timedelta(np.floor(days), unit="D")
        for q, name in zip(LEVELS, quantiles, strict=True):
            frame[f"depth_p{q}_mm"] = depth_along(tire["depth_now_mm"], removal_mm, tire[name], along)
        # Of a tire that is down no path is known: its depth of today does not fall to nothing at once.
        down = [q for q in LEVELS if tire["km_left_p90"] <= 0 or (q == 50 and tire["km_left_p50"] <= 0)]
        frame[[f"depth_p{q}_mm" for q in down]] = np.nan
        out.append(frame)
    columns = ["label", "odometer_km", "date", *(f"depth_p{q}_mm" for q in LEVELS)]
    return pd.concat(out, ignore_index=True) if out else pd.DataFrame(columns=columns)


def depth_along(depth_mm: float, removal_mm: float, km: float, along_km: Any) -> Any:
    """Depth on the straight way from today's to the removal depth, which it reaches after ``km``."""
    worn = (depth_mm - removal_mm) * along_km / km if km > 0 else np.full_like(along_km, depth_mm)
    return depth_mm - worn


def ahead_km(rows: pd.DataFrame) -> float:
    """How far ahead the charts look: a little past the longest 90 % distance. [km]"""
    longest = rows["km_left_p90"].max()
    return float(longest) * 1.05 if np.isfinite(longest) and longest > 0 else 1000.0


def labelled(rows: pd.DataFrame, say: Mapping[str, str]) -> pd.DataFrame:
    """Rows of tires with their wheels in words, ``label``, put first."""
    out = rows.copy()
    out.insert(0, "label", [upper_first(say[place]) for place in out["position"]])
    return out


def axle_shares(parts: pd.DataFrame, amount: str, say: Mapping[str, str] | None = None) -> pd.DataFrame:
    """Shares of wear by cause, for the tires at the front and at the rear.

    Parameters
    ----------
    parts : DataFrame
        position, cause (of ``wear.CAUSES``), and ``amount``: what the cause took.
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

    Returns
    -------
    DataFrame
        label, cause (in words), share; what takes under 1 % everywhere is put together,
        or with rolling along if it would not show.
    """
    say = say or texts()
    axles = [say["axle-front"], say["axle-rear"]]
    axle = parts["position"].map(dict(zip(ROAD, np.repeat(axles, 2), strict=True)))
    order = [cause for cause in CAUSES if cause in set(parts["cause"])]
    worn = parts.pivot_table(index=axle, columns="cause", values=amount, aggfunc="sum")
    worn = worn.reindex(columns=order)
    total = worn.sum(axis=1)
    worn = worn[total > 0]
    if worn.empty:
        return pd.DataFrame(columns=["label", "cause", "share"])
    shares = worn.div(total[total > 0], axis=0)
    small = shares.columns[(shares < 0.01).all(axis=0)]
    rest = shares[small].sum(axis=1)
    shares = shares.drop(columns=small).rename(columns={cause: say[f"cause-{cause}"] for cause in CAUSES})
    if float(rest.max()) >= 0.005:
        shares[say["cause-rest"]] = rest
    else:
        shares.iloc[:, 0] += rest
    long = shares.rename_axis("label").reset_index().melt("label", var_name="cause", value_name="share")
    return long.sort_values("label", key=lambda of: of.map(axles.index), kind="stable", ignore_index=True)

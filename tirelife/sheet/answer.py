"""Everything one vehicle's owner is told, gathered before anything is drawn or said."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.errors import InputError
from tirelife.logbook import GROOVES, ROAD_POSITIONS
from tirelife.sheet import words

if TYPE_CHECKING:
    from pandas._libs.tslibs.nattype import NaTType

    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = [
    "CAUSE_WORDS",
    "LEVELS",
    "POSITION_WORDS",
    "Answer",
    "answer_for",
    "axle_shares",
    "band_ahead",
    "check_vehicle",
    "notes",
    "overall_of",
    "urgent",
]

POSITION_WORDS: Final = {
    "LF": "Left front", "RF": "Right front", "LR": "Left rear", "RR": "Right rear", "SP": "Spare",
}  # fmt: skip
"""Wheel positions in words."""
CAUSE_WORDS: Final = {
    "base": "Rolling along",
    "speed": "Speed",
    "starts": "Speeding up",
    "stops": "Braking",
    "corners": "Bends and turns",
    "parking": "Parking turns",
    "alignment": "Wheels out of line",
    "pressure": "Low pressure",
}
"""Causes of wear in words."""
LEVELS: Final = (10, 25, 50, 75, 90)
FURTHEST_DAYS: Final = 36_525
"""A path ahead is not dated past a hundred years."""
POINTS: Final = 13
"""Points of a path ahead."""


@dataclass(frozen=True, eq=False)
class Answer:
    """What is known about one vehicle's tires; frames in inside units.

    Attributes
    ----------
    vehicle : str
        What to call it.
    units, order : str
        ``"us"`` or ``"metric"``; order of day, month, year.
    as_of : Timestamp
    odometer_km, removal_mm : float
        Odometer today; depth at which a tire comes off.
    depths : DataFrame
        position, groove, depth_mm, new_depth_mm: the last visit.
    measured : Timestamp
        Day of that visit; NaT if the tires were never read.
    tires : DataFrame
        The rows of the forecast for the tires on the road, with ``label`` and ``tire_line``.
    overall : dict
        The set: ``first`` (the position that is most likely due first), ``km_left_p10 …``, ``date_p10 …``.
    readings, band : DataFrame
        As :func:`tirelife.charts.depth_path` takes them.
    causes, changes : DataFrame
        As the charts take them; empty if not known.
    next_steps, how, urgent : tuple of str
        Sentences: what to do next; how the estimate was made and how sure it is; what cannot wait.
    assumed : str
        What the projection assumes about the time ahead.
    sliders : dict
        State of the page's controls, empty if it has none.
    """

    vehicle: str
    units: str
    order: str
    as_of: pd.Timestamp
    odometer_km: float
    removal_mm: float
    depths: pd.DataFrame
    measured: pd.Timestamp | NaTType
    tires: pd.DataFrame
    overall: dict[str, Any]
    readings: pd.DataFrame
    band: pd.DataFrame
    causes: pd.DataFrame
    changes: pd.DataFrame
    next_steps: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    urgent: tuple[str, ...] = ()
    assumed: str = ""
    sliders: dict[str, Any] = field(default_factory=dict)


def answer_for(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit | None = None,
    *,
    prior: Prior | None = None,
    removal_mm: float | None = None,
    rule: str = "",
    order: str | None = None,
) -> Answer:
    """Gather the answer for one vehicle of a logbook.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    fit : WearFit, optional
        From ``outlook.calibrated_fit``, which is what it does by default.
    prior : Prior, optional
        For the fit made here.
    removal_mm : float, optional
        Depth at which a tire comes off; 2/32 inch by default. [mm]
    rule : str
        What says so, for the page; nothing by default.
    order : str, optional
        ``"mdy"``, ``"dmy"`` or ``"ymd"``; by default what goes with the units.

    Raises
    ------
    InputError
        If there is no such vehicle, or no tire on it; the message lists the vehicles there are.
    """
    from tirelife.inflation import placard_at
    from tirelife.outlook import (
        REMOVAL_DEPTH_MM,
        calibrated_fit,
        correction_ratios,
        next_reading,
        present_states,
        project,
    )
    from tirelife.sheet.advice import next_steps, reading_step
    from tirelife.sheet.assume import removal_depths, slider_state
    from tirelife.sheet.changes import change_rows, offered
    from tirelife.sheet.interactive import recompute
    from tirelife.tread import tire_visits, wheel_histories
    from tirelife.wear import causes, conditions_ahead

    check_vehicle(book, vehicle_id)
    removal_mm = REMOVAL_DEPTH_MM if removal_mm is None else removal_mm
    if fit is None:
        fit = calibrated_fit(book, prior)
    states = {
        name: state[(state["vehicle_id"] == vehicle_id) & state["position"].isin(ROAD_POSITIONS)]
        for name, state in present_states(book, fit, removal_depths(removal_mm, book.units)).items()
    }
    now = next(iter(states.values())).reset_index(drop=True)
    if now.empty:
        raise InputError(f"{vehicle_id} has no tire on the road in this logbook. Record its mounts first.")
    lines = book.tires.drop_duplicates("tire_id").set_index("tire_id").reindex(now["tire_id"])
    made = lines.get("made_week", pd.Series("", index=lines.index)).fillna("").astype(str)
    rows = project(now, made_week=made.reset_index(drop=True))
    rows.insert(0, "label", rows["position"].map(POSITION_WORDS))
    rows["tire_line"] = lines["tire_line"].fillna("").to_numpy()
    new_depth = fit.tires.set_index("tire_id")["new_depth_mm"].reindex(rows["tire_id"])
    visits = tire_visits(book)
    visits = visits[visits["tire_id"].isin(rows["tire_id"])]
    placard = placard_at(book.vehicles, pd.Series([vehicle_id] * 4), pd.Series(ROAD_POSITIONS))
    ahead = conditions_ahead(book, vehicle_id)
    shared = float(fit.vehicles.set_index("vehicle_id")["log_effect_sd"].get(vehicle_id, 0.0))
    sliders = slider_state(book.units, states, rows, ahead, np.asarray(placard, dtype=float), shared)
    overall = overall_of(recompute(sliders, {}))
    reading = next_reading(book, fit, vehicle_id, removal_mm, state=now)
    again = reading_step(reading, book.as_of, float(now["odometer_km"].iloc[0]), book.units)
    depths, measured = _measured(visits, rows, new_depth)
    histories = wheel_histories(book, [vehicle_id])
    corrections = correction_ratios(book, [vehicle_id], removal_mm, histories=histories)
    return Answer(
        vehicle=vehicle_id,
        units=book.units,
        order=order or words.in_order(book.units),
        as_of=book.as_of,
        odometer_km=float(rows["odometer_km"].iloc[0]),
        removal_mm=removal_mm,
        depths=depths,
        measured=measured,
        tires=rows,
        overall=overall,
        readings=_readings(visits, rows, vehicle_id),
        band=band_ahead(rows, removal_mm),
        causes=axle_shares(causes(book, vehicle_id), "reference_km"),
        changes=change_rows(sliders, ahead, offered(ahead), book.units, corrections),
        next_steps=(*next_steps(book, vehicle_id, rows, sliders, POSITION_WORDS, histories), again),
        how=(
            *_how(fit, visits, vehicle_id),
            *notes(rows),
            *([f"{rule[:1].upper()}{rule[1:]}."] if rule else []),
        ),
        urgent=urgent(rows),
        assumed=str(sliders["assumed"]),
        sliders=sliders,
    )


def overall_of(result: Mapping[str, Any]) -> dict[str, Any]:
    """Set as ``Answer.overall`` what :func:`tirelife.sheet.interactive.recompute` gives for the set."""
    overall = result["overall"]
    return {
        "first": result["first"],
        **{f"km_left_p{q}": v for q, v in zip(LEVELS, overall["km"], strict=True)},
        **{f"date_p{q}": v for q, v in zip(LEVELS, overall["dates"], strict=True)},
    }


def check_vehicle(book: Logbook, vehicle_id: str | None) -> None:
    """Raise unless the logbook has that vehicle, with the list of those it has."""
    names = [str(name) for name in book.vehicles["vehicle_id"]]
    if vehicle_id in names:
        return
    what = f"there is no vehicle {vehicle_id!r}" if vehicle_id else "which vehicle?"
    raise InputError(f"{what} in this logbook. Give --vehicle with one of: {', '.join(names) or 'none'}.")


def _measured(
    visits: pd.DataFrame, rows: pd.DataFrame, new_depth: pd.Series
) -> tuple[pd.DataFrame, pd.Timestamp | NaTType]:
    """Grooves as read at the last visit of each tire, under the place where the tire is now."""
    columns = ["position", "groove", "depth_mm", "new_depth_mm"]
    if visits.empty:
        return pd.DataFrame(columns=columns), pd.NaT
    last = visits.sort_values("date").drop_duplicates("tire_id", keep="last").set_index("tire_id")
    out = []
    for tire_id, position in zip(rows["tire_id"], rows["position"], strict=True):
        if tire_id not in last.index:
            continue
        for groove in GROOVES:
            depth = float(last.loc[tire_id, f"{groove}_mm"])
            if np.isfinite(depth):
                out.append([position, groove, depth, float(new_depth[tire_id])])
    return pd.DataFrame(out, columns=columns), last["date"].max()


def _readings(visits: pd.DataFrame, rows: pd.DataFrame, vehicle_id: str) -> pd.DataFrame:
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
    """Depth ahead of each tire: straight from today's depth to the removal depth, at each quantile.

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


def axle_shares(parts: pd.DataFrame, amount: str) -> pd.DataFrame:
    """Shares of wear by cause, for the tires at the front and at the rear.

    Parameters
    ----------
    parts : DataFrame
        position, cause (of ``wear.CAUSES``), and ``amount``: what the cause took.

    Returns
    -------
    DataFrame
        label, cause (in words), share; what takes under 1 % everywhere is put together,
        or with rolling along if it would not show.
    """
    axle = parts["position"].map({"LF": "Front", "RF": "Front", "LR": "Rear", "RR": "Rear"})
    order = [cause for cause in CAUSE_WORDS if cause in set(parts["cause"])]
    worn = parts.pivot_table(index=axle, columns="cause", values=amount, aggfunc="sum")
    worn = worn.reindex(columns=order)
    total = worn.sum(axis=1)
    worn = worn[total > 0]
    if worn.empty:
        return pd.DataFrame(columns=["label", "cause", "share"])
    shares = worn.div(total[total > 0], axis=0)
    small = shares.columns[(shares < 0.01).all(axis=0)]
    rest = shares[small].sum(axis=1)
    shares = shares.drop(columns=small).rename(columns=CAUSE_WORDS)
    if float(rest.max()) >= 0.005:
        shares["All else"] = rest
    else:
        shares.iloc[:, 0] += rest
    long = shares.rename_axis("label").reset_index().melt("label", var_name="cause", value_name="share")
    return long.sort_values("label", kind="stable", ignore_index=True)


def notes(rows: pd.DataFrame) -> tuple[str, ...]:
    """Say what the forecast notes beside its numbers, once for all tires that it goes for."""
    out: dict[str, list[str]] = {}
    for label, note in zip(rows["label"], rows["note"].fillna(""), strict=True):
        for part in str(note).split("; "):
            if part and "qualified person" not in part and "local code" not in part:
                out.setdefault(part, []).append(str(label))
    # Parts of one note that go for the same tires stay one sentence.
    joined: dict[tuple[str, ...], list[str]] = {}
    for part, labels in out.items():
        joined.setdefault(tuple(labels), []).append(part)
    every = len(rows)
    return tuple(
        f"{'All tires' if len(labels) == every > 1 else words.joined(list(labels))}: {'; '.join(parts)}."
        for labels, parts in joined.items()
    )


def urgent(rows: pd.DataFrame) -> tuple[str, ...]:
    """Tires that cannot wait for a date, and why."""
    now = rows["note"].str.contains("qualified person", na=False) | (rows["km_left_p50"] <= 0)
    return tuple(f"{label}: at or under the depth set for changing." for label in rows.loc[now, "label"])


def _how(fit: WearFit, visits: pd.DataFrame, vehicle_id: str) -> tuple[str, ...]:
    tires, own = len(fit.tires), int(visits.loc[visits["vehicle_id"] == vehicle_id, "date"].nunique())
    failed = int((~fit.checks["passed"].astype(bool)).sum()) if len(fit.checks) else 0
    every = int(fit.tires["visits"].sum())
    text = [
        f"We fitted how fast tires wear to {every:,} visits of {tires:,} tires. This car was measured on "
        f"{own} day{'s' if own != 1 else ''}.",
        "How much speed, starts, stops, turns and pressure count comes from published work, and is only "
        "known roughly.",
        "If the driving stays as it is, the day should fall inside the light bar about 8 times in 10.",
    ]
    checked = fit.estimates.set_index("term")["source"].get("calibration of ranges", "")
    if (found := re.match(r"(\d+) hidden readings", str(checked))) and int(found[1]):
        text.append(f"We checked such ranges on {int(found[1]):,} readings that were hidden first.")
    if failed:
        text.append(f"{failed} of the fit's own checks did not pass, so trust the range a little less.")
    return tuple(text)

"""Recorded trips in lines for people: habits, events, and what was wrong with the samples."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from tirelife.language import code_words, fault_words
from tirelife.logbook import BANDS
from tirelife.units import GRAVITY, convert

if TYPE_CHECKING:
    from tirelife.driving import TripSummary

__all__ = ["faults_worded", "trip_notes", "trips_text"]


def trips_text(habits: pd.DataFrame, summary: TripSummary) -> str:
    """Habits of each vehicle, or of accelerations alone the events of each trip."""
    t = summary.thresholds
    limits = ", ".join(f"{x / GRAVITY:.2f} g" for x in (t.start_mps2, t.stop_mps2, t.turn_mps2))
    if habits.empty:
        return f"{_events(summary.trips)}\nHard events beyond {limits}; without speeds there are no habits."
    out = pd.DataFrame(
        {
            "vehicle": habits["vehicle_id"],
            "trips": habits["trips"],
            "miles": convert(habits["distance_km"], "km", "mi").round(1),
        }
    )
    for band in BANDS:
        words = band.removeprefix("share_").replace("mph", " mph")
        label = words.replace("_", " " if "er_" in words else " to ")
        out[label] = (100 * habits[band]).round().astype(int).astype(str) + " %"
    for event in ("starts", "stops", "turns"):
        out[f"hard {event}"] = habits[f"hard_{event}_per_100mi"].round(1)
    return (
        f"{out.to_string(index=False)}\nShares of miles by speed; hard events per 100 miles, beyond {limits}."
    )


def _events(trips: pd.DataFrame) -> str:
    """Events of each trip: how many, and the largest of each kind in g."""
    out: dict[str, Any] = {"vehicle": trips["vehicle_id"], "trip": trips["trip_id"]}
    for event in ("start", "stop", "turn"):
        out[f"hard {event}s"] = trips[f"hard_{event}s"].astype("Int64")
        out[f"largest {event}"] = (trips[f"largest_{event}_mps2"] / GRAVITY).map("{:.2f} g".format)
    return str(pd.DataFrame(out).to_string(index=False))


def faults_worded(problems: pd.DataFrame) -> pd.DataFrame:
    """Problems with their words beside the codes."""
    said = [fault_words(code) for code in problems["code"]]
    return problems.assign(what=[what for what, _ in said], advice=[advice for _, advice in said])


def trip_notes(summary: TripSummary, habits: pd.DataFrame) -> list[str]:
    """What was wrong with the samples, and what is not known of the habits, a line each."""
    lines = []
    for (kind, code), group in summary.problems.groupby(["kind", "code"]):
        what, advice = fault_words(str(code))
        total = group[["trips", "count", "km"]].sum()
        size = f" ({convert(total['km'], 'km', 'mi'):.2f} miles)" if group["km"].notna().any() else ""
        where = f"{total['trips']:.0f} trips of {_cars(group['vehicle_id'])}"
        lines.append(f"{kind}: {total['count']:.0f}{size} in {where}: {what}. Advice: {advice}.")
    for note, group in habits[habits["note"] != ""].groupby("note"):
        lines.append(f"{_cars(group['vehicle_id'])}: {code_words(str(note))}.")
    undated = habits.loc[(habits["from_date"] == "") | (habits["to_date"] == ""), "vehicle_id"]
    if len(undated):
        what = "trips without a date; fill in from_date and to_date, or pass --from-date and --to-date"
        lines.append(f"{_cars(undated)}: {what}.")
    return lines


def _cars(names: pd.Series) -> str:
    return ", ".join(names) if len(names) <= 3 else f"{len(names)} vehicles"

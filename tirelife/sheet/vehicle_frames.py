"""One vehicle's frames for charts, labelled in words, with the finding that stands above each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.driving import speed_shares
from tirelife.inflation import cold_pressures, stated_placard
from tirelife.outlook import present_state, rotation_by_tire, rotation_worth
from tirelife.positions import ROAD
from tirelife.sheet.language import texts, upper_first
from tirelife.sheet.quantities import far, pressure
from tirelife.units import LABELS, convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["pressure_rows", "rotation_rows", "speed_rows"]

_SPEED: Final = {"us": "mph", "metric": "kmh"}


def speed_rows(book: Logbook, vehicle_id: str, language: str = "en") -> tuple[pd.DataFrame, str]:
    """Where a vehicle's miles went by speed, for :func:`tirelife.charts.miles_by_speed`, and the finding."""
    say, unit = texts(language), _SPEED[book.units]
    shares = speed_shares(book.habits, vehicle_id)
    labels = []
    for low, high in zip(shares["from_mph"], shares["to_mph"], strict=True):
        ends = [f"{convert(end, 'mph', unit):.0f}" for end in (low, high)]
        code = "under" if low == 0 else "over" if np.isinf(high) else "between"
        labels.append(say[f"speed-{code}"].format(low=ends[0], high=ends[1], unit=LABELS[unit]))
    percent = 100 * shares["share"]
    out = pd.DataFrame({"label": labels, "percent": percent, "usual_percent": 100 * shares["usual_share"]})
    if not percent.notna().any():
        return out, ""
    most = int(percent.to_numpy().argmax())
    return out, say["speed-most"].format(percent=f"{percent.iloc[most]:.0f}", band=labels[most])


def pressure_rows(book: Logbook, vehicle_id: str, language: str = "en") -> tuple[pd.DataFrame, str]:
    """Cold pressures of a vehicle, for :func:`tirelife.charts.pressure_history`, and the finding."""
    say = texts(language)
    read = cold_pressures(book)
    read = read[(read["vehicle_id"] == vehicle_id) & read["position"].isin(ROAD)]
    label = [upper_first(say[position]) for position in read["position"]]
    placard = stated_placard(book.vehicles, read["vehicle_id"], read["position"])
    out = read.assign(label=label, placard_kpa=placard)
    out = out[["label", "date", "cold_kpa", "set_kpa", "placard_kpa"]]
    low = float((out["placard_kpa"] - out["cold_kpa"]).mean())
    if np.isnan(low):
        return out, ""
    side = "pressures-low" if low > 0 else "pressures-high"
    return out, say[side].format(kpa=pressure(abs(low), book.units, say))


def rotation_rows(
    book: Logbook, fit: WearFit, vehicle_id: str, every_km: float, language: str = "en"
) -> tuple[pd.DataFrame, str]:
    """What rotating does to each tire, for :func:`tirelife.charts.rotation_effect`, and the finding.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
    vehicle_id : str
    every_km : float
        Between rotations, the first of them today. [km]
    language : str
    """
    say = texts(language)
    state = present_state(book, fit)
    state = state[(state["vehicle_id"] == vehicle_id) & state["position"].isin(ROAD)]
    state = state.reset_index(drop=True)
    out = rotation_by_tire(state, every_km)
    out.insert(0, "label", [upper_first(say[position]) for position in out["position"]])
    worth = rotation_worth(state, every_km, np.full(len(state), np.nan)).iloc[0]
    gain = float(worth["now_km"] - worth["never_km"])
    if np.isnan(gain):
        return out, ""
    sure = "" if abs(worth["now_over_never"] - 0.5) >= 0.3 else "-unsure"
    code = "further" if gain > 0 else "sooner"
    return out, say[f"rotated-{code}{sure}"].format(far=far(abs(gain), book.units, say))

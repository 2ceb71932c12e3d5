"""What to do next, in plain sentences: from pressures, leaks, and the tread's pattern."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.sheet import words
from tirelife.units import LABELS, SHOWN, convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.tread import WheelHistory

__all__ = ["next_steps", "pressure_step", "reading_step"]

STEPS: Final = {
    "inspect now": "Have a qualified person look at {where} now.",
    "check pressure": "Check the pressure at {where} cold, and look for a leak.",
    "measure angles": "Have the alignment of {where} measured before the tires are moved.",
    "check wheel and dampers": "Have balance, bearings and dampers checked at {where}.",
    "move to driven axle": "Move the tires of {where} to the driven axle once that is put right.",
    "rotate": "Then rotate the tires: that evens out {where}.",
    "look": "Look at {where} again at the next visit.",
}
"""Plain words for the steps of :func:`tirelife.tread.next_steps`; what has none needs no word."""
HARDLY: Final = 0.05
"""Share by which a reading has to narrow the window to be worth naming; our choice."""
RECENT: Final = pd.Timedelta(days=365)


def next_steps(
    book: Logbook,
    vehicle_id: str,
    rows: pd.DataFrame,
    sliders: Mapping[str, Any],
    labels: Mapping[str, str],
    histories: Mapping[str, Mapping[str, WheelHistory]] | None = None,
) -> tuple[str, ...]:
    """Say what to do next about one vehicle, most pressing first.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    rows : DataFrame
        Its rows of the forecast.
    sliders : mapping
        From :func:`tirelife.sheet.assume.slider_state`.
    labels : mapping of str to str
        Position to words.
    histories : mapping, optional
        From :func:`tirelife.tread.wheel_histories`, if at hand.
    """
    out = [*_leaks(book, rows), *_pattern(book, vehicle_id, labels, histories)]
    pressure = pressure_step(sliders, book.units)
    if pressure:
        out.append(pressure)
    return tuple(dict.fromkeys(out))


def pressure_step(sliders: Mapping[str, Any], units: str) -> str:
    """Say how far below the placard the tires ran, if they did."""
    low = -next(float(c["value"]) for c in sliders["controls"] if c["id"] == "pressure")
    unit = SHOWN[units]["pressure"]
    if convert(low, unit, "psi") < 0.9:
        return ""
    return f"Set the pressures cold, to the placard: they ran about {low:g} {LABELS[unit]} low."


def _leaks(book: Logbook, rows: pd.DataFrame) -> list[str]:
    """A tire that lost more than 2 psi a month between its last two readings, beyond the gauge's error."""
    from tirelife.inflation import INSPECT_KPA_PER_MONTH, leaks

    table = leaks(book)
    table = table[table["tire_id"].isin(rows["tire_id"]) & (table["to_date"] >= book.as_of - RECENT)]
    last = table.sort_values("to_date").drop_duplicates("tire_id", keep="last")
    loss, error = last["loss_kpa_per_month"], last["loss_se_kpa_per_month"]
    fast = last[(loss > INSPECT_KPA_PER_MONTH) & (loss > 2 * error)]
    label = rows.set_index("tire_id")["label"]
    unit = SHOWN[book.units]["pressure"]
    return [
        f"Have the {str(label[tire]).lower()} tire checked for a leak: it lost about "
        f"{float(convert(kpa, 'kpa', unit)):.0f} {LABELS[unit]} a month."
        for tire, kpa in zip(fast["tire_id"], fast["loss_kpa_per_month"], strict=True)
    ]


def _pattern(
    book: Logbook,
    vehicle_id: str,
    labels: Mapping[str, str],
    histories: Mapping[str, Mapping[str, WheelHistory]] | None,
) -> list[str]:
    from tirelife.tread import measured_toe, weigh_causes, wheel_histories
    from tirelife.tread import next_steps as steps_of

    if histories is None:
        histories = wheel_histories(book, [vehicle_id])
    causes = weigh_causes(book, [vehicle_id], histories=histories)
    if causes.empty:
        return []
    drive = str(book.vehicles.set_index("vehicle_id").loc[vehicle_id, "drive"])
    steps = steps_of(causes, drive, histories=histories[vehicle_id], toe_mm=measured_toe(book, vehicle_id))
    out = []
    for step, where in zip(steps["step"], steps["where"], strict=True):
        if step in STEPS:
            places = [part.strip() for part in str(where).split(",")]
            said = words.joined([f"the {labels.get(place, place).lower()}" for place in places])
            out.append(STEPS[str(step)].format(where=said))
    return out or ["Rotate as usual: the tread is even, as far as the gauge can tell."]


def reading_step(reading: pd.Series, as_of: pd.Timestamp, odometer_km: float, units: str) -> str:
    """Say when to measure again, and what it is worth.

    Parameters
    ----------
    reading : Series
        From :func:`tirelife.outlook.next_reading`: ``ahead_km``, ``date``, ``narrower``.
    as_of : Timestamp
    odometer_km : float
        Today. [km]
    units : str

    Examples
    --------
    >>> found = pd.Series({"ahead_km": 6000.0, "date": pd.Timestamp("2026-12-30"), "narrower": 0.34})
    >>> reading_step(found, pd.Timestamp("2026-09-30"), 54_000.0, "us")
    'Measure again in about 3 months, near 37,300 miles. That should narrow the window by about a third.'
    """
    if pd.isna(reading["date"]) or not np.isfinite(reading["narrower"]):
        return "Measure again at every visit from now on."
    when = words.span_of_time(float((reading["date"] - as_of).days))
    far = odometer_km + float(reading["ahead_km"])
    near = f", near {words.distance(far, units, 4000.0)}" if np.isfinite(far) else ""
    much = (
        f"That should narrow the window by about {words.share(float(reading['narrower']))}."
        if reading["narrower"] >= HARDLY
        else "That would hardly narrow the window: most of what is unknown is the driving ahead."
    )
    return f"Measure again in {when}{near}. {much}"

"""Temperatures outside, of a visit or of all a vehicle's: as typed, or Celsius for Fahrenheit."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.chain import codes_of, distinct
from tirelife.logbook.codes import Slip
from tirelife.logbook.parse import Parsed
from tirelife.logbook.slips.depths import ASKED
from tirelife.logbook.values import dates_to_days
from tirelife.units import convert

__all__ = ["judge_temperatures", "season_of"]

_PRIOR: Final = float(np.log(1 / 20))
"""Log prior of a temperature in the other unit; our assumption."""
_TAIL, _WIDE = 1 / 1000, 1.7
_USUAL_C, _USUAL_SD, _LEAST_SD = 13.0, 11.0, 3.0
"""Usual temperature outside, its deviation over the year, and the least about a season's [°C]; ours."""
_ENOUGH = 24
"""So many visits, over half a year or more, tell a place's seasons; our assumption."""


def judge_temperatures(
    table: Parsed, ids: NDArray[np.object_]
) -> tuple[dict[int, Note], NDArray[np.intp], NDArray[np.intp]]:
    """Visits whose temperatures are likelier in the other unit than as typed, by 100 to 1 or more.

    Returns
    -------
    notes : dict of int to Note
        By number of the visit.
    records, visit : ndarray
        Records that were judged, and the visit of each.

    Notes
    -----
    The season is that of the log's own temperatures, by the sine and cosine of the year. A vehicle all of
    whose visits together are likelier in the other unit is asked about at each.
    """
    none = np.zeros(0, dtype=np.intp)
    celsius = table.number.get("ambient_c")
    if celsius is None or "vehicle_id" not in table.text or "date" not in table.date:
        return {}, none, none
    vehicle, day = codes_of(table, "vehicle_id", ids), dates_to_days(table.date["date"])
    records = np.flatnonzero((vehicle >= 0) & (day > -(10**6)) & np.isfinite(celsius))
    if not len(records):
        return {}, none, none
    visit, first = distinct(vehicle[records], day[records])
    typed_c = np.bincount(visit, celsius[records]) / np.bincount(visit)
    who, when = vehicle[records][first], day[records][first]
    expected, sd = season_of(when, typed_c)

    def normal(value: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(-0.5 * ((value - expected) / sd) ** 2)

    unit = table.unit["ambient_c"]
    other = "f" if unit == "c" else "c"
    plain = normal(typed_c)
    typed = np.logaddexp(plain + np.log1p(-_TAIL), plain / _WIDE**2 - np.log(_WIDE) + np.log(_TAIL))
    meant = np.asarray(convert(convert(typed_c, "c", unit), other, "c"))
    factor = np.log(5 / 9 if other == "f" else 9 / 5)
    odds = normal(meant) + factor - typed
    whole = np.bincount(who, odds)
    several = np.bincount(who) > 1
    asked = (odds + _PRIOR > ASKED) | (several & (whole + _PRIOR > ASKED))[who]
    notes = {
        int(i): Note(
            Slip.TEMPERATURE_UNIT,
            Severity.DOUBT,
            (("odds", float(np.exp(min(max(odds[i], whole[who[i]]) + _PRIOR, 50.0)))), ("unit", other)),
        )
        for i in np.flatnonzero(asked)
    }
    return notes, records, visit


def season_of(day: NDArray[np.int64], celsius: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Temperature of each day by the log's seasons, and the deviation about it [°C]."""
    if len(day) < _ENOUGH or np.ptp(day) < 180:
        return np.full(len(day), _USUAL_C), _USUAL_SD
    angle = 2 * np.pi * day / 365.25
    columns = np.column_stack([np.ones(len(day)), np.cos(angle), np.sin(angle)])
    use = np.ones(len(day), dtype=bool)
    sd = _USUAL_SD
    for _ in range(5):  # what is far off the season tells nothing of it
        line = np.linalg.lstsq(columns[use], celsius[use], rcond=None)[0]
        gap = celsius - columns @ line
        sd = max(1.48 * float(np.median(np.abs(gap[use]))), _LEAST_SD)
        use = np.abs(gap) < 3 * sd
    return columns @ line, sd

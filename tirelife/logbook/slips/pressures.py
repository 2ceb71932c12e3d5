"""Each visit's pressures as a whole: as typed, absolute, or in another unit."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.chain import codes_of, distinct
from tirelife.logbook.codes import Slip
from tirelife.logbook.parse import Parsed
from tirelife.logbook.slips.depths import ASKED, Judged
from tirelife.logbook.values import dates_to_days
from tirelife.positions import FRONT, REAR
from tirelife.units import convert

__all__ = ["judge_pressures"]

ATMOSPHERE: Final = 101.325
"""Standard atmosphere [kPa]: ISO 2533."""
_WARM: Final = {"cold": 0.0, "city": 15.0, "highway": 30.0}
"""What driving adds to a cold pressure [kPa]; common practice, no source."""
_VISIT, _WHEEL, _LOW = 18.0, 15.0, -10.0
"""Standard deviations of a visit and of a wheel about the placard, and their mean [kPa]; our assumptions, the
first two scaled by what the log shows."""
_LEAST = 8.0
"""Both are no less than this [kPa]: a gauge's own error, and a day's weather; our assumption."""
_PRIOR, _TAIL = float(np.log(1 / 100)), 1 / 1000
"""Log prior of a visit with such a slip; share of visits off by twice the usual; our assumptions."""
_SHRINK = 12
"""So many visits of the usual spreads are added to those of the log; our assumption."""


def judge_pressures(
    table: Parsed, vehicles: Parsed, ids: NDArray[np.object_]
) -> tuple[list[Judged], NDArray[np.intp], NDArray[np.intp]]:
    """Visits whose pressures are likelier absolute, or in another unit, than as typed, by 100 to 1 or more.

    Returns
    -------
    judged : list of Judged
    records, visit : ndarray
        Records that were judged, and the visit of each.
    """
    none = np.zeros(0, dtype=np.intp)
    needed = "vehicle_id" in table.text and "position" in table.text and "pressure_kpa" in table.number
    placards = [vehicles.number.get(f"placard_{axle}_kpa") for axle in ("front", "rear")]
    if not needed or "date" not in table.date or placards[0] is None or placards[1] is None:
        return [], none, none
    order = np.full(len(ids), 0)
    order[vehicles.text["vehicle_id"].codes] = np.arange(len(vehicles))
    vehicle, day = codes_of(table, "vehicle_id", ids), dates_to_days(table.date["date"])
    position = table.text["position"].text().astype(str)
    front, rear = np.isin(position, FRONT), np.isin(position, REAR)
    placard = np.where(front, placards[0][order[vehicle]], placards[1][order[vehicle]])
    value = table.number["pressure_kpa"]
    good = (vehicle >= 0) & (day > -(10**6)) & np.isfinite(value + placard) & (value > 0) & (front | rear)
    records = np.flatnonzero(good)
    if not len(records):
        return [], none, none
    visit, _ = distinct(vehicle[records], day[records])
    state = table.text["state"].text() if "state" in table.text else np.full(len(table), "cold", dtype=object)
    warm = np.array([_WARM.get(str(word), 0.0) for word in state[records]])
    aim, typed_kpa = placard[records] + warm + _LOW, value[records]
    n = np.bincount(visit)

    visit_sd, wheel = _spreads(typed_kpa - aim, visit, n)

    def normal(kpa: NDArray[np.float64]) -> NDArray[np.float64]:
        gap = kpa - aim
        total, squares = np.bincount(visit, gap), np.bincount(visit, gap**2)
        shared = visit_sd**2 / (wheel**2 + n * visit_sd**2)
        return np.asarray(-0.5 * (squares - shared * total**2) / wheel**2)

    plain = normal(typed_kpa)
    typed = np.logaddexp(plain + np.log1p(-_TAIL), plain / 4 - n * np.log(2) + np.log(_TAIL))
    unit = table.unit["pressure_kpa"]
    middle = np.bincount(visit, typed_kpa) / n
    names: list[tuple[Slip, str]] = [(Slip.ABSOLUTE, unit)]
    meant, columns = [middle - ATMOSPHERE], [normal(typed_kpa - ATMOSPHERE) + _PRIOR - typed]
    for other in ("kpa", "psi", "bar"):
        if other != unit:
            factor = float(convert(1.0, other, "kpa")) / float(convert(1.0, unit, "kpa"))
            names.append((Slip.PRESSURE_UNIT, other))
            meant.append(middle * factor)
            columns.append(normal(typed_kpa * factor) + n * np.log(factor) + _PRIOR - typed)
    odds = np.array(columns).T
    out = []
    for i in np.flatnonzero(odds.max(axis=1) > ASKED):
        best = int(np.argmax(odds[i]))
        slip, other = names[best]
        values: tuple[tuple[str, object], ...] = (
            ("odds", float(np.exp(min(odds[i, best], 50.0)))),
            ("meant", f"{float(convert(meant[best][i], 'kpa', unit)):.4g}"),
            ("column_unit", unit),
            ("unit", other),
        )
        out.append(Judged(int(i), float(odds[i, best]), Note(slip, Severity.DOUBT, values)))
    return out, records, visit


def _spreads(gap: NDArray[np.float64], visit: NDArray[np.intp], n: NDArray[np.intp]) -> tuple[float, float]:
    """Standard deviations of a visit and of a wheel [kPa], from the middle half of the log's visits."""
    mean = np.bincount(visit, gap) / n
    far = np.abs(mean - np.median(mean))
    several = n[visit] > 1
    out = []
    spreads = (far, _VISIT), (np.abs(gap - mean[visit])[several], _WHEEL)
    for off, usual in spreads:
        many = len(mean)
        seen = min(1.48 * float(np.median(off)), 1.25 * usual) if len(off) else usual
        out.append(np.sqrt((many * seen**2 + _SHRINK * usual**2) / (many + _SHRINK)))
    return max(float(out[0]), _LEAST), max(float(out[1]), _LEAST)

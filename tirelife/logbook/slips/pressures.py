"""Each visit's pressures as a whole: as typed or absolute; those in other units lie out of range."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.chain import codes_of, distinct
from tirelife.logbook.parse import Parsed
from tirelife.logbook.slips.codes import Slip
from tirelife.logbook.slips.depths import ASKED, Judged
from tirelife.logbook.values import dates_to_days

__all__ = ["judge_pressures"]

ATMOSPHERE: Final = 101.325
"""Standard atmosphere [kPa]: ISO 2533."""
_WARM: Final = {"cold": 0.0, "city": 15.0, "highway": 30.0}
"""What driving adds to a cold pressure [kPa]; common practice, no source."""
_LEAN, _WHEEL, _LOW = 18.0, 15.0, -10.0
"""Standard deviations of a visit and of a wheel about the placard, and their mean [kPa]; our assumptions."""
_PRIOR, _TAIL = float(np.log(1 / 300)), 1 / 1000
"""Log prior of a visit of absolute pressures; share of visits off by twice the usual; our assumptions."""


def judge_pressures(
    table: Parsed, vehicles: Parsed, ids: NDArray[np.object_]
) -> tuple[list[Judged], NDArray[np.intp], NDArray[np.intp]]:
    """Visits whose pressures are likelier absolute than as typed, by 100 to 1 or more.

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
    front, rear = np.char.endswith(position, "F"), np.isin(position, ("LR", "RR"))
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

    def normal(kpa: NDArray[np.float64]) -> NDArray[np.float64]:
        gap = kpa - aim
        total, squares = np.bincount(visit, gap), np.bincount(visit, gap**2)
        shared = _LEAN**2 / (_WHEEL**2 + n * _LEAN**2)
        return np.asarray(-0.5 * (squares - shared * total**2) / _WHEEL**2)

    plain = normal(typed_kpa)
    typed = np.logaddexp(plain + np.log1p(-_TAIL), plain / 4 - n * np.log(2) + np.log(_TAIL))
    unit = table.unit["pressure_kpa"]
    odds = normal(typed_kpa - ATMOSPHERE) + _PRIOR - typed
    middle = np.bincount(visit, typed_kpa) / n
    out = []
    for i in np.flatnonzero(odds > ASKED):
        values: tuple[tuple[str, object], ...] = (
            ("odds", float(np.exp(min(odds[i], 50.0)))),
            ("meant_kpa", float(middle[i] - ATMOSPHERE)),
            ("column_unit", unit),
        )
        out.append(Judged(int(i), float(odds[i]), Note(Slip.ABSOLUTE, Severity.DOUBT, values)))
    return out, records, visit

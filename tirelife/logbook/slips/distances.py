"""Vehicles all of whose odometers may be in the other unit, by how far they run and how fast they wear."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.depths import ASKED, Judged
from tirelife.logbook.slips.visits import Visits
from tirelife.units import convert

__all__ = ["judge_distances"]

_PRIOR: Final = float(np.log(1 / 100))
"""Log prior of a vehicle whose odometers are all in the other unit; our assumption."""
_PACE_SD, _WEAR_SD, _SHRINK = 0.4, 0.3, 8
"""Log sd between vehicles of distance a day and of wear by distance: usual values, and the number of vehicles
that they count as; our assumptions."""
_LEAST = 5
"""Vehicles from which a log can be compared with itself; our assumption."""


def judge_distances(visits: Visits, unit: str) -> list[Judged]:
    """Vehicles that are likelier in the other unit of distance than as typed, by 100 to 1 or more.

    Notes
    -----
    Vehicles differ in both by nearly as much as a mile from a kilometre, so that few such vehicles can be
    told from others that run far and wear little.
    """
    who, number = np.unique(visits.vehicle, return_inverse=True)
    first = np.r_[True, np.diff(number) != 0]
    last = np.r_[np.diff(number) != 0, True]
    days = (visits.day[last] - visits.day[first]).astype(float)
    run = visits.km[last] - visits.km[first]
    fall, far = _wear(visits, number, len(who))
    good = (days > 60) & (run > 1000) & (fall > 0.5) & (far > 0)
    if good.sum() < _LEAST:
        return []
    with np.errstate(invalid="ignore", divide="ignore"):
        pace, wear = np.log(run / days), np.log(fall / far)
    spreads = [_spread(pace[good], _PACE_SD), _spread(wear[good], _WEAR_SD)]
    error = 1.0 / np.maximum(fall, 0.5)  # of a fall in mm, about a fifth of a millimetre at each end
    sds = spreads[0][1], np.hypot(spreads[1][1], 0.25 * error)
    other = "mi" if unit == "km" else "km"
    factor = float(np.log(float(convert(1.0, other, "km")) / float(convert(1.0, unit, "km"))))

    def normal(shift: float) -> NDArray[np.float64]:
        a = (pace + shift - spreads[0][0]) / sds[0]
        b = (wear - shift - spreads[1][0]) / sds[1]
        return np.asarray(-0.5 * (a**2 + b**2))

    pace, wear = np.where(good, pace, 0.0), np.where(good, wear, 0.0)
    odds = np.where(good, normal(factor) - normal(0.0) + _PRIOR, -np.inf)
    starts = np.flatnonzero(first)
    return [
        Judged(
            int(starts[i]),
            float(odds[i]),
            Note(
                Slip.CAR_DISTANCE,
                Severity.DOUBT,
                (("odds", float(np.exp(min(odds[i], 50.0)))), ("unit", other)),
            ),
        )
        for i in np.flatnonzero(odds > ASKED)
    ]


def _wear(
    visits: Visits, number: NDArray[np.intp], size: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """By vehicle: what its tires lost between their first and last reading [mm a tire], and ran [km]."""
    life = visits.life.ravel()
    use = (life >= 0) & np.isfinite(visits.depth.ravel())
    order = np.lexsort((visits.run.ravel()[use], life[use]))
    life, run = life[use][order], visits.run.ravel()[use][order]
    depth, who = visits.depth.ravel()[use][order], np.repeat(number, visits.life.shape[1])[use][order]
    same = life[1:] == life[:-1]
    fall = np.bincount(who[1:][same], -np.diff(depth)[same], size)
    far = np.bincount(who[1:][same], np.diff(run)[same], size)
    wheels = visits.life.shape[1]
    return fall / wheels, far / wheels


def _spread(value: NDArray[np.float64], usual: float) -> tuple[float, float]:
    middle = float(np.median(value))
    seen = 1.48 * float(np.median(np.abs(value - middle)))
    many = len(value)
    return middle, float(np.sqrt((many * seen**2 + _SHRINK * usual**2) / (many + _SHRINK)))

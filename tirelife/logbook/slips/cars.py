"""Each vehicle's depths as a whole: as typed, or all of them in another unit, tenfold or not read at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.depths import ASKED, RARE, TAIL, UNIT, Judged
from tirelife.logbook.slips.digits import digit_odds
from tirelife.logbook.slips.predict import Law, covariance, mean_of, windows
from tirelife.logbook.slips.visits import WHEELS, Visits
from tirelife.units import convert

__all__ = ["judge_cars"]


def judge_cars(visits: Visits, unit: str, law: Law) -> list[Judged]:
    """Vehicles whose whole log is likelier with a slip, by 100 to 1 or more.

    Returns
    -------
    list of Judged
        ``visit`` is the vehicle's first.

    Notes
    -----
    A vehicle is held against its tires' new depths, the usual wear of the log and the digits of the others'
    readings. One whose tires' new depth is not known is held against where the log's tires began.
    """
    number = np.unique(visits.vehicle, return_inverse=True)[1]
    digits = digit_odds(visits.off_halves, visits.readings, number)
    out = []
    for index, own in windows(visits.vehicle):
        firsts = index[own[:, 0]]  # of a long log its first window
        chunk = max(1, 4_000_000 // (index.shape[1] * WHEELS) ** 2)
        for a in range(0, len(firsts), chunk):
            part = firsts[a : a + chunk]
            here = {name: odds[number[part[:, 0]]] for name, odds in digits.items()}
            out += _cars(visits, law, part, unit, here)
    return out


def _cars(
    visits: Visits, law: Law, index: NDArray[np.intp], unit: str, digits: dict[str, NDArray[np.float64]]
) -> list[Judged]:
    read = visits.life[index] >= 0
    number = read.sum(axis=(1, 2))
    enough = number >= 2 * WHEELS
    mean = mean_of(visits, law, index)
    precision = np.linalg.inv(covariance(visits, law, index, np.zeros(len(visits), dtype=bool)))
    precision = precision / law.scale**2

    def normal(factor: float) -> NDArray[np.float64]:
        gap = np.where(read, visits.depth[index] * factor - mean, 0.0).reshape(len(index), -1)
        return np.asarray(-0.5 * np.einsum("wi,wij,wj->w", gap, precision, gap))

    plain = normal(1.0)
    typed = np.logaddexp(plain + np.log1p(-TAIL), plain / 9 - number * np.log(3) + np.log(TAIL))
    names: list[tuple[Slip, dict[str, object]]] = []
    odds: list[NDArray[np.float64]] = []
    for other in ("mm", "32nds"):
        if other != unit:
            factor = float(convert(1.0, other, "mm")) / float(convert(1.0, unit, "mm"))
            names.append((Slip.CAR_UNIT, {"unit": other}))
            odds.append(normal(factor) + number * np.log(factor) + UNIT + digits[other] - typed)
    for factor in (10.0, 0.1):
        names.append((Slip.CAR_TENFOLD, {"factor": factor}))
        odds.append(normal(factor) + number * np.log(factor) + RARE - typed)
    nothing = (np.where(read, visits.depth[index], 0.0) == 0).all(axis=(1, 2))
    names.append((Slip.CAR_ZERO, {}))
    odds.append(np.where(nothing, 2 * ASKED, -np.inf))
    table = np.array(odds).T
    out = []
    for i in np.flatnonzero((table.max(axis=1) > ASKED) & enough):
        best = int(np.argmax(table[i]))
        slip, values = names[best]
        told = (("odds", float(np.exp(min(table[i, best], 50.0)))), *values.items())
        out.append(Judged(int(index[i, 0]), float(table[i, best]), Note(slip, Severity.DOUBT, told)))
    return out

"""Each visit's depths as a whole: as typed, or one of the slips that people make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.digits import digit_odds
from tirelife.logbook.slips.predict import Law, Left, leave_out
from tirelife.logbook.slips.visits import WHEELS, Visits
from tirelife.units import convert

__all__ = ["ASKED", "RARE", "TAIL", "UNIT", "Judged", "judge_visits", "odds_alone", "odds_rule"]

ASKED: Final = float(np.log(100.0))
"""Log odds from which a record is asked about."""
_ASKED_UNFIT: Final = float(np.log(1e6))
UNIT, RARE, _NEW = (float(np.log(p)) for p in (1 / 10, 1 / 200, 1 / 200))
"""Log prior of a visit in another unit, of any other slip, of a mount not recorded; our assumptions."""
_VALUES: Final = float(np.log(20.0))
"""A depth that is filled in all over is one of so many; our assumption."""
_ALIKE: Final = 8
"""Readings of a visit from which one value all over is odd."""
TAIL = 1 / 500
"""Share of visits whose errors are three times the usual; our assumption."""
_ROUNDS = 4
_SWAPS: Final = {
    "sides": (1, 0, 3, 2), "axles": (2, 3, 0, 1), "both": (3, 2, 1, 0), "front": (1, 0, 2, 3),
    "rear": (0, 1, 3, 2), "left": (2, 1, 0, 3), "right": (0, 3, 2, 1), "diagonal": (3, 1, 2, 0),
    "other diagonal": (0, 2, 1, 3),
}  # fmt: skip
_MOUNTED: Final = {"LF and RF": (0, 1), "LR and RR": (2, 3), "all wheels": (0, 1, 2, 3)}


@dataclass(frozen=True)
class Judged:
    """What is asked: the visit, the log odds against it as typed, and the likelier reading."""

    visit: int
    odds: float
    note: Note


def judge_visits(visits: Visits, unit: str, law: Law, left: Left) -> list[Judged]:
    """Visits that are less likely as typed than with a slip, by 100 to 1 or more.

    Parameters
    ----------
    visits : Visits
    unit : str
        Of the depth column.
    law, left
        From :func:`tirelife.logbook.slips.predict.learn`.

    Returns
    -------
    list of Judged
        One a visit. The oddest visit of a vehicle is judged first; the others are then judged without it.
    """
    out: dict[int, Judged] = {}
    set_aside = np.zeros(len(visits), dtype=bool)
    todo = np.ones(len(visits), dtype=bool)
    expected, precision = left.expected.copy(), left.precision.copy()
    for turn in range(_ROUNDS):
        if turn:
            again = leave_out(visits, law, set_aside, todo)
            expected[todo], precision[todo] = again.expected[todo], again.precision[todo]
        names, odds, unfit = _odds(visits, law, Left(expected, precision), unit)
        best = np.argmax(odds, axis=1)
        top = np.logaddexp.reduce(odds, axis=1)
        top = np.where(np.isfinite(expected).any(axis=1) & ~set_aside & todo, top, -np.inf)
        strange = np.where(unfit > _ASKED_UNFIT, unfit - _ASKED_UNFIT + ASKED, -np.inf)
        score = np.where(top > ASKED, top, strange)
        score = np.where(np.isneginf(top), -np.inf, score)
        asked = np.flatnonzero(score > ASKED)
        if not len(asked):
            break
        order = asked[np.lexsort((-score[asked], visits.vehicle[asked]))]
        first = order[np.r_[True, np.diff(visits.vehicle[order]) != 0]]
        for i in first:
            named = top[i] > ASKED
            note = names[best[i]] if named else (Slip.UNFIT, {})
            values = (("odds", float(np.exp(min(score[i], 50.0)))), *note[1].items())
            out[int(i)] = Judged(int(i), float(score[i]), Note(note[0], Severity.DOUBT, values))
        set_aside[first] = True
        todo = np.isin(visits.vehicle, visits.vehicle[first])
    return [out[i] for i in sorted(out)]


def _odds(
    visits: Visits, law: Law, left: Left, unit: str
) -> tuple[list[tuple[Slip, dict[str, object]]], NDArray[np.float64], NDArray[np.float64]]:
    """Log odds of each slip against the visit as typed, and of a visit that fits nothing."""
    read = np.isfinite(left.expected)
    number = read.sum(axis=1)
    depth = np.where(read, visits.depth, 0.0)
    expected = np.where(read, left.expected, 0.0)
    _, size = np.linalg.slogdet(left.precision)

    def normal(value: NDArray[np.float64]) -> NDArray[np.float64]:
        gap = np.where(read, value - expected, 0.0)
        return np.asarray(-0.5 * np.einsum("vi,vij,vj->v", gap, left.precision, gap))

    plain = normal(depth)
    typed = np.logaddexp(plain + np.log1p(-TAIL), plain / 9 - number * np.log(3) + np.log(TAIL))
    names: list[tuple[Slip, dict[str, object]]] = []
    columns: list[NDArray[np.float64]] = []

    def add(slip: Slip, log_odds: NDArray[np.float64], **values: object) -> None:
        names.append((slip, values))
        columns.append(log_odds - typed)

    digits = digit_odds(visits.off_halves, visits.readings, np.arange(len(visits)))
    for other in ("mm", "32nds"):
        if other != unit:
            factor = float(convert(1.0, other, "mm")) / float(convert(1.0, unit, "mm"))
            prior = UNIT + number * np.log(factor) + digits[other]
            add(Slip.OTHER_UNIT, normal(depth * factor) + prior, unit=other)
    for factor in (10.0, 0.1):
        add(Slip.TENFOLD, normal(depth * factor) + number * np.log(factor) + RARE, factor=factor)
    cell = np.log(max(visits.step, 0.05)) * number
    nothing = (depth == 0).all(axis=1) & (number > 0)
    whole = 0.5 * size - 0.5 * number * np.log(2 * np.pi)
    add(Slip.ALL_ZERO, np.where(nothing, RARE - cell - whole, -np.inf))
    low, high = (pick(visits.cells, axis=(1, 2), initial=far, where=np.isfinite(visits.cells))
                 for pick, far in ((np.min, np.inf), (np.max, -np.inf)))  # fmt: skip
    alike = (low == high) & (visits.readings >= _ALIKE) & (number > 1)
    add(Slip.ALL_ALIKE, np.where(alike, RARE - _VALUES - cell - whole, -np.inf))
    for swap, places in _SWAPS.items():
        at = list(places)
        sure = ~visits.moved & (read == read[:, at]).all(axis=1)
        differ = (np.abs(depth[:, at] - depth) > 0).any(axis=1)
        several = swap in ("sides", "axles", "both")
        prior = RARE - (0.0 if swap in ("sides", "axles") else np.log(4))
        if several:  # with less than four wheels read it is the swap of two
            sure &= number == WHEELS
        add(Slip.SWAPPED, np.where(sure & differ, normal(depth[:, at]) + prior, -np.inf), swap=swap)
    new = np.where(np.isfinite(visits.new), visits.new, law.start) - 0.3
    for words, wheels in _MOUNTED.items():
        fresh = np.zeros(WHEELS, dtype=bool)
        fresh[list(wheels)] = True
        rest = normal(np.where(fresh, expected, depth))
        sd = 0.6 * law.scale
        beside = np.where(fresh & read, -0.5 * ((depth - new) / sd) ** 2 - np.log(sd), 0.0).sum(axis=1)
        many = (fresh & read).sum(axis=1)
        gain = np.where(fresh & read, depth - expected, 0.0).sum(axis=1) / np.maximum(many, 1)
        share = np.where(fresh & read, np.log(np.einsum("vii->vi", left.precision)), 0.0).sum(axis=1) / 2
        ok = (gain > 1.5) & (many >= 2)
        add(Slip.NEW_TIRES, np.where(ok, rest + beside - share + _NEW, -np.inf), places=words)
    unfit = plain / 25 - number * np.log(5) + RARE - typed
    return names, np.array(columns).T, unfit


def odds_rule() -> dict[str, object]:
    """Priors, limits and slips of :func:`judge_visits`, as plain numbers: for a twin in another language."""
    return {
        "tail": TAIL, "unit": UNIT, "rare": RARE, "new_tires": _NEW, "values": _VALUES, "alike": _ALIKE,
        "asked": ASKED, "asked_unfit": _ASKED_UNFIT, "swaps": {k: list(v) for k, v in _SWAPS.items()},
        "mounted": {k: list(v) for k, v in _MOUNTED.items()},
    }  # fmt: skip


def odds_alone(visits: Visits, law: Law, left: Left, unit: str) -> list[tuple[Note | None, float]]:
    """What :func:`judge_visits` asks of each visit by itself, and log odds; None where it asks nothing."""
    names, odds, unfit = _odds(visits, law, left, unit)
    top = np.logaddexp.reduce(odds, axis=1)
    out: list[tuple[Note | None, float]] = []
    for i, best in enumerate(np.argmax(odds, axis=1)):
        slip, values = names[int(best)]
        if top[i] > ASKED:
            out.append((Note(slip, Severity.DOUBT, tuple(values.items())), float(top[i])))
        elif unfit[i] > _ASKED_UNFIT:
            out.append((Note(Slip.UNFIT, Severity.DOUBT), float(unfit[i] - _ASKED_UNFIT + ASKED)))
        else:
            out.append((None, float(top[i])))
    return out

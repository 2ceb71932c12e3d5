"""Single readings with a digit off, by the other grooves of the wheel and the tire's other visits."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.logbook.codes import Slip
from tirelife.logbook.parse import Parsed
from tirelife.logbook.slips.depths import ASKED
from tirelife.logbook.slips.predict import Law, Left
from tirelife.logbook.slips.visits import Visits, off_halves
from tirelife.units import convert

__all__ = ["expected_cells", "judge_readings", "words_of"]

_PRIOR: Final = float(np.log(1 / 200))
"""Log prior of a digit off in a reading: of fields keyed once, 0.3 to 1 % are wrong (from memory)."""
_TAIL, _WIDE, _AS_MANY = 1 / 10_000, 3.0, 20_000
"""Share of readings whose error is so many times the usual, told as by so many readings; our assumption."""
_TAILS: Final = (3.5, 6.5)
"""Errors that tell of such tails: less is usual, more may be slips [standard errors]."""
_READING, _PATTERN = 0.25, 0.5
"""Standard deviations of a reading, and of grooves of a tire about each other [mm]; our assumptions, the
first scaled by what the log shows."""
_ODD = 3.5
_NAMED: Final = float(np.log(10.0))
"""Log odds from which the slip of a reading that is asked about anyway is named."""
_MIDDLE, _MIDDLE_SD = 0.95, 0.871
"""The middle share of errors that tells how far readings are off, and its deviation under the normal
distribution."""
_BESIDE: Final = 0.5
"""A second wheel that is odd by this share of the oddest makes the whole visit odd, not a reading; ours."""


def judge_readings(
    depths: Parsed, visits: Visits, law: Law, left: Left, doubted: NDArray[np.bool_]
) -> list[tuple[int, float, Note]]:
    """Readings that are likelier with a digit off than as typed, by 100 to 1; by 10 where asked anyway.

    Parameters
    ----------
    depths : Parsed
    visits : Visits
    law, left
        From :func:`tirelife.logbook.slips.predict.learn`.
    doubted : ndarray of bool, shape (records,)
        Readings that are asked about already: a digit off is then named if it is likelier by 10 to 1.

    Returns
    -------
    list of (record, odds, Note)
        Log odds; ``meant`` is the likeliest depth in the column's unit.
    """
    expected, sd = expected_cells(visits, law, left)
    gap = (visits.cells - expected) / sd
    held = np.isfinite(gap)
    if not held.any():
        return []
    sizes = np.abs(gap[held])
    # A median would jump by whole steps of the gauge.
    middle = sizes[sizes <= np.quantile(sizes, _MIDDLE)]
    seen = float(np.sqrt(np.mean(middle**2))) / _MIDDLE_SD
    many = int(held.sum())
    sd = sd * np.sqrt((many * max(seen, 0.5) ** 2 + 50) / (many + 50))
    odd = held & (np.abs(visits.cells - expected) > _ODD * sd) & (visits.counts == 1)
    far = np.where(odd, np.abs(visits.cells - expected) / sd, 0.0)
    by_wheel = np.sort(far.max(axis=2), axis=1)[:, ::-1]
    alone = by_wheel[:, 1] < _BESIDE * by_wheel[:, 0]  # several wheels are no slip of one digit
    # A wrong one makes its neighbours odd, too.
    odd &= alone[:, None, None] & (far == far.max(axis=(1, 2), keepdims=True))
    # And its tire's other visits: the oddest reading of a tire is asked about, the others once it is mended.
    tire = far.max(axis=2)
    oddest = np.zeros(int(visits.life.max(initial=-1)) + 2)
    np.maximum.at(oddest, visits.life.ravel(), tire.ravel())
    odd &= (tire == oddest[visits.life])[:, :, None]
    tails = ((oddest > _TAILS[0]) & (oddest < _TAILS[1])).sum()  # one a tire, and none beside a slip
    tail = (float(tails) + _AS_MANY * _TAIL) / (many + _AS_MANY)
    flat = odd.reshape(len(visits), -1)
    hits = visits.records[flat[visits.visit, visits.place]]
    cells = (visits.visit * flat.shape[1] + visits.place)[flat[visits.visit, visits.place]]
    unit, out = depths.unit["depth_mm"], []
    written = depths.written("depth_mm", hits)
    # Tenths are of a gauge in mm: where the number fits as such, it is no slip of a digit.
    tenths = off_halves(depths, hits) & (unit == "32nds")
    for record, cell, word, in_mm in zip(hits, cells, written, tenths, strict=True):
        middle, spread = float(expected.ravel()[cell]), float(sd.ravel()[cell])
        words = words_of(str(word))
        if not words:
            continue
        inside = convert(np.array([float(one) for one in words]), unit, "mm")
        plain = -0.5 * ((float(visits.cells.ravel()[cell]) - middle) / spread) ** 2
        typed = np.logaddexp(plain + np.log1p(-tail), plain / _WIDE**2 - np.log(_WIDE) + np.log(tail))
        each = -0.5 * ((inside - middle) / spread) ** 2 - np.log(len(words)) + _PRIOR - typed
        odds = float(np.logaddexp.reduce(each))
        as_mm = float(convert(float(visits.cells.ravel()[cell]), "mm", unit))
        if doubted[record] and in_mm and abs(as_mm - middle) < float(np.abs(inside - middle).min()):
            continue
        if odds > (_NAMED if doubted[record] else ASKED):
            told = (
                ("odds", float(np.exp(min(odds, 50.0)))),
                ("meant", words[int(np.argmax(each))]),
                ("unit", unit),
            )
            out.append((int(record), odds, Note(Slip.DIGIT, Severity.DOUBT, told)))
    return out


def words_of(word: str) -> list[str]:
    """Depths that one slip of a finger makes this word of: a digit off, or the decimal point."""
    made = {
        word[:i] + digit + word[i + 1 :]
        for i, letter in enumerate(word)
        if letter.isdigit()
        for digit in "0123456789"
    }
    try:
        value = float(word)
    except ValueError:
        return []
    made |= {f"{value * 10:g}", f"{value / 10:g}"}
    return sorted(one for one in made if float(one) != value and float(one) < 1000)


def expected_cells(visits: Visits, law: Law, left: Left) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Each groove by the others of its wheel and how they differed before and after; its deviation [mm]."""
    cells = visits.cells
    read = np.isfinite(cells)
    number = read.sum(axis=2, keepdims=True)
    total = np.where(read, cells, 0.0).sum(axis=2, keepdims=True)
    own = _READING * law.scale
    with np.errstate(invalid="ignore", divide="ignore"):
        others = np.where(number > 1, (total - cells) / (number - 1), np.nan)
        offset = np.where(read, cells - others, np.nan)
    n, wheels, grooves = cells.shape
    life = visits.life.ravel()
    order = np.lexsort((np.repeat(np.arange(n), wheels), life))
    sorted_life, flat = life[order], offset.reshape(-1, grooves)[order]
    said = []
    for step in (-2, -1, 1, 2):
        at = np.arange(len(order)) + step
        inside = (at >= 0) & (at < len(order))
        at = np.where(inside, at, 0)
        same = inside & (sorted_life[at] == sorted_life) & (sorted_life >= 0)
        said.append(np.where(same[:, None], flat[at], np.nan))
    stacked = np.array(said)
    times = np.isfinite(stacked).sum(axis=0)
    usual = np.zeros(flat.shape)
    some = times > 0
    usual[some] = np.nanmedian(stacked[:, some], axis=0)
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    usual, times = usual[back].reshape(cells.shape), times[back].reshape(cells.shape)
    within = own**2 * (1 + 1 / np.maximum(number - 1, 1))
    variance = within * (1 + 1 / np.maximum(times, 1)) + np.where(times == 0, _PATTERN**2, 0.0)
    variance = variance + visits.step**2 / 6
    # With one groove at a wheel its other visits and the other wheels of the day are all there is.
    precision = left.precision
    share = np.einsum("vii->vi", precision)
    gap = np.where(np.isfinite(left.expected), visits.depth - left.expected, 0.0)
    rest = np.einsum("vij,vj->vi", precision, gap) - share * gap
    alone, alone_sd = (left.expected - rest / share)[..., None], np.sqrt(1 / share)[..., None]
    single = number == 1
    expected = np.where(single, alone, others + usual)
    return np.where(read, expected, np.nan), np.where(single, alone_sd, np.sqrt(variance))

"""Settle what a log says twice or leaves unsaid, before its tables are checked: repeats, tires taken off."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.chain import DAY, chain_of, distinct
from tirelife.logbook.codes import Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import Parsed
from tirelife.logbook.textfile import Cells
from tirelife.positions import OFF, POSITIONS

__all__ = ["settle"]

_OFF = POSITIONS.index(OFF)
_READ_AGAIN = 0.1
"""With differing readings in so large a share of the places read more than once, a shop reads each place
several times, and equal readings are no repeats; our assumption."""


@dataclass(frozen=True)
class _Readings:
    """What makes a visit, what makes a place read at it, and what is read.

    ``least``: so many distinct readings of a visit, all repeated, are taken for a visit entered again.
    """

    visit: tuple[str, ...]
    place: tuple[str, ...]
    value: str
    least: int


_READINGS = {
    "depths": _Readings(
        ("vehicle_id", "date", "odometer_km"), ("position", "groove", "spot", "gauge_id"), "depth_mm", 8
    ),
    "pressures": _Readings(
        ("vehicle_id", "date", "odometer_km"),
        ("position", "state", "ambient_c", "set_to_kpa", "gauge_id"),
        "pressure_kpa",
        4,
    ),
    "gauges": _Readings(("gauge_id", "date"), ("kind", "master", "unit"), "reading", 4),
}
_RECORDS = {"odometer": "odometer_km", "alignment": "axle", "habits": "from_date"}
"""Tables in which an equal record says nothing new, and the column that is named."""


def settle(parsed: dict[str, Parsed], found: Findings) -> dict[str, Parsed]:
    """Count exact repeats once, and take off the tire that another was put in the place of.

    Parameters
    ----------
    parsed : dict of Parsed
        Not changed.
    found : Findings
        Each repeat and each tire taken off is added as a doubt.

    Returns
    -------
    dict of Parsed
        The tables to go by. A tire taken off has a mount record more: that of the tire which took its place,
        with its own name and the position OFF.
    """
    out = {name: _once(table, found) for name, table in parsed.items()}
    needed = all(name in out for name in ("vehicles", "tires", "mounts"))
    if needed and "vehicle_id" in out["vehicles"].text and "tire_id" in out["tires"].text:
        out["mounts"] = _taken_off(
            out["mounts"], out["vehicles"].text["vehicle_id"].words, out["tires"].text["tire_id"].words, found
        )
    return out


def _once(table: Parsed, found: Findings) -> Parsed:
    """The table with exact repeats counted once."""
    readings = _READINGS.get(table.name)
    value = readings.value if readings is not None else _RECORDS.get(table.name, "")
    if not len(table) or value not in table.cells:
        return table
    code, first = distinct(*(cells.codes for cells in (*table.cells.values(), *table.extra.values())))
    count = np.bincount(code)
    if count.max() < 2:
        return table
    nth = np.empty(len(code), dtype=np.intp)
    order = np.argsort(code, kind="stable")
    nth[order] = np.arange(len(code)) - np.repeat(np.cumsum(count) - count, count)
    hits = nth > 0
    if readings is not None and _reads_again(table, readings, first):
        hits = _entered_again(table, readings, code, first, count, nth)
    if not hits.any():
        return table
    said = [{"row": int(row)} for row in table.rows[first[code[hits]]]]
    values = table.written(value, hits)
    found.add(
        table.file,
        table.rows[hits],
        table.raw[value],
        values,
        Found.REPEATED,
        said,
        doubt=True,
    )
    out = table.copy()
    out.keep(~hits)
    return out


def _reads_again(table: Parsed, readings: _Readings, first: NDArray[np.intp]) -> bool:
    """Whether the log shows that places are read several times without saying which reading is which."""
    names = [name for name in (*readings.visit, *readings.place) if name in table.cells]
    place, _ = distinct(*(table.cells[name].codes for name in names))
    values = np.bincount(place[first])  # distinct readings of a place
    several = np.bincount(place) > 1
    return bool(np.mean(values[several] > 1) >= _READ_AGAIN)


def _entered_again(
    table: Parsed,
    readings: _Readings,
    code: NDArray[np.intp],
    first: NDArray[np.intp],
    count: NDArray[np.intp],
    nth: NDArray[np.intp],
) -> NDArray[np.bool_]:
    """Repeats where equal readings are usual: at one spot, or of whole visits, or of the whole table."""
    visit = distinct(*(table.cells[name].codes for name in readings.visit if name in table.cells))[0][first]
    folds, many = np.zeros(int(visit.max()) + 1, dtype=count.dtype), np.bincount(visit)
    np.gcd.at(folds, visit, count)
    fold = np.where(many >= readings.least, folds, 1)[visit]
    if len(first) >= readings.least:
        fold = np.maximum(fold, np.gcd.reduce(count))
    spot = table.cells.get("spot")
    if spot is not None:
        named = np.array([bool(word.strip()) for word in spot.words], dtype=bool)
        fold = np.where(named[spot.codes[first]], count, fold)
    return np.asarray(nth >= (count // fold)[code])


def _taken_off(
    mounts: Parsed, vehicles: NDArray[np.object_], tires: NDArray[np.object_], found: Findings
) -> Parsed:
    """The mounts, with a record for each tire that left its place to another without one."""
    needed = {"tire_id", "vehicle_id", "position"}
    if not needed <= set(mounts.text) or "date" not in mounts.date or "odometer_km" not in mounts.number:
        return mounts
    chain = chain_of(mounts, vehicles, tires)
    on = np.flatnonzero((chain.position != _OFF) & (chain.end > chain.start))
    place = chain.vehicle[on] * len(POSITIONS) + chain.position[on]
    order = np.lexsort((chain.start[on], place))
    on, place = on[order], place[order]
    start, end, tire = chain.start[on], chain.end[on], chain.tire[on]
    # Of two at one moment nobody knows which came first; days decide else, as one day's odometers may differ.
    leaves = (place[1:] == place[:-1]) & (tire[1:] != tire[:-1]) & (start[1:] > start[:-1])
    at = np.flatnonzero(leaves & (start[1:] // DAY < end[:-1] // DAY))
    if not len(at):
        return mounts
    taker = chain.record[on[at + 1]]
    by_record = np.argsort(taker, kind="stable")
    at, taker = at[by_record], taker[by_record]
    said = [
        {
            "place": POSITIONS[chain.position[on[i]]],
            "vehicle_id": vehicles[chain.vehicle[on[i]]],
            "tire_id": tires[tire[i]],
            "day": str(np.datetime64(int(start[i] // DAY), "D")),
        }
        for i in at
    ]
    values = mounts.written("tire_id", taker)
    found.add(mounts.file, mounts.rows[taker], "tire_id", values, Found.TAKEN, said, doubt=True)
    left = {"tire_id": tires[tire[at]], "position": np.full(len(at), OFF, dtype=object)}

    def more(name: str, cells: Cells) -> Cells:
        texts = left.get(name)
        if texts is None:
            return Cells(np.r_[cells.codes, cells.codes[taker]], cells.words)
        new = [word for word in dict.fromkeys(texts) if word not in set(cells.words)]
        words = np.r_[cells.words, np.array(new, dtype=object)]
        return Cells(np.r_[cells.codes, pd.Index(words).get_indexer(pd.Index(texts))], words)

    def all_more(group: dict[str, Cells]) -> dict[str, Cells]:
        return {name: more(name, cells) for name, cells in group.items()}

    return replace(
        mounts,
        rows=np.r_[mounts.rows, mounts.rows[taker]],
        text=all_more(mounts.text),
        cells=all_more(mounts.cells),
        extra=all_more(mounts.extra),
        number={name: np.r_[values, values[taker]] for name, values in mounts.number.items()},
        date={name: np.r_[values, values[taker]] for name, values in mounts.date.items()},
    )

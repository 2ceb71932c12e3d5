"""Check the tables of a logbook against each other."""

from __future__ import annotations

import difflib

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.assumed import tell_unknown
from tirelife.logbook.chain import chain_of, check_chain
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.odometers import check_odometers
from tirelife.logbook.parse import Parsed
from tirelife.logbook.readings import check_depths, check_pressures
from tirelife.logbook.slips import ask_depths, ask_pressures
from tirelife.logbook.values import dates_to_days

__all__ = ["check_between"]


def check_between(parsed: dict[str, Parsed], found: Findings) -> None:
    """Check the tables against each other, as far as they can be read; problems are added to ``found``."""
    tell_unknown(parsed.get("vehicles"), found)
    _mixed_units(parsed, found)
    vehicles, tires, mounts = (parsed.get(name) for name in ("vehicles", "tires", "mounts"))
    if vehicles is None or "vehicle_id" not in vehicles.text:
        return
    ids = vehicles.text["vehicle_id"].words
    for name, table in parsed.items():
        if name != "vehicles" and "vehicle_id" in table.text:
            _unknown(table, "vehicle_id", ids, "vehicles", found)
    check_odometers(parsed, ids, found)
    if tires is None or mounts is None or "tire_id" not in tires.text:
        return
    tire_ids = tires.text["tire_id"].words
    if "tire_id" in mounts.text:
        _unknown(mounts, "tire_id", tire_ids, "tires", found)
    needed = {"tire_id", "vehicle_id", "position"}
    if not needed <= set(mounts.text) or "date" not in mounts.date or "odometer_km" not in mounts.number:
        return
    chain = chain_of(mounts, ids, tire_ids)
    check_chain(mounts, chain, ids, tire_ids, found)
    _check_made(tires, mounts, found)
    if found.errors_in(mounts.file) or not len(chain.tire):
        return  # with mounts that cannot be read, readings would seem to have no tire, or the wrong one
    new_depth = np.full(len(tire_ids), np.nan)
    if "new_depth_mm" in tires.number:
        new_depth[tires.text["tire_id"].codes] = tires.number["new_depth_mm"]
    if "depths" in parsed:
        other_unit = check_depths(parsed["depths"], chain, ids, new_depth, found)
        if not other_unit:
            ask_depths(parsed["depths"], chain, ids, new_depth, found)
    if "pressures" in parsed:
        check_pressures(parsed["pressures"], chain, ids, found)
        ask_pressures(parsed["pressures"], vehicles, ids, found)


def _unknown(table: Parsed, column: str, ids: NDArray[np.object_], where: str, found: Findings) -> None:
    cells = table.text[column]
    known = set(ids)
    bad = np.array([bool(word) and word not in known for word in cells.words], dtype=bool)
    if not bad.any() or not len(ids):  # with no records there at all, that is the problem to name
        return
    near: dict[str, str] = {}
    for word in cells.words[bad][:200]:
        close = difflib.get_close_matches(word, [i for i in ids[:5000] if i], n=1, cutoff=0.7)
        if close:
            near[word] = close[0]
    hit = bad[cells.codes]
    values = cells.text(hit)
    said = [{"table": where, "near": near.get(value, "")} for value in values]
    asks = [Ask.NEAR_ID if value in near else None for value in values]
    found.add(table.file, table.rows[hit], column, values, Found.UNKNOWN_ID, said, asks)


def _check_made(tires: Parsed, mounts: Parsed, found: Findings) -> None:
    """Check week codes: their form, and that no tire is mounted before it was made."""
    cells = tires.text.get("made_week")
    if cells is None:
        return
    first = pd.Series(dates_to_days(mounts.date["date"])).groupby(mounts.text["tire_id"].text()).min()
    made = np.array([_made(word) for word in cells.words], dtype="datetime64[D]")
    blank = np.array([not word for word in cells.words], dtype=bool)
    odd = (np.isnat(made) & ~blank)[cells.codes] if len(made) else np.zeros(0, dtype=bool)
    values = cells.text(odd)
    asks = [Ask.LOST_ZERO if word.isdigit() and len(word) == 3 else None for word in values]
    found.add(tires.file, tires.rows[odd], "made_week", values, Found.WEEK_ODD, ask=asks, doubt=True)
    mounted = first.reindex(tires.text["tire_id"].text()).to_numpy(dtype=float)
    made_day = dates_to_days(made[cells.codes]) if len(made) else np.zeros(0, dtype=np.int64)
    early = ~np.isnat(made[cells.codes]) & (mounted < made_day) if len(made) else odd
    values = cells.text(early)
    found.add(tires.file, tires.rows[early], "made_week", values, Found.WEEK_LATE, doubt=True)


def _made(code: str) -> np.datetime64:
    """First day of the week that a code (WWYY, since 2000) names, or NaT."""
    if len(code) != 4 or not (code.isascii() and code.isdigit()) or not 1 <= int(code[:2]) <= 53:
        return np.datetime64("NaT", "D")
    return np.datetime64(f"20{code[2:]}-01-01", "D") + np.timedelta64(7 * (int(code[:2]) - 1), "D")


def _mixed_units(parsed: dict[str, Parsed], found: Findings) -> None:
    """Doubt a logbook with miles in one table and km in another: one of the names may be wrong."""
    used = {table.file: table.unit["odometer_km"] for table in parsed.values() if "odometer_km" in table.unit}
    if len(set(used.values())) > 1:
        usual = max(("mi", "km"), key=list(used.values()).count)
        for file, unit in used.items():
            if unit != usual:
                said = {"unit": unit, "usual": usual}
                found.add(file, 1, f"odometer_{unit}", "", Found.DISTANCE_UNITS, said, doubt=True)

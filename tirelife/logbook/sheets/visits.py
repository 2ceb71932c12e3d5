"""Visits as the rows of a sheet make them: rows of one day put together, each row with what became of it."""

from __future__ import annotations

import datetime as dt
import math
from copy import deepcopy
from dataclasses import dataclass, field, replace

import numpy as np

from tirelife.codes import Note, Severity
from tirelife.logbook.sheets.columns import Table
from tirelife.logbook.sheets.files import column_letter
from tirelife.logbook.sheets.told import Row

__all__ = ["Entry", "Fate", "fill_odometers", "join_rows", "of_rows", "row_note"]


@dataclass
class Fate:
    """What became of a row of the sheet; ``row`` counts as a spreadsheet does."""

    tab: str
    row: int
    status: str
    notes: list[Note] = field(default_factory=list)

    @property
    def reason(self) -> str:
        """Codes of why, with what they are about."""
        return "; ".join(map(str, self.notes))


@dataclass
class Entry:
    """One visit of one vehicle, in mm, km and kPa; ``wheel`` blank stands for every wheel."""

    vehicle: str
    date: dt.date
    odometer_km: float = math.nan
    depths: list[tuple[str, str, float]] = field(default_factory=list)
    pressures: list[tuple[str, float, float]] = field(default_factory=list)
    product: dict[str, str] = field(default_factory=dict)
    size: dict[str, str] = field(default_factory=dict)
    new_depth: dict[str, float] = field(default_factory=dict)
    tire_id: dict[str, str] = field(default_factory=dict)
    made_week: dict[str, str] = field(default_factory=dict)
    note: str = ""
    driver: str = ""
    drive: str = ""
    rows: list[tuple[str, int]] = field(default_factory=list)


def row_note(code: Row, **values: object) -> Note:
    """Give why a row is doubted or left out, with what stands in the words."""
    return Note(code, Severity.NOTE, tuple(values.items()))


def of_rows(fates: list[Fate], tables: list[tuple[Table, str]]) -> list[Fate]:
    """One fate a row of the sheet: of rows that hold several visits, and of tabs with a column a visit."""
    turned = {table.grid.tab: table for table, _ in tables if table.grid.turned}
    out: dict[tuple[str, int], Fate] = {}
    for fate in fates:
        if fate.tab in turned:
            if fate.notes:
                row = (fate.tab, _first_row(turned[fate.tab]))
                at = (("at", column_letter(fate.row - 1)),)
                held = out.setdefault(row, Fate(*row, "doubted"))
                held.notes += [replace(note, values=note.values + at) for note in fate.notes]
            continue
        same = out.setdefault((fate.tab, fate.row), fate)
        if same is not fate:
            same.status = "used" if {same.status, fate.status} == {"used"} else "doubted"
            same.notes = list(dict.fromkeys([*same.notes, *fate.notes]))
    for tab, table in turned.items():
        columns = {column.index for column in table.columns if column.field.role not in ("", "ignored")}
        for i in range(max(len(row) for row in table.grid.cells)):
            if any(i < len(row) and row[i] is not None for row in table.grid.cells):
                known = i in columns
                notes = [] if known else [Note(Row.UNKNOWN)]
                out.setdefault((tab, i + 1), Fate(tab, i + 1, "used" if known else "left out", notes))
    return list(out.values())


def _first_row(table: Table) -> int:
    """The row of the sheet that has the dates of a tab with a column a visit."""
    return next((column.index for column in table.of("date")), 0) + 1


def join_rows(same: Entry, entry: Entry, texts: list[str], by_row: dict[tuple[str, int], Fate]) -> None:
    """Put a further row into a visit of the same day; what says the same again is told and not doubled.

    ``texts`` are the notes of the visit's rows so far; the row's is added.
    """
    before = deepcopy(same)
    held = {(wheel, groove) for wheel, groove, _ in same.depths}
    second = any((wheel, groove) in held for wheel, groove, _ in entry.depths)
    again = bool(entry.depths) and all(one in same.depths for one in entry.depths)
    if not again:
        same.depths += entry.depths
    known = {(wheel, kpa) for wheel, kpa, _ in same.pressures}
    same.pressures += [one for one in entry.pressures if one[:2] not in known]
    texts.append(entry.note)
    same.note = " ".join(dict.fromkeys(text for text in texts if text))
    if math.isnan(same.odometer_km):
        same.odometer_km = entry.odometer_km
    for name in ("product", "size", "new_depth", "tire_id", "made_week"):
        getattr(same, name).update(getattr(entry, name))
    same.driver, same.drive = same.driver or entry.driver, same.drive or entry.drive
    fate = by_row[entry.rows[0]]
    if again and same == before:
        fate.status, fate.notes = "left out", [row_note(Row.AGAIN, row=same.rows[0][1])]
        return
    same.rows += entry.rows
    if second and not again:
        fate.status, fate.notes = "doubted", [row_note(Row.SECOND, row=same.rows[0][1])]


def fill_odometers(visits: list[Entry], by_row: dict[tuple[str, int], Fate]) -> list[Entry]:
    """Visits with an odometer: one without has it off the line between those around it, or is left out."""
    out = []
    for vehicle in dict.fromkeys(one.vehicle for one in visits):
        mine = [one for one in visits if one.vehicle == vehicle]
        known = [one for one in mine if not math.isnan(one.odometer_km)]
        days = np.array([one.date.toordinal() for one in known], dtype=float)
        km = np.array([one.odometer_km for one in known])
        for one in mine:
            if not math.isnan(one.odometer_km):
                out.append(one)
                continue
            day = one.date.toordinal()
            inside = len(known) > 1 and days[0] <= day <= days[-1]
            for place in one.rows:
                fate = by_row[place]
                fate.status = "doubted" if inside else "left out"
                fate.notes.append(Note(Row.ON_THE_LINE if inside else Row.NO_ODOMETER))
            if inside:
                one.odometer_km = float(np.interp(day, days, km))
                out.append(one)
    return out

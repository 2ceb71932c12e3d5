"""From the rows of tabs to visits; every row is accounted for: used, doubted, or left out with a reason."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Any

from tirelife.codes import Note
from tirelife.errors import refusal
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.schema import SCHEMA
from tirelife.logbook.sheets.cells import (
    Depths,
    amount,
    depths_of,
    is_blank,
    name_of,
    named_depths,
    plain_number,
    section,
)
from tirelife.logbook.sheets.columns import Column, Table
from tirelife.logbook.sheets.decide import Conventions, read_day
from tirelife.logbook.sheets.headers import groove_of, named_field
from tirelife.logbook.sheets.numbered import number_of
from tirelife.logbook.sheets.told import Row
from tirelife.logbook.sheets.visits import Entry, Fate, fill_odometers, join_rows, of_rows, row_note
from tirelife.logbook.sheets.words import folded, vocabulary, wheel_of
from tirelife.logbook.work import work_of
from tirelife.positions import AXLES, MOUNTED, ROAD
from tirelife.units import convert

__all__ = ["NEW_MM", "entries"]

_DITTO = ('"', "''", "”", "do", "ditto", "same", "idem", "dto", "s o", "↑")
_MIDDLE = {
    1: ("center",),
    2: ("outer", "inner"),
    3: ("outer", "center", "inner"),
    4: ("outer", "outer_mid", "inner_mid", "inner"),
    5: ("outer", "outer_mid", "center", "inner_mid", "inner"),
}


def _taken(table: str, name: str) -> tuple[float, float]:
    """What a logbook takes for a quantity, at least and at most."""
    column = next(one for one in SCHEMA[table] if one.name == name)
    return float(column.low or 0.0), float(column.high or math.inf)


_FARTHEST_KM = _taken("mounts", "odometer")[1]
NEW_MM = _taken("tires", "new_depth")
"""What a logbook takes for the depth of a new tire, at least and at most. [mm]"""


class _Reader:
    def __init__(self, table: Table, how: Conventions, vehicle: str) -> None:
        self.table, self.how, self.fallback = table, how, vehicle
        self.by_role: dict[str, list[Column]] = {}
        for column in table.columns:
            self.by_role.setdefault(column.field.role, []).append(column)
        self.by_wheel = "wheel" in self.by_role
        self.last: dict[str, Any] = {}
        self.section = ""
        self.below = -1
        self.entries: list[Entry] = []
        self.fates: list[Fate] = []
        self.header = [folded(c.header) for c in table.columns]

    def cell(self, row: list[Any], role: str) -> Any:
        for column in self.by_role.get(role, []):
            if column.index < len(row) and not is_blank(row[column.index]):
                return row[column.index]
        return None

    def read(self) -> None:
        for number, row in enumerate(self.table.grid.cells):
            filled = [cell for cell in row if cell is not None]
            if not filled:
                continue
            if number < self.table.first:
                if number not in self.table.header_rows:
                    self.out(number, Row.ABOVE)
                continue
            self.row(number, row, filled)

    def out(self, number: int, code: Row, **values: object) -> None:
        place = self.table.grid.place(number)
        self.fates.append(Fate(self.table.grid.tab, place, "left out", [row_note(code, **values)]))

    def row(self, number: int, row: list[Any], filled: list[Any]) -> None:
        if self.like_header(number, row):
            self.out(number, Row.HEADER)
            return
        texts = [cell for cell in filled if isinstance(cell, str)]
        date = self.cell(row, "date")
        totals = vocabulary()["totals"]
        if date is None or read_day(date, self.how.day_first) is None:
            first = folded(texts[0]).split() if texts else []
            if first and (first[0] in totals or " ".join(first) in totals):
                self.out(number, Row.TOTAL)
                return
            if any(" ".join(first).startswith(word) for word in vocabulary()["signed"]):
                self.out(number, Row.TO_SIGN)
                return
            if date is None and len(filled) == 1 and isinstance(filled[0], str) and number == self.below:
                said = filled[0]
                if "vehicle" in self.by_role or work_of(said):
                    self.entries[-1].note = f"{self.entries[-1].note} {said}".strip()
                    place = self.table.grid.place(number)
                    self.fates.append(Fate(self.table.grid.tab, place, "used", [Note(Row.NOTE_ABOVE)]))
                    self.below = number + 1
                    return
            if len(filled) == 1 and isinstance(filled[0], str) and "vehicle" not in self.by_role:
                self.section = section(filled[0])
                self.last = {}
                self.out(number, Row.SECTION, vehicle=self.section)
                return
        readings = any(
            column.index < len(row) and not is_blank(row[column.index])
            for role in ("depth", "pressure")
            for column in self.by_role.get(role, [])
        )
        note = self.cell(row, "note")
        if not readings and note is None and self.cell(row, "odometer") is None:
            self.out(number, Row.NOTHING)
            return
        self.visit(number, row, readings)

    def like_header(self, number: int, row: list[Any]) -> bool:
        """Whether a row is the header again. One that differs from the first is an error."""
        pairs = [
            (c, row[c.index])
            for c in self.table.columns
            if c.header and c.index < len(row) and row[c.index] is not None
        ]
        texts = [(c, v) for c, v in pairs if isinstance(v, str) and not re.match(r"\s*[\d.,~(+-]", v)]
        if len(texts) < 3 or len(texts) < 0.6 * len(pairs):
            return False
        rows = self.table.header_rows
        own = {folded(str(self.table.grid.cells[r][c.index])) for r in rows for c, _ in texts
               if c.index < len(self.table.grid.cells[r])}  # fmt: skip
        same = sum(folded(v) in own for _, v in texts)
        if same >= 0.8 * len(texts) and all(
            folded(v)
            in {
                folded(c.header),
                *(
                    folded(str(self.table.grid.cells[r][c.index]))
                    for r in rows
                    if c.index < len(self.table.grid.cells[r])
                ),
            }
            for c, v in texts
        ):
            return True
        named = [(c, v, named_field(v)) for c, v in texts]
        known = [one for one in named if one[2].role not in ("", "ignored", "product") or one[2].wheel]
        if len(known) >= 3 and len(known) >= 0.6 * len(texts):
            c, v, _ = next((one for one in known if folded(one[1]) != folded(one[0].header)), known[0])
            raise refusal(
                self.table.grid.tab, NoSheet.HEADER_AGAIN, number + 1, c.letter, str(v),
                header_row=rows[-1] + 1, header=c.header,
            )  # fmt: skip
        return False

    def carried(self, row: list[Any], role: str) -> Any:
        """A cell, or the one above it where rows go on below it."""
        cell = self.cell(row, role)
        if isinstance(cell, str) and cell.strip().lower() in _DITTO:
            cell = None
        if cell is None:
            return self.last.get(role)
        return cell

    def visit(self, number: int, row: list[Any], readings: bool) -> None:
        tab = self.table.grid.tab
        doubts: list[Note] = []
        own_vehicle = self.cell(row, "vehicle")
        if (
            own_vehicle is not None
            and str(own_vehicle).strip().lower() not in _DITTO
            and self.last.get("vehicle") != own_vehicle
        ):
            self.last = {}
        vehicle = self.carried(row, "vehicle")
        name = name_of(vehicle) if vehicle is not None else self.section or self.fallback
        date = (
            self.carried(row, "date")
            if self.by_wheel or _is_ditto(self.cell(row, "date"))
            else self.cell(row, "date")
        )
        if not name:
            self.out(number, Row.NO_VEHICLE)
            return
        day = None if date is None else read_day(date, self.how.day_first)
        if day is None:
            if date is None:
                self.out(number, Row.NO_DATE)
            else:
                self.out(number, Row.DATE_UNREAD, cell=str(date))
            return
        odometer = self.carried(row, "odometer") if self.by_wheel else self.cell(row, "odometer")
        km, unit = self.how.odometer(odometer)
        if odometer is not None and math.isnan(km):
            doubts.append(row_note(Row.ODOMETER_UNREAD, cell=str(odometer)))
        if unit.startswith(("km", "mi")):
            unit = unit[:2]
        else:
            unit = next(
                (c.field.unit for c in self.by_role.get("odometer", []) if c.field.unit),
                self.how.distance_unit,
            )
        km = float(convert(km, unit, "km")) if unit else km
        if not math.isnan(km) and not 0 <= km <= _FARTHEST_KM:
            doubts.append(row_note(Row.ODOMETER_FAR, cell=str(odometer)))
            km = math.nan
        self.last.update(vehicle=vehicle, date=date, odometer=odometer)
        entry = Entry(name, day, km, rows=[(tab, self.table.grid.place(number))])
        wheel = ""
        if self.by_wheel:
            cell = self.cell(row, "wheel")
            wheel = self.side(wheel_of(str(cell))[0]) if cell is not None else ""
            called = number_of(cell)
            if called in ("1", "2", "3", "4") and self.how.wheel_numbers:
                wheel = self.how.wheel_numbers.upper().split("-")[int(called) - 1]
            if wheel not in MOUNTED:
                self.out(number, Row.NO_WHEEL, cell=str(cell))
                return
        self.depths(row, wheel, entry, doubts)
        self.pressures(row, wheel, entry, doubts)
        for role in ("product", "size", "tire_id", "made_week"):
            for column in self.by_role.get(role, []):
                cell = row[column.index] if column.index < len(row) else None
                if not is_blank(cell):
                    for place in _places(self.side(column.field.wheel) or wheel):
                        getattr(entry, role)[place] = name_of(cell)
        for column in self.by_role.get("new_depth", []):
            cell = row[column.index] if column.index < len(row) else None
            found = None if is_blank(cell) else depths_of(cell)
            if found is not None and len(found.wheels[0]) == 1:
                own = found.unit or column.field.unit or self.how.depth_unit
                mm = float(convert(found.wheels[0][0], own, "mm")) if own else math.nan
                if mm < NEW_MM[0] or mm > NEW_MM[1]:
                    doubts.append(_cell(Row.DEPTH_OUTSIDE, column, cell))
                    continue
                for place in _places(self.side(column.field.wheel) or wheel):
                    entry.new_depth[place] = mm
        entry.note = " ".join(
            str(row[c.index])
            for c in self.by_role.get("note", [])
            if c.index < len(row) and not is_blank(row[c.index])
        )
        for column in self.by_role.get("work", []):
            cell = row[column.index] if column.index < len(row) else None
            said = "" if cell is None else _work_told(column.header, str(cell).strip())
            entry.note = "; ".join(text for text in (entry.note, said) if text)
        entry.driver = name_of(self.cell(row, "driver") or "")
        entry.drive = _drive(self.cell(row, "drive"))
        self.entries.append(entry)
        counted = self.table.grid.place(number)
        self.fates.append(Fate(tab, counted, "doubted" if doubts else "used", doubts))
        self.below = number + 1

    def side(self, wheel: str) -> str:
        """A wheel named by the side of the road, as left or right."""
        if not wheel.startswith(("near ", "off ")):
            return wheel
        side, axle = wheel.split()
        if not self.how.near_side:
            return ""
        left = (self.how.near_side == "left") == (side == "near")
        return ("L" if left else "R") + axle[0].upper()

    def depths(self, row: list[Any], wheel: str, entry: Entry, doubts: list[Note]) -> None:
        named = groove_of(str(self.cell(row, "groove") or ""))
        for column in self.by_role.get("depth", []):
            cell = row[column.index] if column.index < len(row) else None
            if is_blank(cell):
                continue
            place = self.side(column.field.wheel) or wheel
            axle = place in ("front", "rear")
            named_here = named_depths(cell) if "/" in place and isinstance(cell, str) else ()
            if named_here:
                for one, told in named_here:
                    self.wheel_depths(self.side(one), told, "", column, cell, entry, doubts)
                continue
            found = depths_of(cell, axle, self.how.commas)
            if found is None or not place:
                doubts.append(_cell(Row.NO_DEPTH, column, cell))
                continue
            unit = found.unit or column.field.unit or self.how.depth_unit
            if "/" in place:
                values = found.wheels[0] if len(found.wheels) == 1 else ()
                if len(values) != 4:
                    doubts.append(_cell(Row.NOT_A_WHEEL, column, cell))
                    continue
                for one, value in zip(place.split("/"), values, strict=True):
                    entry.depths.append((one, "center", float(convert(value, unit, "mm")) if unit else value))
                continue
            wheels = AXLES.get(place, (place,))
            for one, values in zip(wheels, found.wheels, strict=False):
                self.wheel_depths(one, Depths((values,), found.unit), named, column, cell, entry, doubts)

    def wheel_depths(
        self,
        wheel: str,
        found: Depths,
        named: str,
        column: Column,
        cell: Any,
        entry: Entry,
        doubts: list[Note],
    ) -> None:
        """Depths of one wheel of a cell, by groove."""
        unit = found.unit or column.field.unit or self.how.depth_unit
        values = found.wheels[0]
        if column.field.groove == "inner_first":
            grooves = _MIDDLE[len(values)][::-1]
        elif column.field.groove or named:
            grooves = (column.field.groove or named,) * len(values)
        else:
            grooves = _MIDDLE[len(values)]
        for groove, value in zip(grooves, values, strict=True):
            mm = float(convert(value, unit, "mm")) if unit else value
            if not 0 <= mm <= 26:
                doubts.append(_cell(Row.DEPTH_OUTSIDE, column, cell))
                continue
            entry.depths.append((wheel, groove, mm))

    def pressures(self, row: list[Any], wheel: str, entry: Entry, doubts: list[Note]) -> None:
        for column in self.by_role.get("pressure", []):
            cell = row[column.index] if column.index < len(row) else None
            if is_blank(cell):
                continue
            place = self.side(column.field.wheel) or wheel
            pair = (
                [plain_number(p) for p in re.split(r"\s*[/|;-]\s*", str(cell))]
                if isinstance(cell, str)
                else []
            )
            values = pair if len(pair) == 2 and not any(map(math.isnan, pair)) else [amount(cell)[0]]
            wheels = {**AXLES, "": ROAD}.get(place, (place,))
            if len(values) == 1:
                values = values * len(wheels)
            for one, value in zip(wheels, values if len(values) == len(wheels) else [math.nan], strict=False):
                kpa = _kpa(value, column.field.unit or amount(cell)[1])
                if math.isnan(kpa):
                    doubts.append(_cell(Row.NO_PRESSURE, column, cell))
                else:
                    entry.pressures.append((one, kpa, math.nan))


def _cell(code: Row, column: Column, cell: Any) -> Note:
    """Why a cell is not used."""
    return row_note(code, column=column.header or column.letter, cell=str(cell))


def _work_told(header: str, cell: str) -> str:
    """What a column of one kind of work says of a visit; blank if it was not done."""
    words, text = vocabulary(), header.rstrip("?: ")
    if cell.lower() in words["ticks"]:
        return text
    return "" if cell.lower() in (*words["not_ticked"], *words["blanks"]) else f"{text} {cell}"


def _is_ditto(cell: Any) -> bool:
    return isinstance(cell, str) and cell.strip().lower() in _DITTO


def _kpa(value: float, unit: str) -> float:
    if math.isnan(value):
        return math.nan
    unit = unit if unit in ("psi", "bar", "kpa") else "bar" if value < 12 else "psi" if value < 115 else "kpa"
    kpa = float(convert(value, unit, "kpa"))
    return kpa if 70 <= kpa <= 1000 else math.nan


def _places(wheel: str) -> tuple[str, ...]:
    return AXLES.get(wheel, (wheel,))


def _drive(cell: Any) -> str:
    word = folded(str(cell)) if cell is not None else ""
    table = {"front": ("front", "fwd", "vorn", "vorne", "avant", "delantera", "frontantrieb"),
             "rear": ("rear", "rwd", "hinten", "arriere", "trasera", "heckantrieb"),
             "all": ("all", "awd", "4wd", "4x4", "allrad", "integrale", "total")}  # fmt: skip
    return next((name for name, words in table.items() if any(w in word.split() for w in words)), "")


def entries(tables: list[tuple[Table, str]], how: Conventions) -> tuple[list[Entry], list[Fate]]:
    """Read all tables into visits.

    Parameters
    ----------
    tables : list of (Table, vehicle)
        The vehicle is that of a tab without a column for it; blank if there is none.
    how : Conventions

    Returns
    -------
    visits : list of Entry
        By vehicle and date; rows of one visit put together, odometers that are not there read off the line
        between those around them.
    fates : list of Fate
        One for every row with something in it.
    """
    found: list[Entry] = []
    fates: list[Fate] = []
    for table, vehicle in tables:
        reader = _Reader(table, how, vehicle)
        reader.read()
        found += reader.entries
        fates += reader.fates
    joined: dict[tuple[str, dt.date], Entry] = {}
    texts: dict[tuple[str, dt.date], list[str]] = {}
    by_row: dict[tuple[str, int], Fate] = {}
    for fate in fates:  # of several records of one row, the first tells
        by_row.setdefault((fate.tab, fate.row), fate)
    for entry in found:
        same = joined.get((entry.vehicle, entry.date))
        if same is None:
            joined[entry.vehicle, entry.date] = entry
            texts[entry.vehicle, entry.date] = [entry.note]
            continue
        join_rows(same, entry, texts[entry.vehicle, entry.date], by_row)
    visits = sorted(joined.values(), key=lambda one: (one.vehicle, one.date))
    visits = fill_odometers(visits, by_row)
    return visits, of_rows(fates, tables)

"""What a whole sheet settles: units, the order of dates, marks in numbers; what it cannot is a question."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from tirelife.codes import Note, Severity
from tirelife.errors import InputError
from tirelife.logbook.number import GROUPED, depth_words, points_are_decimal, read_number
from tirelife.logbook.sheets.cells import DateText, amount, date_text, depths_of, is_blank, named_depths
from tirelife.logbook.sheets.columns import Column, Table
from tirelife.logbook.sheets.headers import DATE_HINT, THOUSANDS
from tirelife.logbook.sheets.told import Asked, Question, Settled
from tirelife.logbook.sheets.words import folded, vocabulary, wheel_of
from tirelife.logbook.wrong import Wrong

__all__ = ["Conventions", "conventions", "read_day"]


_ORDERS: Final = ("--day-first", "--month-first")
_DEPTHS: Final = ("--depth-unit 32nds", "--depth-unit mm")
_DISTANCES: Final = ("--distance-unit mi", "--distance-unit km")


def _note(code: Settled, **values: object) -> Note:
    return Note(code, Severity.NOTE, tuple(values.items()))


@dataclass
class Conventions:
    """How a sheet writes things, and why that is thought."""

    depth_unit: str = ""
    distance_unit: str = ""
    day_first: bool | None = None
    thousands: bool | None = None
    commas: str = ""
    near_side: str = ""
    wheel_numbers: str = ""
    odometer_times: float = 1.0
    why: dict[str, Note] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)

    def day(self, cell: Any) -> dt.date | None:
        """The day of a cell, by the order of the sheet."""
        return None if cell is None else read_day(cell, self.day_first)

    def odometer(self, cell: Any) -> tuple[float, str]:
        """An odometer, and the unit that stands behind it."""
        value, unit = amount(cell, self.thousands)
        # One that is written out in a column of thousands stays what it is.
        return value * (self.odometer_times if value < 1e6 / self.odometer_times else 1.0), unit


def conventions(tables: list[Table], told: dict[str, Any]) -> Conventions:
    """Settle the conventions of a sheet.

    Parameters
    ----------
    tables : list of Table
    told : dict
        depth_unit, distance_unit, odometer_in, day_first, near_side: what was given; None where it was not.

    Returns
    -------
    Conventions
        With a question for whatever stays open.
    """
    out = Conventions()
    continental = _continental(tables)
    _days(tables, told.get("day_first"), out)
    sides = [c for t in tables for c in t.columns if c.field.wheel.startswith(("near ", "off "))]
    cells = [str(cell) for t in tables for c in t.of("wheel") for cell in _cells(t, c)]
    cells += [code for t in tables for c in t.of("depth") if "/" in c.field.wheel for cell in _cells(t, c)
              if isinstance(cell, str) for code, _ in named_depths(cell)]  # fmt: skip

    by_road = bool(sides) or any(wheel_of(cell)[0].startswith(("near ", "off ")) for cell in set(cells))
    british = any(re.search(r"n\W?s|o\W?s|near|off", c.header.lower()) for c in sides) or any(
        re.search(r"n\W?s|o\W?s|near|off", cell.lower()) for cell in set(cells)
    )
    out.near_side = told.get("near_side") or ""
    _depth_unit(tables, told.get("depth_unit"), continental, by_road and british, out)
    if by_road and not out.near_side and not british and out.day_first is False and out.depth_unit == "32nds":
        out.near_side = "right"
        out.why["near_side"] = Note(Settled.MONTH_AND_32NDS)
    if by_road and not out.near_side:
        options = ("--near-side left", "--near-side right")
        out.questions.append(Question("near_side", Asked.NEAR_SIDE, options))
    _distance_unit(tables, told.get("distance_unit"), continental, out)
    _points(tables, out)
    _in_thousands(tables, told, out)
    _commas(tables, told.get("depth_commas"), continental, out)
    return out


def _cells(table: Table, column: Column) -> list[Any]:
    rows = table.grid.cells[table.first :]
    return [r[column.index] for r in rows if column.index < len(r) and not is_blank(r[column.index])]


def _continental(tables: list[Table]) -> bool:
    """Whether the words of the sheet are of a language of continental Europe or Latin America."""
    words = {w for t in tables for c in t.columns for w in [folded(c.header), *folded(c.header).split()]}
    return len(words & set(vocabulary()["continental"])) > 0


def _days(tables: list[Table], told: bool | None, out: Conventions) -> None:
    texts: list[DateText] = []
    real = 0
    for table in tables:
        for column in table.of("date"):
            for cell in _cells(table, column):
                if isinstance(cell, dt.date | int):
                    real += 1
                elif isinstance(cell, str) and (found := date_text(cell)) is not None:
                    texts.append(found)
    open_ = [one for one in texts if one.day is None]
    if told is not None:
        out.day_first, out.why["day_first"] = told, Note(Settled.GIVEN)
        return
    if not open_:
        return
    heads = " ".join(c.header.lower() for t in tables for c in t.of("date"))
    written = re.search(DATE_HINT, heads)
    if written:
        first = not written[0].startswith("m")
        if not any(one.read(first) is None for one in open_):
            out.day_first, out.why["day_first"] = first, Note(Settled.HEADER)
            return
    if real:
        counts = (("texts", len(open_)), ("dates", real))
        out.questions.append(Question("mixed_dates", Asked.MIXED_DATES, _ORDERS, counts))
        return
    day = sum(one.first > 12 for one in open_)
    month = sum(one.second > 12 for one in open_)
    if day and month:
        counts = (("day_first", day), ("month_first", month))
        out.questions.append(Question("day_first", Asked.DATES_DISAGREE, _ORDERS, counts))
    elif day or month:
        out.day_first = bool(day)
        out.why["day_first"] = _note(Settled.NO_OTHER_ORDER, dates=day or month)
    elif all(one.dotted for one in open_):
        out.day_first, out.why["day_first"] = True, Note(Settled.DOTTED)
    else:
        _by_odometer(tables, out)


def _by_odometer(tables: list[Table], out: Conventions) -> None:
    """The order under which odometers rise with dates, if only one does."""
    faults = {True: 0, False: 0}
    for day_first in faults:
        for table in tables:
            for rows in _runs(table):
                days = [read_day(d, day_first) for d, _ in rows]
                if any(day is None for day in days):
                    faults[day_first] += 100
                    continue
                order = sorted(range(len(rows)), key=lambda i: (days[i], rows[i][1]))
                km = np.array([rows[i][1] for i in order])
                faults[day_first] += int((np.diff(km) < 0).sum())
    best = min(faults, key=lambda k: faults[k])
    if faults[best] == 0 and faults[not best] >= 2:
        out.day_first, out.why["day_first"] = best, Note(Settled.ODOMETERS_RISE)
        return
    out.questions.append(Question("day_first", Asked.DATES_OPEN, _ORDERS))


def _runs(table: Table) -> list[list[tuple[Any, float]]]:
    """Dates and odometers of each vehicle of a tab."""
    date, odometer, vehicle = (next(iter(table.of(role)), None) for role in ("date", "odometer", "vehicle"))
    if date is None or odometer is None:
        return []
    runs: dict[str, list[tuple[Any, float]]] = {}
    name = ""
    for row in table.grid.cells[table.first :]:
        at = [
            row[c.index] if c is not None and c.index < len(row) else None for c in (date, odometer, vehicle)
        ]
        name = str(at[2]) if at[2] is not None else name
        km = amount(at[1])[0]
        if not is_blank(at[0]) and np.isfinite(km):
            runs.setdefault(name, []).append((at[0], km))
    return list(runs.values())


def read_day(cell: Any, day_first: bool | None) -> dt.date | None:
    """The day of a cell, by the order of its column; None if it is none."""
    if isinstance(cell, dt.date):
        return cell
    if isinstance(cell, int) and not isinstance(cell, bool) and 29_000 < cell < 73_000:
        return dt.date(1899, 12, 30) + dt.timedelta(days=cell)  # how spreadsheets count days
    if isinstance(cell, str):
        if re.fullmatch(r"[34567]\d{4}", cell):
            return dt.date(1899, 12, 30) + dt.timedelta(days=int(cell))
        found = date_text(cell)
        return None if found is None else found.read(bool(day_first))
    return None


def _depth_unit(
    tables: list[Table], told: str | None, continental: bool, british: bool, out: Conventions
) -> None:
    columns = [(t, c) for t in tables for c in t.of("depth")]
    headers = {c.field.unit for _, c in columns if c.field.unit in ("32nds", "mm", "mils", "in")}
    written: set[str] = set()
    values: list[float] = []
    for table, column in columns:
        axle = column.field.wheel in ("front", "rear")
        for cell in _cells(table, column):
            said = named_depths(cell) if "/" in column.field.wheel and isinstance(cell, str) else ()
            alone = depths_of(cell, axle)
            for found in [one for _, one in said] or ([] if alone is None else [alone]):
                values += [v for wheel in found.wheels for v in wheel]
                written |= {found.unit} - {""}
    titles = " ".join(text for table in tables for text in table.title).lower()
    titled = {"mm"} if re.search(r"\bmm\b", titles) else set()
    titled |= {"32nds"} if re.search(r"32nd|/\s?32", titles) else set()
    if told:
        several = len(headers | written) > 1
        out.depth_unit = told
        out.why["depth_unit"] = Note(Settled.GIVEN_BARE if several else Settled.GIVEN)
        return
    named = headers or written or (titled if len(titled) == 1 else set())
    if len(named) == 1:
        out.depth_unit = next(iter(named))
        out.why["depth_unit"] = Note(
            Settled.IN_HEADERS if headers else Settled.IN_CELLS if written else Settled.IN_TITLE
        )
        return
    if len(named) > 1:
        # Each column or cell says its own; the question is for those that do not.
        bare = [c for _, c in columns if not c.field.unit]
        if headers and not bare:
            out.depth_unit, out.why["depth_unit"] = sorted(headers)[0], Note(Settled.BY_COLUMN)
            return
        held = (("held", tuple(sorted(named))),)
        out.questions.append(Question("depth_unit", Asked.DEPTHS_DIFFER, _DEPTHS, held))
        return
    words = {word for table in tables for c in table.columns for word in folded(c.header).split()}
    words |= set(folded(titles).split())
    km = any(c.field.unit == "km" for table in tables for c in table.of("odometer"))
    tyres = bool(words & {"tyre", "tyres"})
    american = not km and not tyres and (out.day_first is False or bool(words & {"tire", "tires"}))
    _depth_by_size(np.array(values), continental, british or tyres, american, out)


_INCHES = 0.8
"""Depths that are all below it are in inches: 25/32 in is more than a car's tire has."""


def _depth_by_size(
    values: np.ndarray[Any, Any], continental: bool, british: bool, american: bool, out: Conventions
) -> None:
    values = values[np.isfinite(values)]
    if not len(values):
        return
    if values.max() < _INCHES:
        out.depth_unit, out.why["depth_unit"] = "in", _note(Settled.NONE_OVER, most=float(values.max()))
        return
    tenths = np.abs(values * 10 - np.round(values * 10)) < 1e-6
    quarters = np.abs(values * 4 - np.round(values * 4)) < 1e-6
    fine = float(np.mean(tenths & ~quarters))
    if fine > 0.15:
        unit, why = "mm", Note(Settled.TENTHS)
    elif values.max() > 13.5:
        unit, why = "32nds", _note(Settled.TOO_DEEP, most=float(values.max()))
    elif continental:
        unit, why = "mm", Note(Settled.LANGUAGE)
    elif british:
        unit, why = "mm", Note(Settled.SPELLING)
    elif american and out.day_first is False:
        unit, why = "32nds", Note(Settled.MILES_MONTH)
    elif american:
        unit, why = "32nds", Note(Settled.TIRE_NO_KM)
    elif values.max() >= 10 and np.mean(np.abs(values - np.round(values)) < 1e-6) > 0.6:
        unit, why = "32nds", _note(Settled.WHOLE_STEPS, most=float(values.max()))
    else:
        out.questions.append(Question("depth_unit", Asked.DEPTHS_BARE, _DEPTHS))
        return
    out.depth_unit, out.why["depth_unit"] = unit, why


def _distance_unit(tables: list[Table], told: str | None, continental: bool, out: Conventions) -> None:
    columns = [(t, c) for t in tables for c in t.of("odometer")]
    headers = {c.field.unit for _, c in columns if c.field.unit in ("km", "mi")}
    written = set()
    for table, column in columns:
        for cell in _cells(table, column):
            unit = amount(cell)[1]
            written |= {"km"} if unit.startswith("km") else {"mi"} if unit.startswith("mi") else set()
    if told:
        out.distance_unit, out.why["distance_unit"] = told, Note(Settled.GIVEN)
    elif len(headers | written) == 1:
        out.distance_unit = next(iter(headers | written))
        out.why["distance_unit"] = Note(Settled.IN_HEADERS if headers else Settled.IN_CELLS)
    elif len(headers | written) > 1:
        out.questions.append(Question("distance_unit", Asked.DISTANCES_DIFFER, _DISTANCES))
    elif continental:
        out.distance_unit, out.why["distance_unit"] = "km", Note(Settled.LANGUAGE)
    elif out.depth_unit == "32nds":
        out.distance_unit, out.why["distance_unit"] = "mi", Note(Settled.DEPTHS_32NDS)
    elif columns:
        out.questions.append(Question("distance_unit", Asked.DISTANCES_BARE, _DISTANCES))


_ALL_SHORT: Final = 1000.0
_HALF_A_YEAR: Final = 180


def _in_thousands(tables: list[Table], told: dict[str, Any], out: Conventions) -> None:
    """Whether odometers are in thousands: the header says so, or none reaches 1,000 in half a year."""
    columns = [(t, c) for t in tables for c in t.of("odometer")]
    said = told.get("points")
    marks = out.thousands if said is None else said == "thousands"
    values = np.array([amount(cell, marks)[0] for t, c in columns for cell in _cells(t, c)])
    values = values[np.isfinite(values)]
    if given := told.get("odometer_in"):
        out.odometer_times = 1000.0 if given == "thousands" else 1.0
        out.why["odometer in"] = Note(Settled.GIVEN)
        return
    if len(values) < 2 or (said is None and any(q.code == "points" for q in out.questions)):
        return
    if any(re.search(THOUSANDS, c.header.lower()) for _, c in columns):
        if np.median(values) < 2 * _ALL_SHORT:
            out.odometer_times, out.why["odometer in"] = 1000.0, Note(Settled.THOUSANDS)
        return
    days = [read_day(cell, out.day_first) for t in tables for c in t.of("date") for cell in _cells(t, c)]
    known = [day for day in days if day is not None]
    if values.max() < _ALL_SHORT and known and (max(known) - min(known)).days > _HALF_A_YEAR:
        options, most = ("--odometer-in thousands", "--odometer-in full"), (("most", float(values.max())),)
        out.questions.append(Question("odometer_in", Asked.THOUSANDS, options, most))


def _points(tables: list[Table], out: Conventions) -> None:
    """Whether a lone mark before three digits parts thousands in the odometers: by the whole column."""
    texts = [
        str(cell) for t in tables for c in t.of("odometer") for cell in _cells(t, c) if isinstance(cell, str)
    ]
    words = [re.sub(r"[^\d.,]", "", text) for text in texts]
    grouped = sorted({word for word in words if GROUPED.fullmatch(word)})
    if not grouped:
        return
    marks = {mark for word in grouped for mark in ",." if mark in word}
    others = [word for word in words if marks & set(word) and not GROUPED.fullmatch(word)]
    if len(grouped) > 1 and len(marks) == 1 and not others:
        out.thousands, out.why["odometer marks"] = True, Note(Settled.BEFORE_THREE)
    elif points_are_decimal(others) and marks == {"."}:
        out.thousands, out.why["odometer marks"] = False, Note(Settled.BEFORE_OTHERS)
    else:
        values = (("word", grouped[0]), *read_number(grouped[0], ask_points=True).values)
        options = ("--points thousands", "--points decimals")
        out.questions.append(Question("points", Asked.POINTS, options, values))


def _commas(tables: list[Table], told: str | None, continental: bool, out: Conventions) -> None:
    """Whether a comma in a depth stands for decimals or between grooves: by the whole sheet, or asked."""
    texts = {
        cell.strip()
        for t in tables
        for c in t.of("depth")
        if c.field.wheel not in ("front", "rear") and "/" not in c.field.wheel
        for cell in _cells(t, c)
        if isinstance(cell, str) and re.fullmatch(r"\d+(,\d+)+", cell.strip())
    }
    if told:
        out.commas, out.why["depth commas"] = told, Note(Settled.GIVEN)
    elif not texts:
        return
    elif any(text.count(",") > 1 for text in texts):
        out.commas, out.why["depth commas"] = "grooves", Note(Settled.SEVERAL)
    elif continental or any(t.grid.delimiter == ";" for t in tables):
        out.commas, out.why["depth commas"] = "decimals", Note(Settled.SEPARATOR)
    else:
        try:
            for text in sorted(texts, key=lambda one: -len(one)):
                depth_words("", text)
                out.commas, out.why["depth commas"] = "decimals", _note(Settled.NO_TWO, text=text)
                return
        except InputError as error:
            options, open_ = ("--depth-commas decimals", "--depth-commas grooves"), error.problems[0]
            asked = Asked.TWO_GROOVES if open_.code == Wrong.TWO else Asked.MORE_GROOVES
            out.questions.append(Question("depth_commas", asked, options, open_.values))

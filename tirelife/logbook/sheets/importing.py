"""From a shop's own sheet to a logbook: planned first, shown, and written whole or not at all."""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import pandas as pd

from tirelife.codes import Note
from tirelife.errors import InputError, Problem, misused, refusal
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.cells import date_text, is_blank, section
from tirelife.logbook.sheets.columns import Column, Table, find_table, names_vehicles
from tirelife.logbook.sheets.decide import Conventions, conventions
from tirelife.logbook.sheets.duals import refuse_duals
from tirelife.logbook.sheets.files import Grid, column_letter, read_grids
from tirelife.logbook.sheets.headers import Field
from tirelife.logbook.sheets.layouts import names_month, parted, turned, unrolled
from tirelife.logbook.sheets.mapping import read_mapping
from tirelife.logbook.sheets.memory import Memory, remembered
from tirelife.logbook.sheets.numbered import ORDERS, QUESTION, check_order, name_headers, number_rows
from tirelife.logbook.sheets.origin import check_origin
from tirelife.logbook.sheets.records import NEW_MM, entries
from tirelife.logbook.sheets.settings import Settings
from tirelife.logbook.sheets.told import Asked, How, Question, Row
from tirelife.logbook.sheets.visits import Entry, Fate
from tirelife.logbook.sheets.words import folded, vocabulary
from tirelife.logbook.sheets.write import Written, put_back, tables_of, write_folder
from tirelife.logbook.wrong import Wrong
from tirelife.units import convert

__all__ = ["Imported", "Plan", "Settings", "import_sheet", "plan_sheet"]


STORES: Final = (".sqlite", ".db")


@dataclass
class Plan:
    """What a sheet was taken for, before anything is written."""

    path: Path
    tables: list[tuple[Table, str]]
    how: Conventions
    settings: Settings
    left_tabs: list[Fate]

    @property
    def questions(self) -> list[Question]:
        """What is left to be asked."""
        return self.how.questions

    @property
    def columns(self) -> pd.DataFrame:
        """tab, column (its letter), header, holds (as a mapping writes it), how (a code), examples."""
        rows = [
            (t.grid.tab, c.letter, c.header, str(c.field), c.how.value, ", ".join(c.examples))
            for t, _ in self.tables
            for c in t.columns
        ]
        return pd.DataFrame(rows, columns=["tab", "column", "header", "holds", "how", "examples"])


@dataclass(frozen=True, eq=False)
class Imported:
    """What came of an import.

    Attributes
    ----------
    plan : Plan
    visits : int
    vehicles : int
    rows : DataFrame
        tab, row, status (used, doubted, left out), reason (codes), notes (the same as
        :class:`~tirelife.codes.Note`): one for every row of the sheet with something in it.
    moves : DataFrame
        vehicle_id, date, what (a code), probability, source, others (codes and their chances): moves and
        renewals, the doubtful ones first.
    changed : DataFrame
        vehicle_id, date, before, now: visits that the sheet tells otherwise than at the last import;
        ``now`` is empty for one that is no longer in it, and is kept.
    new_visits : int
        Visits that were not there at the last import.
    unknown : list of (str, float)
        What was not in the sheet and would help most, with how many tires or vehicles lack it.
    out : Path or None
        Where it was written.
    """

    plan: Plan
    visits: int
    vehicles: int
    rows: pd.DataFrame
    moves: pd.DataFrame
    changed: pd.DataFrame
    new_visits: int
    unknown: list[tuple[str, int]]
    out: Path | None


def plan_sheet(path: str | Path, settings: Settings | None = None, mapping: str | Path | None = None) -> Plan:
    """Find out what each tab and column of a sheet holds.

    Parameters
    ----------
    path : str or Path
    settings : Settings, optional
    mapping : str or Path, optional
        A mapping saved before (TOML); ``settings`` win over it.

    Raises
    ------
    InputError
        If the file cannot be used: it is no spreadsheet, has no depths, cells hold errors.
    """
    path = Path(path)
    told = settings or Settings()
    if mapping is not None:
        told = _over(read_mapping(mapping), told)
    check_order(told.wheel_numbers)
    numbered = False
    grids = read_grids(path)
    tables: list[tuple[Table, str]] = []
    left: list[Fate] = []
    hidden: list[tuple[str, tuple[int, ...]]] = []
    for grid in grids:
        if grid.hidden and told.hidden != "use":
            table = find_table(grid, told.columns)
            if table is not None and told.hidden is None:
                hidden.append((grid.tab, ()))
            left.append(Fate(grid.tab, 0, "left out", [Note(Row.HIDDEN_TAB)]))
            continue
        table = _table(grid, told)
        if table is None and (named := name_headers(grid, told.wheel_numbers or ORDERS[0])):
            numbered = numbered or not named.keys() <= told.columns.keys()
            table = _table(grid, replace(told, columns={**named, **told.columns}))
        elif table is not None:
            numbered = number_rows(table) or numbered
        if table is None:
            if any(cell is not None for row in grid.cells for cell in row):
                left.append(Fate(grid.tab, 0, "left out", [Note(Row.NO_TABLE)]))
            continue
        hidden += _hide(table, told)
        tables.append((table, told.vehicle or _vehicle_of(table, path, len(grids))))
    if not tables and not hidden:
        _no_depths(path, grids)
    _vehicles_over_tabs([table for table, _ in tables])
    _alike([table for table, _ in tables])
    for table, _ in tables:
        _refuse_bad(path, table)
        refuse_duals(path.name, table)
    how = conventions([table for table, _ in tables], _told(told))
    for table, vehicle in tables:
        if not told.vehicle:
            _who(path.name, table, vehicle, how)
    how.wheel_numbers = told.wheel_numbers or ""
    if numbered and not how.wheel_numbers:
        how.questions.append(QUESTION)
    if told.points is not None:
        how.thousands = told.points == "thousands"
        how.questions = [q for q in how.questions if q.code != "points"]
    if hidden:
        options, places = ("--hidden use", "--hidden leave"), (("hidden", tuple(hidden[:4])),)
        how.questions.append(Question("hidden", Asked.HIDDEN, options, places))
    return Plan(path, tables, how, told, left)


def import_sheet(
    path: str | Path,
    out: str | Path | None = None,
    settings: Settings | None = None,
    mapping: str | Path | None = None,
) -> Imported:
    """Read a shop's own sheet into a logbook folder.

    Parameters
    ----------
    path : str or Path
        .xlsx, .xls, .ods, CSV or tab text.
    out : str or Path, optional
        Folder to write; one that an import made before takes what is new. A name that ends in ``.sqlite`` or
        ``.db`` is a logbook in one file, which must not be there yet. None to try only.
    settings : Settings, optional
    mapping : str or Path, optional
        A mapping saved before (TOML).

    Returns
    -------
    Imported

    Raises
    ------
    InputError
        If the sheet cannot be used, or leaves a question open: each names the options that answer it.
        Nothing is written then.
    """
    plan = plan_sheet(path, settings, mapping)
    if plan.questions:
        raise InputError([question.problem(plan.path.name) for question in plan.questions])
    _check_new_depth(plan)
    visits, fates = entries(plan.tables, plan.how)
    if not visits:
        reasons = Counter(tuple(fate.notes) for fate in fates if fate.status == "left out")
        why = tuple(
            (n, tuple((note.code, note.values) for note in notes)) for notes, n in reasons.most_common(3)
        )
        raise refusal(plan.path.name, NoSheet.NO_VISIT_USABLE, left_out=why)
    _add_work(visits, plan.settings.work)
    if out is not None:
        put_back(Path(out))
    if out is not None and Path(out).suffix.lower() in STORES:
        _refuse_store(Path(out))
    memory = remembered(out) if out is not None and Path(out).exists() else Memory()
    check_origin(plan.path.name, [table for table, _ in plan.tables], memory.visits.values())
    merged, changed, new_visits = memory.joined(visits)
    made = tables_of(merged, plan.how, plan.settings.new_depth)
    if made.tables["tires"].empty:
        raise refusal(plan.path.name, NoSheet.NO_DEPTH_READ)
    if out is not None and Path(out).suffix.lower() in STORES:
        with tempfile.TemporaryDirectory() as top:
            folder = Path(top) / plan.path.stem
            write_folder(folder, made, memory, merged, plan, fates)
            convert_logbook(folder, out)
    elif out is not None:
        write_folder(Path(out), made, memory, merged, plan, fates)
    rows = pd.DataFrame(
        [(f.tab, f.row, f.status, f.reason, tuple(f.notes)) for f in [*fates, *plan.left_tabs]],
        columns=["tab", "row", "status", "reason", "notes"],
    )
    return Imported(
        plan, len(merged), len({v.vehicle for v in merged}), rows, made.moves, changed, new_visits,
        _unknown(merged, made), None if out is None else Path(out),
    )  # fmt: skip


def _refuse_store(out: Path) -> None:
    """A logbook in one file does not remember its sheet, so it is made once."""
    if out.exists():
        raise refusal(out, NoSheet.IMPORT_THERE)


def _table(grid: Grid, told: Settings) -> Table | None:
    """The table of a tab: a row a visit, or laid out otherwise."""
    table = find_table(unrolled(parted(grid)), told.columns)
    if table is None or not table.of("date"):
        other = find_table(turned(grid), told.columns)
        if other is not None and other.of("date"):
            return other
    if table is not None and not table.of("date"):
        _date_of_tab(table)
    return table


def _date_of_tab(table: Table) -> None:
    """Give the records of a tab the date that stands above them, or that the tab is called by."""
    above = [cell for row in table.grid.cells[: table.header_rows[0]] for cell in row if cell is not None]
    texts = [re.sub(r"^\s*\w+\s*:\s*", "", c) if isinstance(c, str) else c for c in [*above, table.grid.tab]]
    day = next(
        (c for c in texts if isinstance(c, date) or (isinstance(c, str) and date_text(c) is not None)), None
    )
    if day is None:
        return
    width = max(len(row) for row in table.grid.cells)
    for row in table.grid.cells[table.first :]:
        if any(cell is not None for cell in row):
            row += [*[None] * (width - len(row)), day]
    table.columns.append(Column(width, "Date", Field("date"), How.ABOVE, (str(day),)))


def _over(base: Settings, told: Settings) -> Settings:
    """Settings where what was said now wins."""
    said = {name: value for name, value in vars(told).items() if value not in (None, {})}
    return replace(
        base, **{**said, "columns": {**base.columns, **told.columns}, "work": {**base.work, **told.work}}
    )


def _told(told: Settings) -> dict[str, Any]:
    return {
        name: getattr(told, name)
        for name in (
            "depth_unit",
            "distance_unit",
            "day_first",
            "near_side",
            "points",
            "depth_commas",
            "odometer_in",
        )
    }


def _hide(table: Table, told: Settings) -> list[tuple[str, tuple[int, ...]]]:
    rows = sorted(
        row
        for row in table.grid.hidden_rows
        if row >= table.first
        and row < len(table.grid.cells)
        and any(c is not None for c in table.grid.cells[row])
    )
    if not rows or told.hidden == "use":
        return []
    if told.hidden == "leave":
        for row in rows:
            table.grid.cells[row] = []
        return []
    return [(table.grid.tab, tuple(row + 1 for row in rows[:3]))]


def _vehicle_of(table: Table, path: Path, tabs: int) -> str:
    """Vehicle of a tab without a column for it: from its title, its own name, or the file's."""
    words = vocabulary()["roles"]["vehicle"]
    for text in table.title:
        parts = folded(text).split()
        if parts and any(" ".join(parts[: len(w.split())]) == w for w in words) and len(text) < 60:
            name = section(text)
            if name and folded(name) not in words:
                return name
    generic = vocabulary()["generic_tabs"]
    plain = folded(table.grid.tab).rstrip("0123456789 ")
    if table.grid.delimiter or plain in generic or (tabs == 1 and plain == ""):
        return path.stem
    if names_month(table.grid.tab):  # no vehicle's: its rows name theirs, or are left out
        return ""
    return table.grid.tab


def _vehicles_over_tabs(tables: list[Table]) -> None:
    """Find the column that names the vehicles in tabs of a month each, by what all of them hold."""
    bare = [t for t in tables if not t.of("vehicle") and names_month(t.grid.tab)]
    heads = [{c.header for c in t.columns if not c.field.role and c.header} for t in bare]
    for head in sorted(set.intersection(*heads)) if heads else []:
        mine = [(t, i, c) for t in bare for i, c in enumerate(t.columns) if c.header == head]
        cells = [
            row[c.index]
            for t, _, c in mine
            for row in t.grid.cells[t.first :]
            if c.index < len(row) and not is_blank(row[c.index])
        ]
        if names_vehicles(cells) >= 0.8:
            for table, i, column in mine:
                table.columns[i] = replace(column, field=Field("vehicle"), how=How.CONTENT)
            return


def _who(name: str, table: Table, vehicle: str, how: Conventions) -> None:
    """Where odometers fall as days go by: the column whose names part them into vehicles; refused without."""
    if table.of("vehicle") or not vehicle:
        return
    rows = [row for row in table.grid.cells[table.first :] if any(cell is not None for cell in row)]
    if any(sum(cell is not None for cell in row) == 1 for row in rows):  # a line of its own names each
        return
    known = [(day, km, row) for row in rows if (day := how.day(_of(table, "date", row))) is not None
             and (km := how.odometer(_of(table, "odometer", row))[0]) == km]  # fmt: skip
    if _falls([(day, km) for day, km, _ in known]) < max(2, 0.2 * len(known)):
        return
    for i, column in enumerate(table.columns):
        said = [row[column.index] if column.index < len(row) else None for _, _, row in known]
        if (
            column.field.role
            or not 1 < len(set(said)) < 0.7 * len(said)
            or any(is_blank(one) for one in said)
        ):
            continue
        groups: dict[str, list[tuple[date, float]]] = {}
        for one, (day, km, _) in zip(said, known, strict=True):
            groups.setdefault(str(one), []).append((day, km))
        if sum(_falls(visits) for visits in groups.values()) <= 0.05 * len(known):
            table.columns[i] = replace(column, field=Field("vehicle"), how=How.ODOMETERS)
            return
    raise InputError(Problem(f"{name}: {table.grid.tab}", 0, "", "", code=NoSheet.SEVERAL_VEHICLES))


def _of(table: Table, role: str, row: list[Any]) -> Any:
    return next((row[c.index] for c in table.of(role) if c.index < len(row)), None)


def _falls(visits: list[tuple[date, float]]) -> int:
    """How often the odometer is lower at a later visit."""
    km = [far for _, far in sorted(visits)]
    return sum(b < a for a, b in pairwise(km))


def _alike(tables: list[Table]) -> None:
    """Take a column for what the same header was found to be over more telling cells in another tab."""
    found = {c.header: c.field for t in tables for c in t.columns if c.header and c.how == How.CONTENT}
    for table in tables:
        for i, column in enumerate(table.columns):
            known = found.get(column.header)
            if known and known.role and not column.field.role and not table.of(known.role):
                table.columns[i] = replace(column, field=known, how=How.OTHER_TAB)


def _no_depths(path: Path, grids: list[Grid]) -> None:
    filled = [cell for grid in grids for row in grid.cells for cell in row if cell is not None]
    if not filled:
        raise refusal(path.name, NoSheet.NO_ROWS)
    first = next((row for grid in grids for row in grid.cells if sum(c is not None for c in row) > 1), [])
    seen = ", ".join(str(cell) for cell in first if cell is not None)[:120]
    raise refusal(path.name, NoSheet.NO_DEPTH_COLUMN, value=seen)


def _refuse_bad(path: Path, table: Table) -> None:
    used = {column.index for column in table.columns if column.field.role not in ("", "ignored")}
    bad = [
        (row, column, text)
        for (row, column), text in sorted(table.grid.bad.items())
        if row >= table.first and column in used
    ]
    if bad:
        problems = [
            Problem(
                f"{path.name}: {table.grid.tab}", row + 1, column_letter(column), text,
                code=NoSheet.CELL_NO_VALUE if text else NoSheet.CELL_FORMULA,
            )
            for row, column, text in bad
        ]  # fmt: skip
        raise InputError(problems)


def _check_new_depth(plan: Plan) -> None:
    """Refuse a depth of new tires that no logbook takes."""
    given, unit = plan.settings.new_depth, plan.how.depth_unit or "mm"
    low, high = (float(convert(mm, "mm", unit)) for mm in NEW_MM)
    if given is not None and not low <= given <= high:
        raise misused(Wrong.NEW_DEPTH_RANGE, value=given, unit=unit, low=round(low, 1), high=round(high, 1))


def _add_work(visits: list[Entry], work: dict[str, str]) -> None:
    known = {f"{v.vehicle} {v.date}": v for v in visits}
    for key, text in work.items():
        if key not in known:
            raise refusal("", NoSheet.NO_VISIT, visit=key)
        known[key].note = f"{known[key].note} {text}".strip()


def _unknown(visits: list[Entry], made: Written) -> list[tuple[str, int]]:
    """What would narrow the answers, the most useful first; common practice orders them, no source."""
    tires, vehicles = made.tables["tires"], made.tables["vehicles"]
    lacking = int((tires["new_depth"] == "").sum())
    out = [("new depth", lacking), ("drive", int((vehicles["drive"] == "").sum()))]
    out += [("placard pressures", int((vehicles["placard_front"] == "").sum()))]
    out += [("tire line", int((tires["tire_line"] == "").sum()))]
    return [(what, n) for what, n in out if n]

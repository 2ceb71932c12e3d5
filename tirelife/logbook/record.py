"""Record a visit in a logbook file, or correct a record: checked first, written whole or not at all."""

from __future__ import annotations

import datetime as dt
import difflib
import sqlite3
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from tirelife.errors import InputError, refusal
from tirelife.logbook.changes import THIS_VISIT, shown_changes, slips, visit_changes
from tirelife.logbook.checks import check_between
from tirelife.logbook.codes import ODOMETER_ASKED, Ask, Found
from tirelife.logbook.findings import Findings, to_problems
from tirelife.logbook.parse import Parsed, parse
from tirelife.logbook.refused import Refused
from tirelife.logbook.schema import KEPT_BESIDE, READ_AGAIN, SCHEMA
from tirelife.logbook.seals import seal
from tirelife.logbook.settle import settle
from tirelife.logbook.sources import STORE_NAME
from tirelife.logbook.store import connect, insert_texts, is_store, read_tables, records_of, sound
from tirelife.logbook.storeschema import columns_of, quoted
from tirelife.logbook.textfile import TextTable, cells_of

__all__ = ["Recorded", "Visit", "correct_record", "record_visit", "store_path", "withdraw_record"]


@dataclass(frozen=True)
class Visit:
    """What was seen and done at one visit of one vehicle, in the logbook's own units, as texts.

    Attributes
    ----------
    vehicle_id : str
    date : str
        ISO 8601, such as ``2026-11-24``.
    odometer : str
    depths : sequence of (position, groove, depth, spot)
        ``spot`` may be blank.
    pressures : sequence of (position, pressure, set_to)
        ``set_to`` may be blank: left as found.
    mounts : sequence of (tire_id, position)
        Position ``OFF`` takes a tire off.
    new_tires : sequence of (tire_id, tire_line, new_depth)
        Tires that the logbook does not know yet.
    new_vehicle : (drive, placard_front, placard_rear) or None
        If the logbook does not know the vehicle yet.
    state : str
        Of the tires when their pressure was read: cold, city or highway.
    ambient : str
        Air temperature, or blank.
    gauge_id, pressure_gauge_id : str
        Or blank.
    note : str
    """

    vehicle_id: str
    date: str
    odometer: str
    depths: Sequence[tuple[str, str, str, str]] = ()
    pressures: Sequence[tuple[str, str, str]] = ()
    mounts: Sequence[tuple[str, str]] = ()
    new_tires: Sequence[tuple[str, str, str]] = ()
    new_vehicle: tuple[str, str, str] | None = None
    state: str = "cold"
    ambient: str = ""
    gauge_id: str = ""
    pressure_gauge_id: str = ""
    note: str = ""

    def records(self) -> dict[str, list[dict[str, str]]]:
        """The visit as records of the logbook's tables, quantities without their unit."""
        seen = {"date": self.date, "odometer": self.odometer, "vehicle_id": self.vehicle_id}
        out: dict[str, list[dict[str, str]]] = {}
        if self.new_vehicle is not None:
            drive, front, rear = self.new_vehicle
            placard = {"placard_front": front, "placard_rear": rear}
            out["vehicles"] = [{"vehicle_id": self.vehicle_id, "drive": drive, **placard}]
        out["tires"] = [
            {"tire_id": tire, "tire_line": line, "new_depth": depth} for tire, line, depth in self.new_tires
        ]
        out["mounts"] = [{**seen, "tire_id": tire, "position": position} for tire, position in self.mounts]
        out["depths"] = [
            {
                **seen,
                "position": position,
                "groove": groove,
                "depth": depth,
                "spot": spot,
                "gauge_id": self.gauge_id,
            }
            for position, groove, depth, spot in self.depths
        ]
        out["pressures"] = [
            {
                **seen, "position": position, "pressure": pressure, "set_to": set_to, "state": self.state,
                "ambient": self.ambient, "gauge_id": self.pressure_gauge_id,
            }
            for position, pressure, set_to in self.pressures
        ]  # fmt: skip
        if not (out["mounts"] or out["depths"]):
            out["odometer"] = [seen]
        return {table: records for table, records in out.items() if records}


@dataclass(frozen=True, eq=False)
class Recorded:
    """What came of it.

    Attributes
    ----------
    written : bool
        False after a trial, or when there are doubts that nobody accepted.
    changes : DataFrame
        what, position, groove, tire_id, last_date, before, now, change, unit: each reading beside the one
        before it, in the logbook's units.
    doubts : DataFrame
        file, row, column, value, what, advice, doubt: new doubts only.
    visit : int or None
        Number of the visit in the file.
    """

    written: bool
    changes: pd.DataFrame
    doubts: pd.DataFrame
    visit: int | None


def record_visit(
    logbook: str | Path, visit: Visit, *, accept_doubts: bool = False, trial: bool = False
) -> Recorded:
    """Write a visit into a logbook file, all of it in one transaction.

    Parameters
    ----------
    logbook : str or Path
        A logbook in one file, or a folder with ``logbook.sqlite`` in it.
    visit : Visit
    accept_doubts : bool
        Write even if something is doubtful; an odometer that is asked about then counts as read again, and is
        used. Otherwise a doubt leaves the logbook as it is.
    trial : bool
        Check and compare only.

    Returns
    -------
    Recorded

    Raises
    ------
    InputError
        With every error found; nothing is written then.
    """
    records = visit.records()
    if list(records) == ["odometer"] and not visit.odometer.strip():
        raise refusal(THIS_VISIT, Refused.VISIT_EMPTY)
    path = store_path(logbook)
    tires = {tire for tire, _ in visit.mounts}

    def add(connection: sqlite3.Connection, texts: dict[str, TextTable]) -> dict[str, TextTable]:
        if visit.new_vehicle is None:
            _require_vehicle(connection, visit.vehicle_id.strip())
        return {
            table: _rows(connection, table, texts.get(table), rows, path.name)
            for table, rows in records.items()
        }

    def write(connection: sqlite3.Connection, new: dict[str, TextTable]) -> int:
        now = dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        number = connection.execute(
            "insert into visits (at, note) values (?, ?)", (now, visit.note)
        ).lastrowid
        for table in ("vehicles", "tires", "mounts", "depths", "odometer", "pressures"):
            if table in new:
                insert_texts(connection, new[table], columns_of(connection, table), number)
        return int(number or 0)

    return _change(path, visit.vehicle_id.strip(), tires, add, write, accept_doubts, trial)


def correct_record(
    logbook: str | Path, table: str, row: int, values: Mapping[str, str], *, accept_doubts: bool = False
) -> Recorded:
    """Supersede a record by a corrected one; the old one stays in the file and in its history.

    Parameters
    ----------
    logbook : str or Path
    table : str
    row : int
        Its number, as ``tirelife check`` shows it.
    values : mapping of str to str
        New texts by column, named as in the file.
    accept_doubts : bool

    Returns
    -------
    Recorded

    Raises
    ------
    InputError
        If there is no such record or column, or the corrected logbook would have errors.
    """
    path = store_path(logbook)

    def add(connection: sqlite3.Connection, texts: dict[str, TextTable]) -> dict[str, TextTable]:
        current = texts[table]
        at = np.flatnonzero(current.rows == row)
        old = {name: str(cells.text()[at[0]]) for name, cells in current.cells.items()}
        columns = columns_of(connection, table)
        beside = KEPT_BESIDE.get(table, frozenset()) & {READ_AGAIN}
        unknown = [name for name in values if name not in {*columns, *old, *beside}]
        if unknown:
            known = [*columns, *(n for n in old if n not in columns)]
            raise refusal(f"{path.name}: {table}", Refused.NO_COLUMN, column=unknown[0], names=known)
        keyed = table in ("vehicles", "tires")
        new = _texts(
            table, current.file, [old | dict(values)], row if keyed else _next_row(connection, table)
        )
        texts[table] = current.keep(current.rows != row)
        return {table: new}

    def write(connection: sqlite3.Connection, new: dict[str, TextTable]) -> int:
        if table in ("vehicles", "tires"):
            _overwrite(connection, new[table], row)
        else:
            insert_texts(connection, new[table], columns_of(connection, table))
            _supersede(connection, table, row, int(new[table].rows[0]))
        return 0

    return _change(path, _vehicle_of(path, table, row), (), add, write, accept_doubts, False)


def withdraw_record(logbook: str | Path, table: str, row: int, *, accept_doubts: bool = False) -> Recorded:
    """Take a record out of use, such as one entered twice; it stays in the file and in its history.

    Parameters
    ----------
    logbook : str or Path
    table : str
        Any but vehicles and tires.
    row : int
    accept_doubts : bool

    Returns
    -------
    Recorded
    """
    path = store_path(logbook)
    if table in ("vehicles", "tires"):
        raise refusal(f"{path.name}: {table}", Refused.HOLDS_NAMES, row)

    def add(_: sqlite3.Connection, texts: dict[str, TextTable]) -> dict[str, TextTable]:
        texts[table] = texts[table].keep(texts[table].rows != row)
        return {}

    def write(connection: sqlite3.Connection, _: dict[str, TextTable]) -> int:
        _supersede(connection, table, row, -1)
        return 0

    return _change(path, _vehicle_of(path, table, row), (), add, write, accept_doubts, False)


def _change(
    path: Path,
    vehicle: str,
    tires: Collection[str],
    add: Callable[[sqlite3.Connection, dict[str, TextTable]], dict[str, TextTable]],
    write: Callable[[sqlite3.Connection, dict[str, TextTable]], int],
    accept_doubts: bool,
    trial: bool,
) -> Recorded:
    """Check what the logbook would be, and write if it would be good; all under one lock."""
    with connect(path, write=True) as connection:
        connection.execute("begin immediate")
        try:
            last = connection.execute("select coalesce(max(id), 0) from audit").fetchone()[0]
            damage = Findings()
            with sound(path):
                texts = read_tables(connection, path.name, damage, [vehicle], tires)
            damage.raise_errors()
            held = dict(texts)
            new = add(connection, texts)
            after, parsed = _problems_and_tables({**texts, **_joined(texts, new)})
            before = _problems_and_tables(held)[0] if len(after) else after
            fresh = _fresh(before, after, new)
            fresh = fresh[fresh["code"] != Found.NOT_KNOWN]
            errors = fresh[~fresh["doubt"]]
            if len(errors):
                raise InputError(to_problems(errors))
            changes = visit_changes(parsed, new)
            slipped = slips(parsed, new, changes)
            doubts = pd.concat([fresh, slipped], ignore_index=True) if len(slipped) else fresh
            shown = shown_changes(changes)
            if trial or (len(doubts) and not accept_doubts):
                return Recorded(False, shown, doubts, None)
            if fresh["code"].isin(ODOMETER_ASKED).any():
                new = {name: _stands(text) for name, text in new.items()}
            visit = write(connection, new)
            seal(connection, last)
            connection.execute("commit")
        finally:
            if connection.in_transaction:
                connection.execute("rollback")
    return Recorded(True, shown, doubts, visit or None)


def _stands(text: TextTable) -> TextTable:
    """Records that say of their odometer that it was asked about and stands; of others nothing."""
    if READ_AGAIN not in KEPT_BESIDE.get(text.name, ()):
        return text
    return replace(text, cells={**text.cells, READ_AGAIN: cells_of(["yes"] * len(text.rows))})


def store_path(logbook: str | Path) -> Path:
    """The file of a logbook that can be written to; an error says how to make one of a folder."""
    path = Path(logbook)
    if path.is_dir() and (path / STORE_NAME).exists():
        path = path / STORE_NAME
    if path.is_dir():
        raise refusal(path, Refused.IS_FOLDER, folder=str(path), into=STORE_NAME)
    if not is_store(path):
        raise refusal(path, Refused.NO_STORE if path.exists() else Refused.NOT_THERE)
    return path


def _next_row(connection: sqlite3.Connection, table: str) -> int:
    return int(connection.execute(f'select coalesce(max("_row"), 1) + 1 from {table}').fetchone()[0])


def _rows(
    connection: sqlite3.Connection,
    table: str,
    current: TextTable | None,
    records: list[dict[str, str]],
    file: str,
) -> TextTable:
    """New records as texts, under the columns' names in this file."""
    names = {column.name: name for name, column in columns_of(connection, table).items()}
    own = [{names[key]: value for key, value in record.items()} for record in records]
    label = current.file if current is not None else f"{file}: {table}"
    return _texts(table, label, own, _next_row(connection, table))


def _texts(table: str, file: str, records: list[dict[str, str]], first_row: int) -> TextTable:
    cells = {name: cells_of([record[name] for record in records]) for name in records[0]}
    return TextTable(table, file, np.arange(len(records), dtype=np.int64) + first_row, cells)


def _joined(texts: dict[str, TextTable], new: dict[str, TextTable]) -> dict[str, TextTable]:
    out = {}
    for name, added in new.items():
        parse(added, found := Findings())  # by the new records alone: what is stored settles no question
        asked = found.frame()
        asked = asked[~asked["doubt"] & (asked["code"] == Found.MAY_BE_THOUSANDS)]
        if len(asked):
            raise InputError(to_problems(asked.assign(file=THIS_VISIT, row=0)))
        old = texts.get(name)
        if old is None:
            out[name] = added
            continue
        cells = {}
        for column in [*old.cells, *(c for c in added.cells if c not in old.cells)]:
            parts = [
                part.cells[column].text()
                if column in part.cells
                else np.full(len(part.rows), "", dtype=object)
                for part in (old, added)
            ]
            cells[column] = cells_of(np.concatenate(parts))
        out[name] = replace(old, rows=np.concatenate([old.rows, added.rows]), cells=cells)
    return out


def _problems_and_tables(texts: dict[str, TextTable]) -> tuple[pd.DataFrame, dict[str, Parsed]]:
    found = Findings()
    parsed = {name: parse(text, found) for name, text in texts.items()}
    settled = settle(parsed, found)
    check_between(settled, found)
    # A repeat in the new visit is shown beside the reading that it repeats.
    return found.frame(), {**parsed, **{name: settled[name] for name in ("mounts",) if name in settled}}


def _fresh(before: pd.DataFrame, after: pd.DataFrame, new: dict[str, TextTable]) -> pd.DataFrame:
    """Problems that were not there before, those of the new records named after the visit."""
    if after.empty:
        return after
    keys = ["file", "row", "column", "code"]
    known = set(before[keys].itertuples(index=False, name=None))
    where = np.array([key not in known for key in after[keys].itertuples(index=False, name=None)], dtype=bool)
    # A logbook that is only begun has tables with no records yet; that is no fault of the visit.
    fresh = after[where & after["code"].ne(Found.NO_RECORDS)].copy()
    for text in new.values():
        mine = (fresh["file"] == text.file) & fresh["row"].isin(text.rows)
        at = np.searchsorted(text.rows, fresh.loc[mine, "row"].to_numpy())
        places = [
            text.cells[name].text()[at] for name in ("tire_id", "position", "groove") if name in text.cells
        ]
        columns = [
            " ".join([f"{column} of", *place]) if place else column
            for column, *place in zip(fresh.loc[mine, "column"], *places, strict=True)
        ]
        fresh.loc[mine, "column"] = columns
        fresh.loc[mine, "row"] = 0
        fresh.loc[mine, "file"] = THIS_VISIT
    return fresh


def _require_vehicle(connection: sqlite3.Connection, vehicle: str) -> None:
    known = [str(one) for (one,) in connection.execute("select vehicle_id from vehicles")]
    if vehicle not in known:
        close = difflib.get_close_matches(vehicle, known, n=1, cutoff=0.6)
        near, ask = (close[0], Ask.VEHICLE_NEAR) if close else ("", "")
        raise refusal(
            THIS_VISIT, Refused.VEHICLE_UNKNOWN, column="vehicle_id", value=vehicle, ask=ask, near=near
        )


def _vehicle_of(path: Path, table: str, row: int) -> str:
    """Vehicle of a current record, or blank for a table without vehicles."""
    if table not in SCHEMA or table == "trips":
        raise refusal(path.name, Refused.NO_TABLE, value=table)
    with connect(path) as connection:
        cursor = connection.execute(
            f'select * from {table} where "_row" = ? and "_superseded_by" is null', (row,)
        )
        names = [entry[0] for entry in cursor.description]
        record = cursor.fetchone()
        if record is None:
            raise refusal(f"{path.name}: {table}", Refused.NO_RECORD, row)
        found = dict(zip(names, record, strict=True))
        if table == "tires":
            mount = connection.execute(
                "select vehicle_id from mounts where tire_id = ?", (found["tire_id"],)
            ).fetchone()
            return str(mount[0]) if mount else ""
        return str(found.get("vehicle_id", ""))


def _supersede(connection: sqlite3.Connection, table: str, row: int, by: int) -> None:
    connection.execute(f'update {table} set "_superseded_by" = ? where "_row" = ?', (by, row))


def _overwrite(connection: sqlite3.Connection, new: TextTable, row: int) -> None:
    """Change a vehicle or a tire in its place, since other records name it; the history keeps the old."""
    columns = columns_of(connection, new.name)
    visit = connection.execute(f'select "_visit" from {new.name} where "_row" = ?', (row,)).fetchone()[0]
    names = [*columns, "_visit", "_as_written", "_extra", "_digest"]
    for _, *values in records_of(new, columns, visit):
        parts = ", ".join(f"{quoted(name)} = ?" for name in names)
        connection.execute(f'update {new.name} set {parts} where "_row" = ?', [*values, row])

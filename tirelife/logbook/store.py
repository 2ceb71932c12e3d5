"""A logbook in one SQLite file: the form for daily use.

The tables are those of a folder, under the same names, with keys, ranges and choices enforced by the file
itself. Nothing is ever deleted: a correction supersedes a record, and the ``audit`` table holds every record
as it came in and every change. Each cell whose text is not the plain way to write its value is kept as it
was written, so a folder comes back as it went in.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Collection, Iterator
from contextlib import closing, contextmanager
from itertools import repeat
from pathlib import Path
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import InputError, Problem
from tirelife.logbook.export import whole_file
from tirelife.logbook.schema import SCHEMA, Column
from tirelife.logbook.textfile import Cells, TextTable, cells_of
from tirelife.logbook.values import numbers, uses_decimal_comma
from tirelife.units import INSIDE, KINDS, convert, split_unit

__all__ = [
    "STORED", "US", "audit", "backup", "connect", "create_tables", "insert_texts", "is_store", "plain",
    "read_store", "read_tables", "store_errors", "stored_columns", "watch",
]  # fmt: skip

STORED: Final = tuple(name for name in SCHEMA if name != "trips")
"""Tables that the file holds; recorded trips stay in their own files beside it."""
VERSION: Final = 1
_APPLICATION: Final = 0x74697265
_BUSY_S: Final = 30.0
_KEYED: Final = {"vehicles": "vehicle_id", "tires": "tire_id"}
US: Final = {"depth": "32nds", "distance": "mi", "pressure": "psi", "temperature": "f", "mass": "lb"}
_DATE = "GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'"


def is_store(path: Path) -> bool:
    """Whether a file is an SQLite file."""
    try:
        with path.open("rb") as file:
            return file.read(16) == b"SQLite format 3\x00"
    except OSError:
        return False


@contextmanager
def store_errors(path: Path) -> Iterator[None]:
    """Turn what SQLite and the system say about the file into one clear error."""
    try:
        yield
    except sqlite3.IntegrityError as error:
        what, advice = "refuses the record", "Correct it; nothing was written."
        raise InputError(Problem(path.name, 0, "", str(error), what, advice)) from error
    except sqlite3.DatabaseError as error:
        # With no room for the file that readers and a writer share, SQLite speaks of the disk, not of room.
        no_room = getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_IOERR_SHMSIZE
        what, advice = _said("full" if no_room else str(error).lower())
        raise InputError(Problem(str(path), 0, "", "", what, advice)) from error
    except OSError as error:
        why = (error.strerror or type(error).__name__).lower()
        raise InputError(
            Problem(str(path), 0, "", "", f"cannot be used: {why}", "Nothing was changed.")
        ) from error


def _said(message: str) -> tuple[str, str]:
    for sign, what, advice in (
        ("locked", "is busy: somebody else is writing", "Try again; nothing was written."),
        ("full", "cannot be written: no space left on the disk", "Make room; nothing was written."),
        ("readonly", "cannot be written: it is read-only", "Change its permissions; nothing was written."),
        ("read-only", "cannot be written: it is read-only", "Change its permissions; nothing was written."),
        ("unable to open", "cannot be opened", "Check the folder and its permissions."),
        ("disk i/o", "cannot be read or written", "Check the disk; what was confirmed before is safe."),
        ("not a database", "is not a logbook", "Restore it from a backup."),
        ("malformed", "is damaged", "Restore it from a backup."),
        ("no such", "is not a logbook of this version", "Make a new one with: tirelife convert."),
    ):
        if sign in message:
            return what, advice
    return f"cannot be used: {message}", "Restore it from a backup if this does not pass."


@contextmanager
def connect(path: Path, *, write: bool = False) -> Iterator[sqlite3.Connection]:
    """Open a logbook file.

    Parameters
    ----------
    path : Path
    write : bool
        Open for writing: write-ahead log, every commit flushed to the disk, foreign keys enforced.
    """
    with store_errors(path), closing(_opened(path, write)) as connection:
        if connection.execute("pragma application_id").fetchone()[0] != _APPLICATION:
            raise sqlite3.DatabaseError("no such version")
        if connection.execute("pragma user_version").fetchone()[0] != VERSION:
            raise sqlite3.DatabaseError("no such version")
        if write:
            connection.execute("pragma journal_mode=wal")
            connection.execute("pragma synchronous=full")
            connection.execute("pragma foreign_keys=on")
        yield connection


def _opened(path: Path, write: bool) -> sqlite3.Connection:
    """Open the file; where its folder takes no side files, as one that nobody changes meanwhile."""
    uri = f"{path.resolve().as_uri()}?mode={'rw' if write else 'ro'}"
    log = path.with_name(path.name + "-wal")
    quiet = not write and not (log.exists() and log.stat().st_size)
    alone = f"{uri}&immutable=1" if quiet else ""

    def opened(uri: str) -> sqlite3.Connection:
        return sqlite3.connect(uri, uri=True, timeout=_BUSY_S, isolation_level=None)

    if alone and not _may_write(path):
        return opened(alone)
    connection = opened(uri)
    if alone:
        try:
            connection.execute("pragma application_id")
        except sqlite3.OperationalError as error:
            connection.close()
            if error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN):
                return opened(alone)  # a full disk, most likely: what is on it can still be read
            raise
    return connection


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def quoted(name: str) -> str:
    """Return a name as SQL takes it."""
    return '"' + name.replace('"', '""') + '"'


def stored_columns(table: str, units: dict[str, str]) -> dict[str, Column]:
    """Columns of a stored table by their names in the file, unit and all.

    Parameters
    ----------
    table : str
    units : dict
        By kind of quantity or, before that, by name of column: the unit it is stored in.
    """
    out = {}
    for column in SCHEMA[table]:
        unit = units.get(column.name, units.get(column.kind, INSIDE.get(column.kind, "")))
        out[f"{column.name}_{unit}" if column.kind in KINDS else column.name] = column
    return out


def create_tables(connection: sqlite3.Connection, columns: dict[str, dict[str, Column]]) -> None:
    """Make the tables of an empty file; the triggers that watch them come with :func:`watch`."""
    connection.execute(f"pragma application_id={_APPLICATION}")
    connection.execute(f"pragma user_version={VERSION}")
    connection.execute(
        "create table tables (name text primary key, header text not null check (json_valid(header)),"
        " present integer not null) strict"
    )
    connection.execute(
        "create table visits (visit integer primary key, at text not null, note text not null) strict"
    )
    connection.execute(
        "create table audit (id integer primary key, at text not null, action text not null,"
        ' "table" text not null, "row" integer, record text not null) strict'
    )
    for table, names in columns.items():
        parts = ['"_row" integer primary key']
        parts += [_declared(table, name, column) for name, column in names.items()]
        parts += [
            '"_visit" integer references visits (visit)',
            '"_superseded_by" integer',
            '"_as_written" text check ("_as_written" is null or json_valid("_as_written"))',
            '"_extra" text check ("_extra" is null or json_valid("_extra"))',
        ]
        connection.execute(f"create table {table} ({', '.join(parts)}) strict")
        if "vehicle_id" in names and table != "vehicles":
            date = next((name for name, column in names.items() if column.kind == "date"), "vehicle_id")
            connection.execute(f"create index {table}_vehicle on {table} (vehicle_id, {quoted(date)})")
    connection.execute("create index mounts_tire on mounts (tire_id)")


def _declared(table: str, name: str, column: Column) -> str:
    sql = quoted(name)
    kind = {"text": "text", "date": "text", "count": "integer"}.get(column.kind, "real")
    out = f"{sql} {kind}"
    if column.required and not column.blank:
        out += " not null"
    if _KEYED.get(table) == name:
        out += " unique check (length(" + sql + ") > 0)"
    elif name in _KEYED.values():
        parent = next(t for t, key in _KEYED.items() if key == name)
        out += f" references {parent} ({name})"
    if column.kind == "date":
        out += f" check ({sql} {_DATE} and date({sql}) is not null)"
    if column.one_of:
        out += f" check ({sql} in ({', '.join(repr(choice) for choice in column.one_of)}))"
    unit = split_unit(name, [column.kind])[1] if column.kind in KINDS else None
    for limit, sign in ((column.low, ">="), (column.high, "<=")):
        if limit is not None:
            bound = convert(float(limit), INSIDE[column.kind], unit) if unit else float(limit)
            slack = 1e-9 * max(abs(bound), 1.0)
            out += f" check ({sql} {sign} {bound - slack if sign == '>=' else bound + slack!r})"
    return out


def watch(connection: sqlite3.Connection, columns: dict[str, dict[str, Column]]) -> None:
    """Let the file itself write every change into ``audit``, and refuse to delete or overwrite."""
    for table, names in columns.items():
        shown = [*names, "_visit", "_as_written", "_extra"]

        def record(which: str, shown: list[str] = shown) -> str:
            return "json_object(" + ", ".join(f"'{n}', {which}.{quoted(n)}" for n in shown) + ")"

        def note(action: str, which: str, table: str = table) -> str:
            now = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"
            return (
                f'insert into audit (at, action, "table", "row", record) '
                f"values ({now}, '{action}', '{table}', {which}.\"_row\", {record(which)});"
            )

        connection.execute(
            f"create trigger {table}_in after insert on {table} begin {note('insert', 'new')} end"
        )
        connection.execute(
            f"create trigger {table}_gone before delete on {table} "
            "begin select raise(abort, 'nothing is deleted: record a correction'); end"
        )
        if table in _KEYED:
            connection.execute(
                f"create trigger {table}_change after update on {table} "
                f"begin {note('before', 'old')} {note('change', 'new')} end"
            )
            continue
        guarded = ", ".join(map(quoted, ["_row", *shown]))
        connection.execute(
            f"create trigger {table}_over before update of {guarded} on {table} "
            "begin select raise(abort, 'a record is not overwritten: record a correction'); end"
        )
        connection.execute(
            f'create trigger {table}_out after update of "_superseded_by" on {table} '
            f"""begin {note("' || iif(new._superseded_by < 0, 'withdraw', 'supersede') || '", "old")} end"""
        )
    for table in ("audit", "visits"):
        for deed in ("delete", "update"):
            connection.execute(
                f"create trigger {table}_{deed} before {deed} on {table} "
                f"begin select raise(abort, '{table} is not changed'); end"
            )


def plain(value: Any) -> str:
    """Text of a stored value, written the plain way."""
    if value is None:
        return ""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value)


def insert_texts(
    connection: sqlite3.Connection, text: TextTable, columns: dict[str, Column], visit: int | None = None
) -> None:
    """Insert all records of a table: values, and the text of each cell that is not written the plain way."""
    n = len(text.rows)
    values: list[NDArray[np.object_]] = []
    names: list[str] = []
    written: list[dict[str, str]] = [{} for _ in range(n)]
    extra: list[dict[str, str]] = [{} for _ in range(n)]
    comma = any(
        uses_decimal_comma(cells.words)
        for name, cells in text.cells.items()
        if name in columns and columns[name].kind not in ("text", "date")
    )
    for name, cells in text.cells.items():
        exact = cells.text()
        if text.as_written is not None and name in columns and columns[name].kind not in ("text",):
            exact = text.as_written(name)[text.rows]
        if name not in columns:
            for record, cell in zip(extra, exact, strict=True):
                if cell:
                    record[name] = cell
            continue
        stored = _stored(cells, columns[name], name, comma, text.typed)
        column = stored[cells.codes] if len(stored) else np.zeros(0, dtype=object)
        usual = np.array([plain(value) for value in stored], dtype=object)
        differs = usual[cells.codes] != exact if n else np.zeros(0, dtype=bool)
        for i in np.flatnonzero(differs):
            written[i][name] = exact[i]
        names.append(name)
        values.append(column)
    marks = ", ".join("?" * (len(names) + 4))
    listed = ", ".join(map(quoted, ["_row", *names, "_visit", "_as_written", "_extra"]))
    records: Iterator[tuple[Any, ...]] = zip(
        text.rows.tolist(), *values, repeat(visit, n), map(_json, written), map(_json, extra), strict=True
    )
    connection.executemany(f"insert into {text.name} ({listed}) values ({marks})", records)


def _stored(cells: Cells, column: Column, name: str, comma: bool, typed: bool) -> NDArray[np.object_]:
    """What each distinct word of a column is stored as; None for a blank."""
    words = [word.strip() for word in cells.words]
    out = np.full(len(words), None, dtype=object)
    if column.kind in KINDS or column.kind in ("number", "count"):
        unit = split_unit(name, [column.kind])[1] if column.kind in KINDS else None
        amounts, _ = numbers(cells.words, comma, column, unit, typed=typed)
        for i, amount in enumerate(amounts):
            if not np.isnan(amount):
                out[i] = int(amount) if column.kind == "count" else float(amount)
    elif column.one_of:
        folded = {choice.lower(): choice for choice in column.one_of}
        out[:] = [folded.get(word.lower(), word) if word else None for word in words]
    elif column.kind == "date":
        out[:] = [word[:10] if word else None for word in words]
    else:
        required = column.required and not column.blank
        out[:] = [word if word or required else None for word in words]
    return out


def _json(record: dict[str, str]) -> str | None:
    return json.dumps(record, ensure_ascii=False) if record else None


def read_store(path: Path) -> dict[str, TextTable]:
    """Read the current records of a logbook file as text, one table each."""
    with connect(path) as connection:
        connection.execute("begin")
        return read_tables(connection, path.name)


def read_tables(
    connection: sqlite3.Connection,
    file: str,
    vehicles: Collection[str] | None = None,
    tires: Collection[str] = (),
) -> dict[str, TextTable]:
    """Read current records from an open file.

    Parameters
    ----------
    connection : Connection
    file : str
        Its name, for messages.
    vehicles, tires : collection of str, optional
        Only what these vehicles need: their records, the tires that were ever on them or are named, and the
        vehicles where those were.

    Returns
    -------
    dict of TextTable
        The tables that hold records, and those that were there on import. A record's row is its number in
        the file, and stays the same.
    """
    out = {}
    if vehicles is not None:
        connection.execute("create temp table if not exists wanted_vehicles (id text primary key)")
        connection.execute("create temp table if not exists wanted_tires (id text primary key)")
        connection.execute("delete from wanted_vehicles")
        connection.execute("delete from wanted_tires")
        connection.executemany("insert into wanted_vehicles values (?)", [(v,) for v in set(vehicles)])
        connection.executemany("insert into wanted_tires values (?)", [(t,) for t in set(tires)])
        connection.execute(
            "insert or ignore into wanted_tires select tire_id from mounts "
            "where vehicle_id in (select id from wanted_vehicles)"
        )
    stored = {
        name: (json.loads(header), here) for name, header, here in connection.execute("select * from tables")
    }
    for table in STORED:
        header, present = stored[table]
        where = "" if vehicles is None else _NEEDED.get(table, _NEEDED[""])
        cursor = connection.execute(
            f'select * from {table} where "_superseded_by" is null{where} order by "_row"'
        )
        names = [entry[0] for entry in cursor.description]
        records = cursor.fetchall()
        if records or present:
            out[table] = _texts(table, f"{file}: {table}", header, names, records)
    return out


_ON_VEHICLE = "vehicle_id in (select id from wanted_vehicles)"
_NEEDED = {
    "": f" and {_ON_VEHICLE}",
    "gauges": "",
    "tires": " and tire_id in (select id from wanted_tires)",
    "mounts": " and tire_id in (select id from wanted_tires)",
    "vehicles": f" and ({_ON_VEHICLE} or vehicle_id in "
    "(select vehicle_id from mounts where tire_id in (select id from wanted_tires)))",
}


def _texts(
    table: str, file: str, header: list[str], names: list[str], records: list[tuple[Any, ...]]
) -> TextTable:
    at = {name: i for i, name in enumerate(names)}
    written = [json.loads(record[at["_as_written"]] or "{}") for record in records]
    extra = [json.loads(record[at["_extra"]] or "{}") for record in records]
    own = [name for name in names if not name.startswith("_")]
    used = [
        name for name in own if name not in header and any(record[at[name]] is not None for record in records)
    ]
    cells = {}
    for name in [*header, *used]:
        if name in at and not name.startswith("_"):
            i = at[name]
            texts = [w.get(name, plain(record[i])) for w, record in zip(written, records, strict=True)]
        else:
            texts = [one.get(name, "") for one in extra]
        cells[name] = cells_of(texts)
    rows = np.array([record[at["_row"]] for record in records], dtype=np.int64)
    return TextTable(table, file, rows, cells, typed=True)


def backup(source: Path, target: Path) -> None:
    """Copy a logbook file whole, while others may be writing to it; the copy is checked.

    Raises
    ------
    InputError
        If it cannot be written; what stood at ``target`` before is then left as it was.
    """
    with (
        connect(source) as connection,
        whole_file(target) as part,
        store_errors(target),
        closing(sqlite3.connect(part)) as copy,
    ):
        connection.backup(copy)
        copy.execute("pragma journal_mode=delete")
        if copy.execute("pragma integrity_check").fetchone()[0] != "ok":
            raise sqlite3.DatabaseError("malformed")


def audit(path: Path) -> pd.DataFrame:
    """Every change to a logbook file: id, at (UTC), action, table, row, record (JSON)."""
    with connect(path) as connection:
        cursor = connection.execute("select * from audit order by id")
        frame = pd.DataFrame(cursor.fetchall(), columns=[entry[0] for entry in cursor.description])
        return frame.astype({"id": "int64", "row": "Int64"})

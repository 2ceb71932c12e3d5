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

from tirelife.errors import InputError, refusal, said_by_system
from tirelife.logbook.codes import Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.refused import NoStore
from tirelife.logbook.schema import READ_AGAIN, Column
from tirelife.logbook.seals import check_history, check_records, record_digest
from tirelife.logbook.storeschema import APPLICATION, STORED, VERSION, columns_of, quoted, require_schema
from tirelife.logbook.textfile import Cells, TextTable, cells_of
from tirelife.logbook.values import numbers, uses_decimal_comma
from tirelife.logbook.whole import whole_file
from tirelife.units import KINDS, split_unit

__all__ = [
    "audit", "backup", "connect", "insert_texts", "is_store", "opened", "plain", "read_store", "read_tables",
    "records_of", "sound", "store_errors", "texts_of", "version_of",
]  # fmt: skip

_BUSY_S: Final = 30.0
_STEPS: Final = 1_000_000
"""Instructions of SQLite between two looks at how many a file has cost."""
_WORK: Final = 200
"""Instructions that reading may cost for each byte of a file; a sound one takes a tenth of it."""


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
        raise refusal(path.name, NoStore.RECORD, value=str(error)) from error
    except sqlite3.DatabaseError as error:
        # With no room for the file that readers and a writer share, SQLite speaks of the disk, not of room.
        no_room = getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_IOERR_SHMSIZE
        said = str(error).lower()
        raise refusal(path, NoStore.FULL if no_room else _meant(said), why=said) from error
    except UnicodeDecodeError as error:  # what SQLite says of a damaged name
        raise refusal(path, NoStore.NAME) from error
    except OSError as error:
        raise refusal(path, NoStore.UNUSABLE, why=said_by_system(error)) from error


_SIGNS: Final = (
    ("locked", NoStore.BUSY),
    ("full", NoStore.FULL),
    ("readonly", NoStore.READ_ONLY),
    ("read-only", NoStore.READ_ONLY),
    ("unable to open", NoStore.UNOPENED),
    ("disk i/o", NoStore.DISK),
    ("not a database", NoStore.FOREIGN),
    ("malformed", NoStore.DAMAGED),
    ("could not decode", NoStore.TEXT),
    ("too big", NoStore.LARGE),
    ("interrupted", NoStore.WORK),
    ("no such version", NoStore.VERSION),
    ("earlier version", NoStore.EARLIER),
)
"""What SQLite says, and what that means; it gives no code for some of these."""


def _meant(message: str) -> NoStore:
    return next((code for sign, code in _SIGNS if sign in message), NoStore.SAID)


@contextmanager
def connect(path: Path, *, write: bool = False) -> Iterator[sqlite3.Connection]:
    """Open a logbook file.

    Parameters
    ----------
    path : Path
    write : bool
        Open for writing: write-ahead log, every commit flushed to the disk, foreign keys enforced.
    """
    with store_errors(path), closing(opened(path, write)) as connection:
        with sound(path):
            require_schema(connection, path, version_of(connection))
        if write:
            if version_of(connection) != VERSION:
                raise sqlite3.DatabaseError("earlier version")
            connection.execute("pragma journal_mode=wal")
            connection.execute("pragma synchronous=full")
            connection.execute("pragma foreign_keys=on")
        yield connection


def version_of(connection: sqlite3.Connection) -> int:
    """Version of the file that is open; an error if it is no logbook."""
    version = int(connection.execute("pragma user_version").fetchone()[0])
    application = connection.execute("pragma application_id").fetchone()[0]
    if application != APPLICATION or not 1 <= version <= VERSION:
        raise sqlite3.DatabaseError("no such version")
    return version


def _limit_work(connection: sqlite3.Connection, path: Path) -> None:
    """Stop whatever costs more instructions than reading or changing a file of this size can."""
    left = 100 + _WORK * path.stat().st_size // _STEPS

    def spent() -> int:
        nonlocal left
        left -= 1
        return int(left < 0)

    connection.set_progress_handler(spent, _STEPS)


def opened(path: Path, write: bool) -> sqlite3.Connection:
    """Open a file whatever it holds, with a limit on the work that it may cause.

    Where its folder takes no side files it is opened as one that nobody changes meanwhile.
    """
    connection = _opened(path, write)
    _limit_work(connection, path)
    return connection


def _opened(path: Path, write: bool) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={'rw' if write else 'ro'}"
    log = path.with_name(path.name + "-wal")
    quiet = not write and not (log.exists() and log.stat().st_size)
    alone = f"{uri}&immutable=1" if quiet else ""

    def at(uri: str) -> sqlite3.Connection:
        return sqlite3.connect(uri, uri=True, timeout=_BUSY_S, isolation_level=None)

    if alone and not _may_write(path):
        return at(alone)
    connection = at(uri)
    if alone:
        try:
            connection.execute("pragma application_id")
        except sqlite3.OperationalError as error:
            connection.close()
            if error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN):
                return at(alone)  # a full disk, most likely: what is on it can still be read
            raise
    return connection


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


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
    names = ["_row", *columns, "_visit", "_as_written", "_extra", "_digest"]
    connection.executemany(
        f"insert into {text.name} ({', '.join(map(quoted, names))}) values ({', '.join('?' * len(names))})",
        records_of(text, columns, visit),
    )


def records_of(
    text: TextTable, columns: dict[str, Column], visit: int | None = None
) -> Iterator[tuple[Any, ...]]:
    """Records as the file holds them: row, ``columns``, visit, texts as written, unknown columns, digest."""
    n = len(text.rows)
    values: dict[str, NDArray[np.object_]] = {}
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
        usual = np.array([plain(value) for value in stored], dtype=object)
        differs = usual[cells.codes] != exact if n else np.zeros(0, dtype=bool)
        for i in np.flatnonzero(differs):
            written[i][name] = exact[i]
        values[name] = stored[cells.codes] if len(stored) else np.zeros(0, dtype=object)
    for one in zip(
        text.rows.tolist(),
        *(values.get(name, repeat(None, n)) for name in columns),
        repeat(visit, n),
        map(_json, written),
        map(_json, extra),
        strict=True,
    ):
        yield (*one, record_digest(text.name, one))


def _stored(cells: Cells, column: Column, name: str, comma: bool, typed: bool) -> NDArray[np.object_]:
    """What each distinct word of a column is stored as; None for a blank."""
    words = [word.strip() for word in cells.words]
    out = np.full(len(words), None, dtype=object)
    if column.kind in KINDS or column.kind in ("number", "count"):
        unit = split_unit(name, [column.kind])[1] if column.kind in KINDS else None
        amounts, _ = numbers(cells.words, comma, column, unit, typed=typed)
        for i, amount in enumerate(amounts):
            if not np.isnan(amount):
                out[i] = int(amount) if column.kind == "count" else float(amount) + 0.0  # no -0.0
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


def read_store(path: Path, found: Findings, deep: bool = False) -> dict[str, TextTable]:
    """Read the current records of a logbook file as text; what is damaged goes into ``found``.

    Every record is held against its digest and the history; ``deep`` also looks at what holds no record.
    """
    with connect(path) as connection, sound(path):
        connection.execute("begin")
        if deep:
            said = connection.execute("pragma integrity_check(1)").fetchone()[0]
            if said != "ok":
                found.add(path.name, 0, "", str(said)[:80], Found.FILE_DAMAGED)
        if version_of(connection) == 1:
            found.add(path.name, 0, "", "", Found.FILE_EARLIER_VERSION, doubt=True)
            return read_tables(connection, path.name, Findings())
        out = read_tables(connection, path.name, found)
        held = {
            table: {
                row: (by, digest)
                for row, by, digest in connection.execute(
                    f"select _row, _superseded_by, _digest from {table}"
                )
            }
            for table in STORED
        }
        check_history(connection, path.name, held, found)
        return out


@contextmanager
def sound(path: Path) -> Iterator[None]:
    """Name as damaged what cannot be made sense of."""
    try:
        yield
    except InputError:
        raise
    except (ValueError, TypeError, KeyError, IndexError, OverflowError, MemoryError) as error:
        raise refusal(path, NoStore.CONTENT) from error


def read_tables(
    connection: sqlite3.Connection,
    file: str,
    found: Findings,
    vehicles: Collection[str] | None = None,
    tires: Collection[str] = (),
) -> dict[str, TextTable]:
    """Read current records from an open file.

    Parameters
    ----------
    connection : Connection
    file : str
        Its name, for messages.
    found : Findings
        Records that do not match their digest are added here.
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
        cursor = connection.execute(f'select * from {table}{where} order by "_row"')
        names = [entry[0] for entry in cursor.description]
        records = cursor.fetchall()
        if "_digest" in names:
            check_records(connection, table, f"{file}: {table}", names, records, found)
        gone = names.index("_superseded_by")
        records = [record for record in records if record[gone] is None]
        if records or present:
            out[table] = texts_of(
                table, f"{file}: {table}", header, names, records, columns_of(connection, table)
            )
    return out


_ON_VEHICLE = "vehicle_id in (select id from wanted_vehicles)"
_NEEDED = {
    "": f" where {_ON_VEHICLE}",
    "gauges": "",
    "tires": " where tire_id in (select id from wanted_tires)",
    "mounts": " where tire_id in (select id from wanted_tires)",
    "vehicles": f" where ({_ON_VEHICLE} or vehicle_id in "
    "(select vehicle_id from mounts where tire_id in (select id from wanted_tires)))",
}


def texts_of(
    table: str,
    file: str,
    header: list[str],
    names: list[str],
    records: list[tuple[Any, ...]],
    columns: dict[str, Column],
) -> TextTable:
    """Records of the file as texts: each as it was written, where that is read as the stored value."""
    at = {name: i for i, name in enumerate(names)}
    written = [json.loads(record[at["_as_written"]] or "{}") for record in records]
    extra = [json.loads(record[at["_extra"]] or "{}") for record in records]
    used = [
        name
        for name in columns
        if name not in header and any(record[at[name]] is not None for record in records)
    ]
    if READ_AGAIN not in header and any(READ_AGAIN in one for one in extra):
        used.append(READ_AGAIN)
    cells = {}
    for name in [*header, *used]:
        if name in columns:
            i = at[name]
            usual = [record[i] for record in records]
            cells[name] = _cells(usual, [w.get(name) for w in written], columns[name], name)
        else:
            cells[name] = cells_of([one.get(name, "") for one in extra])
    rows = np.array([record[at["_row"]] for record in records], dtype=np.int64)
    return TextTable(table, file, rows, cells, typed=True)


def _cells(values: list[Any], written: list[str | None], column: Column, name: str) -> Cells:
    """A column as texts: as written, where that is read as the stored value; else the plain way."""
    texts = [plain(value) if text is None else text for value, text in zip(values, written, strict=True)]
    cells = cells_of(texts)
    if any(text is not None for text in written):
        read = _stored(cells, column, name, False, True)[cells.codes]
        for i, (one, other) in enumerate(zip(read, values, strict=True)):
            if one != other:
                texts[i] = plain(other)
    return cells_of(texts)


def backup(source: Path, target: Path) -> None:
    """Copy a logbook file whole, while others may be writing to it; the copy is checked.

    Raises
    ------
    InputError
        If it is damaged or cannot be written; what stood at ``target`` before is then left as it was.
    """
    with connect(source) as connection, whole_file(target) as part:
        with store_errors(target), closing(sqlite3.connect(part)) as copy:
            connection.backup(copy)
            copy.execute("pragma journal_mode=delete")
            if copy.execute("pragma integrity_check").fetchone()[0] != "ok":
                raise sqlite3.DatabaseError("malformed")
        found = Findings()
        read_store(part, found)
        if found.has_errors:
            raise sqlite3.DatabaseError("malformed")


def audit(path: Path) -> pd.DataFrame:
    """Every change to a logbook file: id, at (UTC), action, table, row, record (JSON), sealed."""
    with connect(path) as connection, sound(path):
        sealed = "1" if version_of(connection) == 1 else "seal is not null"
        cursor = connection.execute(
            f'select id, at, action, "table", "row", record, {sealed} as sealed from audit order by id'
        )
        frame = pd.DataFrame(cursor.fetchall(), columns=[entry[0] for entry in cursor.description])
        return frame.astype({"id": "int64", "row": "Int64", "sealed": "bool"})

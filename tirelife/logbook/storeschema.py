"""The tables of a logbook file: what makes them, what watches them, and whether a file has them alone."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from tirelife.errors import refusal
from tirelife.logbook.refused import NoStore
from tirelife.logbook.schema import SCHEMA, Column
from tirelife.units import INSIDE, KINDS, convert, split_unit

__all__ = [
    "APPLICATION", "KEYED", "OWN", "STORED", "US", "VERSION",
    "columns_of", "create_tables", "quoted", "require_schema", "stored_columns", "watch",
]  # fmt: skip

STORED: Final = tuple(name for name in SCHEMA if name != "trips")
"""Tables that the file holds; recorded trips stay in their own files beside it."""
VERSION: Final = 2
"""Version 1 had no digests; such files are read, and become new ones by a conversion."""
APPLICATION: Final = 0x74697265
KEYED: Final = {"vehicles": "vehicle_id", "tires": "tire_id"}
"""Tables whose records are changed in their place, since others name them."""
OWN: Final = ("_visit", "_superseded_by", "_as_written", "_extra", "_digest")
"""What each table holds beside its columns and ``_row``."""
US: Final = {"depth": "32nds", "distance": "mi", "pressure": "psi", "temperature": "f", "mass": "lb"}
_DATE = "GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'"
_NOW = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"
_TYPES: Final = {"text": "text", "date": "text", "count": "integer"}
_AUDIT: Final = ("id", "at", "action", "table", "row", "record", "digest", "seal")


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


@lru_cache
def _known(table: str) -> dict[str, Column]:
    """Every name that a column of the table can have in a file."""
    return {
        name: column
        for column in SCHEMA[table]
        for name in (
            [f"{column.name}_{unit}" for unit in KINDS[column.kind]]
            if column.kind in KINDS
            else [column.name]
        )
    }


def columns_of(connection: sqlite3.Connection, table: str) -> dict[str, Column]:
    """Columns of a table by their names in this file, in the file's order."""
    known = _known(table)
    names = [entry[0] for entry in connection.execute(f"select * from {table} limit 0").description]
    return {name: known[name] for name in names if name in known}


def create_tables(connection: sqlite3.Connection, columns: dict[str, dict[str, Column]]) -> None:
    """Make the tables of an empty file; the triggers that watch them come with :func:`watch`."""
    connection.execute(f"pragma application_id={APPLICATION}")
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
        ' "table" text not null, "row" integer, record text not null, digest text, seal text) strict'
    )
    for table, names in columns.items():
        parts = ['"_row" integer primary key']
        parts += [_declared(table, name, column) for name, column in names.items()]
        parts += [
            '"_visit" integer references visits (visit)',
            '"_superseded_by" integer',
            '"_as_written" text check ("_as_written" is null or json_valid("_as_written"))',
            '"_extra" text check ("_extra" is null or json_valid("_extra"))',
            '"_digest" text',
        ]
        connection.execute(f"create table {table} ({', '.join(parts)}) strict")
        if "vehicle_id" in names and table != "vehicles":
            date = next((name for name, column in names.items() if column.kind == "date"), "vehicle_id")
            connection.execute(f"create index {table}_vehicle on {table} (vehicle_id, {quoted(date)})")
    connection.execute("create index mounts_tire on mounts (tire_id)")


def _declared(table: str, name: str, column: Column) -> str:
    sql = quoted(name)
    out = f"{sql} {_TYPES.get(column.kind, 'real')}"
    if column.required and not column.blank:
        out += " not null"
    if KEYED.get(table) == name:
        out += " unique check (length(" + sql + ") > 0)"
    elif name in KEYED.values():
        parent = next(t for t, key in KEYED.items() if key == name)
        out += f" references {parent} ({name})"
    if column.kind == "date":
        out += f" check ({sql} {_DATE} and date({sql}, '+0 days') is {sql})"  # a move finds 30 February
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
    quote = "'{}'".format
    for table, names in columns.items():
        shown = [*names, "_visit", "_as_written", "_extra"]

        def record(which: str, shown: list[str] = shown) -> str:
            return "json_object(" + ", ".join(f"'{n}', {which}.{quoted(n)}" for n in shown) + ")"

        def note(action: str, which: str, what: str, table: str = table) -> str:
            return (
                f'insert into audit (at, action, "table", "row", record, digest) '
                f'values ({_NOW}, {action}, \'{table}\', {which}."_row", {what}, {which}."_digest");'
            )

        connection.execute(
            f"create trigger {table}_in after insert on {table} "
            f"begin {note(quote('insert'), 'new', record('new'))} end"
        )
        connection.execute(
            f"create trigger {table}_gone before delete on {table} "
            "begin select raise(abort, 'nothing is deleted: record a correction'); end"
        )
        if table in KEYED:
            connection.execute(
                f"create trigger {table}_change after update on {table} "
                f"begin {note(quote('before'), 'old', record('old'))} "
                f"{note(quote('change'), 'new', record('new'))} end"
            )
            continue
        guarded = ", ".join(map(quoted, ["_row", *shown, "_digest"]))
        connection.execute(
            f"create trigger {table}_over before update of {guarded} on {table} "
            "begin select raise(abort, 'a record is not overwritten: record a correction'); end"
        )
        by = record("old", [*shown, "_superseded_by"]).replace('old."_superseded_by"', 'new."_superseded_by"')
        action = "iif(new._superseded_by < 0, 'withdraw', 'supersede')"
        connection.execute(
            f'create trigger {table}_out after update of "_superseded_by" on {table} '
            f"begin {note(action, 'old', by)} end"
        )
    connection.execute(
        "create trigger visits_in after insert on visits begin "
        'insert into audit (at, action, "table", "row", record) '
        f"values ({_NOW}, 'visit', 'visits', new.visit, json_object('at', new.at, 'note', new.note)); end"
    )
    same = ", ".join(f"{{0}}.{quoted(name)}" for name in _AUDIT[:-1])
    for table in ("audit", "visits", "tables"):
        for deed in ("delete", "update"):
            only = ""
            if (table, deed) == ("audit", "update"):  # a seal is set once
                only = f"when old.seal is not null or ({same.format('old')}) is not ({same.format('new')}) "
            connection.execute(
                f"create trigger {table}_{deed} before {deed} on {table} {only}"
                f"begin select raise(abort, '{table} is not changed'); end"
            )


def require_schema(connection: sqlite3.Connection, path: Path, version: int) -> None:
    """Refuse a file with other tables, views or triggers than those of a logbook.

    Raises
    ------
    InputError
        Naming what is there and should not be, or the other way round.
    """
    found = {
        (kind, name): sql
        for kind, name, sql in connection.execute(
            "select type, name, sql from sqlite_master where name not like 'sqlite~_%' escape '~'"
        )
    }
    tables = {"tables", "visits", "audit", *STORED}
    held = {name for kind, name in found if kind == "table"}
    missing, views = sorted(tables - held), sorted(name for kind, name in found if kind == "view")
    if views:
        raise refusal(path, NoStore.VIEW, name=views[0])
    if missing:
        raise refusal(path, NoStore.LACKS_TABLE, name=missing[0])
    if held - tables:
        raise refusal(path, NoStore.MORE_TABLES, name=sorted(held - tables)[0])
    if any(str(found["table", name]).lower().startswith("create virtual") for name in tables):
        raise refusal(path, NoStore.VIRTUAL)
    names = {}
    for table in STORED:
        known = columns_of(connection, table)
        names[table] = tuple(known)
        beside = {
            "_row": "integer",
            **dict.fromkeys(OWN, "text"),
            "_visit": "integer",
            "_superseded_by": "integer",
        }
        if version == 1:
            del beside["_digest"]
        right = {name: _TYPES.get(column.kind, "real") for name, column in known.items()} | beside
        entries = connection.execute(f"pragma table_xinfo({table})").fetchall()
        plain = {entry[1]: entry[2].lower() for entry in entries if not entry[6]}
        called = [column.name for column in known.values()]
        needed = {column.name for column in SCHEMA[table] if column.required}
        if (
            plain != right
            or len(entries) != len(right)
            or len(set(called)) < len(called)
            or needed - set(called)
        ):
            raise refusal(path, NoStore.COLUMNS, name=table)
    if version == 1:
        return  # nothing is written into such a file, so what watches it never runs
    usual = _usual(tuple(names.items()))
    own_kind = {key: sql for key, sql in found.items() if key[0] in ("trigger", "index")}
    for key in sorted(own_kind.keys() | usual.keys()):
        if own_kind.get(key) != usual.get(key):
            code = NoStore.LACKS if key not in own_kind else NoStore.OTHER if key in usual else NoStore.MORE
            raise refusal(path, code, kind=key[0], name=key[1])


@lru_cache(maxsize=8)
def _usual(names: tuple[tuple[str, tuple[str, ...]], ...]) -> dict[tuple[str, str], Any]:
    """Triggers and indexes of a file whose tables have these columns."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        columns = {table: {name: _known(table)[name] for name in own} for table, own in names}
        create_tables(connection, columns)
        watch(connection, columns)
        rows = connection.execute(
            "select type, name, sql from sqlite_master where type in ('trigger', 'index') "
            "and name not like 'sqlite~_%' escape '~'"
        )
        return {(kind, name): sql for kind, name, sql in rows}

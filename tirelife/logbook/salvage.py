"""What can still be read of a damaged logbook file, and what of it can be believed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pandas as pd

from tirelife.logbook.findings import Findings
from tirelife.logbook.schema import SCHEMA
from tirelife.logbook.seals import check_records
from tirelife.logbook.store import opened, texts_of
from tirelife.logbook.storeschema import STORED, columns_of
from tirelife.logbook.textfile import TextTable

__all__ = ["Saved", "salvage"]

_DAMAGE: Final = (sqlite3.Error, UnicodeDecodeError)
"""What reading a damaged file may raise; the second where SQLite's own message cannot be read."""
_TRIES: Final = 20_000
"""Rows looked for one by one where a page cannot be read."""


@dataclass(frozen=True)
class Saved:
    """What was saved.

    Attributes
    ----------
    texts : dict of TextTable
        Current records that match their digests.
    damaged : DataFrame
        table, row, record (JSON): those that can be read and do not match.
    history : DataFrame
        id, at, action, table, row, record: what can be read of it.
    unread : int
        Places where rows may have been that cannot be read.
    """

    texts: dict[str, TextTable]
    damaged: pd.DataFrame
    history: pd.DataFrame
    unread: int


def salvage(path: Path) -> Saved:
    """Read a logbook file row by row, leaving out what cannot be read.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Saved
        With no table at all where nothing can be read, or the file is no logbook.
    """
    texts, damaged, unread = {}, [], 0
    history: list[tuple[Any, ...]] = []
    with suppress(*_DAMAGE, OSError), closing(opened(path, False)) as connection:
        connection.text_factory = lambda data: data.decode("utf-8", errors="replace")
        plain = {
            name
            for name, sql in connection.execute("select name, sql from sqlite_master where type = 'table'")
            if not str(sql).lower().startswith("create virtual")
        }
        headers = _headers(connection) if "tables" in plain else {}
        for table in STORED:
            if table not in plain:
                continue
            names, records, lost = _rows(connection, table, "_row")
            unread += lost
            if not {"_row", "_superseded_by", "_as_written", "_extra"} <= set(names):
                continue
            first = {record[names.index("_row")]: record for record in reversed(records)}
            known = columns_of(connection, table)
            called = {column.name for column in known.values()}
            # A sound file has no other names: one that is there has taken the place of one that is not.
            strange = any(n not in known and not n.startswith("_") for n in names)
            lacking = strange or any(c.required and c.name not in called for c in SCHEMA[table])
            records = good = list(
                reversed(first.values())
            )  # a page that lies twice in a file holds them twice
            if "_digest" in names:
                found = Findings()
                with suppress(*_DAMAGE):
                    check_records(connection, table, table, names, records, found)
                bad = set(found.frame()["row"]) if not lacking else {record[0] for record in records}
                good = [record for record in records if record[names.index("_row")] not in bad]
                damaged += [
                    (table, record[0], json.dumps(dict(zip(names, map(_plain, record), strict=True))))
                    for record in records
                    if record[names.index("_row")] in bad
                ]
            gone = names.index("_superseded_by")
            good = [record for record in good if record[gone] is None]
            header = headers.get(table, list(known))
            if good or records or unread:
                with suppress(ValueError, TypeError, KeyError):
                    texts[table] = texts_of(table, table, header, names, good, known)
        if "audit" in plain:
            names, entries, lost = _rows(connection, "audit", "id")
            unread += lost
            wanted = ["id", "at", "action", "table", "row", "record"]
            if set(wanted) <= set(names):
                history = [tuple(entry[names.index(name)] for name in wanted) for entry in entries]
    return Saved(
        {name: text for name, text in texts.items() if len(text.rows)} if texts else {},
        pd.DataFrame(damaged, columns=["table", "row", "record"]),
        pd.DataFrame(history, columns=["id", "at", "action", "table", "row", "record"], dtype=object),
        unread,
    )


def _headers(connection: sqlite3.Connection) -> dict[str, list[str]]:
    out = {}
    with suppress(*_DAMAGE, ValueError):
        for name, header in connection.execute("select name, header from tables"):
            words = json.loads(header)
            if isinstance(words, list) and all(isinstance(word, str) for word in words):
                out[str(name)] = words
    return out


def _rows(
    connection: sqlite3.Connection, table: str, key: str
) -> tuple[list[str], list[tuple[Any, ...]], int]:
    """Column names, every row that can be read, and the number of places that cannot."""
    try:
        cursor = connection.execute(f"select * from {table} order by {key}")
        names = [entry[0] for entry in cursor.description]
        return names, cursor.fetchall(), 0
    except _DAMAGE:
        pass
    names = []
    out: list[tuple[Any, ...]] = []
    lost = 0
    for found, row in _one_by_one(connection, table, key):
        names = found
        if row is None:
            lost += 1
        else:
            out.append(row)
    return names, out, lost


def _one_by_one(
    connection: sqlite3.Connection, table: str, key: str
) -> Iterator[tuple[list[str], tuple[Any, ...] | None]]:
    """Each row after the other; None where one cannot be read and the next number is tried."""
    last, names, tries = -1, [], 0
    while tries < _TRIES:
        try:
            cursor = connection.execute(
                f"select * from {table} where {key} > ? order by {key} limit 1", (last,)
            )
            names = [entry[0] for entry in cursor.description]
            row = cursor.fetchone()
        except _DAMAGE:
            last, tries = last + 1, tries + 1
            yield names, None
            continue
        if row is None:
            return
        yield names, row
        last = row[names.index(key)]


def _plain(value: Any) -> Any:
    return value.decode("utf-8", errors="replace") if isinstance(value, bytes) else value

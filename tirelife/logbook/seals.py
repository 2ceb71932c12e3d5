"""Digests and seals: what shows that a logbook file holds what was written into it.

Each record carries a digest of its content. The history takes up every digest that comes and goes, and each
entry of the history is sealed with a digest of itself and of the seal before it. Damage, or a change by
another program, breaks one or the other. A digest is no signature: whoever sets out to forge can.
"""

from __future__ import annotations

import json
import math
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import Any, Final

from tirelife.logbook.codes import Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.storeschema import STORED

__all__ = ["History", "check_history", "check_records", "opening", "record_digest", "replay", "seal"]

_BY_OTHERS: Final = ("insert", "change", "supersede", "withdraw")
"""Deeds of another program that the history tells of."""
_HISTORY: Final = 'select id, at, action, "table", "row", record, digest, seal from audit'


def _digest(content: object) -> str:
    return blake2b(ascii(content).encode(), digest_size=16).hexdigest()


def record_digest(table: str, record: Sequence[Any]) -> str:
    """Digest of a record.

    Parameters
    ----------
    table : str
    record : sequence
        Its row, its values in the order of the file's columns, its visit, ``_as_written`` and ``_extra``.
    """
    return _digest((table, *record))


def opening(connection: sqlite3.Connection) -> dict[str, Any]:
    """What a new file's first entry says of it: the sum of the digests a table, and those of all else."""
    sums = {table: 0 for table in STORED}
    for table in STORED:
        for (digest,) in connection.execute(f"select _digest from {table}"):
            sums[table] = _added(sums[table], digest)
    return {"digests": {table: f"{value:032x}" for table, value in sums.items()}, "rest": _rest(connection)}


def _rest(connection: sqlite3.Connection) -> str:
    headers = connection.execute("select * from tables order by name").fetchall()
    schema = connection.execute(
        "select type, name, sql from sqlite_master where name not like 'sqlite~_%' escape '~' "
        "order by type, name"
    ).fetchall()
    return _digest((headers, schema))


def _added(total: int, digest: str | None, sign: int = 1) -> int:
    return (total + sign * int(digest or "0", 16)) % 2**128


def seal(connection: sqlite3.Connection, since: int) -> None:
    """Seal the entries that this program has made, those after ``since``; what others made stays unsealed."""
    last = connection.execute(
        "select id, seal from audit where seal is not null order by id desc limit 1"
    ).fetchone() or (0, "")
    running = last[1]
    for entry in connection.execute(f"{_HISTORY} where id > ? order by id", (last[0],)).fetchall():
        running = _digest((running, entry[:-1]))
        if entry[0] > since:
            connection.execute("update audit set seal = ? where id = ?", (running, entry[0]))


@dataclass
class History:
    """What the history of a file says of its records.

    ``sums`` are sums of digests by table, ``replaced`` what took a record's place by table and row,
    ``others`` the records (table, row) that another program was the last to change, with when and how,
    ``whole`` whether every seal fits.
    """

    sums: dict[str, int] = field(default_factory=dict)
    replaced: dict[tuple[str, int], int] = field(default_factory=dict)
    visits: dict[int, tuple[str, str]] = field(default_factory=dict)
    others: dict[tuple[str, int], tuple[str, str]] = field(default_factory=dict)
    rest: str = ""
    whole: bool = True


def replay(connection: sqlite3.Connection) -> History:
    """Follow the history of a file from its last import on."""
    out, running = History(), ""
    begun, fits = False, True
    for entry in connection.execute(f"{_HISTORY} order by id"):
        _, at, action, table, row, record, digest, sealed = entry
        running = _digest((running, entry[:-1]))
        if sealed is not None and sealed != running:
            fits, running = False, sealed
        if action == "import":
            said = _json(record)
            sums = {name: int(value, 16) for name, value in said.get("digests", {}).items()}
            out, begun = History(sums=sums, rest=said.get("rest", "")), sealed is not None
            continue
        if not begun:
            continue
        if action in _BY_OTHERS:
            out.others.pop((table, row), None)
            if sealed is None:
                out.others[table, row] = (at, action)
        if action in ("insert", "change"):
            out.sums[table] = _added(out.sums.get(table, 0), digest)
        elif action == "before":
            out.sums[table] = _added(out.sums.get(table, 0), digest, -1)
        elif action in ("supersede", "withdraw"):
            out.replaced[table, row] = _json(record).get("_superseded_by", 0)
        elif action == "visit":
            said = _json(record)
            out.visits[row] = (said.get("at", ""), said.get("note", ""))
    out.whole = begun and fits
    return out


def _json(text: str) -> dict[str, Any]:
    try:
        out = json.loads(text)
    except ValueError:
        return {}
    return out if isinstance(out, dict) else {}


def check_records(
    connection: sqlite3.Connection,
    table: str,
    file: str,
    names: Sequence[str],
    records: Iterable[Sequence[Any]],
    found: Findings,
) -> None:
    """Hold records against their digests; a change by another program that the history tells of is no error.

    Parameters
    ----------
    names : sequence of str
        Columns of ``records``, as the file has them.
    """
    cut, digest = names.index("_superseded_by"), names.index("_digest")
    keys = [i for i in range(len(names)) if i not in (cut, digest)]
    bad = []
    for record in records:
        if record_digest(table, [record[i] for i in keys]) != record[digest]:
            told = connection.execute(
                'select record from audit where "table" = ? and "row" = ? and seal is null '
                "and action in ('insert', 'change') order by id desc limit 1",
                (table, record[0]),
            ).fetchone()
            if told is None or not _same(_json(told[0]), {names[i]: record[i] for i in keys[1:]}):
                bad.append(record[0])
    found.add(file, bad, "", "", Found.DIGEST)


def _same(told: dict[str, Any], held: dict[str, Any]) -> bool:
    """Whether a record of the history, which keeps 15 digits, is the one in the table."""
    if told.keys() != held.keys():
        return False
    return all(
        math.isclose(told[name], value, rel_tol=1e-14, abs_tol=1e-300)
        if isinstance(value, float) and isinstance(told[name], int | float)
        else told[name] == value
        for name, value in held.items()
    )


def check_history(
    connection: sqlite3.Connection,
    file: str,
    held: dict[str, dict[int, tuple[int | None, str | None]]],
    found: Findings,
) -> None:
    """Hold all records of a file, and all else in it, against its history.

    Parameters
    ----------
    connection : Connection
    file : str
    held : dict
        By table and row, what took the record's place and its digest.
    found : Findings
    """
    history = replay(connection)
    if not history.whole:
        found.add(file, 0, "", "", Found.HISTORY_SEALS, doubt=True)
        return
    if history.rest != _rest(connection):
        found.add(file, 0, "", "", Found.HISTORY_RULES)
    visits = {v: (at, note) for v, at, note in connection.execute("select visit, at, note from visits")}
    if visits != history.visits:
        found.add(file, 0, "", "", Found.HISTORY_VISITS)
    for table in STORED:
        label, rows = f"{file}: {table}", held[table]
        if found.errors_in(label):
            continue
        total = 0
        for _, digest in rows.values():
            total = _added(total, digest)
        if total != history.sums.get(table):
            found.add(label, 0, "", "", Found.HISTORY_RECORDS)
        wrong = [row for row, (by, _) in rows.items() if by != history.replaced.get((table, row))]
        found.add(label, wrong, "", "", Found.HISTORY_USE)
    by_table: dict[str, dict[int, dict[str, object]]] = defaultdict(dict)
    for (table, row), (at, action) in history.others.items():
        by_table[table][row] = {"deed": action, "day": at[:10]}
    for table, told in by_table.items():
        deeds = list(told.values())
        found.add(f"{file}: {table}", list(told), "", "", Found.OTHER_PROGRAM, deeds, doubt=True)

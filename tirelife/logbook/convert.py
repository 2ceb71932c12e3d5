"""Copy a logbook between a folder of tables and one file; every cell comes back as it was written."""

from __future__ import annotations

import csv
import json
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from enum import StrEnum
from pathlib import Path

from tirelife.codes import Note, Severity
from tirelife.errors import InputError, refusal, said_by_system
from tirelife.logbook.checks import check_between
from tirelife.logbook.export import safe_cell
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import Parsed, parse
from tirelife.logbook.refused import Refused
from tirelife.logbook.salvage import salvage
from tirelife.logbook.schema import SCHEMA, inside_name
from tirelife.logbook.seals import opening, seal
from tirelife.logbook.settle import settle
from tirelife.logbook.sources import STORE_NAME, read_texts
from tirelife.logbook.store import (
    audit,
    backup,
    insert_texts,
    is_store,
    opened,
    read_store,
    store_errors,
    version_of,
)
from tirelife.logbook.storeschema import STORED, US, VERSION, create_tables, stored_columns, watch
from tirelife.logbook.textfile import TextTable
from tirelife.logbook.whole import sync_folder, temporary, whole_file

__all__ = ["Copied", "convert_logbook", "create_logbook"]


class Copied(StrEnum):
    """What a person should know of a copy; the words are in :mod:`tirelife.language`."""

    UNSOUND = "copied-unsound"
    """error: what is wrong with the file, an InputError."""
    SAVED = "copied-saved"
    DAMAGED = "copied-damaged"
    UNREAD = "copied-unread"
    FORMULAS = "copied-formulas"
    DOUBTS = "copied-doubts"


_TRIPS = ("trips.csv", "trips.parquet", "trips")


def convert_logbook(source: str | Path, target: str | Path) -> list[Note]:
    """Copy a logbook: folder to file, file to folder, or file to file (a backup).

    Parameters
    ----------
    source : str or Path
        A folder of tables, or a logbook in one file.
    target : str or Path
        What must not be there yet. A name that ends in ``.sqlite`` or ``.db`` is a file; any other a folder.

    Returns
    -------
    list of Note
        What a person should know, codes of :class:`Copied`: doubts found, cells that a spreadsheet would run
        as formulas.

    Raises
    ------
    InputError
        If the source has errors, or the target is there or cannot be written. Nothing is left half done.

    Notes
    -----
    Every record, its order, every unknown column and every cell's text are kept. Records with nothing in
    them are left out. A folder is always written as CSV (UTF-8, commas). History goes into ``audit.csv``,
    and from there back into a file. Recorded trips are copied beside the tables as they are.
    """
    source, target = Path(source), Path(target)
    if target.exists():
        raise refusal(target, Refused.TARGET_THERE)
    to_file = target.suffix.lower() in (".sqlite", ".db")
    held = source / STORE_NAME if source.is_dir() and (source / STORE_NAME).exists() else source
    from_file = held.is_file() and is_store(held)
    if from_file and to_file:
        said = _copy(held, target)
    elif to_file:
        said = _import(source, target)
    elif from_file:
        said = _export(held, target)
    else:
        raise refusal(target, Refused.TARGET_FOLDER, into=STORE_NAME)
    return said


def create_logbook(target: str | Path, units: str) -> None:
    """Make a new, empty logbook in one file.

    Parameters
    ----------
    target : str or Path
        What must not be there yet.
    units : str
        ``"us"`` (32nds, miles, psi) or ``"metric"``.
    """
    target = Path(target)
    if target.exists():
        raise refusal(target, Refused.TARGET_THERE)
    with whole_file(target) as part, store_errors(target):
        _write_store(part, {}, {}, units, None, "created empty")


def _copy(source: Path, target: Path) -> list[Note]:
    """A backup; a file of an earlier version becomes one of this."""
    with store_errors(source), closing(opened(source, False)) as connection:
        version = version_of(connection)
    found = Findings()
    read_store(source, found)
    found.raise_errors()
    if version == VERSION:
        backup(source, target)
        doubts = len(found.frame())
        return _doubts(doubts, target)
    with tempfile.TemporaryDirectory() as name:
        _export(source, Path(name) / "tables", trips=False)
        return _import(Path(name) / "tables", target, source.name)


def _import(source: Path, target: Path, name: str = "") -> list[Note]:
    found = Findings()
    texts, trips = read_texts(source, found)
    parsed = {name: parse(text, found) for name, text in texts.items()}
    check_between(settle(parsed, found), found)
    found.raise_errors()
    metric = sum(len(t) for t in parsed.values() if t.unit.get("odometer_km") == "km")
    us = sum(len(t) for t in parsed.values() if t.unit.get("odometer_km") == "mi")
    history = source / "audit.csv"
    with whole_file(target) as part, store_errors(target):
        note = f"imported from {name or source.name}"
        _write_store(part, texts, parsed, "metric" if metric > us else "us", history, note)
    if trips is not None and target.parent.resolve() != source.resolve():
        _copy_trips(trips, target.parent / trips.name)
    doubts = len(found.frame())
    return _doubts(doubts, target)


def _doubts(doubts: int, target: Path) -> list[Note]:
    return [_note(Copied.DOUBTS, doubts=doubts, target=str(target))] if doubts else []


def _note(code: Copied, **values: object) -> Note:
    return Note(code, Severity.NOTE, tuple(values.items()))


def _copy_trips(trips: Path, target: Path) -> None:
    if target.exists():
        raise refusal(target, Refused.TRIPS_THERE, name=trips.name)
    if trips.is_dir():
        shutil.copytree(trips, target)
    else:
        with whole_file(target) as part:
            shutil.copyfile(trips, part)


def _write_store(
    path: Path,
    texts: dict[str, TextTable],
    parsed: dict[str, Parsed],
    units: str,
    history: Path | None,
    note: str,
) -> None:
    usual = US if units == "us" else {}
    columns = {}
    for table in STORED:
        own = dict(usual)
        if table in parsed:
            for column in SCHEMA[table]:
                unit = parsed[table].unit.get(inside_name(column))
                if unit:
                    own[column.name] = unit
                    own.setdefault(column.kind, unit)
        if table == "habits" and units == "us":
            own = {"frequency": "per_100mi", **own}
        columns[table] = stored_columns(table, own)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("pragma foreign_keys=on")
        connection.execute("begin")
        create_tables(connection, columns)
        for table in STORED:
            header = (
                list(texts[table].cells)
                if table in texts
                else [n for n, c in columns[table].items() if c.required]
            )
            connection.execute(
                "insert into tables values (?, ?, ?)", (table, json.dumps(header), int(table in texts))
            )
            if table in texts:
                insert_texts(connection, texts[table], columns[table])
        if history is not None and history.exists():
            _restore_history(connection, history)
        watch(connection, columns)
        counts = {name: len(text.rows) for name, text in texts.items()}
        connection.execute(
            'insert into audit (at, action, "table", "row", record) values '
            "(strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'import', '', null, ?)",
            (json.dumps({"note": note, "rows": counts, **opening(connection)}),),
        )
        seal(connection, connection.execute("select max(id) - 1 from audit").fetchone()[0])
        connection.execute("commit")
        connection.execute("vacuum")


def _restore_history(connection: sqlite3.Connection, history: Path) -> None:
    csv.field_size_limit(2**30)
    with history.open(newline="", encoding="utf-8") as file:
        rows = [[cell if cell != "" else None for cell in row] for row in csv.reader(file)][1:]
    try:
        connection.executemany(
            'insert into audit (id, at, action, "table", "row", record) '
            "values (?, ?, ?, coalesce(?, ''), ?, ?)",
            rows,
        )
    except sqlite3.Error:
        raise refusal(history.name, Refused.HISTORY_FOREIGN) from None


def _export(source: Path, target: Path, trips: bool = True) -> list[Note]:
    found, damaged = Findings(), None
    said: list[Note] = []
    try:
        texts = read_store(source, found)
        history = audit(source).drop(columns="sealed")
        found.raise_errors()
    except InputError as error:
        saved = salvage(source)
        if not saved.texts:
            raise
        texts, history, damaged = saved.texts, saved.history, saved.damaged
        sound = sum(len(text.rows) for text in texts.values())
        said = [_note(Copied.UNSOUND, error=error), _note(Copied.SAVED, records=sound)]
        if len(damaged):
            said.append(_note(Copied.DAMAGED, records=len(damaged)))
        if saved.unread:
            said.append(_note(Copied.UNREAD))
    with _whole_folder(target) as part:
        for name, text in texts.items():
            header = [column.split("\x00")[-1] for column in text.cells]
            columns = [cells.text() for cells in text.cells.values()]
            lines = [header, *zip(*columns, strict=True)]
            written = "".join(",".join(map(_cell, line)) + "\n" for line in lines)
            (part / f"{name}.csv").write_text(written, encoding="utf-8", newline="")
            risky = sum(safe_cell(word) != word for cells in text.cells.values() for word in cells.words)
            if risky:
                said.append(_note(Copied.FORMULAS, file=f"{name}.csv", texts=risky))
        history.to_csv(part / "audit.csv", index=False, lineterminator="\n")
        if damaged is not None and len(damaged):
            damaged.to_csv(part / "damaged.csv", index=False, lineterminator="\n")
        for name in _TRIPS if trips else ():
            if (source.parent / name).exists():
                _copy_trips(source.parent / name, part / name)
    return said


def _cell(text: str) -> str:
    """A cell as CSV takes it; the csv module would leave a lone carriage return unquoted."""
    if any(mark in text for mark in ',"\r\n'):
        return '"' + text.replace('"', '""') + '"'
    return text


@contextmanager
def _whole_folder(target: Path) -> Iterator[Path]:
    """Give a temporary folder beside ``target``; it takes its name when the block ends well."""
    try:
        with temporary(target, folder=True) as part:
            yield part
            part.chmod(0o755)
            for file in part.iterdir():
                if file.is_file():
                    with file.open("rb+") as handle:
                        os.fsync(handle.fileno())
            sync_folder(part)
            part.rename(target)
            sync_folder(target.parent)
    except OSError as error:
        raise refusal(target, Refused.UNWRITTEN, why=said_by_system(error)) from error

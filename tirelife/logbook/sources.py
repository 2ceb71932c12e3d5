"""Find the tables of a logbook, in a folder or in one file, and read them as text."""

from __future__ import annotations

import difflib
from pathlib import Path

from tirelife.errors import refusal
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.refused import Refused
from tirelife.logbook.schema import REQUIRED, SCHEMA
from tirelife.logbook.store import is_store, read_store
from tirelife.logbook.textfile import TextTable, read_csv_text, read_parquet_text

__all__ = ["STORE_NAME", "read_texts"]

STORE_NAME = "logbook.sqlite"
_SHEETS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods", ".csv", ".tsv", ".txt", ".tab")


def read_texts(path: Path, found: Findings, deep: bool = False) -> tuple[dict[str, TextTable], Path | None]:
    """Read every table that is there, but for the trips.

    Parameters
    ----------
    path : Path
        A folder of CSV or Parquet files, one file a table, or a folder with a ``logbook.sqlite`` in it, or
        such a file.
    found : Findings
        Problems are added here.
    deep : bool
        Look also at what of a file holds no record, such as its indexes.

    Returns
    -------
    tables : dict
        By name; one that cannot be read is left out, and ``found`` says why.
    trips : Path or None
        Where recorded trips are.

    Raises
    ------
    InputError
        If there is no logbook at all.
    """
    try:
        if not path.exists():
            raise refusal(path, Refused.SOURCE_MISSING)
        if path.is_dir():
            names = sorted(entry.name for entry in path.iterdir())
        else:
            names = sorted(entry.name for entry in path.parent.iterdir())
    except OSError as error:
        raise refusal(path, Refused.SOURCE_UNREADABLE, why=(error.strerror or "").lower()) from None
    folder = path if path.is_dir() else path.parent
    trips = next((folder / n for n in ("trips.csv", "trips.parquet", "trips") if n in names), None)
    if path.is_file():
        if not is_store(path):
            ask = Ask.LOGBOOK_OF_SHEET if path.suffix.lower() in _SHEETS else ""
            raise refusal(path, Refused.NO_LOGBOOK, ask=ask)
        return read_store(path, found, deep), trips
    has_tables = any(f"{table}.{end}" in names for table in REQUIRED for end in ("csv", "parquet"))
    if STORE_NAME in names and not has_tables:
        return read_store(path / STORE_NAME, found, deep), trips
    if STORE_NAME in names:
        one = next(n for n in names if n.split(".")[0] in REQUIRED)
        found.add(one, 0, "", "", Found.FILE_BESIDE, {"second": STORE_NAME})
    return _read_folder(path, names, found), trips


def _read_folder(path: Path, names: list[str], found: Findings) -> dict[str, TextTable]:
    texts: dict[str, TextTable] = {}
    for table in SCHEMA:
        files = [f"{table}.{end}" for end in ("csv", "parquet") if f"{table}.{end}" in names]
        if len(files) > 1:
            said = {"first": files[0], "second": files[1]}
            found.add(files[1], 0, "", "", Found.FILE_TWICE, said)
        if table == "trips":
            continue
        if not files:
            if table in REQUIRED:
                close = difflib.get_close_matches(f"{table}.csv", [n.lower() for n in names], n=1, cutoff=0.8)
                near = next((n for n in names if close and n.lower() == close[0]), "")
                told = {"first": f"{table}.csv", "near": near, "names": tuple(REQUIRED)}
                ask = Ask.RENAME_FILE if near else None
                found.add(f"{table}.csv", 0, "", "", Found.FILE_MISSING, told, ask)
            continue
        read = read_csv_text if files[0].endswith(".csv") else read_parquet_text
        text = read(path / files[0], table, found)
        if text is not None:
            texts[table] = text
    return texts

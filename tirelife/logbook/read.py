"""Read a logbook: all tables as text, then as values, then checked against each other."""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.logbook.assumed import assume_vehicles
from tirelife.logbook.checks import check_between
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.model import Logbook
from tirelife.logbook.parse import Parsed, parse
from tirelife.logbook.schema import SCHEMA, inside_name
from tirelife.logbook.settle import settle
from tirelife.logbook.sources import read_texts
from tirelife.logbook.wrong import Wrong

__all__ = ["AsRead", "check_and_read", "check_logbook", "read_logbook"]

_LOG = logging.getLogger("tirelife.logbook")
_MOST: Final = 1_000_000
"""Records up to which what was read is kept beside the logbook; more would take as much memory again."""


class Doubts(NamedTuple):
    """What a table's records are doubted for.

    Attributes
    ----------
    rows : ndarray of int
        Of all its records.
    marks : DataFrame
        doubt and codes by row, of those that are doubted.
    """

    rows: NDArray[np.int64]
    marks: pd.DataFrame


@dataclass(frozen=True)
class AsRead:
    """A logbook's tables as they were read, before they were checked against each other.

    Attributes
    ----------
    parsed : dict of str to Parsed
        Not changed.
    found : Findings
        What each table says against itself; not changed.
    """

    parsed: dict[str, Parsed]
    found: Findings

    @classmethod
    def of(cls, parsed: dict[str, Parsed], found: Findings) -> AsRead | None:
        """What was read so far; None if it is too much to keep."""
        if sum(len(table) for table in parsed.values()) > _MOST:
            return None
        return cls({name: table.copy() for name, table in parsed.items()}, found.copy())

    def on(self, day: pd.Timestamp, vehicle_ids: Collection[str]) -> tuple[dict[str, Doubts], pd.DataFrame]:
        """The records of some vehicles up to a day, checked against each other and nothing later.

        Returns
        -------
        doubts : dict of str to Doubts
            By table.
        problems : DataFrame
        """
        parsed, found = {name: table.copy() for name, table in self.parsed.items()}, self.found.copy()
        for table in parsed.values():
            cells = table.text.get("vehicle_id")
            if cells is not None:
                mine = np.array([word in vehicle_ids for word in cells.words], dtype=bool)
                where = mine[cells.codes] if len(mine) else np.zeros(len(table), dtype=bool)
                if not where.all():
                    found.drop_rows(table.file, table.rows[~where])
                    table.keep(where)
        parsed, _ = _checked(parsed, np.datetime64(day, "D"), found)
        problems = found.frame()
        return {name: Doubts(table.rows, _marks(table, problems)) for name, table in parsed.items()}, problems


def read_logbook(path: str | Path, as_of: str | dt.date | pd.Timestamp | None = None) -> Logbook:
    """Read and check a logbook.

    Parameters
    ----------
    path : str or Path
        A folder of tables (CSV or Parquet, one file a table), or a logbook in one SQLite file.
    as_of : date, optional
        The last day that counts; nothing dated after it is used or mentioned. By default the last day in
        the logbook that is not in the future.

    Returns
    -------
    Logbook
        With its doubts in ``problems`` and, row by row, in each table's ``doubt`` column.

    Raises
    ------
    InputError
        With every error found, if there is one.
    """
    found = Findings()
    day = _as_of(as_of)
    texts, trips = read_texts(Path(path), found)
    parsed = {name: parse(text, found) for name, text in texts.items()}
    as_read = AsRead.of(parsed, found)
    parsed, last = _checked(parsed, day, found)
    found.raise_errors()
    return _made(Path(path), parsed, found.frame(), last, trips, as_read)


def check_and_read(
    path: str | Path, as_of: str | dt.date | pd.Timestamp | None = None
) -> tuple[pd.DataFrame, Logbook | None]:
    """Give :func:`check_logbook`, and the logbook too where it has no error, from one reading."""
    found = Findings()
    day = _as_of(as_of)
    texts, trips = read_texts(Path(path), found, deep=True)
    parsed = {name: parse(text, found) for name, text in texts.items()}
    as_read = AsRead.of(parsed, found)
    parsed, last = _checked(parsed, day, found)
    problems = found.frame()
    made = None if found.has_errors else _made(Path(path), parsed, problems, last, trips, as_read)
    return problems, made


def _made(
    path: Path,
    parsed: dict[str, Parsed],
    problems: pd.DataFrame,
    last: pd.Timestamp,
    trips: Path | None,
    as_read: AsRead | None,
) -> Logbook:
    tables = {name: _framed(name, parsed.get(name), problems) for name in SCHEMA if name != "trips"}
    tables["vehicles"] = assume_vehicles(tables["vehicles"], tables["pressures"])
    _LOG.info(
        "%s: %s", path, ", ".join(f"{len(table)} {name}" for name, table in tables.items() if len(table))
    )
    return Logbook(tables, problems, _units(parsed), last, path, trips, as_read)


def check_logbook(path: str | Path, as_of: str | dt.date | pd.Timestamp | None = None) -> pd.DataFrame:
    """List everything wrong or doubtful in a logbook.

    Parameters
    ----------
    path : str or Path
    as_of : date, optional
        The last day that counts.

    Returns
    -------
    DataFrame
        file, row (as a spreadsheet counts: the header is row 1; 0 is the whole file), column, value, code,
        severity, doubt (False for an error), ask (what to do, where that differs for one code) and values
        (pairs of name and value: arguments of the words in :mod:`tirelife.language`). Errors first; by file
        and row.
    """
    found = Findings()
    day = _as_of(as_of)
    texts, _ = read_texts(Path(path), found, deep=True)
    parsed = {name: parse(text, found) for name, text in texts.items()}
    _checked(parsed, day, found)
    return found.frame()


def _as_of(as_of: str | dt.date | pd.Timestamp | None) -> np.datetime64 | None:
    if as_of is None:
        return None
    try:
        day = dt.date.fromisoformat(as_of) if isinstance(as_of, str) else pd.Timestamp(as_of).date()
        return np.datetime64(day, "D")
    except (ValueError, TypeError):
        raise misused(Wrong.NO_DAY, day=as_of) from None


def _checked(
    parsed: dict[str, Parsed], day: np.datetime64 | None, found: Findings
) -> tuple[dict[str, Parsed], pd.Timestamp]:
    """The tables up to the last day that counts, checked against each other; and that day."""
    last = _limit(parsed, day, found)
    parsed = settle(parsed, found)
    check_between(parsed, found)
    return parsed, last


def _limit(parsed: dict[str, Parsed], day: np.datetime64 | None, found: Findings) -> pd.Timestamp:
    """Leave out what is dated after the last day that counts; return that day."""
    today = np.datetime64(dt.date.today(), "D")  # noqa: DTZ011  a shop's own calendar
    every = [values for table in parsed.values() for values in table.date.values()]
    known = np.concatenate([v[~np.isnat(v)] for v in every]) if every else np.zeros(0, "datetime64[D]")
    if day is None:
        past = known[known <= today]
        day = past.max() if len(past) else known.max() if len(known) else today
        future = [
            (table, name, values > today) for table in parsed.values() for name, values in table.date.items()
        ]
        late = [(t.file, t.rows[w], t.raw[n], t.written(n, w)) for t, n, w in future]
    else:
        late = []
    for name, table in parsed.items():
        dated = table.date.get("to_date" if name == "habits" else "date")
        if dated is None:
            continue
        after = dated > day
        if after.any():
            found.drop_rows(table.file, table.rows[after])
            if name == "mounts" and "tire_id" in table.text:
                _drop_unborn(parsed, table, after, found)
            table.keep(~after)
    ask = None if (known <= today).any() else Ask.ALL_FUTURE
    for file, rows, column, values in late:
        found.add(file, rows, column, values, Found.FUTURE, ask=ask, doubt=True)
    return pd.Timestamp(day)


def _drop_unborn(
    parsed: dict[str, Parsed], mounts: Parsed, after: NDArray[np.bool_], found: Findings
) -> None:
    """Leave out tires that were first mounted after the last day: nobody knew of them."""
    tires = parsed.get("tires")
    if tires is None or "tire_id" not in tires.text:
        return
    ids = mounts.text["tire_id"]
    later = set(ids.text(after)) - set(ids.text(~after))
    unborn = np.array([word in later for word in tires.text["tire_id"].words], dtype=bool)
    where = unborn[tires.text["tire_id"].codes] if len(unborn) else np.zeros(0, dtype=bool)
    if where.any():
        found.drop_rows(tires.file, tires.rows[where])
        tires.keep(~where)


def _framed(name: str, table: Parsed | None, problems: pd.DataFrame) -> pd.DataFrame:
    if table is None:
        return _empty(name)
    frame, marks = table.frame(), _marks(table, problems)
    if len(marks):
        for column in marks:
            told = pd.Series(frame["row"].map(marks[column]), dtype="str")
            frame[column] = told.fillna("").astype("str")
    return frame


def _marks(table: Parsed, problems: pd.DataFrame) -> pd.DataFrame:
    """Doubt and codes by row, of the records that are doubted."""
    mine = problems[(problems["file"] == table.file) & (problems["row"] > 1)]
    said = mine["column"].where(mine["column"] == "", mine["column"] + ": ") + mine["code"]
    keys = {raw: key for key, raw in table.raw.items()}
    inside = [keys.get(raw, raw).replace(" ", "_") for raw in mine["column"]]
    marks = pd.Series(inside, index=mine.index, dtype="str") + ":" + mine["code"]
    both = (("doubt", said, "; "), ("codes", marks, " "))
    return pd.DataFrame({name: parts.groupby(mine["row"]).agg(between.join) for name, parts, between in both})


def _empty(name: str) -> pd.DataFrame:
    columns: dict[str, pd.Series] = {}
    for column in SCHEMA[name]:
        kind = {"text": "str", "date": "datetime64[us]"}.get(column.kind, "float64")
        columns[inside_name(column)] = pd.Series(dtype=kind)
    columns |= {"row": pd.Series(dtype="int64"), **{n: pd.Series(dtype="str") for n in ("doubt", "codes")}}
    return pd.DataFrame(columns)


def _units(parsed: dict[str, Parsed]) -> str:
    """The system that answers are shown in: by most of the records with an odometer or a depth."""
    metric = us = 0
    for table in parsed.values():
        for key in ("odometer_km", "depth_mm"):
            unit = table.unit.get(key)
            metric += len(table) * (unit in ("km", "mm"))
            us += len(table) * (unit in ("mi", "32nds", "mils", "in"))
    return "metric" if metric > us else "us"

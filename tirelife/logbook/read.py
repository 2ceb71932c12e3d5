"""Read a logbook: all tables as text, then as values, then checked against each other."""

from __future__ import annotations

import datetime as dt
import difflib
import logging
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import InputError, Problem
from tirelife.logbook.chain import chain_of, check_chain
from tirelife.logbook.findings import Findings
from tirelife.logbook.model import Logbook
from tirelife.logbook.parse import Parsed, parse
from tirelife.logbook.schema import REQUIRED, SCHEMA, inside_name
from tirelife.logbook.series import check_depths, check_odometers, check_pressures
from tirelife.logbook.textfile import TextTable, read_csv_text, read_parquet_text
from tirelife.logbook.values import dates_to_days
from tirelife.units import LABELS

__all__ = ["check_logbook", "read_logbook"]

_LOG = logging.getLogger("tirelife.logbook")


def read_logbook(path: str | Path, as_of: str | dt.date | pd.Timestamp | None = None) -> Logbook:
    """Read and check a logbook.

    Parameters
    ----------
    path : str or Path
        A folder of tables (CSV or Parquet, one file a table).
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
    parsed, trips = _load(Path(path), found)
    last = _limit(parsed, day, found)
    _check_between(parsed, found)
    found.raise_errors()
    problems = found.frame()
    tables = {name: _framed(name, parsed.get(name), problems) for name in SCHEMA if name != "trips"}
    _LOG.info(
        "%s: %s", path, ", ".join(f"{len(table)} {name}" for name, table in tables.items() if len(table))
    )
    return Logbook(tables, problems, _units(parsed), last, Path(path), trips)


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
        file, row (as a spreadsheet counts: the header is row 1; 0 is the whole file), column, value, what,
        advice, doubt (False for an error). Errors first; by file and row.
    """
    found = Findings()
    day = _as_of(as_of)
    parsed, _ = _load(Path(path), found)
    _limit(parsed, day, found)
    _check_between(parsed, found)
    return found.frame()


def _as_of(as_of: str | dt.date | pd.Timestamp | None) -> np.datetime64 | None:
    if as_of is None:
        return None
    try:
        return np.datetime64(pd.Timestamp(as_of).date(), "D")
    except (ValueError, TypeError):
        raise InputError(f"{as_of!r} is not a day as YYYY-MM-DD.") from None


def _load(path: Path, found: Findings) -> tuple[dict[str, Parsed], Path | None]:
    """Read every table that is there."""
    if not path.exists():
        raise InputError(Problem(str(path), 0, "", "", "is not there", "Give the folder of a logbook."))
    if not path.is_dir():
        raise InputError(Problem(str(path), 0, "", "", "is not a logbook", "Give the folder of a logbook."))
    try:
        names = sorted(entry.name for entry in path.iterdir())
    except OSError as error:
        why = (error.strerror or "").lower()
        raise InputError(Problem(str(path), 0, "", "", f"cannot be read: {why}", "")) from None
    texts: dict[str, TextTable] = {}
    for table in SCHEMA:
        files = [f"{table}.{end}" for end in ("csv", "parquet") if f"{table}.{end}" in names]
        if len(files) > 1:
            what = f"is there twice, as {files[0]} and {files[1]}"
            found.add(files[1], 0, "", "", what, "Keep one of the two files.")
        if table == "trips":
            continue
        if not files:
            if table in REQUIRED:
                close = difflib.get_close_matches(f"{table}.csv", [n.lower() for n in names], n=1, cutoff=0.8)
                near = next((n for n in names if close and n.lower() == close[0]), "")
                advice = (
                    f"Rename {near} to {table}.csv." if near else f"A logbook needs {', '.join(REQUIRED)}."
                )
                found.add(f"{table}.csv", 0, "", "", "is missing", advice)
            continue
        read = read_csv_text if files[0].endswith(".csv") else read_parquet_text
        text = read(path / files[0], table, found)
        if text is not None:
            texts[table] = text
    parsed = {name: parse(text, found) for name, text in texts.items()}
    _mixed_units(parsed, found)
    trips = next((path / n for n in ("trips.csv", "trips.parquet", "trips") if n in names), None)
    return parsed, trips


def _mixed_units(parsed: dict[str, Parsed], found: Findings) -> None:
    """Doubt a logbook with miles in one table and km in another: one of the names may be wrong."""
    used = {table.file: table.unit["odometer_km"] for table in parsed.values() if "odometer_km" in table.unit}
    if len(set(used.values())) > 1:
        usual = max(("mi", "km"), key=list(used.values()).count)
        for file, unit in used.items():
            if unit != usual:
                what = f"has {LABELS[unit]} where other tables have {LABELS[usual]}"
                found.add(file, 1, f"odometer_{unit}", "", what, "Check the unit in the column's name.", True)


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
    advice = "Correct the date; what is dated after today is not used unless you ask for a later day."
    for file, rows, column, values in late:
        found.add(file, rows, column, values, "is in the future", advice, doubt=True)
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


def _check_between(parsed: dict[str, Parsed], found: Findings) -> None:
    """Check the tables against each other, as far as they can be read."""
    vehicles, tires, mounts = (parsed.get(name) for name in ("vehicles", "tires", "mounts"))
    if vehicles is None or "vehicle_id" not in vehicles.text:
        return
    ids = vehicles.text["vehicle_id"].words
    for name, table in parsed.items():
        if name != "vehicles" and "vehicle_id" in table.text:
            _unknown(table, "vehicle_id", ids, "is not in vehicles", "vehicles", found)
    check_odometers(parsed, ids, found)
    if tires is None or mounts is None or "tire_id" not in tires.text:
        return
    tire_ids = tires.text["tire_id"].words
    if "tire_id" in mounts.text:
        _unknown(mounts, "tire_id", tire_ids, "is not in tires", "tires", found)
    needed = {"tire_id", "vehicle_id", "position"}
    if not needed <= set(mounts.text) or "date" not in mounts.date or "odometer_km" not in mounts.number:
        return
    chain = chain_of(mounts, ids, tire_ids)
    check_chain(mounts, chain, ids, tire_ids, found)
    _check_made(tires, mounts, found)
    if found.errors_in(mounts.file) or not len(chain.tire):
        return  # with mounts that cannot be read, readings would seem to have no tire, or the wrong one
    new_depth = np.full(len(tire_ids), np.nan)
    if "new_depth_mm" in tires.number:
        new_depth[tires.text["tire_id"].codes] = tires.number["new_depth_mm"]
    if "depths" in parsed:
        check_depths(parsed["depths"], chain, ids, new_depth, found)
    if "pressures" in parsed:
        check_pressures(parsed["pressures"], chain, ids, found)


def _unknown(
    table: Parsed, column: str, ids: NDArray[np.object_], what: str, where: str, found: Findings
) -> None:
    cells = table.text[column]
    known = set(ids)
    bad = np.array([bool(word) and word not in known for word in cells.words], dtype=bool)
    if not bad.any() or not len(ids):  # with no records there at all, that is the problem to name
        return
    near = {}
    for word in cells.words[bad][:200]:
        close = difflib.get_close_matches(word, [i for i in ids[:5000] if i], n=1, cutoff=0.7)
        near[word] = f"Did you mean {close[0]!r}? " if close else ""
    hit = bad[cells.codes]
    values = cells.text(hit)
    advice = [f"{near.get(value, '')}Correct it, or add it to {where}." for value in values]
    found.add(table.file, table.rows[hit], column, values, what, advice)


def _check_made(tires: Parsed, mounts: Parsed, found: Findings) -> None:
    """Check week codes: their form, and that no tire is mounted before it was made."""
    cells = tires.text.get("made_week")
    if cells is None:
        return
    first = pd.Series(dates_to_days(mounts.date["date"])).groupby(mounts.text["tire_id"].text()).min()
    made = np.array([_made(word) for word in cells.words], dtype="datetime64[D]")
    blank = np.array([not word for word in cells.words], dtype=bool)
    odd = (np.isnat(made) & ~blank)[cells.codes] if len(made) else np.zeros(0, dtype=bool)
    lost = "A leading zero may be lost: 712 may be 0712. Write week and year, four digits."
    advice = [
        lost if word.isdigit() and len(word) == 3 else "Write week and year, four digits, such as 0726."
        for word in cells.text(odd)
    ]
    found.add(
        tires.file, tires.rows[odd], "made_week", cells.text(odd), "is no week and year", advice, doubt=True
    )
    mounted = first.reindex(tires.text["tire_id"].text()).to_numpy(dtype=float)
    made_day = dates_to_days(made[cells.codes]) if len(made) else np.zeros(0, dtype=np.int64)
    early = ~np.isnat(made[cells.codes]) & (mounted < made_day) if len(made) else odd
    found.add(
        tires.file, tires.rows[early], "made_week", cells.text(early), "is after the tire was mounted",
        "Check the code on the sidewall, and the date of the mount.", doubt=True,
    )  # fmt: skip


def _made(code: str) -> np.datetime64:
    """First day of the week that a code (WWYY, since 2000) names, or NaT."""
    if len(code) != 4 or not (code.isascii() and code.isdigit()) or not 1 <= int(code[:2]) <= 53:
        return np.datetime64("NaT", "D")
    return np.datetime64(f"20{code[2:]}-01-01", "D") + np.timedelta64(7 * (int(code[:2]) - 1), "D")


def _framed(name: str, table: Parsed | None, problems: pd.DataFrame) -> pd.DataFrame:
    if table is None:
        return _empty(name)
    frame = table.frame()
    mine = problems[(problems["file"] == table.file) & (problems["row"] > 1)]
    if len(mine):
        said = mine["column"].where(mine["column"] == "", mine["column"] + ": ") + mine["what"]
        joined = said.groupby(mine["row"]).agg("; ".join)
        doubt = pd.Series(frame["row"].map(joined), dtype="str").fillna("")
        frame["doubt"] = doubt.astype("str")
    return frame


def _empty(name: str) -> pd.DataFrame:
    columns: dict[str, pd.Series] = {}
    for column in SCHEMA[name]:
        kind = {"text": "str", "date": "datetime64[us]"}.get(column.kind, "float64")
        columns[inside_name(column)] = pd.Series(dtype=kind)
    return pd.DataFrame({**columns, "row": pd.Series(dtype="int64"), "doubt": pd.Series(dtype="str")})


def _units(parsed: dict[str, Parsed]) -> str:
    """The system that answers are shown in: by most of the records with an odometer or a depth."""
    metric = us = 0
    for table in parsed.values():
        for key in ("odometer_km", "depth_mm"):
            unit = table.unit.get(key)
            metric += len(table) * (unit in ("km", "mm"))
            us += len(table) * (unit in ("mi", "32nds", "mils", "in"))
    return "metric" if metric > us else "us"

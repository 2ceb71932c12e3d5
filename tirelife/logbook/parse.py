"""From a table of texts to a table of values in inside units, with every problem of its columns and cells."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.schema import BANDS, KEPT_BESIDE, KEYS, REQUIRED, SCHEMA, Column, inside_name
from tirelife.logbook.textfile import Cells, TextTable
from tirelife.logbook.values import Fault, Faults, choices, dates, numbers, range_faults, uses_decimal_comma
from tirelife.units import INSIDE, KINDS, convert, kind_of, split_unit

__all__ = ["Parsed", "parse"]


@dataclass
class Parsed:
    """One table: texts as cells, numbers in inside units, days; columns under their inside names.

    ``raw`` gives the name of each column in the file, ``unit`` its unit there.
    """

    name: str
    file: str
    rows: NDArray[np.int64]
    text: dict[str, Cells] = field(default_factory=dict)
    number: dict[str, NDArray[np.float64]] = field(default_factory=dict)
    date: dict[str, NDArray[np.datetime64]] = field(default_factory=dict)
    raw: dict[str, str] = field(default_factory=dict)
    unit: dict[str, str] = field(default_factory=dict)
    cells: dict[str, Cells] = field(default_factory=dict)
    extra: dict[str, Cells] = field(default_factory=dict)
    as_written: Callable[[str], NDArray[np.object_]] | None = None

    def __len__(self) -> int:
        return len(self.rows)

    def copy(self) -> Parsed:
        """A table whose records can be left out without leaving them out of this one."""
        return replace(
            self, text=dict(self.text), number=dict(self.number), date=dict(self.date),
            cells=dict(self.cells), extra=dict(self.extra),
        )  # fmt: skip

    def written(self, column: str, where: NDArray[np.bool_] | NDArray[np.intp]) -> NDArray[np.object_]:
        """The texts of a column, as they stand in the file."""
        cells = self.cells.get(column)
        if cells is None:
            return np.full(len(self.rows[where]), "", dtype=object)
        if self.as_written is not None and column in self.number and len(self.rows[where]):
            return self.as_written(self.raw[column])[self.rows[where]]
        return cells.words[cells.codes[where]]

    def keep(self, where: NDArray[np.bool_]) -> None:
        """Leave out all other records."""
        self.rows = self.rows[where]
        for group in (self.text, self.cells, self.extra):
            for name, cells in group.items():
                group[name] = Cells(cells.codes[where], cells.words)
        self.number = {name: values[where] for name, values in self.number.items()}
        self.date = {name: values[where] for name, values in self.date.items()}

    def frame(self) -> pd.DataFrame:
        """As a frame: columns of the schema, then ``row``, ``doubt`` and ``codes``, then unknown ones."""
        columns: dict[str, object] = {}
        for column in SCHEMA[self.name]:
            name = inside_name(column)
            if column.kind == "text":
                columns[name] = _as_text(self.text.get(name), len(self))
            elif column.kind == "date":
                values = self.date.get(name, np.full(len(self), np.datetime64("NaT", "D")))
                columns[name] = values.astype("datetime64[us]")
            else:
                columns[name] = self.number.get(name, np.full(len(self), np.nan))
        columns["row"] = self.rows
        for name in ("doubt", "codes"):
            columns[name] = pd.array([""] * len(self), dtype="str")
        for raw, cells in self.extra.items():
            columns[raw if raw not in columns else f"{raw} (as written)"] = _as_text(cells, len(self))
        return pd.DataFrame(columns)


def _as_text(cells: Cells | None, n: int) -> pd.api.extensions.ExtensionArray:
    if cells is None:
        return pd.array([""] * n, dtype="str")
    return pd.array(cells.words, dtype="str").take(cells.codes)


def parse(table: TextTable, found: Findings) -> Parsed:
    """Find the columns of a table and turn its cells into values; problems are added to ``found``."""
    out = Parsed(table.name, table.file, table.rows, as_written=table.as_written)
    used = _find_columns(table, out, found)
    comma = [
        raw
        for raw, column in used.items()
        if column.kind not in ("text", "date") and uses_decimal_comma(table.cells[raw].words)
    ]
    if comma:
        found.add(table.file, 0, ", ".join(comma), "", Found.DECIMAL_COMMAS, doubt=True)
    for raw, column in used.items():
        _convert(table.cells[raw], column, raw, bool(comma), table.typed, out, found)
    for name in KEYS.get(table.name, ()):
        _check_key(out, name, found)
    if table.name == "habits":
        _check_habits(out, found)
    if table.name == "gauges":
        _check_gauges(out, found)
    if not len(out) and table.name in REQUIRED:
        doubt = table.name in ("mounts", "depths")
        found.add(out.file, 0, "", "", Found.NO_RECORDS, doubt=doubt)
    return out


def _find_columns(table: TextTable, out: Parsed, found: Findings) -> dict[str, Column]:
    """Which column of the file is which of the schema; what is missing, doubled or unknown."""
    file, names = table.file, list(table.cells)
    for name in names:
        plain = name.split("\x00")[-1]
        if name.startswith("\x00") and plain:
            found.add(file, 1, plain, "", Found.COLUMN_TWICE)
    used: dict[str, Column] = {}
    first_unit: dict[str, tuple[str, str]] = {}
    unknown = [name for name in names if not name.startswith("\x00")]
    missing: list[Column] = []
    for column in SCHEMA[table.name]:
        key = inside_name(column)
        if column.kind in INSIDE:
            wanted = [f"{column.name}_{unit}" for unit in KINDS[column.kind]]
            hits = [name for name in wanted if name in table.cells]
        else:
            hits = [column.name] if column.name in table.cells else []
        unknown = [name for name in unknown if name not in hits]
        if len(hits) > 1:
            found.add(file, 1, hits[1], "", Found.TWO_UNITS, {"first": hits[0], "second": hits[1]})
        elif not hits and column.required:
            missing.append(column)
        if not hits:
            continue
        used[hits[0]], out.raw[key], out.cells[key] = column, hits[0], table.cells[hits[0]]
        if column.kind in INSIDE:
            unit = out.unit[key] = split_unit(hits[0], [column.kind])[1] or ""
            earlier = first_unit.setdefault(column.kind, (unit, hits[0])) if len(hits) == 1 else (unit, "")
            if earlier[0] != unit:
                said = {"first": earlier[1], "second": hits[0], "unit": earlier[0], "other_code": unit}
                found.add(file, 1, hits[0], "", Found.UNITS_DIFFER, said)
    for column in missing:
        unknown = _missing(column, table, unknown, found)
    for column in SCHEMA[table.name]:
        wrong = [n for n in unknown if column.kind in INSIDE and _is_wrong_unit(n, column)]
        if wrong and not any(c is column for c in used.values()) and column not in missing:
            found.add(file, 1, wrong[0], "", Found.UNIT_WRONG, {"names": tuple(KINDS[column.kind])})
            unknown = [n for n in unknown if n not in wrong]
    blank = [name for name in names if name.startswith("\x00") and not name.split("\x00")[-1]]
    out.extra = {name: table.cells[name] for name in unknown}
    for i, name in enumerate(blank):
        out.extra[f"unnamed {i + 1}"] = table.cells[name]
    strange = [name for name in unknown if name not in KEPT_BESIDE.get(table.name, ())]
    if strange or blank:
        listed = {"names": (*_shortened(strange), *[""] * bool(blank))}
        found.add(file, 1, "", "", Found.COLUMN_UNKNOWN, listed, doubt=True)
    return used


def _shortened(names: list[str], most: int = 200) -> list[str]:
    """Names that there is room for in a line; the last is cut."""
    out: list[str] = []
    for name in names:
        if most <= 0:
            break
        out.append(name[:most])
        most -= len(name) + 2
    return out


def _is_wrong_unit(name: str, column: Column) -> bool:
    return name == column.name or (
        name.startswith(f"{column.name}_") and "_" not in name.removeprefix(f"{column.name}_")
    )


def _missing(column: Column, table: TextTable, unknown: list[str], found: Findings) -> list[str]:
    """Report a missing column, with a guess at what it is called in the file."""
    if column.kind in INSIDE:
        names = tuple(f"{column.name}_{unit}" for unit in KINDS[column.kind])
        wrong = [name for name in unknown if _is_wrong_unit(name, column)]
        if wrong:
            none = wrong[0] == column.name
            code = Found.UNIT_MISSING if none else Found.UNIT_WRONG
            found.add(table.file, 1, wrong[0], "", code, {"names": names}, Ask.NAME_COLUMN)
            return [name for name in unknown if name not in wrong]
    else:
        names = (column.name,)
    folded = {name.lower().strip().replace(" ", "_"): name for name in unknown}
    near = next((folded[name] for name in names if name in folded), "")
    if not near:
        close = difflib.get_close_matches(
            names[0], [k for k in folded if len(k) < 60][:200], n=1, cutoff=0.75
        )
        near = folded[close[0]] if close else ""
    told, ask = {"names": names, "near": near}, Ask.RENAME_COLUMN if near else None
    found.add(table.file, 1, " or ".join(names), "", Found.COLUMN_MISSING, told, ask)
    return [name for name in unknown if name != near]


def _convert(
    cells: Cells, column: Column, raw: str, comma: bool, typed: bool, out: Parsed, found: Findings
) -> None:
    key = inside_name(column)
    if column.kind == "text":
        if column.one_of:
            words, faults = choices(cells.words, column.one_of)
        else:
            words = np.array([word.strip() for word in cells.words], dtype=object)
            faults = Faults([], [])
        merge, distinct = pd.factorize(words)
        out.text[key] = Cells(merge[cells.codes], distinct) if len(words) else cells
        blank = np.array([not word for word in words], dtype=bool)
    elif column.kind == "date":
        values, faults = dates(cells.words)
        blank = np.array([not word.strip() for word in cells.words], dtype=bool)
        out.date[key] = values[cells.codes]
    else:
        unit = out.unit.get(key)
        amounts, faults = numbers(cells.words, comma, column, unit, typed=typed)
        with np.errstate(over="ignore"):  # what overflows is out of range
            inside = convert(amounts, unit, INSIDE[column.kind]) if unit else amounts
            ranged = range_faults(inside, column, unit)
        faults = Faults(faults.errors + ranged.errors, faults.doubts + ranged.doubts)
        blank = np.array([not word.strip() for word in cells.words], dtype=bool)
        out.number[key] = inside[cells.codes]
    if blank.any() and not column.blank:
        where = blank[cells.codes]
        found.add(out.file, out.rows[where], raw, "", Found.BLANK)
    _add_faults(faults.errors, cells, key, out, found, doubt=False)
    _add_faults(faults.doubts, cells, key, out, found, doubt=True)


def _add_faults(
    faults: list[Fault], cells: Cells, key: str, out: Parsed, found: Findings, *, doubt: bool
) -> None:
    if not faults:
        return
    which = np.full(len(cells.words), -1)
    which[[fault.at for fault in faults]] = np.arange(len(faults))
    hit = which[cells.codes]
    where = hit >= 0
    mine = [faults[i] for i in hit[where]]
    found.add(
        out.file, out.rows[where], out.raw[key], out.written(key, where),
        [fault.code for fault in mine], [dict(fault.values) for fault in mine], [fault.ask for fault in mine],
        doubt=doubt,
    )  # fmt: skip


def _check_key(out: Parsed, name: str, found: Findings) -> None:
    cells = out.text.get(name)
    if cells is None:
        return
    order = np.argsort(cells.codes, kind="stable")
    codes = cells.codes[order]
    first = np.r_[True, codes[1:] != codes[:-1]]
    start = order[np.maximum.accumulate(np.where(first, np.arange(len(codes)), 0))] if len(codes) else order
    again = ~first & np.array([bool(w) for w in cells.words], dtype=bool)[codes] if len(codes) else first[:0]
    rows, earlier = out.rows[order[again]], out.rows[start[again]]
    said = [{"row": int(row)} for row in earlier]
    found.add(out.file, rows, name, cells.words[codes[again]], Found.KEY_TWICE, said)


def _check_habits(out: Parsed, found: Findings) -> None:
    if all(band in out.number for band in BANDS):
        total = sum(out.number[band] for band in BANDS)
        # Five shares rounded to two places can be off by 0.025 together.
        bad = np.isfinite(total) & (np.abs(total - 1) > 0.025 + 1e-9)
        shown = [f"{value:.4g}" for value in np.asarray(total)[bad]]
        found.add(out.file, out.rows[bad], "share_…", shown, Found.SHARES)
    if "from_date" in out.date and "to_date" in out.date:
        bad = out.date["to_date"] < out.date["from_date"]
        values = out.written("to_date", bad)
        found.add(out.file, out.rows[bad], "to_date", values, Found.ENDS_BEFORE)


def _check_gauges(out: Parsed, found: Findings) -> None:
    if "unit" not in out.text or "kind" not in out.text:
        return
    kinds, units = out.text["kind"], out.text["unit"]
    fits = np.zeros((len(kinds.words), len(units.words)), dtype=bool)
    for j, unit in enumerate(units.words):
        known = any(unit in of_kind for of_kind in KINDS.values())
        for i, kind in enumerate(kinds.words):
            fits[i, j] = not unit or (known and kind_of(unit) == kind) or kind not in KINDS
    bad = ~fits[kinds.codes, units.codes]
    said = [{"names": tuple(KINDS[kind])} for kind in kinds.text(bad)]
    found.add(out.file, out.rows[bad], "unit", units.text(bad), Found.UNIT_NOT_OF_KIND, said)
    for name in ("reading", "master"):
        if name in out.number:
            _check_gauge_range(out, name, ~bad, found)


def _check_gauge_range(out: Parsed, name: str, known: NDArray[np.bool_], found: Findings) -> None:
    """Report what no gauge shows: a comparison is held to the range of the readings that it corrects."""
    kinds, units = out.text["kind"].text(), out.text["unit"].text()
    for kind, table in (("depth", "depths"), ("pressure", "pressures")):
        column = next(column for column in SCHEMA[table] if column.name == kind)
        low, high = float(column.low or 0.0), float(column.high or np.inf)
        for unit in KINDS[kind]:
            mine = known & (kinds == kind) & (units == unit)
            with np.errstate(over="ignore"):  # 1e308 is out of range all the same
                value = convert(out.number[name], unit, INSIDE[kind])
            off = mine & ((value < low - 1e-9) | (value > high + 1e-9))
            limits = [f"{convert(limit, INSIDE[kind], unit):.4g}" for limit in (low, high)]
            said = {"low": limits[0], "high": limits[1], "column_unit": unit}
            found.add(out.file, out.rows[off], name, out.written(name, off), Found.OUT_OF_RANGE, said)

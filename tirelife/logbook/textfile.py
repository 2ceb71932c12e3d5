"""Read one table as text, whatever file it lies in; nothing is guessed and no cell is lost."""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.codes import Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.schema import SCHEMA
from tirelife.units import KINDS

__all__ = ["Cells", "TextTable", "cells_of", "read_csv_text", "read_parquet_text"]

_WIDE = 200
"""Above this many columns a file is read cell by cell: a spreadsheet's empty columns cost pandas dearly."""
_SMALL = 100_000
"""Up to this many bytes reading cell by cell is the quicker way."""
_PIECE = 1 << 17
"""Rows read at once."""


@dataclass(frozen=True)
class Cells:
    """One column as text: ``words[codes]`` are its cells, so work is done once a distinct word."""

    codes: NDArray[np.intp]
    words: NDArray[np.object_]

    def text(self, where: NDArray[np.bool_] | None = None) -> NDArray[np.object_]:
        """The cells, or those at ``where``."""
        out: NDArray[np.object_] = self.words[self.codes if where is None else self.codes[where]]
        return out


@dataclass(frozen=True)
class TextTable:
    """A table as text: its columns by their name in the file, and the row of each record.

    ``rows`` counts as a spreadsheet does: the header is row 1. In a large file numbers may stand in
    ``cells`` written otherwise than in the file (7.50 as 7.5); ``as_written`` gives a column's own texts.
    ``typed``: the texts were made from stored numbers, in which a point is a decimal point.
    """

    name: str
    file: str
    rows: NDArray[np.int64]
    cells: dict[str, Cells] = field(default_factory=dict)
    delimiter: str = ","
    as_written: Callable[[str], NDArray[np.object_]] | None = None
    typed: bool = False

    def keep(self, where: NDArray[np.bool_]) -> TextTable:
        """The records at ``where``."""
        cells = {name: Cells(c.codes[where], c.words) for name, c in self.cells.items()}
        return replace(self, rows=self.rows[where], cells=cells)


def cells_of(values: NDArray[np.object_] | list[str]) -> Cells:
    """Cells of a column of texts."""
    array = np.empty(len(values), dtype=object)
    array[:] = values
    codes, words = pd.factorize(array)
    return Cells(codes, words)


def known_columns(table: str, names: list[str]) -> int:
    """How many of these names are columns of the table, in any unit or with none."""
    return sum(name in _known_names(table) for name in names)


@cache
def _known_names(table: str) -> frozenset[str]:
    return frozenset(_numeric_names(table) | {column.name for column in SCHEMA[table]})


def read_csv_text(path: Path, table: str, found: Findings) -> TextTable | None:
    """Read a CSV file as text.

    Parameters
    ----------
    path : Path
    table : str
        Name of the table that it holds.
    found : Findings
        Problems are added here.

    Returns
    -------
    TextTable or None
        None if the file cannot be read at all; the reason is in ``found``.
    """
    file = path.name
    try:
        data = path.read_bytes()
    except OSError as error:
        found.add(file, 0, "", "", Found.FILE_UNREADABLE, _cannot_read(error))
        return None
    fault = _not_text(data)
    if fault is not None:
        found.add(file, fault[0], "", fault[1], fault[2], fault[3])
        return None
    data = data.removeprefix(b"\xef\xbb\xbf")
    head = data[:4_000_000].decode("utf-8", errors="ignore")
    delimiter, skip = _dialect(head, table)
    if skip:
        data = data[data.index(b"\n") + 1 :]
        head = head[head.index("\n") + 1 :]
    lines = csv.reader(io.StringIO(head, newline=""), delimiter=delimiter)
    try:
        first = [[cell.strip() for cell in line] for line, _ in zip(lines, range(6), strict=False)]
    except csv.Error:
        first = []
    if not first:
        found.add(file, 1, "", "", Found.HEADER_UNREADABLE)
        return None
    header = first[0]
    if not known_columns(table, header):
        below = next((i for i, line in enumerate(first) if known_columns(table, line) > 1), None)
        if below is not None:
            found.add(file, 1, "", " ".join(header).strip(), Found.HEADER_BELOW, {"below": below})
            return None
    out = None
    if len(header) <= _WIDE and len(data) > _SMALL:
        out = _read_fast(data, header, delimiter, table, file, skip)
    if out is None:
        out = _read_slow(data, header, delimiter, table, file, skip, found)
    if out is not None:
        out = _without_blank(out)
    if delimiter != ",":
        found.add(file, 0, "", "", Found.DELIMITER, {"mark": delimiter}, doubt=True)
    return out


def read_parquet_text(path: Path, table: str, found: Findings) -> TextTable | None:
    """Read a Parquet file as text, each value written as a person would type it."""
    file = path.name
    try:
        frame = pd.read_parquet(path)
    except ImportError:
        found.add(file, 0, "", "", Found.NEEDS_PYARROW)
        return None
    except FileNotFoundError as error:
        found.add(file, 0, "", "", Found.FILE_UNREADABLE, _cannot_read(error))
        return None
    except Exception as error:  # pyarrow raises many kinds for a damaged file
        if isinstance(error, PermissionError | IsADirectoryError):
            found.add(file, 0, "", "", Found.FILE_UNREADABLE, _cannot_read(error))
        else:
            found.add(file, 0, "", "", Found.FILE_CUT)
        return None
    if any(frame.index.names) and not isinstance(frame.index, pd.RangeIndex):
        frame = frame.reset_index()
    cells: dict[str, Cells] = {}
    for i, name in enumerate(map(str, frame.columns)):
        series = frame.iloc[:, i]
        try:
            codes, words = pd.factorize(series, use_na_sentinel=True)
        except TypeError:
            codes, words = pd.factorize(series.map(repr))
        texts = np.array([*map(_typed_text, words), ""], dtype=object)  # code -1 is the last: blank
        cells[_free_name(name.strip(), cells)] = Cells(np.where(codes < 0, len(texts) - 1, codes), texts)
    rows = np.arange(len(frame), dtype=np.int64) + 2
    return _without_blank(TextTable(table, file, rows, cells, typed=_all_numbers(frame, table)))


def _cannot_read(error: OSError) -> dict[str, str]:
    gone = "no such file or directory" if isinstance(error, FileNotFoundError) else type(error).__name__
    return {"why": (error.strerror or gone).lower()}


def _not_text(data: bytes) -> tuple[int, str, Found, dict[str, str]] | None:
    """Why bytes are no CSV text: row, what stands there, code and the arguments of its words."""
    if not data.removeprefix(b"\xef\xbb\xbf").strip(b" \t\r\n,;\x00\x1a"):
        return 0, "", Found.FILE_EMPTY, {}
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return 0, "", Found.FILE_UTF16, {}
    if data[:4] in (b"PK\x03\x04", b"PAR1", b"\xd0\xcf\x11\xe0", b"SQLi"):
        return 0, "", Found.FILE_NOT_CSV, {}
    if b"\x00" in data:
        row = data[: data.index(b"\x00")].count(b"\n") + 1
        return row, "", Found.FILE_ZERO_BYTE, {}
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        start = max(data.rfind(b"\n", 0, error.start) + 1, error.start - 12)
        near = data[start : error.start + 6].split(b"\n")[0].decode("cp1252", errors="replace").strip()
        return row, near, Found.FILE_NOT_UTF8, {"byte": f"0x{data[error.start]:02X}"}
    return None


def _dialect(head: str, table: str) -> tuple[str, int]:
    first = head.split("\n", 1)[0].strip("\r ")
    named = re.fullmatch(r"sep=(.)", first, flags=re.IGNORECASE)
    if named and "\n" in head:
        return named[1], 1
    top = head.split("\n", 6)[:6]

    def fit(mark: str) -> tuple[int, int]:
        try:
            lines = list(csv.reader(io.StringIO("\n".join(top)), delimiter=mark))
        except csv.Error:
            return 0, 0
        known = max((known_columns(table, [c.strip() for c in line]) for line in lines), default=0)
        return known, first.count(mark)

    return max((",", ";", "\t"), key=fit), 0


def _read_fast(
    data: bytes, header: list[str], delimiter: str, table: str, file: str, skip: int
) -> TextTable | None:
    """Read all columns as categories, piece by piece: a column's words are then made once a piece.

    None if the rows are ragged or a quotation mark stands open. pandas turns words that are all numbers into
    numbers; for a column of texts (007 is not 7) the file is then read as plain objects.
    """
    exact = [i for i, name in enumerate(header) if name not in _numeric_names(table)]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            pieces = _pieces(data, len(header), delimiter, "category")
            plain = [i for i in exact if any(piece[i].cat.categories.dtype != "str" for piece in pieces)]
            if plain:
                objects = _pieces(data, len(header), delimiter, "object", plain)
                for piece, other in zip(pieces, objects, strict=True):
                    for i in plain:
                        piece[i] = other[i].astype("category")
    except (ValueError, Warning, csv.Error, OverflowError):
        return None
    cells: dict[str, Cells] = {}
    for i, name in enumerate(header):
        cells[_free_name(name, cells)] = _joined([piece[i] for piece in pieces])
    rows = np.arange(sum(len(piece) for piece in pieces), dtype=np.int64) + 2 + skip

    @cache
    def as_written(name: str) -> NDArray[np.object_]:
        at = [header.index(name)]
        parts = _pieces(data, len(header), delimiter, "object", at)
        # By row number, so that records left out do not shift the others.
        return np.concatenate(
            [np.full(2 + skip, "", dtype=object), *(part[at[0]].to_numpy() for part in parts)]
        )

    return TextTable(table, file, rows, cells, delimiter, as_written)


def _pieces(
    data: bytes, width: int, delimiter: str, dtype: Any, only: list[int] | None = None
) -> list[pd.DataFrame]:
    with pd.read_csv(
        io.BytesIO(data), sep=delimiter, header=0, names=range(width), index_col=False, usecols=only,
        dtype=dtype, na_filter=False, skip_blank_lines=False, encoding="utf-8", low_memory=False,
        chunksize=_PIECE,
    ) as reader:  # fmt: skip
        return list(reader)


def _joined(pieces: list[pd.Series]) -> Cells:
    """One column from its pieces, each a categorical with words of its own."""
    words = [piece.cat.categories.astype("str").to_numpy(dtype=object) for piece in pieces]
    codes = [piece.cat.codes.to_numpy().astype(np.intp) for piece in pieces]
    short = any((code < 0).any() for code in codes)  # a cell that a short row lacks is blank
    merged, distinct = pd.factorize(np.concatenate([*words, np.full(int(short), "", dtype=object)]))
    starts = np.cumsum([0, *map(len, words)])
    where = [np.where(code < 0, starts[-1], code + start) for start, code in zip(starts, codes, strict=False)]
    return Cells(merged[np.concatenate(where)] if len(merged) else np.zeros(0, dtype=np.intp), distinct)


@cache
def _numeric_names(table: str) -> set[str]:
    """Names of a table's columns of dates and numbers, in any unit; the others hold texts."""
    out: set[str] = set()
    for column in SCHEMA[table]:
        if column.kind in KINDS:
            out |= {f"{column.name}_{unit}" for unit in KINDS[column.kind]}
        elif column.kind != "text":
            out.add(column.name)
    return out


def _read_slow(
    data: bytes, header: list[str], delimiter: str, table: str, file: str, skip: int, found: Findings
) -> TextTable | None:
    """Cell by cell: finds every ragged row, and copes with any number of empty columns."""
    csv.field_size_limit(2**30)
    reader = csv.reader(io.StringIO(data.decode("utf-8"), newline=""), delimiter=delimiter, strict=True)
    records: list[list[str]] = []
    try:
        records.extend(reader)
    except csv.Error:
        found.add(file, len(records) + 1 + skip, "", "", Found.UNCLOSED)
        return None
    width = len(header)
    longest = max((_filled(record) for record in records), default=0)
    ragged = [i for i, record in enumerate(records) if _filled(record) > width]
    found.add(
        file, np.array(ragged, dtype=np.int64) + 1 + skip, "",
        [delimiter.join(records[i][width : _filled(records[i])])[:80] for i in ragged],
        Found.RAGGED,
    )  # fmt: skip
    if ragged:
        return None
    wanted = [i for i in range(min(width, longest)) if header[i] or any(_at(r, i) for r in records[1:])]
    cells: dict[str, Cells] = {}
    for i in wanted:
        cells[_free_name(header[i], cells)] = cells_of([_at(record, i) for record in records[1:]])
    rows = np.arange(len(records) - 1, dtype=np.int64) + 2 + skip
    return TextTable(table, file, rows, cells, delimiter)


def _at(record: list[str], i: int) -> str:
    return record[i] if i < len(record) else ""


def _filled(record: list[str]) -> int:
    n = len(record)
    while n and not record[n - 1].strip():
        n -= 1
    return n


def _without_blank(table: TextTable) -> TextTable:
    """Leave out records with nothing in them, and columns with neither a name nor a cell."""
    filled = np.zeros(len(table.rows), dtype=bool)
    cells = {}
    for name, column in table.cells.items():
        has = np.array([bool(word.strip()) for word in column.words], dtype=bool)
        if name.startswith("\x00") and not has.any():
            continue
        if not filled.all():
            filled |= has[column.codes]
        cells[name] = column
    out = replace(table, cells=cells)
    return out if filled.all() else out.keep(filled)


def _free_name(name: str, taken: dict[str, Cells]) -> str:
    """Names in a header may be blank or repeat; mark those so that none hides another."""
    if name and name not in taken:
        return name
    return f"\x00{len(taken)}\x00{name}"


def _all_numbers(frame: pd.DataFrame, table: str) -> bool:
    """Whether every column of numbers was stored as numbers, not as texts."""
    numeric = _numeric_names(table)
    quantities = [i for i, name in enumerate(map(str, frame.columns)) if name.strip() in numeric]
    return not any(pd.api.types.is_string_dtype(frame.dtypes.iloc[i]) for i in quantities)


def _typed_text(value: object) -> str:
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, bytes):
        return value.decode("utf-8", errors="replace")
    if isinstance(value, bool | np.bool_):
        return str(bool(value))
    if isinstance(value, float | np.floating):
        number = float(value) if not isinstance(value, np.float32) else float(str(value))
        return str(int(number)) if number.is_integer() and abs(number) < 1e15 else repr(number)
    if hasattr(value, "isoformat"):
        return str(value.isoformat()).removesuffix("T00:00:00")
    return str(value)

"""Read a spreadsheet or a text table into grids of cells, one a tab; nothing is interpreted here."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Any, Final

from tirelife.errors import refusal
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.store import is_store

__all__ = ["Grid", "column_letter", "is_sheet", "read_grids"]

SPREADSHEETS: Final = (".xlsx", ".xlsm", ".xls", ".ods", ".xlsb")
TEXTS: Final = (".csv", ".tsv", ".txt", ".tab")
LARGEST: Final = 40_000_000
"""A log of tread depths is far smaller than this. [bytes]"""


@dataclass
class Grid:
    """Cells of one tab: texts, numbers, dates, True and False, or None; the first row is row 1 of the sheet.

    ``merged`` holds ranges as (first row, first column, last row, last column), counted from 0; ``bad`` the
    cells whose value cannot be had (an error, a formula without a value); ``delimiter`` is blank for a
    spreadsheet. ``turned``: its rows are columns of the sheet; ``origin``: the row of the sheet that each row
    is of, counted from 0, where that is not its own place.
    """

    tab: str
    cells: list[list[Any]]
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden: bool = False
    bad: dict[tuple[int, int], str] = field(default_factory=dict)
    delimiter: str = ""
    turned: bool = False
    origin: list[int] = field(default_factory=list)

    def place(self, row: int) -> int:
        """Number of a row as the sheet counts it; of a column where the tab was turned."""
        return (self.origin[row] if self.origin else row) + 1


def is_sheet(path: str | Path) -> bool:
    """Whether a path is a file that may be a shop's own sheet, and no logbook."""
    path = Path(path)
    return path.is_file() and path.suffix.lower() in SPREADSHEETS + TEXTS and not is_store(path)


def column_letter(index: int) -> str:
    """Name of a column as a spreadsheet shows it, from its number counted from 0.

    Examples
    --------
    >>> column_letter(0), column_letter(27)
    ('A', 'AB')
    """
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        out = chr(65 + rest) + out
    return out


def read_grids(path: str | Path) -> list[Grid]:
    """Read every tab of a file.

    Raises
    ------
    InputError
        If the file is not there, too large, protected by a password, or no spreadsheet.
    """
    path = Path(path)
    if not path.is_file():
        raise refusal(path.name, NoSheet.NO_FILE if path.exists() else NoSheet.MISSING)
    if path.stat().st_size > LARGEST:
        size, most = (f"{n / 1e6:,.0f}" for n in (path.stat().st_size, LARGEST))
        raise refusal(path.name, NoSheet.LARGE, size_mb=size, most_mb=most)
    with path.open("rb") as file:
        head = file.read(8)
    if head[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0") or path.suffix.lower() in SPREADSHEETS:
        return _spreadsheet(path, head)
    return [_text(path)]


def _spreadsheet(path: Path, head: bytes) -> list[Grid]:
    try:
        import python_calamine as calamine
    except ImportError:
        raise refusal(path.name, NoSheet.NEEDS_CALAMINE) from None
    if head[:4] not in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        raise refusal(path.name, NoSheet.NO_SHEET)
    data = path.read_bytes()
    if head[:4] == b"\xd0\xcf\x11\xe0" and "EncryptedPackage".encode("utf-16-le") in data:
        raise refusal(path.name, NoSheet.LOCKED)
    try:
        book = calamine.load_workbook(io.BytesIO(data))
        grids = []
        visible = {meta.name: str(meta.visible).endswith(".Visible") for meta in book.sheets_metadata}
        for name in book.sheet_names:
            try:
                sheet = book.get_sheet_by_name(name)
            except calamine.CalamineError:
                continue  # a tab that holds a chart alone
            rows = [[_value(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)]
            merged = [(a, b, c, d) for (a, b), (c, d) in sheet.merged_cell_ranges or []]
            grids.append(Grid(name, rows, merged, hidden=not visible.get(name, True)))
    except calamine.PasswordError:
        raise refusal(path.name, NoSheet.LOCKED) from None
    except (calamine.CalamineError, ValueError, OSError):
        raise refusal(path.name, NoSheet.DAMAGED) from None
    if head[:4] == b"PK\x03\x04":
        _look_closer(data, grids)
    return grids


def _value(cell: Any) -> Any:
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, str):
        return " ".join(cell.replace("\u00a0", " ").split()) or None
    if isinstance(cell, dt.time | dt.timedelta):
        return str(cell)
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return int(cell)
    return cell


_ROW = re.compile(rb"<row\b([^>]*)>(.*?)</row>|<row\b([^>]*)/>", re.DOTALL)
_CELL = re.compile(rb"<c\b([^>]*?)(?:/>|>(.*?)</c>)", re.DOTALL)
_REF = re.compile(rb'\br="([A-Z]+)(\d+)"')


def _look_closer(data: bytes, grids: list[Grid]) -> None:
    """Find in an .xlsx file what the reader leaves out: hidden rows, errors, formulas without a value."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as bundle:
            names = bundle.namelist()
            if "xl/workbook.xml" not in names or sum(i.file_size for i in bundle.infolist()) > 20 * LARGEST:
                return
            order = re.findall(
                rb'<sheet\b[^>]*?name="([^"]*)"[^>]*?r:id="([^"]*)"', bundle.read("xl/workbook.xml")
            )
            links = dict(_links(bundle.read("xl/_rels/workbook.xml.rels")))
            by_name = {grid.tab: grid for grid in grids}
            for name, link in order:
                grid = by_name.get(_unescaped(name.decode("utf-8", "replace")))
                target = links.get(link.decode(), "").lstrip("/")
                target = target if target.startswith("xl/") else f"xl/{target}"
                if grid is not None and target in names:
                    _look_at(bundle.read(target), grid)
    except (zipfile.BadZipFile, KeyError, OSError):
        return


def _links(xml: bytes) -> list[tuple[str, str]]:
    out = []
    for one in re.findall(rb"<Relationship\b[^>]*>", xml):
        name, target = re.search(rb'\bId="([^"]*)"', one), re.search(rb'\bTarget="([^"]*)"', one)
        if name and target:
            out.append((name[1].decode(), target[1].decode()))
    return out


def _unescaped(text: str) -> str:
    return unescape(text)


def _look_at(xml: bytes, grid: Grid) -> None:
    for attributes, inside, empty in _ROW.findall(xml):
        found = re.search(rb'\br="(\d+)"', attributes or empty)
        if found and re.search(rb'\bhidden="(1|true)"', attributes or empty):
            grid.hidden_rows.add(int(found[1]) - 1)
        for cell, content in _CELL.findall(inside):
            where = _REF.search(cell)
            if where is None:
                continue
            error = b't="e"' in cell
            empty_formula = (
                b"<f" in content and not re.search(rb"<v>[^<]+</v>", content) and b't="str"' not in cell
            )
            if error or empty_formula:
                value = re.search(rb"<v>([^<]*)</v>", content)
                column = 0
                for letter in where[1].decode():
                    column = column * 26 + ord(letter) - 64
                text = value[1].decode("utf-8", "replace") if error and value else ""
                grid.bad[int(where[2]) - 1, column - 1] = text


def _text(path: Path) -> Grid:
    data = path.read_bytes()
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = data.decode("utf-16", errors="replace")
    else:
        if b"\x00" in data[:100_000]:
            raise refusal(path.name, NoSheet.NO_TEXT)
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("cp1252", errors="replace")
    if not text.strip():
        raise refusal(path.name, NoSheet.EMPTY)
    named = re.match(r"sep=(.)\r?\n", text)
    if named:
        text = text[named.end() :]
    mark = named[1] if named else _delimiter(text)
    csv.field_size_limit(2**30)
    rows: list[list[Any]] = []
    for record in csv.reader(io.StringIO(text, newline=""), delimiter=mark):
        rows.append([" ".join(cell.replace("\u00a0", " ").split()) or None for cell in record])
    if named:
        rows.insert(0, [])
    return Grid(path.stem, rows, delimiter=mark)


def _delimiter(text: str) -> str:
    lines = [line for line in text.splitlines()[:200] if line.strip()]

    def fit(mark: str) -> tuple[float, int]:
        counts = [len(record) for record in csv.reader(lines, delimiter=mark)]
        several = [count for count in counts if count > 1]
        if not several:
            return 0.0, 0
        usual = max(set(several), key=several.count)
        return counts.count(usual) / len(counts) + 0.001 * usual, usual

    return max((",", ";", "\t", "|"), key=fit)

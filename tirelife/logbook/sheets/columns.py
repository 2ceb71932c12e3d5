"""Find the header of a tab and what each column holds: by its name, and by what stands in it."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from tirelife.logbook.sheets.cells import amount, date_text, depths_of, is_blank, named_depths
from tirelife.logbook.sheets.files import Grid, column_letter
from tirelife.logbook.sheets.headers import (
    DATE_HINT,
    MEASURED,
    THOUSANDS,
    Field,
    groove_of,
    named_field,
    read_field,
)
from tirelife.logbook.sheets.layouts import days_of_month, join_dates
from tirelife.logbook.sheets.told import How
from tirelife.logbook.sheets.words import folded, vocabulary, wheel_of
from tirelife.logbook.work import work_of
from tirelife.positions import FRONT, MOUNTED, REAR, ROAD

__all__ = ["Column", "Table", "find_table", "names_vehicles"]

_ONCE: Final = ("date", "vehicle", "odometer", "driver", "wheel", "note", "drive", "gauge")
_TOP: Final = 40
"""Rows among which the header is looked for."""


@dataclass(frozen=True)
class Column:
    """One column of a tab."""

    index: int
    header: str
    field: Field
    how: How
    examples: tuple[str, ...] = ()

    @property
    def letter(self) -> str:
        """As a spreadsheet names it."""
        return column_letter(self.index)


@dataclass
class Table:
    """The table of a tab: its columns, and the first row of its records, counted from 0."""

    grid: Grid
    columns: list[Column]
    header_rows: tuple[int, ...]
    first: int
    title: list[str] = field(default_factory=list)

    def of(self, role: str) -> list[Column]:
        """Columns that hold something."""
        return [column for column in self.columns if column.field.role == role]


def _of_sets(texts: list[str]) -> list[str]:
    """Headers whose wheels are named by a set of four codes, such as LP, PP, LT, PT, with the usual ones."""
    words = [folded(text).split() for text in texts]
    for codes in vocabulary()["code_sets"]:
        where = [[i for i, own in enumerate(words) if own and own[0] == code] for code in codes]
        if not all(where):
            continue
        names = ("near front", "off front", "near rear", "off rear") if codes[0] == "nf" else ROAD
        out = list(texts)
        for columns, name in zip(where, names, strict=True):
            for i in columns:
                out[i] = " ".join([name, *texts[i].split()[1:]])
        return out
    return texts


def find_table(grid: Grid, given: dict[str, str] | None = None) -> Table | None:
    """Find a tab's header and read its columns.

    Parameters
    ----------
    grid : Grid
    given : dict, optional
        By header or letter of a column: what it holds, as :class:`Field` writes it. Wins over all else.

    Returns
    -------
    Table or None
        None if nothing in the tab looks like a table of depths or pressures.
    """
    named = _named_wheels(grid)
    given = {**named, **(given or {})}
    best: tuple[float, tuple[int, ...], list[str]] | None = None
    top = min(len(grid.cells), _TOP)
    for first in range(top):
        for size in (1, 2, 3):
            rows = tuple(range(first, first + size))
            if rows[-1] >= len(grid.cells) or not all(_mostly_text(grid.cells[row]) for row in rows):
                break
            if any(_is_title(grid, row, rows[-1]) for row in rows[:-1]):
                break
            texts = _header_texts(grid, rows)
            score = _score(_of_sets(texts), given) - 0.4 * (len(rows) - 1)
            if best is None or score > best[0] + 1e-9:
                best = score, rows, texts
    if best is None or best[0] < 2.5:
        return None
    _, rows, texts = best
    if rows[-1] + 1 < len(grid.cells) and _units_alone(grid.cells[rows[-1] + 1]):
        rows = (*rows, rows[-1] + 1)
        units = grid.cells[rows[-1]]
        texts = [
            f"{text} {units[i]}" if text and i < len(units) and units[i] is not None else text
            for i, text in enumerate(texts)
        ]
    columns = _columns(grid, rows[-1] + 1, texts, given)
    if not any(column.field.role in MEASURED for column in columns):
        return None
    title = [str(cell) for row in grid.cells[: rows[0]] for cell in row if cell is not None]
    for i, column in enumerate(columns):
        if column.field.role == "date" and days_of_month(grid, column.index, rows[-1] + 1, title):
            columns[i] = replace(column, how=How.MONTH_DAYS)
    return Table(grid, columns, rows, rows[-1] + 1, title)


def _is_title(grid: Grid, row: int, header: int) -> bool:
    """Whether a row above a header stands over all of it: one text at its left, or merged from end to end."""
    filled = [i for i, cell in enumerate(grid.cells[row]) if cell is not None]
    below = [i for i, cell in enumerate(grid.cells[header]) if cell is not None]
    if len(filled) != 1 or len(below) < 3:
        return False
    ends = [d for a, b, c, d in grid.merged if a <= row <= c and b == filled[0]]
    return filled[0] == below[0] and (not ends or max(ends) >= below[-1])


def _named_wheels(grid: Grid) -> dict[str, str]:
    """Columns whose cells name the wheels themselves: LF 6 RF 6 LR 5 RR 5."""
    out = {}
    for i in range(max((len(row) for row in grid.cells), default=0)):
        texts = [row[i] for row in grid.cells if i < len(row) and isinstance(row[i], str)]
        if sum(len(named_depths(text)) > 1 for text in texts) > 0.6 * len(texts):
            out[column_letter(i)] = "depth " + "/".join(ROAD)
    return out


def _units_alone(row: list[Any]) -> bool:
    """Whether a row below a header says nothing but units and how dates are written."""
    texts = [str(cell).strip().strip("[]()").lower() for cell in row if cell is not None]
    unit = r"mm|km|mi|miles?|psi|bar|kpa|32nds?|/32\"?|1/32\"?|in 32nds"
    known = sum(bool(re.fullmatch(f"{unit}|{DATE_HINT}", text)) for text in texts)
    return known >= 2 and known >= 0.6 * len(texts) and all(len(text) < 13 for text in texts)


def _ticked(header: str, cells: list[Any]) -> bool:
    """Whether a column is of work of one kind, ticked or told by wheels: Rotated? x."""
    if not cells or len(header) > 60 or not work_of(header):
        return False
    words = vocabulary()
    marks = {*words["ticks"], *words["not_ticked"], *words["blanks"], "2", "4"}
    return all(
        str(cell).strip().lower() in marks
        or bool(work_of(f"new {cell}").wheels or work_of(f"new {cell}").count)
        for cell in cells
    )


_NUMBERS: Final = r"[\d.,/ \-\"'’]+(?:\s*(?:nds?|ths?|mm|psi|bar|kpa|km|mi|miles|k|in)\.?)?"


def _mostly_text(row: list[Any]) -> bool:
    filled = [cell for cell in row if cell is not None]
    if not filled:
        return False
    texts = [c for c in filled if isinstance(c, str) and not re.fullmatch(_NUMBERS, c, re.IGNORECASE)]
    return len(texts) >= 0.7 * len(filled)


def _header_texts(grid: Grid, rows: tuple[int, ...]) -> list[str]:
    """Text over each column: headers of several rows joined, group names spread to their right."""
    width = max((len(grid.cells[row]) for row in rows), default=0)
    levels = []
    for level, row in enumerate(rows):
        cells = [grid.cells[row][i] if i < len(grid.cells[row]) else None for i in range(width)]
        texts = ["" if cell is None else str(cell) for cell in cells]
        covered: set[int] = set()
        for a, b, c, d in grid.merged:
            if a <= row <= c and b < width:
                text = grid.cells[a][b] if a < len(grid.cells) and b < len(grid.cells[a]) else None
                for i in range(b, min(d + 1, width)):
                    texts[i] = str(text) if text is not None and row == a else ""
                    covered.add(i)
        if level < len(rows) - 1 and sum(bool(text) for text in texts) > 1:
            last = ""
            for i in range(width):
                if texts[i]:
                    last = texts[i]
                elif last and i not in covered:
                    texts[i] = f"\x00{last}"
        levels.append(texts)
    out = []
    for i in range(width):
        parts = [level[i] for level in levels]
        own = " ".join(part for part in parts if part and not part.startswith("\x00"))
        full = " ".join(dict.fromkeys(part.lstrip("\x00") for part in parts if part))
        lowest = named_field(own)
        alone = lowest.role and (lowest.role not in MEASURED or lowest.wheel)
        out.append(own if not own or alone else full)
    return out


def _score(texts: list[str], given: dict[str, str]) -> float:
    seen: dict[str, int] = {}
    score = 0.0
    for i, text in enumerate(texts):
        if not text:
            continue
        known = _given(i, text, given) or named_field(text)
        key = str(replace(known, unit=""))
        if not known.role and not known.wheel:
            score -= 0.05
            continue
        seen[key] = seen.get(key, 0) + 1
        if seen[key] == 1:
            score += 0.3 if known.role == "ignored" else 1.0
        elif known.role in _ONCE:
            score -= 0.2
    roles = " ".join(seen)
    if not any(word in roles for word in ("depth", "LF", "front", "pressure", "?")):
        score -= 3
    return score


def _given(index: int, header: str, given: dict[str, str]) -> Field | None:
    text = given.get(header, given.get(column_letter(index)))
    return None if text is None else read_field(text)


def _columns(grid: Grid, first: int, texts: list[str], given: dict[str, str]) -> list[Column]:
    width = max((len(row) for row in grid.cells), default=0)
    out = []
    names = _of_sets(texts)
    parts = join_dates(grid, texts, first)
    for i in range(width):
        header = texts[i] if i < len(texts) else ""
        cells = [row[i] for row in grid.cells[first:] if i < len(row) and not is_blank(row[i])]
        if not header and not cells:
            continue
        told = _given(i, header, given)
        name = names[i] if i < len(names) else ""
        known, how = (told, How.GIVEN) if told else (named_field(name), How.NAME)
        if told and "/" in told.wheel and given.get(header) is None:
            how = How.CONTENT
        if not told and i in parts.values():
            known = Field("date" if i == parts["day"] else "ignored")
            how = How.DATE_PARTS
        if not told and not known.wheel and (known.role == "depth" or not known.role) and _grooves(cells):
            known, how = Field("groove"), How.CONTENT
        if not told and known.wheel and not known.role:
            known, how = replace(known, role=_by_size(cells)), How.NAME_CONTENT
        if not told and known.groove == "inner" and re.search(r"\bin(ch(es)?)?\b", header.lower()):
            read = [v for c in cells if (d := depths_of(c)) for v in d.wheels[0]]
            if read and max(read) < 0.8:  # inches, and no groove
                known = replace(known, groove="", unit="in")
        raw = [row[i] for row in grid.cells[first:] if i < len(row) and row[i] is not None]
        if not told and not known.wheel and known.role in ("", "product", "note") and _ticked(header, raw):
            known, how = Field("work"), How.TICKED
        if not told and known.role in MEASURED and not _measures(known.role, cells, bool(known.wheel)):
            known, how = Field(""), How.CONTENT
        examples = tuple(dict.fromkeys(str(cell) for cell in cells))[:3]
        out.append(Column(i, header, known, how, examples))
    return _settle(out, grid, first)


def _grooves(cells: list[Any]) -> bool:
    """Whether cells name grooves."""
    return bool(cells) and all(isinstance(c, str) and groove_of(c) for c in dict.fromkeys(cells))


def _by_size(cells: list[Any]) -> str:
    """Depth or pressure, for a column that names its wheel alone."""
    depths = [depths_of(cell) or depths_of(cell, axle=True) for cell in cells]
    values = [v for one in depths if one for wheel in one.wheels for v in wheel]
    if not values:
        return (
            "product"
            if cells and all(isinstance(c, str) and not re.search(r"^\d", c) for c in cells)
            else "depth"
        )
    middle = float(np.median(values))
    return "depth" if middle <= 17.5 else "pressure" if middle < 800 else "odometer"


def _measures(role: str, cells: list[Any], wheel: bool) -> bool:
    """Whether what stands in a column can be depths (or pressures)."""
    texts = cells[:200]
    if not texts or (wheel and len(texts) < 4):
        return True  # too few to speak against the name
    good = sum(depths_of(c) is not None or depths_of(c, axle=True) is not None for c in texts)
    if role == "pressure":
        good = sum(np.isfinite(amount(c)[0]) or depths_of(c, axle=True) is not None for c in texts)
    return good >= (0.3 if wheel else 0.5) * len(texts)


def _settle(columns: list[Column], grid: Grid, first: int) -> list[Column]:
    """One column a role; TD is a wheel among Spanish wheels and a depth elsewhere; content names the rest."""
    wheels = {c.field.wheel for c in columns if c.field.wheel}
    weak = {
        i for i, c in enumerate(columns) if set(folded(c.header).split()) & set(vocabulary()["weak_vehicles"])
    }
    for i, column in enumerate(columns):
        if folded(column.header) in ("td", "di", "dd", "ti") and not {*FRONT, REAR[0]} <= wheels:
            columns[i] = replace(column, field=Field("depth" if folded(column.header) == "td" else ""))
    ends = {folded(c.header) for c in columns if c.field.wheel == "front"}
    for i, column in enumerate(columns):  # Press F, Press R: R is no side where F is an axle
        head = folded(column.header)
        if (
            column.field.role in MEASURED
            and not column.field.wheel
            and head.endswith(" r")
            and f"{head[:-1]}f" in ends
        ):
            columns[i] = replace(column, field=replace(column.field, wheel="rear"))
    for role in _ONCE:
        same = [i for i, column in enumerate(columns) if column.field.role == role]
        if len(same) < 2:
            continue
        poor = weak if role == "vehicle" and not _shared(columns, same, weak, grid, first) else set()
        best = max(
            same,
            key=lambda i: (
                columns[i].how == How.GIVEN,
                i not in poor,
                _fits(role, columns[i], grid, first),
                -i,
            ),
        )
        for i in same:
            if i != best and (role != "note"):
                columns[i] = replace(columns[i], field=Field("ignored"), how=How.NEARER)
    have = {column.field.role for column in columns}
    for role in ("date", "odometer", "vehicle"):
        if role in have:
            continue
        open_ = [
            i for i, c in enumerate(columns) if not c.field.role or (role == "vehicle" and c.field.role == "")
        ]
        fits = [(_fits(role, columns[i], grid, first), -i) for i in open_]
        if fits and max(fits)[0] >= 0.8:
            i = -max(fits)[1]
            columns[i] = replace(columns[i], field=Field(role), how=How.CONTENT)
    if not {"note", "work"} & have:
        for i, column in enumerate(columns):
            if not column.field.role and not column.field.wheel and _fits("note", column, grid, first):
                columns[i] = replace(column, field=Field("note"), how=How.CONTENT)
    seen: dict[tuple[str, str], list[int]] = {}
    for i, column in enumerate(columns):
        if column.field.role == "depth" and column.field.wheel in MOUNTED and not column.field.groove:
            seen.setdefault((column.field.role, column.field.wheel), []).append(i)
    for same in seen.values():
        orders = {2: ("outer", "inner"), 3: ("outer", "center", "inner")}
        if len(same) in orders:
            for i, groove in zip(same, orders[len(same)], strict=True):
                columns[i] = replace(
                    columns[i], field=replace(columns[i].field, groove=groove), how=How.NAME_ORDER
                )
    return columns


def _shared(columns: list[Column], same: list[int], weak: set[int], grid: Grid, first: int) -> bool:
    """Whether a name of a vehicle, such as its make, stands beside more than one customer."""
    cars, owners = (next((i for i in same if (i in weak) == told), None) for told in (False, True))
    if cars is None or owners is None:
        return False
    pairs: dict[str, set[str]] = {}
    last: dict[int, str] = {}
    for row in grid.cells[first:]:
        for i in (cars, owners):
            at = columns[i].index
            if at < len(row) and not is_blank(row[at]):
                last[i] = str(row[at])
        if len(last) == 2:
            pairs.setdefault(last[cars], set()).add(last[owners])
    return any(len(names) > 1 for names in pairs.values())


def _fits(role: str, column: Column, grid: Grid, first: int) -> float:
    """Share of a column's cells that can be what the role asks for."""
    cells = [
        r[column.index]
        for r in grid.cells[first:]
        if column.index < len(r) and not is_blank(r[column.index]) and sum(c is not None for c in r) > 1
    ]
    if not cells:
        return 0.0
    if role == "date":
        return float(
            np.mean(
                [isinstance(c, dt.date) or (isinstance(c, str) and date_text(c) is not None) for c in cells]
            )
        )
    if role == "odometer":
        values = np.array([amount(c)[0] for c in cells])
        less = 1000.0 if re.search(THOUSANDS, column.header.lower()) else 1.0
        return float(np.mean((values > 300 / less) & (values < 2_000_000 / less)))
    if role == "vehicle":
        return names_vehicles(cells)
    if role == "note":
        return float(np.mean([isinstance(c, str) and bool(work_of(c)) for c in cells]))
    if role == "wheel":
        return float(np.mean([wheel_of(str(c))[0] not in ("", "front", "rear") for c in cells]))
    return 1.0


def names_vehicles(cells: list[Any]) -> float:
    """Share of cells that may name a vehicle: short, of letters and digits, and coming again and again."""
    texts = [str(c) for c in cells]
    if not texts or all(isinstance(c, dt.date) for c in cells):
        return 0.0
    if np.mean([len(t) <= 24 for t in texts]) < 0.9:
        return 0.0
    repeats = 1 - len(set(texts)) / len(texts)
    odd = np.mean([bool(re.search(r"[A-Za-z]", t)) and bool(re.search(r"\d", t)) for t in texts])
    return float(odd) if repeats > 0.3 else 0.0

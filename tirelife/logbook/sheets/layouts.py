"""Tables not laid out as a row a visit: a column a visit, a group of columns a visit, a date in three."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any, Final

from tirelife.logbook.sheets.cells import date_text, is_blank
from tirelife.logbook.sheets.files import Grid
from tirelife.logbook.sheets.headers import named_field
from tirelife.logbook.sheets.words import folded, vocabulary, wheel_of

__all__ = ["days_of_month", "join_dates", "names_month", "parted", "turned", "unrolled"]

_TOP: Final = 40
_PARTS: Final = {
    "year": ("year", "yr", "jahr", "jaar", "annee", "ano", "anno", "rok", "ar"),
    "month": ("month", "mo", "monat", "maand", "mois", "mes", "mese", "miesiac", "manad"),
    "day": ("day", "tag", "dag", "jour", "dia", "giorno", "dzien"),
}


def turned(grid: Grid) -> Grid:
    """A tab with its rows as columns: of a job card that has a column a visit."""
    width = max((len(row) for row in grid.cells), default=0)
    cells = [[row[i] if i < len(row) else None for row in grid.cells] for i in range(width)]
    merged = [(b, a, d, c) for a, b, c, d in grid.merged]
    bad = {(column, row): text for (row, column), text in grid.bad.items()}
    return Grid(grid.tab, cells, merged, set(), grid.hidden, bad, grid.delimiter, turned=True)


def unrolled(grid: Grid) -> Grid:
    """A tab with a row a vehicle and a group of columns for every visit, as a tab with a row a visit.

    The group is found by its header, which stands there again and again; where a group has no column for the
    date, the cell above it may hold it. Rows keep their numbers in ``origin``.
    """
    for at, row in enumerate(grid.cells[:_TOP]):
        found = _groups(row)
        if found is None:
            continue
        begin, wide, count = found
        above = grid.cells[at - 1] if at else []
        days = [_day(above, begin + k * wide, wide) for k in range(count)]
        dated = _heads(row[: begin + wide], "date")
        if not dated and not all(day is not None for day in days):
            continue
        names = [_name_over(above, begin + k * wide, wide) for k in range(count)]
        named = (
            dated and all(names) and len(set(names)) == count and not _heads(row[: begin + wide], "vehicle")
        )
        more = [*(["Vehicle"] if named else []), *([] if dated else ["Date"])]
        head = [*row[:begin], *more, *row[begin : begin + wide]]
        cells, origin = [head], [at]
        for number in range(at + 1, len(grid.cells)):
            own = grid.cells[number]
            some = False
            for k in range(count):
                part = own[begin + k * wide : begin + (k + 1) * wide]
                if all(is_blank(cell) for cell in part):
                    continue
                some = True
                over_it = [names[k]] if named else []
                cells.append([*_padded(own[:begin], begin), *over_it, *([] if dated else [days[k]]), *part])
                origin.append(number)
            if not some and any(cell is not None for cell in own):
                cells.append(list(own[:begin]))
                origin.append(number)
        bad = {(origin.index(r), c): t for (r, c), t in grid.bad.items() if r in origin and c < begin}
        over = [[next((c for c in r if c is not None), None)] for r in grid.cells[:at]]
        return Grid(
            grid.tab, [*over, *cells], [], set(), grid.hidden,
            {(r + len(over), c): t for (r, c), t in bad.items()}, grid.delimiter,
            origin=[*range(len(over)), *origin],
        )  # fmt: skip
    return grid


def parted(grid: Grid) -> Grid:
    """A tab whose rows are by turns of depths and of pressures, as one with columns of either.

    What a row holds stands in a column of its own, as ``PSI`` or ``tread``; the date and the vehicle may
    stand in the first row of a visit alone. Rows keep their numbers.
    """
    width = max((len(row) for row in grid.cells), default=0)
    for at in range(width):
        kinds = [(i, k) for i, row in enumerate(grid.cells) if at < len(row) and (k := _measure(row[at]))]
        if len({k for _, k in kinds}) < 2 or len(kinds) < 4:
            continue
        head = next(
            (i for i in range(kinds[0][0] - 1, -1, -1) if any(c is not None for c in grid.cells[i])), -1
        )
        if head < 0:
            continue
        top = _padded(grid.cells[head], width)
        wheels = [i for i in range(width) if isinstance(top[i], str) and wheel_of(top[i])[0]]
        if len(wheels) < 2 or sum(1 for i, _ in kinds if i > head) < 0.6 * (len(grid.cells) - head - 1):
            continue
        said = {i: str(grid.cells[i][at]) for i, _ in kinds}
        more = {kind: next(said[i] for i, k in kinds if k == kind) for kind in dict(kinds).values()}
        names = list(more)
        cells = [list(row) for row in grid.cells[:head]]
        first = [
            f"{top[i]} {more[names[0]]}" if i in wheels else None if i == at else top[i] for i in range(width)
        ]
        cells.append(first + [f"{top[i]} {more[name]}" for name in names[1:] for i in wheels])
        held: list[Any] = [None] * width
        for i in range(head + 1, len(grid.cells)):
            row = _padded(grid.cells[i], width)
            kind = _measure(row[at])
            if kind:
                over = [j for j in range(min(wheels)) if j != at]
                if any(not is_blank(row[j]) for j in over):
                    held = list(row)
                else:
                    for j in over:
                        row[j] = held[j]
                row[at] = None
            own = [row[j] for j in wheels]
            if kind and kind != names[0]:
                for j in wheels:
                    row[j] = None
            more_cells = [c if kind == name else None for name in names[1:] for c in own]
            cells.append(row + more_cells)
        return Grid(grid.tab, cells, [], grid.hidden_rows, grid.hidden, grid.bad, grid.delimiter)
    return grid


def _measure(cell: Any) -> str:
    """Whether a cell says no more than that its row is of depths, or of pressures."""
    if not isinstance(cell, str) or len(cell) > 24:
        return ""
    found = named_field(cell)
    return found.role if found.role in ("depth", "pressure") and not found.wheel and not found.groove else ""


def _groups(row: list[Any]) -> tuple[int, int, int] | None:
    """First column, width and number of groups of the same headers, wheels among them."""
    texts = [folded(cell) if isinstance(cell, str) else "" for cell in row]
    while texts and not texts[-1]:
        texts.pop()
    for begin in range(min(len(texts), 6)):
        for wide in range(4, (len(texts) - begin + 1) // 2 + 1):
            block = texts[begin : begin + wide]
            if not block[0] or len({wheel for t in block if (wheel := wheel_of(t)[0])}) < 2:
                continue
            if len(set(block)) < wide:
                continue
            count = 1
            while _padded(texts[begin + count * wide : begin + (count + 1) * wide], wide, "") == block:
                count += 1
            if count > 1 and begin + count * wide >= len(texts):
                return begin, wide, count
    return None


def _heads(cells: list[Any], role: str) -> bool:
    return any(isinstance(cell, str) and named_field(cell).role == role for cell in cells)


def _name_over(row: list[Any], begin: int, wide: int) -> str:
    """The one text over a group of columns; blank if there is none, or more."""
    texts = [str(cell) for cell in row[begin : begin + wide] if not is_blank(cell)]
    return texts[0] if len(texts) == 1 else ""


def _day(row: list[Any], begin: int, wide: int) -> Any:
    for cell in row[begin : begin + wide]:
        if isinstance(cell, dt.date) or (isinstance(cell, str) and date_text(cell) is not None):
            return cell
    return None


def _padded(cells: list[Any], width: int, blank: Any = None) -> list[Any]:
    return [*cells, *[blank] * (width - len(cells))]


def join_dates(grid: Grid, headers: list[str], first: int) -> dict[str, int]:
    """Put a year, a month and a day of columns of their own together, in the column of the day.

    Returns
    -------
    dict of str to int
        Columns of year, month and day; empty where there are no such three.
    """
    where = {
        name: [i for i, text in enumerate(headers) if folded(text) in words] for name, words in _PARTS.items()
    }
    if any(len(columns) != 1 for columns in where.values()):
        return {}
    at = {name: columns[0] for name, columns in where.items()}
    for row in grid.cells[first:]:
        if max(at.values()) >= len(row):
            continue
        try:
            parts = [int(str(row[at[name]])) for name in ("year", "month", "day")]
            row[at["day"]] = dt.date(parts[0] + 2000 * (parts[0] < 100), parts[1], parts[2])
        except ValueError:
            continue
    return at


def days_of_month(grid: Grid, column: int, first: int, titles: list[str]) -> bool:
    """Put days of the month that stands over a tab into dates; whether that was so."""
    cells = [row[column] for row in grid.cells[first:] if column < len(row) and not is_blank(row[column])]
    days = [_number(cell) for cell in cells]
    if not cells or sum(1 <= day <= 31 for day in days) < 0.5 * len(cells):
        return False
    month = next((found for text in [grid.tab, *titles] if (found := _month(text)) is not None), None)
    if month is None:
        return False
    for row in grid.cells[first:]:
        if column < len(row) and 1 <= (day := _number(row[column])) <= 31:
            try:
                row[column] = dt.date(*month, day)
            except ValueError:
                continue
    return True


def _number(cell: Any) -> int:
    found = re.fullmatch(r"(\d{1,2})(?:\.0?)?", str(cell))
    return int(found[1]) if found else 0


def names_month(text: str) -> bool:
    """Whether a tab is called by a month of a year."""
    return _month(text) is not None


def _month(text: str) -> tuple[int, int] | None:
    """Year and month that a title names."""
    found = re.search(r"\b(20\d\d)[-/. ](\d\d?)\b", text)
    if found and 1 <= int(found[2]) <= 12:
        return int(found[1]), int(found[2])
    found = re.search(r"\b(\d\d?)[-/. ](20\d\d)\b", text)
    if found and 1 <= int(found[1]) <= 12:
        return int(found[2]), int(found[1])
    names = {name: int(number) for number, own in vocabulary()["months"].items() for name in own}
    words = folded(text).split()
    month = next((names[word] for word in words if word in names), None)
    year = next((int(word) for word in words if re.fullmatch(r"20\d\d", word)), None)
    short = next((2000 + int(word) for word in words if re.fullmatch(r"\d\d", word)), None)
    return (year or short or 0, month) if month and (year or short) else None

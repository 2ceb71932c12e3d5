"""Collect what is wrong or doubtful, many rows at a time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import InputError, Problem
from tirelife.logbook.schema import SCHEMA

__all__ = ["PROBLEM_COLUMNS", "Findings", "around", "to_problems"]

PROBLEM_COLUMNS = ["file", "row", "column", "value", "what", "advice", "doubt", "code"]
_OF_PROBLEM = PROBLEM_COLUMNS[:-1]
_TEXTS = [name for name in PROBLEM_COLUMNS if name != "doubt"]
_ORDER = {name: rank for rank, name in enumerate(SCHEMA)}


@dataclass(frozen=True)
class _Part:
    """Problems of one kind in one column: texts by row, or one for all rows."""

    file: str
    row: NDArray[np.int64]
    column: str
    value: NDArray[np.object_]
    what: NDArray[np.object_]
    advice: NDArray[np.object_]
    code: NDArray[np.object_]
    doubt: bool

    def keep(self, where: NDArray[np.bool_]) -> _Part:
        texts = {name: getattr(self, name)[where] for name in ("value", "what", "advice", "code")}
        return replace(self, row=self.row[where], **texts)


class Findings:
    """A growing list of problems; each entry covers any number of rows of one file.

    Problems are kept as arrays, so a million bad cells cost no million objects until somebody asks.
    """

    def __init__(self) -> None:
        self._parts: list[_Part] = []

    def add(
        self,
        file: str,
        rows: ArrayLike,
        column: str,
        values: Sequence[str] | NDArray[np.object_] | str,
        what: str | Sequence[str] | NDArray[np.object_],
        advice: str | Sequence[str] | NDArray[np.object_],
        code: StrEnum | Sequence[StrEnum] | NDArray[np.object_],
        *,
        doubt: bool = False,
    ) -> None:
        """Add one problem a row; texts and codes are shared by all rows or given row by row."""
        row = np.atleast_1d(np.asarray(rows, dtype=np.int64))
        n = len(row)
        if n:
            texts = _spread(values, n), _spread(what, n), _spread(advice, n), _spread(code, n)
            self._parts.append(_Part(file, row, column, *texts, doubt))

    def forget(self, file: str, rows: NDArray[np.int64], column: str, codes: tuple[StrEnum, ...]) -> None:
        """Forget what a better-named problem of the same cells stands for."""
        self._parts = [
            part
            if part.file != file or part.column != column
            else part.keep(~(np.isin(part.row, rows) & np.array([code in codes for code in part.code])))
            for part in self._parts
        ]
        self._parts = [part for part in self._parts if len(part.row)]

    def drop_rows(self, file: str, rows: NDArray[np.int64]) -> None:
        """Forget what was found in these rows of a file (they lie after the last day that counts)."""
        parts = [p if p.file != file else p.keep(~np.isin(p.row, rows)) for p in self._parts]
        self._parts = [part for part in parts if len(part.row)]

    def frame(self) -> pd.DataFrame:
        """All problems: errors first, then doubts, each by file and row."""
        if not self._parts:
            empty = pd.DataFrame({name: pd.Series(dtype="str") for name in PROBLEM_COLUMNS})
            return empty.astype({"row": "int64", "doubt": "bool"})
        counts = [len(part.row) for part in self._parts]
        table = [part.file.rsplit(": ", 1)[-1].split(".")[0] for part in self._parts]
        rank = np.repeat([_ORDER.get(name, len(_ORDER)) for name in table], counts)
        row = np.concatenate([part.row for part in self._parts])
        doubt = np.repeat([part.doubt for part in self._parts], counts)
        order = np.lexsort((row, rank, doubt))
        columns: dict[str, object] = {}
        for name in _TEXTS:
            if name == "row":
                columns[name] = row[order]
                continue
            if name in ("file", "column"):
                cells = np.repeat(
                    np.array([getattr(part, name) for part in self._parts], dtype=object), counts
                )
            else:
                cells = np.concatenate([getattr(part, name) for part in self._parts])
                if name == "code":
                    cells = np.array([str(one.value) for one in cells], dtype=object)
            columns[name] = pd.array(cells[order], dtype="str")
        return pd.DataFrame({**columns, "doubt": doubt[order]})[PROBLEM_COLUMNS]

    def errors_in(self, file: str) -> bool:
        """Whether an error was found in this file."""
        return any(part.file == file and not part.doubt for part in self._parts)

    @property
    def has_errors(self) -> bool:
        """Whether anything found is an error and not only a doubt."""
        return any(not part.doubt for part in self._parts)

    def raise_errors(self) -> None:
        """Raise all errors at once, if there are any."""
        if self.has_errors:
            found = self.frame()
            raise InputError(to_problems(found[~found["doubt"]]))


def to_problems(frame: pd.DataFrame) -> list[Problem]:
    """Turn rows of a problem table into :class:`~tirelife.errors.Problem` objects."""
    return [Problem(*record) for record in frame[_OF_PROBLEM].itertuples(index=False, name=None)]


def _spread(
    text: str | Sequence[str] | Sequence[StrEnum] | NDArray[np.object_], n: int
) -> NDArray[np.object_]:
    out = np.empty(n, dtype=object)
    out[:] = text
    return out


def around(before: float, after: float, shown: Callable[[float], str]) -> str:
    """The readings on both sides of a doubtful one, those that are there."""
    sides = [f"{shown(v)} {when}" for v, when in ((before, "before"), (after, "after")) if not np.isnan(v)]
    return " and ".join(sides)

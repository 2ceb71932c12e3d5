"""Collect what is wrong or doubtful, many rows at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import InputError, Problem
from tirelife.logbook.codes import Ask, severity_of
from tirelife.logbook.schema import SCHEMA

__all__ = ["PROBLEM_COLUMNS", "Findings", "around", "no_problems", "to_problems"]

PROBLEM_COLUMNS = ["file", "row", "column", "value", "code", "severity", "doubt", "ask", "values"]
_ORDER = {name: rank for rank, name in enumerate(SCHEMA)}
Values = Mapping[str, object]
"""Arguments of a problem's sentences, each named."""


@dataclass(frozen=True)
class _Part:
    """Problems of one kind in one column, row by row."""

    file: str
    row: NDArray[np.int64]
    column: str
    value: NDArray[np.object_]
    code: NDArray[np.object_]
    ask: NDArray[np.object_]
    values: NDArray[np.object_]
    doubt: bool

    def keep(self, where: NDArray[np.bool_]) -> _Part:
        cells = {name: getattr(self, name)[where] for name in ("value", "code", "ask", "values")}
        return replace(self, row=self.row[where], **cells)


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
        cells: Sequence[str] | NDArray[np.object_] | str,
        code: StrEnum | Sequence[StrEnum] | NDArray[np.object_],
        values: Values | Sequence[Values] | None = None,
        ask: Ask | Sequence[Ask | None] | None = None,
        *,
        doubt: bool = False,
    ) -> None:
        """Add one problem a row.

        Parameters
        ----------
        file, column : str
        rows : array_like of int, shape (n,)
        cells : str or sequence of str
            What stands there.
        code : StrEnum or sequence of StrEnum
        values : mapping or sequence of mappings, optional
            Arguments of the sentences that :mod:`tirelife.language` has for the code.
        ask : Ask or sequence of Ask, optional
            What to do, where that differs for one code.
        doubt : bool
            Kept and asked about; an error otherwise.

        Notes
        -----
        Cells, codes, arguments and what to ask are shared by all rows or given row by row.
        """
        row = np.atleast_1d(np.asarray(rows, dtype=np.int64))
        n = len(row)
        if not n:
            return
        told = [values or {}] if values is None or isinstance(values, Mapping) else values
        pairs = [tuple(one.items()) for one in told]
        asks = [ask] if ask is None or isinstance(ask, Ask) else ask
        said = [one.value if one is not None else "" for one in asks]
        self._parts.append(
            _Part(
                file, row, column, _spread(cells, n), _spread(code, n), _each(said, n), _each(pairs, n), doubt
            )
        )

    def copy(self) -> Findings:
        """The same so far; what is added to one is not in the other."""
        out = Findings()
        out._parts = list(self._parts)
        return out

    def forget(self, file: str, rows: NDArray[np.int64], column: str, codes: tuple[StrEnum, ...]) -> None:
        """Forget what a better-named problem of the same cells stands for."""
        self._parts = [
            part
            if part.file != file or part.column != column
            else part.keep(~(np.isin(part.row, rows) & np.array([code in codes for code in part.code])))
            for part in self._parts
        ]
        self._parts = [part for part in self._parts if len(part.row)]

    def rows_with(self, file: str, column: str, codes: tuple[StrEnum, ...]) -> NDArray[np.int64]:
        """Rows of a column that such a problem was found in."""
        parts = [part for part in self._parts if part.file == file and part.column == column]
        rows = [part.row[np.array([code in codes for code in part.code], dtype=bool)] for part in parts]
        return np.concatenate([np.zeros(0, dtype=np.int64), *rows])

    def drop_rows(self, file: str, rows: NDArray[np.int64]) -> None:
        """Forget what was found in these rows of a file (they lie after the last day that counts)."""
        parts = [p if p.file != file else p.keep(~np.isin(p.row, rows)) for p in self._parts]
        self._parts = [part for part in parts if len(part.row)]

    def frame(self) -> pd.DataFrame:
        """All problems: errors first, then doubts, each by file and row."""
        if not self._parts:
            return no_problems()
        counts = [len(part.row) for part in self._parts]
        table = [part.file.rsplit(": ", 1)[-1].split(".")[0] for part in self._parts]
        rank = np.repeat([_ORDER.get(name, len(_ORDER)) for name in table], counts)
        row = np.concatenate([part.row for part in self._parts])
        doubt = np.repeat([part.doubt for part in self._parts], counts)
        order = np.lexsort((row, rank, doubt))
        file, column = (
            np.repeat(np.array([getattr(part, name) for part in self._parts], dtype=object), counts)
            for name in ("file", "column")
        )
        value, code, ask, values = (
            np.concatenate([getattr(part, name) for part in self._parts])[order]
            for name in ("value", "code", "ask", "values")
        )
        columns = {
            "file": pd.array(file[order], dtype="str"),
            "row": row[order],
            "column": pd.array(column[order], dtype="str"),
            "value": pd.array(value, dtype="str"),
            "code": pd.array(np.array([str(one.value) for one in code], dtype=object), dtype="str"),
            "severity": [int(severity_of(one, odd)) for one, odd in zip(code, doubt[order], strict=True)],
            "doubt": doubt[order],
            "ask": pd.array(ask, dtype="str"),
            "values": values,
        }
        return pd.DataFrame(columns)[PROBLEM_COLUMNS]

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


def no_problems() -> pd.DataFrame:
    """Return a table of problems, as of :func:`tirelife.logbook.check_logbook`, with none in it."""
    empty = pd.DataFrame({name: pd.Series(dtype="str") for name in PROBLEM_COLUMNS})
    return empty.astype({"row": "int64", "severity": "int64", "doubt": "bool", "values": object})


def to_problems(frame: pd.DataFrame) -> list[Problem]:
    """Turn rows of a problem table into :class:`~tirelife.errors.Problem` objects."""
    return [
        Problem(file, row, column, value, doubt=doubt, code=code, ask=ask, values=values)
        for file, row, column, value, doubt, code, ask, values in frame[
            ["file", "row", "column", "value", "doubt", "code", "ask", "values"]
        ].itertuples(index=False, name=None)
    ]


def _spread(
    one: str | StrEnum | Sequence[str] | Sequence[StrEnum] | NDArray[np.object_], n: int
) -> NDArray[np.object_]:
    out = np.empty(n, dtype=object)
    out[:] = one
    return out


def _each(several: Sequence[object], n: int) -> NDArray[np.object_]:
    """Spread objects that may be sequences themselves, one for all rows or one a row."""
    out = np.empty(n, dtype=object)
    for i in range(n):
        out[i] = several[i if len(several) > 1 else 0]
    return out


def around(before: float, after: float, shown: Callable[[float], str]) -> dict[str, str]:
    """The readings on both sides of a doubtful one, as they are typed; blank for none."""
    return {
        when: "" if np.isnan(value) else shown(value)
        for when, value in (("before", before), ("after", after))
    }

"""Collect what is wrong or doubtful, many rows at a time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import InputError, Problem
from tirelife.logbook.schema import SCHEMA

__all__ = ["PROBLEM_COLUMNS", "Findings"]

PROBLEM_COLUMNS = ["file", "row", "column", "value", "what", "advice", "doubt"]
_ORDER = {name: rank for rank, name in enumerate(SCHEMA)}


class Findings:
    """A growing list of problems; each entry covers any number of rows of one file.

    Problems are kept as arrays, so a million bad cells cost no million objects until somebody asks.
    """

    def __init__(self) -> None:
        self._parts: list[pd.DataFrame] = []

    def add(
        self,
        file: str,
        rows: ArrayLike,
        column: str,
        values: Sequence[str] | NDArray[np.object_] | str,
        what: str | Sequence[str],
        advice: str | Sequence[str],
        doubt: bool = False,
    ) -> None:
        """Add one problem a row; texts are shared by all rows or given row by row."""
        row = np.atleast_1d(np.asarray(rows, dtype=np.int64))
        if not len(row):
            return
        self._parts.append(
            pd.DataFrame(
                {
                    "file": file,
                    "row": row,
                    "column": column,
                    "value": _spread(values, len(row)),
                    "what": _spread(what, len(row)),
                    "advice": _spread(advice, len(row)),
                    "doubt": doubt,
                }
            )
        )

    def drop_rows(self, file: str, rows: NDArray[np.int64]) -> None:
        """Forget what was found in these rows of a file (they lie after the last day that counts)."""
        self._parts = [
            part if part["file"].iloc[0] != file else part[~part["row"].isin(rows)] for part in self._parts
        ]
        self._parts = [part for part in self._parts if len(part)]

    def frame(self) -> pd.DataFrame:
        """All problems: errors first, then doubts, each by file and row."""
        if not self._parts:
            empty = pd.DataFrame({name: pd.Series(dtype="str") for name in PROBLEM_COLUMNS})
            return empty.astype({"row": "int64", "doubt": "bool"})
        out = pd.concat(self._parts, ignore_index=True)
        stem = out["file"].str.replace(r"^.*: |\..*$", "", regex=True)
        rank = stem.map(_ORDER).fillna(len(_ORDER))
        keys = pd.DataFrame({"doubt": out["doubt"], "rank": rank, "row": out["row"]})
        order = keys.sort_values(["doubt", "rank", "row"], kind="stable").index
        text = ["file", "column", "value", "what", "advice"]
        return out.loc[order].reset_index(drop=True).astype(dict.fromkeys(text, "str"))

    def errors_in(self, file: str) -> bool:
        """Whether an error was found in this file."""
        return any(p["file"].iloc[0] == file and not p["doubt"].iloc[0] for p in self._parts)

    @property
    def has_errors(self) -> bool:
        """Whether anything found is an error and not only a doubt."""
        return any(not part["doubt"].iloc[0] for part in self._parts)

    def raise_errors(self) -> None:
        """Raise all errors at once, if there are any."""
        if self.has_errors:
            found = self.frame()
            raise InputError(to_problems(found[~found["doubt"]]))


def to_problems(frame: pd.DataFrame) -> list[Problem]:
    """Turn rows of a problem table into :class:`~tirelife.errors.Problem` objects."""
    return [Problem(*record) for record in frame[PROBLEM_COLUMNS].itertuples(index=False, name=None)]


def _spread(text: str | Sequence[str] | NDArray[np.object_], n: int) -> NDArray[np.object_]:
    out = np.empty(n, dtype=object)
    out[:] = text
    return out

"""A logbook and its fit cut into pieces of so many vehicles, each as small as what it is about."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["Pieces"]

Integers = NDArray[np.intp]


class Pieces:
    """Pieces of a fleet, by number.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    vehicles : int
        In a piece; they are taken in order of their names.

    Notes
    -----
    A piece has the rows of its vehicles, and of every tire that was ever on one of them its row and all its
    tire-visits. Rows are found once and for all by sorting, so a piece costs what is in it, not what is in
    the fleet.
    """

    def __init__(self, book: Logbook, fit: WearFit, vehicles: int) -> None:
        self._book, self._fit = book, fit
        names = pd.Index(np.sort(book.tables["vehicles"]["vehicle_id"].to_numpy(dtype=object)))
        self._count = -(-len(names) // vehicles)
        mounts = book.tables["mounts"]
        tires = pd.Index(book.tables["tires"]["tire_id"]).append(pd.Index(mounts["tire_id"])).unique()

        def by_piece(table: pd.DataFrame) -> _Rows:
            code = names.get_indexer(pd.Index(table["vehicle_id"]))
            return _Rows.of(np.where(code < 0, self._count, code // vehicles), self._count)

        def by_tire(table: pd.DataFrame) -> _Rows:
            code = tires.get_indexer(pd.Index(table["tire_id"]))
            return _Rows.of(np.where(code < 0, len(tires), code), len(tires))

        self._tables = {n: by_piece(t) for n, t in book.tables.items() if "vehicle_id" in t}
        self._mounted = tires.get_indexer(pd.Index(mounts["tire_id"]))
        self._tires = by_tire(book.tables["tires"])
        self._fitted = {n: by_tire(fit.frames[n]) for n in ("tires", "visits")}
        self._fitted_vehicles = by_piece(fit.frames["vehicles"])

    def __len__(self) -> int:
        return self._count

    def __getitem__(self, number: int) -> tuple[Logbook, WearFit]:
        one = np.array([number])
        tables = dict(self._book.tables)
        for name, rows in self._tables.items():
            tables[name] = rows.take(tables[name], one)
        tires = np.unique(self._mounted[self._tables["mounts"].of_groups(one)])
        tables["tires"] = self._tires.take(tables["tires"], tires)
        frames = dict(self._fit.frames)
        for name, rows in self._fitted.items():
            frames[name] = rows.take(frames[name], tires)
        frames["vehicles"] = self._fitted_vehicles.take(frames["vehicles"], one)
        return replace(self._book, tables=tables), replace(self._fit, frames=frames)


@dataclass(frozen=True)
class _Rows:
    """Which rows of a table belong to which group."""

    order: Integers
    edge: Integers

    @classmethod
    def of(cls, group: NDArray[np.integer], groups: int) -> _Rows:
        """Rows by group; those of a group beyond the last belong to none."""
        order = np.argsort(group, kind="stable")
        return cls(order, np.searchsorted(group[order], np.arange(groups + 1)))

    def of_groups(self, groups: Integers) -> Integers:
        """Rows of some groups, in the table's own order."""
        first, length = self.edge[groups], self.edge[groups + 1] - self.edge[groups]
        before = np.cumsum(length) - length
        return np.sort(self.order[np.repeat(first - before, length) + np.arange(length.sum())])

    def take(self, table: pd.DataFrame, groups: Integers) -> pd.DataFrame:
        return table.iloc[self.of_groups(groups)].reset_index(drop=True)

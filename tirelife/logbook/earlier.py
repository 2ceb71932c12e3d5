"""A logbook as it was known on an earlier day: what a forecast of that day had to go by."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tirelife.errors import misused
from tirelife.logbook.assumed import assume_vehicles, is_assumed
from tirelife.logbook.wrong import Wrong

if TYPE_CHECKING:
    from tirelife.logbook.model import Logbook
    from tirelife.logbook.read import Doubts

__all__ = ["known_on", "known_vehicles", "of_vehicles"]


def known_on(book: Logbook, day: str | dt.date | pd.Timestamp) -> Logbook:
    """Take out of a logbook all that was written down after a day.

    Parameters
    ----------
    book : Logbook
    day : date
        The last day that counts.

    Returns
    -------
    Logbook
        As :func:`tirelife.logbook.read_logbook` gives it with ``as_of``: without readings, mounts, odometer,
        pressures, comparisons of gauges and angles of a later day, without habits over a time that had not
        ended, and without tires that were first mounted later. What was assumed of vehicles is assumed anew.
        Doubts are those that the records up to then raise against each other; where the logbook does not have
        them as they were read (``as_read``), those that the whole raised against the records that stay.

    Raises
    ------
    InputError
        If it is no day, or after the logbook's own last day.
    """
    try:
        last = pd.Timestamp(dt.date.fromisoformat(day) if isinstance(day, str) else day).normalize()
    except (ValueError, TypeError):
        raise misused(Wrong.NO_DAY, day=day) from None
    if not last <= book.as_of:
        raise misused(Wrong.AFTER_END, day=f"{last:%Y-%m-%d}", end=f"{book.as_of:%Y-%m-%d}")
    tables, problems = dict(book.tables), book.problems
    for name, table in book.tables.items():
        date = {"habits": "to_date", "tires": "", "vehicles": ""}.get(name, "date")
        if date and len(table):
            late = (table[date] > last).to_numpy(dtype=bool)
            tables[name] = table[~late].reset_index(drop=True)
    known, every = (set(one["mounts"]["tire_id"]) for one in (tables, book.tables))
    tires = tables["tires"]
    tables["tires"] = tires[~tires["tire_id"].isin(every - known)].reset_index(drop=True)
    for name, table in book.tables.items():
        gone = set(table["row"]) - set(tables[name]["row"])
        if gone and len(problems):
            of_table = problems["file"].str.rsplit(".", n=1).str[0] == name
            problems = problems[~(of_table & problems["row"].isin(gone))]
    if book.as_read is not None:
        again, problems = book.as_read.on(last, set(tables["vehicles"]["vehicle_id"]))
        tables |= {
            name: _doubted_anew(tables[name], table) for name, table in again.items() if name in tables
        }
    tables["vehicles"] = _assumed_anew(tables["vehicles"], tables["pressures"])
    return replace(book, tables=tables, problems=problems.reset_index(drop=True), as_of=last)


def known_vehicles(book: Logbook, vehicle_ids: Iterable[str]) -> None:
    """Raise InputError for the first of these that is no vehicle of a logbook, with those that are."""
    known = [str(vehicle) for vehicle in book.vehicles["vehicle_id"]]
    for vehicle in vehicle_ids:
        if vehicle not in known:
            raise misused(Wrong.NO_VEHICLE, vehicle=vehicle, known=", ".join(known[:12]))


def of_vehicles(book: Logbook, vehicle_ids: Collection[str]) -> Logbook:
    """The part of a logbook that is about some vehicles."""
    tables = {
        name: table[table["vehicle_id"].isin(vehicle_ids)].reset_index(drop=True)
        if "vehicle_id" in table
        else table
        for name, table in book.tables.items()
    }
    return replace(book, tables=tables)


def _doubted_anew(table: pd.DataFrame, again: Doubts) -> pd.DataFrame:
    """A table with its doubts worked out from the records of the day, and without repeats of then."""
    stays = table["row"].isin(again.rows)
    out = (table if stays.all() else table[stays]).reset_index(drop=True)
    at = again.marks.index.get_indexer(pd.Index(out["row"]))
    for name in ("doubt", "codes"):
        texts = np.append(again.marks[name].to_numpy(object), "")[at]
        out[name] = pd.array(texts, dtype="str")
    return out


def _assumed_anew(vehicles: pd.DataFrame, pressures: pd.DataFrame) -> pd.DataFrame:
    if "assumed" not in vehicles or not vehicles["assumed"].ne("").any():
        return vehicles
    out = vehicles.copy()
    for name, blank in (("drive", ""), ("placard_front", float("nan")), ("placard_rear", float("nan"))):
        out.loc[is_assumed(out, name), name if blank == "" else f"{name}_kpa"] = blank
    return assume_vehicles(out, pressures)

"""Visits and vehicles that are likelier slips than as typed: asked about, and kept."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note
from tirelife.errors import Problem
from tirelife.logbook.chain import Chain
from tirelife.logbook.codes import Found, Slip
from tirelife.logbook.findings import Findings, to_problems
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import GROOVES
from tirelife.logbook.slips.cars import judge_cars
from tirelife.logbook.slips.depths import Judged, judge_visits
from tirelife.logbook.slips.distances import judge_distances
from tirelife.logbook.slips.growing import judge_growing
from tirelife.logbook.slips.pairs import judge_pairs
from tirelife.logbook.slips.predict import learn
from tirelife.logbook.slips.pressures import judge_pressures
from tirelife.logbook.slips.readings import judge_readings
from tirelife.logbook.slips.temperatures import judge_temperatures
from tirelife.logbook.slips.visits import WHEELS, visits_of

__all__ = ["ask_depths", "ask_pressures", "asked_once"]


_BETTER = (Found.DEPTH_GROWS, Found.DEPTH_UNFIT, Found.UNUSUALLY_LOW, Found.UNUSUALLY_HIGH)
"""Doubts of a cell that a named slip of it stands for."""


def ask_depths(
    depths: Parsed,
    chain: Chain,
    vehicles: NDArray[np.object_],
    new_depth: NDArray[np.float64],
    found: Findings,
) -> None:
    """Ask about vehicles and visits whose depths are likelier with a slip than as typed.

    Parameters
    ----------
    depths : Parsed
    chain : Chain
    vehicles : ndarray of str
    new_depth : ndarray, shape (number of tires,)
        By tire number of the chain; NaN where it is not known. [mm]
    found : Findings
        A doubt is added to every reading of such a visit, or of such a vehicle's first.
    """
    visits = visits_of(depths, chain, vehicles, new_depth)
    if visits is None:
        return
    unit = depths.unit["depth_mm"]
    law, left = learn(visits)
    judged = judge_cars(visits, unit, law)
    doubted = np.isin(depths.rows, found.rows_with(depths.file, depths.raw["depth_mm"], _BETTER))
    digits = judge_readings(depths, visits, law, left, doubted)
    visit_of = dict(zip(visits.records.tolist(), visits.visit.tolist(), strict=True))
    by_digit = np.full(len(visits), -np.inf)  # log odds of a digit off in one of a visit's readings
    for record, odds, _ in digits:
        by_digit[visit_of[record]] = odds
    of_car = np.array([by_digit[visits.vehicle == visits.vehicle[one.visit]].max() for one in judged])
    cars = [one for one, digit in zip(judged, of_car, strict=True) if one.odds > digit]
    odd = set(visits.vehicle[[one.visit for one in cars]].tolist())
    if "odometer_km" in depths.unit:
        far = judge_distances(visits, depths.unit["odometer_km"])
        far = [one for one in far if int(visits.vehicle[one.visit]) not in odd]
        _say(depths, "odometer_km", far, visits.records, visits.visit, found)
    asked = [
        one
        for one in judge_visits(visits, unit, law, left)
        if int(visits.vehicle[one.visit]) not in odd
        and (
            np.isneginf(by_digit[one.visit])
            if one.note.code is Slip.UNFIT
            else one.odds > by_digit[one.visit]
        )
    ]  # what one digit explains better is no slip of a visit, nor one that fits nothing
    swapped = judge_pairs(visits, left, np.array([one.visit for one in asked], dtype=np.intp), vehicles)
    asked = [*(one for one in asked if one.visit not in {pair.visit for pair in swapped}), *swapped]
    named = np.isin(visits.vehicle, list(odd))
    named[[one.visit for one in asked]] = True
    digits = [one for one in digits if not named[visit_of[one[0]]]]
    _say(depths, "depth_mm", [*cars, *asked], visits.records, visits.visit, found)
    growing = judge_growing(visits, law, named)
    cell = visits.visit * WHEELS + visits.place // len(GROOVES)
    single = [
        (int(record), growing[int(at)])
        for record, at in zip(visits.records, cell, strict=True)
        if int(at) in growing
    ]
    _say_each(depths, "depth_mm", [*single, *((record, note) for record, _, note in digits)], found)


def ask_pressures(table: Parsed, vehicles: Parsed, ids: NDArray[np.object_], found: Findings) -> None:
    """Ask about visits whose pressures are likelier absolute than as typed."""
    judged, records, visit = judge_pressures(table, vehicles, ids)
    _say(table, "pressure_kpa", judged, records, visit, found)
    notes, records, visit = judge_temperatures(table, ids)
    told = [(int(r), notes[int(v)]) for r, v in zip(records, visit, strict=True) if int(v) in notes]
    _say_each(table, "ambient_c", told, found)


def asked_once(doubts: pd.DataFrame) -> list[Problem]:
    """Problems to show of one visit: what is asked of it as a whole stands once, and not at each reading.

    Parameters
    ----------
    doubts : DataFrame
        Of one visit, as :func:`tirelife.logbook.record_visit` finds them.
    """
    of_visit = doubts["code"].isin([slip.value for slip in Slip])
    once = (
        doubts[of_visit].drop_duplicates(["file", "code", "ask", "values"]).assign(column="", value="", row=0)
    )
    return to_problems(pd.concat([once, doubts[~of_visit]]))


def _say_each(table: Parsed, column: str, told: list[tuple[int, Note]], found: Findings) -> None:
    if not told:
        return
    records = np.array([record for record, _ in told], dtype=np.intp)
    found.forget(table.file, table.rows[records], table.raw[column], _BETTER)
    notes = [note for _, note in told]
    found.add(
        table.file, table.rows[records], table.raw[column], table.written(column, records),
        [note.code for note in notes], [dict(note.values) for note in notes], doubt=True,
    )  # fmt: skip


def _say(
    table: Parsed,
    column: str,
    judged: list[Judged],
    records: NDArray[np.intp],
    visit: NDArray[np.intp],
    found: Findings,
) -> None:
    if not judged:
        return
    which = np.full(int(visit.max()) + 1, -1)
    which[[one.visit for one in judged]] = np.arange(len(judged))
    at = which[visit]
    hits = records[at >= 0]
    found.forget(table.file, table.rows[hits], table.raw[column], _BETTER)
    notes = [judged[i].note for i in at[at >= 0]]
    found.add(
        table.file, table.rows[hits], table.raw[column], table.written(column, hits),
        [note.code for note in notes], [dict(note.values) for note in notes], doubt=True,
    )  # fmt: skip

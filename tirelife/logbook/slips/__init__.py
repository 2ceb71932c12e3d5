"""Visits and vehicles that are likelier slips than as typed: asked about, and kept."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import Problem
from tirelife.logbook.chain import Chain
from tirelife.logbook.findings import Findings, to_problems
from tirelife.logbook.parse import Parsed
from tirelife.logbook.slips.codes import Slip, advice, what
from tirelife.logbook.slips.depths import Judged, judge_cars, judge_visits
from tirelife.logbook.slips.predict import learn
from tirelife.logbook.slips.pressures import judge_pressures
from tirelife.logbook.slips.visits import visits_of

__all__ = ["Slip", "ask_depths", "ask_pressures", "asked_once"]


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
    cars = judge_cars(visits, unit, law)
    odd = set(visits.vehicle[[one.visit for one in cars]].tolist())
    asked = [
        one for one in judge_visits(visits, unit, law, left) if int(visits.vehicle[one.visit]) not in odd
    ]
    _say(depths, "depth_mm", [*cars, *asked], visits.records, visits.visit, found)


def ask_pressures(table: Parsed, vehicles: Parsed, ids: NDArray[np.object_], found: Findings) -> None:
    """Ask about visits whose pressures are likelier absolute than as typed."""
    judged, records, visit = judge_pressures(table, vehicles, ids)
    _say(table, "pressure_kpa", judged, records, visit, found)


def asked_once(doubts: pd.DataFrame) -> list[Problem]:
    """Problems to show of one visit: what is asked of it as a whole stands once, and not at each reading.

    Parameters
    ----------
    doubts : DataFrame
        Of one visit, as :func:`tirelife.logbook.record_visit` finds them.
    """
    of_visit = doubts["code"].isin([slip.value for slip in Slip])
    once = (
        doubts[of_visit]
        .drop_duplicates(["file", "code", "what", "advice"])
        .assign(column="", value="", row=0)
    )
    return to_problems(pd.concat([once, doubts[~of_visit]]))


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
    slips = [judged[i].note.code for i in at[at >= 0]]
    whats = [what(judged[i].note) for i in at[at >= 0]]
    asked = [advice(judged[i].note) for i in at[at >= 0]]
    found.add(
        table.file,
        table.rows[hits],
        table.raw[column],
        table.written(column, hits),
        whats,
        asked,
        slips,
        doubt=True,
    )

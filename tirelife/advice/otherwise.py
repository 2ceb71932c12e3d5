"""Decisions with the time ahead otherwise: the whole record of a what-if."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tirelife.advice.deciding import decide
from tirelife.advice.facts import Settings
from tirelife.advice.gather import FleetDecisions, facts_of, first_of_sets
from tirelife.outlook import otherwise_states, project
from tirelife.tread import REMOVAL_DEPTH_MM

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.outlook import Otherwise
    from tirelife.rates import WearFit

__all__ = ["decisions_otherwise"]


def decisions_otherwise(
    book: Logbook,
    fit: WearFit,
    change: Otherwise,
    vehicle_ids: Sequence[str] | None = None,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    settings: Settings | None = None,
) -> FleetDecisions:
    """Decide for every vehicle with tires on the road as a change would have it.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    change : Otherwise
    vehicle_ids : sequence of str, optional
        All by default.
    removal_depth_mm : float or Series
        As things are; for all, or by position. [mm]
    settings : Settings, optional

    Notes
    -----
    Readings, patterns and losses of air stay as measured; pressures that a change keeps at the placard are
    taken to be there.
    """
    state = otherwise_states(book, fit, change, vehicle_ids, removal_depth_mm)
    rows, first = project(state), first_of_sets(state)
    limit = removal_depth_mm if change.removal_depth_mm is None else change.removal_depth_mm
    facts = facts_of(
        book, fit, state, rows, removal_depth_mm=limit, settings=settings, first=first, assumed=change
    )
    found = {name: decide(known, settings) for name, known in facts.items()}
    return FleetDecisions(found, facts, rows, first)

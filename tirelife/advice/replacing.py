"""Which tires to replace, how many together, and by when."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.advice.facts import Facts, Settings
from tirelife.advice.limits import look_km
from tirelife.advice.record import Action, Kind, Reason, Scope, Soon
from tirelife.codes import Note, Severity
from tirelife.positions import ROAD
from tirelife.rotation import (
    scope_of,
    together,
)

__all__ = ["replacement"]

_RANK: Final = {soon: i for i, soon in enumerate(Soon)}


def replacement(facts: Facts, settings: Settings) -> list[Action]:
    """At most one action: the tires that are due, with those that go with them.

    Notes
    -----
    Due is a tire at its limit (now); with its median before the next look, or near its limit and with a
    tenth of its range before it (before the next look); near its limit, with a tenth of its range before the
    next look, or at its age limit before it (plan). Others join it: the mate of its axle where a new tire
    beside it would differ by more than the setting, all four of an all-wheel drive likewise, and all four
    where each is due within one more service interval. All common practice, no source.
    """
    due = {p: s for p in ROAD if p in facts.tires and (s := _soon(facts, settings, p)) is not None}
    if not due:
        return []
    soon = min(due.values(), key=lambda s: _RANK[s])
    reasons = [_why(facts, p, s) for p, s in due.items()]
    go = set(due)
    apart = {p: _apart(facts, p) for p in ROAD if p in facts.tires}
    mates, worst = together(due, apart, facts.drive, settings.match_axle_mm, settings.match_drive_mm)
    reasons += [_note(Reason.MATCH_AXLE, mate, apart[mate]) for mate in mates]
    go |= {*mates}
    if worst is not None:
        reasons.append(_note(Reason.MATCH_DRIVE, worst, apart[worst]))
        go |= {*apart}
    rest = [p for p in apart if p not in go]
    if rest and all(facts.tires[p].km_p50 <= 2 * look_km(facts, settings) for p in rest):
        reasons.append(Note(Reason.ALL_DUE, Severity.NOTE))
        go |= set(rest)
    scope = scope_of(go)
    if scope is Scope.PAIR and facts.drive != "all":
        reasons.append(Note(Reason.DEEPER_TO_REAR, Severity.NOTE))
    severity = {Soon.NOW: Severity.URGENT, Soon.BEFORE_NEXT_LOOK: Severity.WARNING}.get(soon, Severity.NOTE)
    window = _window(facts, [p for p, s in due.items() if s is soon])
    by = facts.as_of if soon is Soon.NOW else window[0] if window else None
    if by is not None:
        by = max(by, facts.as_of)
    places = tuple(p for p in ROAD if p in go)
    return [Action(Kind.REPLACE, severity, places, soon, tuple(reasons), scope, by, window, facts.as_of)]


def _soon(facts: Facts, settings: Settings, position: str) -> Soon | None:
    tire = facts.tires[position]
    if tire.at_limit or tire.km_p50 <= 0:
        return Soon.NOW
    look = look_km(facts, settings)
    if tire.km_p50 <= look or (tire.near_limit and not tire.km_p10 > look):
        return Soon.BEFORE_NEXT_LOOK
    if tire.near_limit or tire.km_p10 <= look or _aged(facts, settings, position):
        return Soon.PLAN
    return None


def _aged(facts: Facts, settings: Settings, position: str) -> bool:
    """Whether age ends the tire before the next look at the usual service."""
    tire = facts.tires[position]
    until = facts.as_of + pd.Timedelta(days=settings.service_days)
    return tire.by_age and tire.date_p50 is not None and tire.date_p50 <= until


def _why(facts: Facts, position: str, soon: Soon) -> Note:
    tire = facts.tires[position]
    values = (("position", position), ("read_mm", tire.read_mm), ("km_p50", tire.km_p50))
    if tire.at_limit:
        return Note(Reason.AT_LIMIT, Severity.URGENT, values)
    if tire.near_limit:
        return Note(Reason.NEAR_LIMIT, Severity.WARNING, values)
    if soon is Soon.PLAN and tire.by_age:
        return Note(Reason.AGE, Severity.NOTE, values)
    if soon is Soon.PLAN:
        return Note(Reason.DUE_IN_WINDOW, Severity.NOTE, values)
    return Note(Reason.DUE, Severity.WARNING, values)


def _note(reason: Reason, position: str, apart_mm: float) -> Note:
    return Note(reason, Severity.NOTE, (("position", position), ("apart_mm", apart_mm)))


def _apart(facts: Facts, position: str) -> float:
    """How much deeper a new tire is than this one: what is read where it is read; NaN if not known. [mm]"""
    tire = facts.tires[position]
    now = tire.depth_mm if np.isfinite(tire.depth_mm) else tire.read_mm
    return float(tire.new_depth_mm - now)


def _window(facts: Facts, positions: list[str]) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """Days by which the first of some tires is down; of the set's first, the set's own window."""
    chance = {p: c for p, c in facts.first_chance.items() if np.isfinite(c)}
    if facts.window is not None and chance and max(chance, key=lambda p: chance[p]) in positions:
        return facts.window
    low = [d for p in positions if (d := facts.tires[p].date_p10) is not None]
    high = [d for p in positions if (d := facts.tires[p].date_p90) is not None]
    return (min(low), min(high)) if low and high else None

"""From facts to the decision on one vehicle; plain rules, each named where it stands."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd

from tirelife.advice.changing import would_change
from tirelife.advice.facts import Facts, Settings
from tirelife.advice.limits import LOOK_SHARE, LOW_KPA, NEAR_LOOK_DAYS, NEAR_LOOK_KM
from tirelife.advice.record import Action, Decision, Kind, Reason, Soon, in_order
from tirelife.advice.replacing import replacement
from tirelife.advice.rotating import rotation
from tirelife.codes import Note, Severity

__all__ = ["decide", "first_due"]

ANGLES: Final = "measure angles"
MATCH: Final = "match drive"


def decide(facts: Facts, settings: Settings | None = None) -> Decision:
    """Decide what to do with one vehicle's tires.

    Parameters
    ----------
    facts : Facts
    settings : Settings, optional

    Returns
    -------
    Decision
        Always with one ROTATE or LEAVE action and one LOOK action.

    Notes
    -----
    What was measured goes first: a tire at or under its limit anywhere is inspected and replaced now, and
    for one near it a replacement is planned at least, whatever the projection says. Then what was projected:
    a tire whose median runs out before the next look is replaced before it; one that may (10 %) is planned
    for. The rest is care.
    """
    settings = settings or Settings()
    changed = replacement(facts, settings)
    gone = {p for action in changed for p in action.positions}
    angles = any(check.step == ANGLES for check in facts.checks)
    actions = [
        *_measured(facts),
        *_air(facts, settings),
        *_checks(facts),
        *([] if changed else _unlike(facts, settings)),
        *changed,
        rotation(facts, settings, gone, angles),
        *_pressure(facts),
        _look(facts, settings),
    ]
    told = (replace(action, change=would_change(action, facts, settings)) for action in actions)
    first, chance = first_due(facts, settings)
    return Decision(facts.vehicle_id, facts.as_of, in_order(told), first, chance)


def first_due(facts: Facts, settings: Settings | None = None) -> tuple[tuple[str, ...], float]:
    """Wheels due first, and the chance: one wheel if its chance is high enough, else all that share it.

    Examples
    --------
    >>> day = pd.Timestamp("2026-03-01")
    >>> some = Facts("V1", "front", day, 40.0, {}, {}, {"LF": 0.45, "RF": 0.4, "LR": 0.1, "RR": 0.05})
    >>> first_due(some)
    (('LF', 'RF'), nan)
    """
    settings = settings or Settings()
    chance = {p: c for p, c in facts.first_chance.items() if np.isfinite(c)}
    if not chance:
        return (), float("nan")
    top = max(chance, key=lambda p: chance[p])
    if chance[top] >= settings.sure or len(chance) == 1:
        return (top,), float(chance[top])
    return tuple(p for p, c in chance.items() if c >= chance[top] / 2), float("nan")


def _measured(facts: Facts) -> list[Action]:
    down = facts.where(lambda t: t.at_limit)
    may = facts.where(lambda t: not t.at_limit and t.km_p10 <= 0)
    out = [
        Action(Kind.INSPECT, Severity.URGENT, places, Soon.NOW, _at_limit(facts, places, why), by=facts.as_of)
        for places, why in ((down, Reason.AT_LIMIT), (may, Reason.MAY_BE_DOWN))
        if places
    ]
    odd = facts.where(lambda t: not t.fits)
    if odd:
        why = tuple(Note(Reason.DOES_NOT_FIT, Severity.DOUBT, (("position", p),)) for p in odd)
        out.append(Action(Kind.READ_AGAIN, Severity.DOUBT, odd, Soon.NOW, why, by=facts.as_of))
    return out


def _at_limit(facts: Facts, places: tuple[str, ...], reason: Reason) -> tuple[Note, ...]:
    """What was read of each tire, and its limit."""
    return tuple(
        Note(
            reason,
            Severity.URGENT,
            (
                ("position", p),
                ("read_mm", facts.tires[p].read_mm),
                ("read_raw_mm", facts.tires[p].read_raw_mm),
                ("limit_mm", facts.limit_mm[p]),
            ),
        )
        for p in places
    )


def _air(facts: Facts, settings: Settings) -> list[Action]:
    losing = facts.where(lambda t: t.loss_kpa_per_month > 0)
    if not losing:
        return []
    most = max(facts.tires[p].loss_kpa_per_month for p in losing)
    severity = Severity.URGENT if most >= settings.leak_kpa_per_month else Severity.WARNING
    why = tuple(
        Note(
            Reason.LOSES_AIR,
            severity,
            (("position", p), ("loss_kpa_per_month", facts.tires[p].loss_kpa_per_month)),
        )
        for p in losing
    )
    return [Action(Kind.LEAK, severity, losing, Soon.NOW, why, by=facts.as_of)]


def _checks(facts: Facts) -> list[Action]:
    out = []
    for check in facts.checks:
        severity = Severity.URGENT if check.urgent else Severity.DOUBT
        why = Note(Reason.PATTERN, severity, (("step", check.step),))
        kind = Kind.INSPECT if check.urgent else Kind.CORRECT
        out.append(Action(kind, severity, check.positions, Soon.NOW, (why,)))
    return out


def _unlike(facts: Facts, settings: Settings) -> list[Action]:
    """Tires of an all-wheel drive that are shallower than its deepest by more than is allowed."""
    known = {p: t.depth_mm if np.isfinite(t.depth_mm) else t.read_mm for p, t in facts.tires.items()}
    known = {p: depth for p, depth in known.items() if np.isfinite(depth)}
    below = {p: max(known.values()) - depth for p, depth in known.items()}
    places = tuple(p for p, apart in below.items() if apart > settings.match_drive_mm + 1e-9)
    if facts.drive != "all" or not places:
        return []
    values = (("step", MATCH), ("apart_mm", max(below.values())))
    why = Note(Reason.DRIVE_APART, Severity.DOUBT, values)
    return [Action(Kind.CORRECT, Severity.DOUBT, places, Soon.NOW, (why,))]


def _pressure(facts: Facts) -> list[Action]:
    if not (facts.pressure_known or facts.low_assumed):
        return [Action(Kind.PRESSURE, Severity.NOTE, soon=Soon.NOW, reasons=(Note(Reason.NOT_KNOWN),))]
    if facts.low_kpa < LOW_KPA:
        return []
    values = (
        ("low_kpa", facts.low_kpa),
        ("assumed", facts.low_assumed),
        ("placard_stated", facts.placard_stated),
    )
    why = Note(Reason.BELOW_PLACARD, Severity.NOTE, values)
    return [Action(Kind.PRESSURE, Severity.NOTE, soon=Soon.NOW, reasons=(why,))]


def _look(facts: Facts, settings: Settings) -> Action:
    """Next look: the usual service, or sooner where a tire may be down before."""
    pace = facts.km_per_day if facts.km_per_day > 0 else np.nan
    limits = [(settings.service_days, Reason.SERVICE), (settings.service_km / pace, Reason.SERVICE)]
    soonest = min((t.km_p10 for t in facts.tires.values() if np.isfinite(t.km_p10)), default=np.inf)
    limits.append((LOOK_SHARE * soonest / pace, Reason.BEFORE_LIMIT))
    if facts.where(lambda t: t.at_limit or t.near_limit):
        limits += [(NEAR_LOOK_DAYS, Reason.BEFORE_LIMIT), (NEAR_LOOK_KM / pace, Reason.BEFORE_LIMIT)]
    days, why = min((limit for limit in limits if np.isfinite(limit[0])), key=lambda limit: limit[0])
    whole = float(max(int(days), 0))
    note = Note(why, Severity.NOTE, (("days", whole),))
    by = facts.as_of + pd.Timedelta(days=whole)
    return Action(Kind.LOOK, Severity.NOTE, soon=Soon.BEFORE_NEXT_LOOK, reasons=(note,), by=by)

"""Whether to rotate now, and why, or why not."""

from __future__ import annotations

from collections.abc import Set
from typing import Final

import numpy as np

from tirelife.advice.facts import Facts, Settings
from tirelife.advice.record import Action, Kind, Reason, Soon
from tirelife.codes import Note, Severity

__all__ = ["rotation"]

EARLY: Final = 0.75
"""A rotation is due from this share of its interval on, so that it falls on a visit; our choice."""
SURE: Final = 0.9
"""Chance that the longer way is the longer from which it goes against the usual."""


def rotation(facts: Facts, settings: Settings, replaced: Set[str], angles: bool) -> Action:
    """Rotate or leave.

    Parameters
    ----------
    facts : Facts
    settings : Settings
    replaced : set of str
        Positions with a replacement ahead of the next look, or planned.
    angles : bool
        Whether angles are to be measured first.

    Notes
    -----
    No tire at or near its limit is moved, and none that is to be replaced: a rotation would only move the
    worst tread. Else the usual rotation at the usual interval stands, unless leaving the tires is the longer
    way by the setting, or rotating early is, each with 90 % chance.
    """
    turn = facts.rotation
    gain = turn.rotate_km / turn.stay_km - 1 if turn.stay_km > 0 else np.nan
    values = (("rotate_km", turn.rotate_km), ("stay_km", turn.stay_km))
    if not facts.tires:
        return _leave(Note(Reason.NOT_KNOWN))
    worn = facts.where(lambda t: t.at_limit or t.near_limit)
    if worn:
        return _leave(*(Note(Reason.NEAR_LIMIT, Severity.NOTE, (("position", p),)) for p in worn))
    if replaced:
        return _leave(Note(Reason.REPLACE_FIRST))
    if turn.refused is not None:
        return _leave(turn.refused)
    if gain < -settings.better and 1 - turn.chance_better >= SURE:
        return _leave(Note(Reason.SHORTENS, Severity.NOTE, values))
    first = (Note(Reason.CORRECT_FIRST),) if angles else ()
    run = (("since_km", turn.since_km), ("every_km", turn.every_km))
    if not turn.since_km < EARLY * turn.every_km:
        return _rotate(*first, Note(Reason.AS_USUAL, Severity.NOTE, run))
    if gain > settings.better and turn.chance_better >= SURE:
        return _rotate(*first, Note(Reason.LENGTHENS, Severity.NOTE, values))
    return _leave(Note(Reason.NOT_DUE, Severity.NOTE, run))


def _leave(*reasons: Note) -> Action:
    return Action(Kind.LEAVE, Severity.NOTE, soon=Soon.NOW, reasons=reasons)


def _rotate(*reasons: Note) -> Action:
    return Action(Kind.ROTATE, Severity.NOTE, soon=Soon.NOW, reasons=reasons)

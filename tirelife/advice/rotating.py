"""Whether to rotate now, and why, or why not."""

from __future__ import annotations

from collections.abc import Set
from typing import Final

from tirelife.advice.facts import Facts, Settings
from tirelife.advice.record import Action, Kind, Reason, Soon
from tirelife.codes import Note, Severity

__all__ = ["rotation", "rotation_due", "usual_way"]

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
    worst tread. Else the usual rotation at the usual interval stands, unless never rotating is the longer way
    by the setting, or rotating before it is due, each with 90 % chance.
    """
    turn, due = facts.rotation, rotation_due(facts)
    usual_km, usual_over_never = usual_way(facts)
    if not facts.tires:
        return _leave(Note(Reason.NOT_KNOWN))
    worn = facts.where(lambda t: t.at_limit or t.near_limit)
    if worn:
        return _leave(*(Note(Reason.NEAR_LIMIT, Severity.NOTE, (("position", p),)) for p in worn))
    if replaced:
        return _leave(Note(Reason.REPLACE_FIRST))
    if turn.refused is not None:
        return _leave(turn.refused)
    if turn.assumed != "none" and _longer(turn.never_km, usual_km, settings) and 1 - usual_over_never >= SURE:
        return _leave(_gain(Reason.SHORTENS, usual_km, turn.never_km))
    if turn.assumed == "none":
        better = _longer(turn.now_km, turn.never_km, settings) and turn.now_over_never >= SURE
        return _leave(_gain(Reason.AS_ASSUMED, turn.now_km if better else turn.never_km, turn.never_km))
    first = (Note(Reason.CORRECT_FIRST),) if angles else ()
    if turn.assumed == "every":
        return _rotate(*first, Note(Reason.AS_ASSUMED, Severity.NOTE, (("every_km", turn.every_km),)))
    run = (("since_km", turn.since_km), ("every_km", turn.every_km))
    if due:
        return _rotate(*first, Note(Reason.AS_USUAL, Severity.NOTE, run))
    if _longer(turn.now_km, turn.due_km, settings) and turn.now_over_due >= SURE:
        return _rotate(*first, _gain(Reason.LENGTHENS, turn.now_km, turn.due_km))
    return _leave(Note(Reason.NOT_DUE, Severity.NOTE, run))


def rotation_due(facts: Facts) -> bool:
    """Whether the usual rotation is due, or taken for granted."""
    turn = facts.rotation
    return bool(turn.assumed) or not turn.since_km < EARLY * turn.every_km


def usual_way(facts: Facts) -> tuple[float, float]:
    """Distance that rotating as usual gives the set, and the chance that it is longer than never. [km]"""
    turn = facts.rotation
    if rotation_due(facts):
        return turn.now_km, turn.now_over_never
    return turn.due_km, turn.due_over_never


def _longer(one_km: float, other_km: float, settings: Settings) -> bool:
    """Whether one distance is longer than another by more than what goes against the usual."""
    return one_km > other_km * (1 + settings.better)


def _gain(reason: Reason, rotate_km: float, stay_km: float) -> Note:
    return Note(reason, Severity.NOTE, (("rotate_km", rotate_km), ("stay_km", stay_km)))


def _leave(*reasons: Note) -> Action:
    return Action(Kind.LEAVE, Severity.NOTE, soon=Soon.NOW, reasons=reasons)


def _rotate(*reasons: Note) -> Action:
    return Action(Kind.ROTATE, Severity.NOTE, soon=Soon.NOW, reasons=reasons)

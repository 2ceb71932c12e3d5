"""What would change each action of a decision: the figures or facts at which it no longer stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from tirelife.advice.facts import Facts, Settings, TireFacts
from tirelife.advice.limits import LOOK_SHARE, LOW_KPA, look_km
from tirelife.advice.record import Action, Kind, Reason, Soon, WouldChange
from tirelife.advice.rotating import EARLY, SURE, usual_way
from tirelife.codes import Note, Severity
from tirelife.inflation import INSPECT_KPA_PER_MONTH
from tirelife.tread import NEAR_MM

__all__ = ["would_change"]


def would_change(action: Action, facts: Facts, settings: Settings) -> tuple[Note, ...]:
    """What would change one action: were all of it so, the action would not stand as it does.

    Parameters
    ----------
    action : Action
    facts : Facts
        Those that it was decided from.
    settings : Settings

    Returns
    -------
    tuple of Note
        Codes of :class:`~tirelife.advice.WouldChange` with the figure to be passed and the one held now.
    """
    return tuple(_MAKERS[action.kind](action, facts, settings))


def _note(code: WouldChange, **values: object) -> Note:
    return Note(code, Severity.NOTE, tuple(values.items()))


def _further(code: WouldChange, place: str, tire: TireFacts, **values: float) -> Note:
    """One of a tire's distance, with the width of its range, by which figures of it are rounded."""
    return _note(code, position=place, **values, spread_km=tire.km_p90 - tire.km_p10)


def _inspect(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    if action.has(Reason.PATTERN):
        return [_note(WouldChange.FOUND_SOUND)]
    return [_note(WouldChange.READ_OVER, position=p, over_mm=facts.limit_mm[p]) for p in action.positions]


def _leak(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    below = float(INSPECT_KPA_PER_MONTH)
    return [_note(WouldChange.HOLDS_AIR, position=p, below_kpa=below) for p in action.positions]


def _again(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    return [_note(WouldChange.READS_AGREE, position=p) for p in action.positions]


def _correct(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    if action.has(Reason.DRIVE_APART):
        return [_note(WouldChange.DRIVE_ALLOWED, apart_mm=action.reasons[0].value("apart_mm"))]
    return [_note(WouldChange.FOUND_SOUND)]


def _replace(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    out, look = [], look_km(facts, settings)
    for p in (str(note.value("position")) for note in action.reasons if note.code in _DUE):
        tire = facts.tires[p]
        if tire.at_limit or tire.near_limit:
            over = facts.limit_mm[p] + (0.0 if tire.at_limit else NEAR_MM)
            out.append(_note(WouldChange.READ_OVER, position=p, over_mm=over))
        if tire.km_p50 <= look:
            out.append(_further(WouldChange.GOES_FURTHER, p, tire, over_km=look, middle_km=tire.km_p50))
        elif tire.km_p10 <= look and action.soon is Soon.PLAN:
            out.append(_further(WouldChange.SURELY_FURTHER, p, tire, over_km=look, least_km=tire.km_p10))
        if tire.by_age and action.soon is Soon.PLAN:
            out.append(_note(WouldChange.AGE_ALLOWED, position=p))
    for note in action.reasons:
        if note.code in (Reason.MATCH_AXLE, Reason.MATCH_DRIVE):
            apart = {"position": note.value("position"), "apart_mm": note.value("apart_mm")}
            out.append(_note(WouldChange.APART_ALLOWED, **apart))
    return out


def _pressure(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    return [_note(WouldChange.PRESSURES_RIGHT, within_kpa=LOW_KPA)]


def _rotate(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    if action.has(Reason.LENGTHENS):
        chance = facts.rotation.now_over_due
        return [_note(WouldChange.ROTATING_NO_LONGER, chance=SURE, chance_now=chance)]
    chance = 1 - usual_way(facts)[1]
    return [_note(WouldChange.LEAVING_LONGER, share=settings.better, chance=SURE, chance_now=chance)]


def _leave(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    turn, code = facts.rotation, action.reasons[0].code
    if code == Reason.SHORTENS:
        chance = 1 - usual_way(facts)[1]
        return [_note(WouldChange.LEAVING_NO_LONGER, chance=SURE, chance_now=chance)]
    if code == Reason.NOT_DUE:
        return [_note(WouldChange.RUN_ON, more_km=EARLY * turn.every_km - turn.since_km)]
    return [_note(_LEFT[Reason(code)])]


def _look(action: Action, facts: Facts, settings: Settings) -> Iterable[Note]:
    if action.has(Reason.SERVICE):
        return [_note(WouldChange.SERVICE_SET, service_km=settings.service_km, days=settings.service_days)]
    over = look_km(facts, settings) / LOOK_SHARE
    out = []
    for p, tire in facts.tires.items():
        if tire.at_limit or tire.near_limit:
            out.append(_note(WouldChange.READ_OVER, position=p, over_mm=facts.limit_mm[p] + NEAR_MM))
        if tire.km_p10 < over:
            out.append(_further(WouldChange.SURELY_FURTHER, p, tire, over_km=over, least_km=tire.km_p10))
    return out


_DUE: Final = (Reason.AT_LIMIT, Reason.NEAR_LIMIT, Reason.DUE, Reason.DUE_IN_WINDOW, Reason.AGE)
_LEFT: Final = {
    Reason.NEAR_LIMIT: WouldChange.NEW_TIRES,
    Reason.REPLACE_FIRST: WouldChange.NEW_TIRES,
    Reason.SIZES_DIFFER: WouldChange.OTHER_TIRES,
    Reason.SIZES_AND_DIRECTION: WouldChange.OTHER_TIRES,
    Reason.AS_ASSUMED: WouldChange.ASSUMED_OTHERWISE,
    Reason.NOT_KNOWN: WouldChange.DEPTHS_READ,
}
_MAKERS: Final[Mapping[Kind, Callable[[Action, Facts, Settings], Iterable[Note]]]] = {
    Kind.INSPECT: _inspect,
    Kind.LEAK: _leak,
    Kind.READ_AGAIN: _again,
    Kind.REPLACE: _replace,
    Kind.CORRECT: _correct,
    Kind.PRESSURE: _pressure,
    Kind.ROTATE: _rotate,
    Kind.LEAVE: _leave,
    Kind.LOOK: _look,
}

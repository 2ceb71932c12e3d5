"""Decisions in words: an action and its reasons as one or two plain sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from tirelife.advice import Action, Decision, Kind, Reason, Scope, Soon
from tirelife.codes import Note, Severity
from tirelife.positions import FRONT, REAR, ROAD
from tirelife.sheet import words
from tirelife.sheet.language import say_all, texts
from tirelife.sheet.quantities import depth, far, label, pressure
from tirelife.units import SHOWN

__all__ = [
    "Said", "action_words", "change_words", "decision_words", "first_words", "lead_words", "place_words",
    "said_of",
]  # fmt: skip

SHOWN_MM: Final = 0.02
"""What a gauge reads wrong is worth a word from here. [mm]"""


def decision_words(decision: Decision, units: str, language: str = "en") -> tuple[str, ...]:
    """Say every action of a decision, most urgent first."""
    return tuple(action_words(action, units, language) for action in decision.actions)


@dataclass(frozen=True)
class Said:
    """A decision in sentences, most urgent first.

    Attributes
    ----------
    urgent, steps : tuple of str
        What cannot wait; what to do next.
    urgent_change, steps_change : tuple of str
        What would change each of them; empty where nothing is known to.
    """

    urgent: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    urgent_change: tuple[str, ...] = ()
    steps_change: tuple[str, ...] = ()


def said_of(decision: Decision, units: str, language: str = "en") -> Said:
    """Say what cannot wait and what to do next, each with what would change it."""
    urgent = [a for a in decision.actions if a.severity is Severity.URGENT]
    steps = [a for a in decision.actions if a.severity is not Severity.URGENT]
    return Said(
        *(tuple(action_words(a, units, language) for a in some) for some in (urgent, steps)),
        *(tuple(change_words(a, units, language) for a in some) for some in (urgent, steps)),
    )


def first_words(decision: Decision, language: str = "en") -> str:
    """Say which tire is due first, or that several are as likely; empty where it is not known."""
    say = texts(language)
    if not decision.first:
        return ""
    code = "first-one" if len(decision.first) == 1 else "first-tie"
    return say[code].format(where=place_words(decision.first, say))


def lead_words(
    decision: Decision,
    dates: tuple[pd.Timestamp, pd.Timestamp],
    km: tuple[float, float],
    units: str,
    language: str = "en",
) -> str:
    """Say the answer in one breath.

    Parameters
    ----------
    decision : Decision
    dates : tuple of Timestamp
        80 % range of the date at which the first tire of the set is due.
    km : tuple of float
        The same as distance from now. [km]
    units, language : str
    """
    say = texts(language)
    now = [a for a in decision.of(Kind.REPLACE) if a.soon is Soon.NOW]
    if now:
        due = tuple(str(n.value("position")) for n in now[0].reasons if _is_due(n))
        return say["lead-due"].format(where=place_words(due, say))
    if pd.isna(dates[0]) or pd.isna(dates[1]):
        return say["lead-unknown"]
    unit = label(SHOWN[units]["distance"], say)
    out = say["lead"].format(
        when=words.window(*dates, decision.as_of, say),
        far=words.distance_range(*km, units, say).removesuffix(f" {unit}"),
        unit=unit,
    )
    return f"{out} {first_words(decision, language)}".rstrip()


def action_words(action: Action, units: str, language: str = "en", *, brief: bool = False) -> str:
    """Say one action with its reasons.

    Parameters
    ----------
    action : Action
    units : str
    language : str
    brief : bool
        Leave out why other tires go with those that are due.

    Examples
    --------
    >>> from tirelife.codes import Severity
    >>> why = Note(Reason.AS_USUAL, Severity.NOTE, (("since_km", 9656.0), ("every_km", 8047.0)))
    >>> action_words(Action(Kind.ROTATE, Severity.NOTE, reasons=(why,)), "us")
    'Rotate the tires: 6,000 miles since the last time.'
    """
    say = texts(language)
    if brief and action.kind is Kind.REPLACE:
        return _replace_when(action, say)
    return _MAKERS[action.kind](action, units, say)


def change_words(action: Action, units: str, language: str = "en") -> str:
    """Say what would change an action; empty where nothing is known to."""
    said = say_all(action.change, units, language)
    return texts(language)["would-change"].format(what="; ".join(said)) if said else ""


def _inspect(action: Action, units: str, say: Mapping[str, str]) -> str:
    if action.has(Reason.AT_LIMIT):
        read = [
            say["inspect-read"].format(
                where=say[str(n.value("position"))],
                read=_read(_number(n, "read_raw_mm"), _number(n, "read_mm"), units, say),
            )
            for n in action.reasons
            if n.code == Reason.AT_LIMIT
        ]
        limit = depth(_number(action.reasons[0], "limit_mm"), units, say)
        return say["inspect-limit"].format(
            where=place_words(action.positions, say), read=words.joined(read, say["and"]), limit=limit
        )
    code = "inspect-may" if action.has(Reason.MAY_BE_DOWN) else "inspect"
    return say[code].format(where=place_words(action.positions, say))


def _leak(action: Action, units: str, say: Mapping[str, str]) -> str:
    most = max(_number(note, "loss_kpa_per_month") for note in action.reasons)
    return say["leak"].format(where=place_words(action.positions, say), loss=pressure(most, units, say))


def _again(action: Action, units: str, say: Mapping[str, str]) -> str:
    return say["read-again"].format(where=place_words(action.positions, say))


def _replace_when(action: Action, say: Mapping[str, str]) -> str:
    which = set(action.positions)
    if action.scope is Scope.SET:
        what = say["tires-all"]
    elif which == set(FRONT):
        what = say["tires-front"]
    elif which == set(REAR):
        what = say["tires-rear"]
    else:
        what = say["tires-some"].format(where=place_words(action.positions, say))
    if action.soon is Soon.NOW:
        return say["replace-now"].format(what=what)
    if action.soon is Soon.BEFORE_NEXT_LOOK:
        return say["replace-soon"].format(what=what)
    if action.window is None or action.as_of is None:
        return say["replace-plan"].format(what=what)
    when = words.window(*action.window, action.as_of, say)
    return say["replace-window"].format(what=what, when=when)


def _replace(action: Action, units: str, say: Mapping[str, str]) -> str:
    out = _replace_when(action, say)
    for note in action.reasons:
        if note.code in (Reason.MATCH_AXLE, Reason.MATCH_DRIVE):
            values = {
                "where": say[str(note.value("position"))],
                "apart": depth(_number(note, "apart_mm"), units, say),
            }
            out += " " + say[f"replace-{note.code.value}"].format(**values)
        elif note.code in (Reason.ALL_DUE, Reason.DEEPER_TO_REAR, Reason.AGE):
            said = say[f"replace-{note.code.value}"]
            out += f" {said}" if said not in out else ""
    return out


def _correct(action: Action, units: str, say: Mapping[str, str]) -> str:
    why = action.reasons[0]
    said = {"where": place_words(action.positions, say)}
    if why.code == Reason.DRIVE_APART:
        said["apart"] = depth(_number(why, "apart_mm"), units, say)
    return say[f"step-{str(why.value('step')).replace(' ', '-')}"].format(**said)


def _set_pressure(action: Action, units: str, say: Mapping[str, str]) -> str:
    if action.has(Reason.NOT_KNOWN):
        return say["pressure-unknown"]
    why = action.reasons[0]
    code = "pressure" if why.value("placard_stated") else "pressure-unstated"
    code = "pressure-assumed" if why.value("assumed") else code
    return say[code].format(low=pressure(_number(action.reasons[0], "low_kpa"), units, say))


def _rotate(action: Action, units: str, say: Mapping[str, str]) -> str:
    last = action.reasons[-1]
    if last.code == Reason.LENGTHENS:
        gain = _number(last, "rotate_km") - _number(last, "stay_km")
        out = say["rotate-lengthens"].format(far=far(gain, units, say))
    elif last.code == Reason.AS_ASSUMED:
        out = say["rotate-as-assumed"].format(far=far(_number(last, "every_km"), units, say))
    else:
        since = _number(last, "since_km")
        known = np.isfinite(since)
        out = say["rotate-as-usual"].format(far=far(since, units, say)) if known else say["rotate"]
    if action.has(Reason.CORRECT_FIRST):
        return say["rotate-after"] + out[:1].lower() + out[1:]
    return out


def _leave(action: Action, units: str, say: Mapping[str, str]) -> str:
    note = action.reasons[0]
    if note.code == Reason.NEAR_LIMIT:
        places = tuple(str(n.value("position")) for n in action.reasons)
        return say["leave-near-limit"].format(where=place_words(places, say))
    if note.code == Reason.SHORTENS:
        ways = {name: far(_number(note, f"{name}_km"), units, say) for name in ("stay", "rotate")}
        return say["leave-shortens"].format(**ways)
    if note.code == Reason.AS_ASSUMED:
        gain = _number(note, "rotate_km") - _number(note, "stay_km")
        return say["leave-as-assumed" + ("" if gain > 0 else "-same")].format(far=far(gain, units, say))
    if note.code == Reason.NOT_DUE:
        values = {n: far(_number(note, f"{n}_km"), units, say) for n in ("since", "every")}
        return say["leave-not-due"].format(**values)
    return say[f"leave-{note.code.value}"]


def _look(action: Action, units: str, say: Mapping[str, str]) -> str:
    note = action.reasons[0]
    days = _number(note, "days")
    return say[f"look-{note.code.value}"].format(span=_span(days, say))


_MAKERS: Final = {
    Kind.INSPECT: _inspect,
    Kind.LEAK: _leak,
    Kind.READ_AGAIN: _again,
    Kind.REPLACE: _replace,
    Kind.CORRECT: _correct,
    Kind.PRESSURE: _set_pressure,
    Kind.ROTATE: _rotate,
    Kind.LEAVE: _leave,
    Kind.LOOK: _look,
}


def _is_due(note: Note) -> bool:
    """Whether a reason for a replacement names a tire that is down now."""
    if note.code in (Reason.NEAR_LIMIT, Reason.DUE):
        return _number(note, "km_p50") <= 0
    return note.code == Reason.AT_LIMIT


def _read(raw_mm: float, corrected_mm: float, units: str, say: Mapping[str, str]) -> str:
    """Say a depth as read, and less its gauge's bias where that shows."""
    if not abs(raw_mm - corrected_mm) > SHOWN_MM:
        return depth(corrected_mm, units, say)
    return say["as-read"].format(raw=depth(raw_mm, units, say), corrected=depth(corrected_mm, units, say))


def _number(note: Note, name: str) -> float:
    return float(str(note.value(name)))


def place_words(positions: tuple[str, ...], say: Mapping[str, str]) -> str:
    """Say which tires, by name or as a pair or all four."""
    which = set(positions)
    for name, axle in (("front-pair", FRONT), ("rear-pair", REAR)):
        if which == set(axle):
            return say[name]
    if which == set(ROAD):
        return say["all-four"]
    return words.joined([say[p] for p in positions], say["and"])


def _span(days: float, say: Mapping[str, str]) -> str:
    for length, name in ((30.4375, "months"), (7.0, "weeks")):
        count = int(days / length + 0.25)
        if count >= 2:
            return say[f"{name}-many"].format(n=count)
        if count == 1 and name == "months":
            return say["months-one"]
    return say["weeks-one"] if days >= 4 else say["days-few"]

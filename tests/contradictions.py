"""What no answer about one vehicle may say: places of it that disagree on depth, miles, order, urgency or advice."""

from __future__ import annotations

import numpy as np
import pandas as pd

from tirelife.advice import Decision, Facts, Kind, Reason, Soon
from tirelife.advice.facts import Settings
from tirelife.codes import Severity
from tirelife.sheet.language import say
from tirelife.sheet.language.decisions import decision_words, lead_words
from tirelife.sheet.quantities import far_within
from tirelife.sheet.words import distance_range


def contradictions(facts: Facts, decision: Decision, units: str = "us") -> list[str]:
    """Sentences that name each disagreement; none where all agrees."""
    out = []
    down = set(facts.where(lambda t: t.at_limit))
    worn = down | set(facts.where(lambda t: t.near_limit))
    turn, stay, change = (decision.of(kind) for kind in (Kind.ROTATE, Kind.LEAVE, Kind.REPLACE))
    look = decision.of(Kind.LOOK)
    if len(turn) + len(stay) != 1 or len(look) != 1:
        out.append("not one word on rotation, or on the next look")
    if worn and turn:
        out.append(f"rotate, with {worn} at or near the limit")
    if change and turn:
        out.append("rotate and replace")
    if worn and not worn <= set(change[0].positions if change else ()):
        out.append(f"{worn} at or near the limit, and not all replaced")
    if down and (decision.headline.kind is not Kind.INSPECT or set(decision.headline.positions) != down):
        out.append(f"{down} at the limit, and {decision.headline.kind} first")
    if any(facts.tires[p].km_p90 > 0 for p in down):
        out.append("distance left in a tire at its limit")
    gone = {p for p, t in facts.tires.items() if t.km_p50 <= 0}
    if gone and (not change or change[0].soon is not Soon.NOW or not gone <= set(change[0].positions)):
        out.append(f"{gone} down by the middle, and not replaced now")
    severities = [action.severity for action in decision.actions]
    if severities != sorted(severities, reverse=True):
        out.append("not in order of urgency")
    out += _words(facts, decision, units)
    days = (look[0].by - facts.as_of).days if look and look[0].by is not None else np.inf
    if not 0 <= days <= Settings().service_days:
        out.append(f"the next look comes after {days} days")
    due = change[0] if change else None
    if due is not None and due.soon is not Soon.NOW and due.by is not None and look[0].by > due.by:
        out.append("the next look comes after a tire may be down")
    return out


def _words(facts: Facts, decision: Decision, units: str) -> list[str]:
    """Sentences of one page against one another."""
    out = []
    window = facts.window or (pd.NaT, pd.NaT)
    km = [t.km_p10 for t in facts.tires.values()], [t.km_p90 for t in facts.tires.values()]
    lead = lead_words(decision, window, (float(np.min(km[0])), float(np.min(km[1]))), units)
    said = decision_words(decision, units)
    change = decision.of(Kind.REPLACE)
    now = bool(change) and change[0].soon is Soon.NOW
    if (
        lead.startswith("Due now") != now
        or any(" now." in s and s.startswith("Replace") for s in said) != now
    ):
        out.append(f"{lead!r} above {said[0]!r}")
    for sentence in said:
        if sentence.startswith("Plan to replace") and " between " in sentence and change[0].window == window:
            when = sentence.split(". ")[0].split(" between ")[1].rstrip(".")
            if when not in lead:
                out.append(f"{lead!r} beside {sentence!r}")
    for note in (n for a in decision.actions for n in a.change if "spread_km" in dict(n.values)):
        tire, values = facts.tires[str(note.value("position"))], dict(note.values)
        shown = distance_range(tire.km_p10, tire.km_p90, units)
        figure = (
            shown.split()[0]
            if "least_km" in values
            else far_within(tire.km_p50, units, tire.km_p90 - tire.km_p10)
        )
        words = say(note, units)
        # What is shown as the very distance that would change it is said to be just under that.
        if f"now {figure} " not in words and not (f"over {figure} " in words and "(now just under" in words):
            out.append(f"{words!r} beside {shown}")
    urgent = [a for a in decision.actions if a.severity is Severity.URGENT]
    if urgent and not (
        urgent[0].kind in (Kind.INSPECT, Kind.LEAK, Kind.REPLACE) or urgent[0].has(Reason.AT_LIMIT)
    ):
        out.append("urgent for no reason that is")
    known = {p: c for p, c in facts.first_chance.items() if np.isfinite(c)}
    if known and max(known, key=lambda p: known[p]) not in decision.first:
        out.append(f"first due {decision.first}, by chances {known}")
    return out

"""What a command says of what to do: the decision on a vehicle, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import CheckFirst, Decision, FleetDecisions
    from tirelife.logbook import Logbook
    from tirelife.outlook import Otherwise
    from tirelife.rates import WearFit

__all__ = ["changed_lines", "decided", "decision_rows", "headline_lines"]


def decided(
    book: Logbook,
    fit: WearFit,
    vehicle: str,
    removal_depth_mm: float | pd.Series,
    checks: Sequence[CheckFirst] | None = None,
) -> list[dict[str, str]]:
    """Actions of one vehicle's decision, most urgent first: their kind, and the sentence.

    ``checks``: what the tread's pattern asks for, if it is known better than from the readings alone.
    """
    from tirelife.advice import fleet_decisions

    given = None if checks is None else {vehicle: checks}
    found = fleet_decisions(book, fit, [vehicle], removal_depth_mm=removal_depth_mm, checks=given).decisions
    return decision_rows(found[vehicle], book.units) if vehicle in found else []


def decision_rows(decision: Decision, units: str) -> list[dict[str, str]]:
    """Actions of a decision as rows of a JSON answer."""
    from tirelife.sheet.language.decisions import action_words

    return [{"do": a.kind.value, "words": action_words(a, units)} for a in decision.actions]


def headline_lines(found: FleetDecisions, units: str) -> list[str]:
    """First thing to do for each vehicle, the most urgent vehicle first."""
    from tirelife.sheet.language.decisions import action_words

    said = {v: action_words(d.headline, units, brief=True) for v, d in found.decisions.items()}
    return [f"  {vehicle}: {said[vehicle]}" for vehicle in found.by_urgency()]


def changed_lines(
    book: Logbook,
    fit: WearFit,
    changes: Iterable[Otherwise],
    vehicles: Sequence[str] | None,
    removal_depth_mm: float | pd.Series,
) -> list[str]:
    """First thing to do for each vehicle as things are, and what of the decision a change would alter."""
    from tirelife.advice import decisions_otherwise, fleet_decisions

    now = fleet_decisions(book, fit, vehicles, removal_depth_mm=removal_depth_mm)
    was = _sentences(now, book.units)
    then = {
        change.name: _sentences(
            decisions_otherwise(book, fit, change, vehicles, removal_depth_mm=removal_depth_mm), book.units
        )
        for change in changes
    }
    lines = []
    for vehicle in now.by_urgency():
        lines.append(f"  {vehicle}: {was[vehicle][0]}")
        for name, said in then.items():
            other = [sentence for sentence in said.get(vehicle, []) if sentence not in was[vehicle]]
            lines += [f"    {name}: {' '.join(other)}"] if other else []
    return lines


def _sentences(found: FleetDecisions, units: str) -> Mapping[str, list[str]]:
    return {v: [row["words"] for row in decision_rows(d, units)] for v, d in found.decisions.items()}

"""What a command says of what to do: the decision on a vehicle, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from tirelife.advice import fleet_decisions
from tirelife.positions import ROAD
from tirelife.sheet.language import action_words, change_words, decision_words, say
from tirelife.terminal.values import note_row

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import Action, CheckFirst, Decision, FleetDecisions
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = [
    "DECISION_COLUMNS",
    "all_rows",
    "changed_lines",
    "decided",
    "decision_rows",
    "headline_lines",
    "long_lines",
    "with_changed",
    "with_decisions",
]

DECISION_COLUMNS: Final = ("do", "do_severity", "do_words")
"""Columns of a table of tires that say what to do."""


def decided(
    book: Logbook,
    fit: WearFit,
    vehicle: str,
    removal_depth_mm: float | pd.Series,
    checks: Sequence[CheckFirst] | None = None,
) -> list[dict[str, Any]]:
    """Actions of one vehicle's decision; see :func:`decision_rows`.

    ``checks``: what the tread's pattern asks for, if it is known better than from the readings alone.
    """
    given = None if checks is None else {vehicle: checks}
    found = fleet_decisions(book, fit, [vehicle], removal_depth_mm=removal_depth_mm, checks=given).decisions
    return decision_rows(found[vehicle], book.units) if vehicle in found else []


def decision_rows(decision: Decision, units: str) -> list[dict[str, Any]]:
    """Actions of a decision as rows of a JSON answer, most urgent first.

    Each has its kind (``do``), the sentence (``words``), ``severity``, ``positions`` (none: the whole
    vehicle), ``when``, ``scope``, ``by`` and ``window``; ``why`` and ``would_change`` are codes with their
    arguments in the logbook's units, and what would change the action has its words too,
    one by one and as a sentence.
    """
    return [_row(action, units) for action in decision.actions]


def _row(action: Action, units: str) -> dict[str, Any]:
    return {
        "do": action.kind.value,
        "words": action_words(action, units),
        "severity": action.severity.name.lower(),
        "positions": list(action.positions),
        "when": action.soon.value,
        "scope": None if action.scope is None else action.scope.value,
        "by": _day(action.by),
        "window": None if action.window is None else [_day(day) for day in action.window],
        "why": [note_row(note, units) for note in action.reasons],
        "would_change": [note_row(note, units) | {"words": say(note, units)} for note in action.change],
        "would_change_words": change_words(action, units),
    }


def _day(day: pd.Timestamp | None) -> str | None:
    return None if day is None or day != day else f"{day:%Y-%m-%d}"


def long_lines(rows: Sequence[Mapping[str, Any]], numbered: bool = False) -> list[str]:
    """Rows of a decision as lines for people, each with what would change it."""
    lines = []
    for i, row in enumerate(rows, start=1):
        head = f"  {i}. " if numbered else "  "
        lines.append(head + row["words"])
        lines += [" " * len(head) + row["would_change_words"]] if row["would_change_words"] else []
    return lines


def all_rows(found: FleetDecisions, units: str) -> dict[str, list[dict[str, Any]]]:
    """Every vehicle's actions as rows of a JSON answer, the most urgent vehicle first."""
    return {vehicle: decision_rows(found.decisions[vehicle], units) for vehicle in found.by_urgency()}


def with_decisions(table: pd.DataFrame, found: FleetDecisions, units: str) -> pd.DataFrame:
    """Put with each tire of a table what to do about it.

    Parameters
    ----------
    table : DataFrame
        With ``vehicle_id`` and ``position``, which may be ``set``.
    found : FleetDecisions
    units : str

    Returns
    -------
    DataFrame
        With ``do`` (codes of the actions that concern the tire or its whole vehicle, most urgent first),
        ``do_severity`` (of the first of them) and ``do_words``; empty for tires that lie in store.
    """
    said = {
        vehicle: [(action, action_words(action, units)) for action in decision.actions]
        for vehicle, decision in found.decisions.items()
    }
    rows = []
    for vehicle, position in zip(table["vehicle_id"], table["position"], strict=True):
        known = said.get(str(vehicle), []) if position in (*ROAD, "set") else []
        mine = [
            (a, words)
            for a, words in known
            if position == "set" or not a.positions or position in a.positions
        ]
        severity = mine[0][0].severity.name.lower() if mine else ""
        rows.append((" ".join(a.kind.value for a, _ in mine), severity, " ".join(words for _, words in mine)))
    columns = dict(zip(DECISION_COLUMNS, zip(*rows, strict=True), strict=True)) if rows else {}
    return table.assign(**{name: list(columns.get(name, ())) for name in DECISION_COLUMNS}).astype(
        dict.fromkeys(DECISION_COLUMNS, "str")
    )


def with_changed(
    table: pd.DataFrame, now: FleetDecisions, then: Mapping[str, FleetDecisions], units: str
) -> pd.DataFrame:
    """Put with each row of a what-if what to do were its change made, and, as ``do_now``, as things are."""
    out = with_decisions(table, now, units).rename(columns={"do": "do_now"})
    told = out.drop(columns=["do_severity", "do_words"]).assign(do="", do_severity="", do_words="")
    for name, found in then.items():
        rows = table["change"] == name
        if rows.any():
            columns = list(DECISION_COLUMNS)
            told.loc[rows, columns] = with_decisions(table[rows], found, units)[columns]
    return told


def headline_lines(found: FleetDecisions, units: str) -> list[str]:
    """First thing to do for each vehicle, the most urgent vehicle first."""
    said = {v: action_words(d.headline, units, brief=True) for v, d in found.decisions.items()}
    return [f"  {vehicle}: {said[vehicle]}" for vehicle in found.by_urgency()]


def changed_lines(now: FleetDecisions, then: Mapping[str, FleetDecisions], units: str) -> list[str]:
    """First thing to do for each vehicle as things are, and what of the decision each change would alter."""
    was = _sentences(now, units)
    other = {name: _sentences(found, units) for name, found in then.items()}
    lines = []
    for vehicle in now.by_urgency():
        lines.append(f"  {vehicle}: {was[vehicle][0]}")
        for name, said in other.items():
            new = [sentence for sentence in said.get(vehicle, []) if sentence not in was[vehicle]]
            lines += [f"    {name}: {' '.join(new)}"] if new else []
    return lines


def _sentences(found: FleetDecisions, units: str) -> Mapping[str, list[str]]:
    return {v: list(decision_words(d, units)) for v, d in found.decisions.items()}

"""A vehicle's record by the package and by the page's script, set side by side."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.sheet.interactive import defaults
from tirelife.sheet.redo import redo
from tirelife.sheet.scripts import script

BARE = f"""<!doctype html><title>bare</title><script>{script("draws", "decide", "changing", "words", "record")[:-6]}
window.tirelife = {{ Draws, Decide, Words, Record }};
}})();</script>"""
"""A page with the pieces and nothing to draw."""
SCRIPT = """([state, settings]) => { const record = tirelife.Record.of(state);
  const number = (v) => (Number.isFinite(v) ? v : null);
  const told = (n) => [n.code, n.severity, Object.fromEntries(Object.entries(n.values).map(([k, v]) =>
    [k, typeof v === "number" ? number(v) : v]))];
  return settings.map((answers) => { const r = record.redo(answers), d = r.decision;
    return { lead: r.lead, urgent: r.urgent, steps: r.steps, notes: r.notes, change: [r.urgentChange, r.stepsChange], first: d.first,
      severity: d.severity, may_rotate: d.may_rotate, km: r.result.overall.km,
      actions: d.actions.map((a) => ({ kind: a.kind, severity: a.severity, positions: a.positions, soon: a.soon,
        change: a.change.map(told), scope: a.scope, by: a.by === null ? null : tirelife.Draws.iso(a.by),
        window: a.window === null ? null : a.window.map(tirelife.Draws.iso),
        reasons: a.reasons.map(told) })),
      changes: r.changes.map((c) => [c.change, c.said, c.after_km]) }; }); }"""
WORDS = ("lead", "urgent", "steps", "change", "notes", "first", "severity", "may_rotate")


def ends(state: dict[str, Any]) -> list[dict[str, Any]]:
    """Every control at both ends of what it offers, one at a time, and where it begins."""
    out: list[dict[str, Any]] = [{}]
    for control in state["controls"]:
        values = (
            [v for _, v in control["options"]] if "options" in control else [control["min"], control["max"]]
        )
        out += [{control["id"]: value} for value in values if value != control["value"]]
    return out


def grid(state: dict[str, Any]) -> list[dict[str, Any]]:
    """Some controls moved together: distance a year, pressure, removal depth, rotation, hard stops."""
    start = defaults(state)
    removals, turns = (
        [v for _, v in c["options"]] for c in state["controls"] if c["id"] in ("removal", "rotation")
    )
    stops = next(c for c in state["controls"] if "stops" in c["id"])
    return [
        {"year": start["year"] * year, "pressure": pressure, "removal": removal, "rotation": turn,
         stops["id"]: stop}
        for i, removal in enumerate(removals)
        for j, turn in enumerate(turns)
        for year, pressure, stop in ((0.5, -4.0, 0.0), (2.0 + i, start["pressure"], stops["max"] / (1 + j)))
    ]  # fmt: skip


def by_package(state: dict[str, Any], answers: dict[str, Any]) -> dict[str, Any]:
    """What :func:`tirelife.sheet.redo.redo` gives, in the shape in which the script is asked."""
    one = redo(state, answers)
    day = lambda d: None if d is None or pd.isna(d) else f"{d:%Y-%m-%d}"  # noqa: E731
    return {
        "lead": one.lead, "urgent": list(one.said.urgent), "steps": list(one.said.steps), "notes": list(one.notes),
        "change": [list(one.said.urgent_change), list(one.said.steps_change)],
        "first": list(one.decision.first), "severity": int(one.decision.severity),
        "may_rotate": one.decision.may_rotate, "km": [_plain(v) for v in one.result["overall"]["km"]],
        "actions": [
            {
                "kind": a.kind.value, "severity": int(a.severity), "positions": list(a.positions),
                "soon": a.soon.value, "scope": a.scope.value if a.scope else None, "by": day(a.by),
                "window": [day(d) for d in a.window] if a.window else None,
                "reasons": [_told(n) for n in a.reasons],
                "change": [_told(n) for n in a.change],
            }
            for a in one.decision.actions
        ],
        "changes": one.changes[["change", "said", "after_km"]].to_numpy(object).tolist(),
    }  # fmt: skip


def unlike(said: dict[str, Any], told: dict[str, Any]) -> list[str]:
    """Where the script and the package differ: names of what does, with both."""
    out = [f"{name}: {said[name]!r} and {told[name]!r}" for name in WORDS if said[name] != told[name]]
    for name in ("km", "actions", "changes"):
        if not _close(said[name], told[name]):
            out.append(f"{name}: {said[name]!r} and {told[name]!r}")
    return out


def _told(note: Note) -> list[Any]:
    return [note.code.value, int(note.severity), {k: _plain(v) for k, v in note.values}]


def _plain(value: Any) -> Any:
    if isinstance(value, Severity):
        return int(value)
    if isinstance(value, bool) or not isinstance(value, float | int):
        return value
    return float(value) if math.isfinite(value) else None


def _close(one: Any, other: Any) -> bool:
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(_close(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_close(one[k], other[k]) for k in one)
    if isinstance(one, float | int) and isinstance(other, float | int):
        return math.isclose(one, other, rel_tol=1e-7, abs_tol=1e-9)
    return bool(one == other)

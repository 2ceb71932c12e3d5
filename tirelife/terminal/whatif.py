"""What changes would buy, as data in the logbook's units and as a table for a reader."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from tirelife.errors import misused
from tirelife.logbook import told_amount, told_depth
from tirelife.outlook import Otherwise
from tirelife.sheet import rounded
from tirelife.terminal.decision import changed_lines
from tirelife.terminal.table import Column, place, signed_span, table, unit_of
from tirelife.terminal.wrong import Wrong
from tirelife.units import SHOWN, convert, shown
from tirelife.wear import Change

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import FleetDecisions

__all__ = ["changes_of", "whatif_data", "whatif_text"]

EVENTS: Final = ("starts", "stops", "turns")


def whatif_data(found: pd.DataFrame, units: str) -> pd.DataFrame:
    """What-ifs in the logbook's units, in values and names.

    Added is ``told_apart``: whether the middle 80 % of a gain's draws lie on one side of 0.
    """
    low, high = found["km_gained_p10"], found["km_gained_p90"]
    out = shown(found.assign(told_apart=(low > 0) | (high < 0)), units)
    return out.rename(columns=lambda name: name.replace("mi_gained", "miles_gained"))


def whatif_text(
    found: pd.DataFrame,
    units: str,
    now: FleetDecisions | None = None,
    then: Mapping[str, FleetDecisions] | None = None,
) -> str:
    """A row a tire and change: gains in distance and months, 8 chances in 10; above it the decisions.

    Parameters
    ----------
    found : DataFrame
        From :func:`tirelife.outlook.what_ifs`.
    units : str
    now : FleetDecisions, optional
        As things are.
    then : mapping of FleetDecisions, optional
        By the name of a change, were it made.
    """
    head = []
    if now is not None and then is not None:
        first = "What to do first, and what a change would alter of what to do"
        head = [first, *changed_lines(now, then, units), ""]
    if found.empty:
        return "\n".join([*head, "nothing to compare: no tire with a distance left"])
    low, middle, high = (
        convert(found[f"km_gained_{p}"], "km", SHOWN[units]["distance"]) for p in ("p10", "p50", "p90")
    )
    spans = list(zip(low, high, strict=True))
    gains = [_signed(rounded(m, b - a), 0) for m, (a, b) in zip(middle, spans, strict=True)]
    columns = [
        Column("vehicle", found["vehicle_id"].astype(str).tolist()),
        Column("tire", [place(p) for p in found["position"]]),
        Column("change", found["change"].astype(str).tolist()),
        Column(f"gains,\n{unit_of('distance', units)}", gains, right=True),
        Column("\n8 times in 10", [signed_span(a, b) for a, b in spans]),
        Column("", [_apart(a, b) for a, b in spans]),
        Column("gains,\nmonths", [_signed(m, 1) for m in found["months_gained_p50"]], right=True),
    ]
    return "\n".join([*head, table(columns)])


def _apart(low: float, high: float) -> str:
    """Say where a gain is none, or smaller than what is not known of it."""
    if low == high == 0:
        return "none"
    return "too small to tell" if low <= 0 <= high else ""


def _signed(value: float, digits: int) -> str:
    """A gain with its sign; empty where it is not known."""
    if value != value:
        return ""
    return f"{value:+,.{digits}f}" if abs(value) >= 0.5 * 10**-digits else "0"


def changes_of(told: Mapping[str, Any]) -> list[Otherwise]:
    """Changes by the names that people give them, one each, or all as one where ``together`` is told.

    Parameters
    ----------
    told : mapping
        Options of ``tirelife whatif`` by their names: ``stops`` 0.8, ``slower`` "5mph", ``off_at`` "4/32".

    Raises
    ------
    InputError
        If none is asked for, or an amount cannot be read.
    """
    worn: list[tuple[str, dict[str, Any]]] = []
    if told.get("pressures_kept"):
        worn.append(("pressures at the placard", {"pressure_kept": True}))
    if told.get("wheels_straight"):
        worn.append(("wheels set straight", {"front_toe_mm": 0.0, "rear_toe_mm": 0.0}))
    for event in EVENTS:
        factor = told.get(event)
        if factor is not None:
            if not 0.1 <= factor <= 10:
                raise misused(Wrong.FACTOR, name=event, given=f"{factor:g}")
            worn.append((f"{event} at {factor:g} of the acceleration", {event: factor}))
    if told.get("top_speed") and told.get("slower"):
        raise misused(Wrong.ONE_SPEED)
    for said, name, field in (
        ("no faster than {}", "top_speed", "cap_mps"),
        ("{} slower above 55 mph", "slower", "by_mps"),
    ):
        if given := told.get(name):
            worn.append((said.format(given), {field: _amount(name, given, "speed")}))
    other: list[tuple[str, dict[str, Any]]] = []
    for said, name, field, kind in (
        ("rotation every {}", "rotate_every", "rotation_km", "distance"),
        ("{} a year", "a_year", "km_per_year", "distance"),
        ("removal at {}", "off_at", "removal_depth_mm", ""),
    ):
        if given := told.get(name):
            amount = _amount(name, given, kind) if kind else told_depth(given)
            other.append((said.format(given), {field: amount}))
    out = [Otherwise(name, wear=Change(name, **what)) for name, what in worn]
    out += [Otherwise(name, **what) for name, what in other]
    if not out:
        raise misused(Wrong.NO_CHANGE)
    if not told.get("together"):
        return out
    name = ", ".join(change.name for change in out)
    both = Change(name, **{k: v for _, what in worn for k, v in what.items()}) if worn else None
    return [replace(Otherwise(name, wear=both), **{k: v for _, w in other for k, v in w.items()})]


def _amount(name: str, given: str, kind: str) -> float:
    return told_amount(f"--{name.replace('_', '-')}", given, kind)

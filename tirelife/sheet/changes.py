"""What each change would buy: the same sums as the sliders, with the range that the model of wear allows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook import CORRECTIONS, gain_factors
from tirelife.positions import ROAD
from tirelife.sheet import words
from tirelife.sheet.drawing import LEAST_KM
from tirelife.sheet.interactive import defaults, gap_log_sd, parts, recompute
from tirelife.sheet.language import texts
from tirelife.units import convert
from tirelife.wear import CAUSES, Change

if TYPE_CHECKING:
    from tirelife.wear import Change, Conditions

__all__ = ["COLUMNS", "change_rows", "change_state", "offered"]

COLUMNS: Final = ["change", "before_km", "after_km", "after_low_km", "after_high_km", "days", "said"]
Z80: Final = 1.2816
TOE_MM: Final = 1.5
"""Total toe from which setting the wheels straight is offered; our choice. [mm]"""
SHOWN_ROWS: Final = 6
LOW: Final = 1.005
"""Wear by low pressure from which keeping it up is offered; our choice."""

SLOWER: Final = {"us": "5 mph", "metric": "8 km/h"}
CORRECTED: Final = dict(
    zip(CORRECTIONS, ("change-pressure-right", "change-toe-right", "change-camber-right"), strict=True)
)
"""Corrections of a pattern, and the codes of their words."""
SAME: Final = {"change-placard": "change-pressure-right", "change-straight": "change-toe-right"}
"""Changes that the log's own figures call for, and the correction of a pattern that would be the same."""


def offered(now: Conditions) -> list[Change]:
    """Changes worth showing to the driver of one vehicle, named by the codes of their words."""
    out = []
    if float(np.mean(now.pressure)) > LOW:
        out.append(Change("change-placard", pressure_kept=True))
    if max(abs(now.front_toe_mm), abs(now.rear_toe_mm)) > TOE_MM:
        out.append(Change("change-straight", front_toe_mm=0.0, rear_toe_mm=0.0))
    out += [
        Change("change-starts", starts=0.8),
        Change("change-stops", stops=0.8),
        Change("change-turns", turns=0.81),
        Change("change-slower", by_mps=convert(5.0, "mph", "mps")),
    ]
    return out


def change_state(
    state: Mapping[str, Any],
    now: Conditions,
    corrections: pd.DataFrame | None = None,
    say: Mapping[str, str] | None = None,
) -> tuple[list[dict[str, Any]], list[tuple[str, str]]]:
    """What each change does to wear, as numbers and text that a page can carry.

    Parameters
    ----------
    state : mapping
        From :func:`tirelife.sheet.assume.slider_state`.
    now : Conditions
        What the tires are taken to go on with.
    corrections : DataFrame, optional
        This vehicle's rows of :func:`tirelife.outlook.correction_ratios`: what the tread's pattern shows.
        What is offered by the log's pressures or measured toe as well is not said twice.
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

    Returns
    -------
    changes : list of dict
        Each with ``name`` and ``kind``. Of a change in driving, toe or pressure (kind wear, pressure):
        ``parts``, by position what each cause is multiplied by, in the order of the state's weights. Of a
        correction: ``wear``, by position what wear is multiplied by in the middle and at the two ends of its
        80 % range, the lesser gain first. ``rest``: what the control of pressure leaves out of its part.
    turns : list of (str, str)
        Rotations that are offered: in words, and the setting of the control.
    """
    say = say or texts()
    before = now.severity()[list(CAUSES)].to_numpy(float)
    straight, start = [1.0] * (len(CAUSES) - 1), defaults(state)
    # The control of pressure begins at the step nearest to what was recorded.
    rest = {p: float(before[i, -1] - parts(state, p, start)[-1]) for i, p in enumerate(ROAD)}
    kept = {p: [*straight, 0.0] for p in ROAD}
    out: list[dict[str, Any]] = [
        {"name": say["change-placard"], "kind": "pressure", "parts": kept, "rest": rest}
    ]
    changes = offered(now)
    for change in changes:
        if change.pressure_kept:
            continue
        after = now.after(change).severity()[list(CAUSES)].to_numpy(float)
        times = np.divide(after, before, out=np.ones_like(after), where=before != 0)
        parts_of = {p: [float(v) for v in row] for p, row in zip(ROAD, times, strict=True)}
        name = say[change.name].format(speed=SLOWER[state["units"]])
        out.append({"name": name, "kind": "wear", "parts": parts_of})
    if corrections is not None and len(corrections):
        told = {SAME.get(change.name) for change in changes}
        code = corrections["change"].map(CORRECTED)
        out += _corrected(corrections.assign(change=code)[~code.isin(told)], say)
    options = next(c["options"] for c in state["controls"] if c["id"] == "rotation")
    return out, [
        (say["change-rotate"].format(every=said), name)
        for said, name in options
        if name not in ("log", "none")
    ]


def change_rows(
    state: Mapping[str, Any], answers: Mapping[str, Any] | None = None, *, may_rotate: bool = True
) -> pd.DataFrame:
    """Distance left in the set before and after each change, and after each rotation that is offered.

    Parameters
    ----------
    state : mapping
        From :func:`tirelife.sheet.assume.slider_state`, with its record.
    answers : mapping, optional
        Where controls stand that were moved.
    may_rotate : bool
        Whether rotating is among what is offered: not where the decision stands against it.

    Returns
    -------
    DataFrame
        :data:`COLUMNS`: middle of the distance left in the first tire of the set; 80 % range of what it is
        after, from how surely wear is known to answer; days gained; the gain in words. The largest gains
        first, :data:`SHOWN_ROWS` at the most; of the rotations only the best.

    Notes
    -----
    A change multiplies its causes' parts of wear as it would as things are, whatever the controls have made
    of them; its range is that of :func:`tirelife.wear.ratio_of`.
    """
    record, now = state["record"], {**defaults(state), **(answers or {})}
    before, units, say = recompute(state, now), state["units"], texts(record["language"])
    rows: list[list[Any]] = []
    if not before["first"]:
        return pd.DataFrame(rows, columns=COLUMNS)
    for change in record["changes"]:
        if change["kind"] == "pressure" and _low(state, change, now) <= LOW:
            continue
        middle, low, high = (
            recompute(state, now, _wear_after(state, change, now, side)) for side in range(3)
        )
        if change["kind"] == "correction" and high["overall"]["km"][2] <= LOW * before["overall"]["km"][2]:
            continue
        rows.append(_row(change["name"], before, middle, low, high, units, say))
    turned = []
    for said, name in record["turns"]:
        if may_rotate and name != now["rotation"]:
            after = recompute(state, {**now, "rotation": name})
            turned.append(_row(said, before, after, after, after, units, say))
    rows += sorted(turned, key=_largest_first)[:1]
    return pd.DataFrame(sorted(rows, key=_largest_first)[:SHOWN_ROWS], columns=COLUMNS)


def _largest_first(row: list[Any]) -> float:
    """Sort by gain, the largest first; what differs by less than a metre keeps the order of offer."""
    return -float(np.floor(row[2] * 1000 + 0.5))


def _wear_after(
    state: Mapping[str, Any], change: Mapping[str, Any], now: Mapping[str, Any], side: int
) -> dict[str, float]:
    """Wear at each wheel over that before a change; side 0 is the middle, 1 the lesser gain, 2 the larger."""
    if "wear" in change:
        return {p: change["wear"][p][side] for p in ROAD}
    out = {}
    for p in ROAD:
        before = _before(state, change, p, now)
        after = before * np.array(change["parts"][p])
        sd = gap_log_sd(state, before, after)
        out[p] = float(after.sum() / before.sum() * np.exp((0, Z80, -Z80)[side] * sd))
    return out


def _before(
    state: Mapping[str, Any], change: Mapping[str, Any], position: str, now: Mapping[str, Any]
) -> NDArray[np.float64]:
    """What each cause takes before a change; pressure with what its control's step leaves out."""
    out = parts(state, position, now)
    out[-1] += change.get("rest", {}).get(position, 0.0)
    return out


def _low(state: Mapping[str, Any], change: Mapping[str, Any], now: Mapping[str, Any]) -> float:
    """Wear as pressures are set over that at the placard, the mean of the wheels."""
    every = [_before(state, change, p, now) for p in ROAD]
    return float(np.mean([of.sum() / of[:-1].sum() for of in every]))


def _corrected(corrections: pd.DataFrame, say: Mapping[str, str]) -> list[dict[str, Any]]:
    """What a cause put right does to wear: at the chances of 1, 5 and 9 in 10."""
    out: list[dict[str, Any]] = []
    for name, wheels in corrections.groupby("change", sort=False):
        factors = pd.DataFrame(gain_factors(wheels, np.array([0.5, 0.1, 0.9])), index=wheels["position"])
        wear = (1 / factors).reindex(list(ROAD)).fillna(1.0)
        times = {str(p): [float(v) for v in row] for p, row in zip(wear.index, wear.to_numpy(), strict=True)}
        out.append({"name": say[str(name)], "kind": "correction", "wear": times})
    return out


def _row(
    name: str, before: Any, after: Any, low: Any, high: Any, units: str, say: Mapping[str, str]
) -> list[Any]:
    """What is gained is the middle of the gain draw by draw, as :func:`tirelife.outlook.what_if` has it."""

    def gained(case: Any, what: str) -> float:
        return float(np.median(case["overall"][what] - before["overall"][what]))

    begin = float(before["overall"]["km"][2])
    gains = [gained(case, "km_drawn") for case in (after, low, high)]
    days = gained(after, "days_drawn")
    said = words.difference(gains[0], days, units, say)
    if gains[0] >= LEAST_KM > min(gains):
        said = say["gain-unsure"].format(gain=words.difference(gains[0], np.nan, units, say))
    return [name, begin, *(begin + gain for gain in gains), days, said]

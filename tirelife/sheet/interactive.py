"""The sliders: one small closed form, worked out alike here and in the page's own script.

Moving a control changes the wear per distance of each wheel by a ratio that is linear in the plain answers,
times the factor of pressure. The distance on the present axle goes with one over that ratio; the rotations
ahead and the step to dates are those of ``outlook``. Removal depth changes the distance itself, so each of
its settings carries quantiles worked out beforehand. ``page.js`` does the same sums; the browser tests
compare the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from tirelife.outlook.crossing import PROBABILITIES
from tirelife.outlook.dates import HORIZON_YEARS, replacement_dates
from tirelife.outlook.rotation_ahead import through_rotations
from tirelife.outlook.sets import NODES, WEIGHTS, first_due
from tirelife.rates.mileage import DRIFT_LOG_SD

__all__ = ["CONSTANTS", "controls_html", "defaults", "ratio", "recompute"]

OTHER_AXLE: Final = {"LF": "LR", "RF": "RR", "LR": "LF", "RR": "RF"}
CONSTANTS: Final = {
    "z": [float(z) for z in ndtri(np.array(PROBABILITIES))],
    "horizon_days": HORIZON_YEARS * 365.25,
    "drift_log_sd": DRIFT_LOG_SD,
    "p": list(PROBABILITIES),
    "nodes": [float(node) for node in NODES],
    "node_weights": [float(weight) for weight in WEIGHTS],
}
"""What the script needs of ``outlook``'s constants."""


def defaults(state: Mapping[str, Any]) -> dict[str, Any]:
    """Where every control stands to begin with: by id, in the units shown."""
    return {control["id"]: control["value"] for control in state["controls"]}


def recompute(
    state: Mapping[str, Any], answers: Mapping[str, Any], ratios: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Distances and dates under other assumptions.

    Parameters
    ----------
    state : mapping
        ``Answer.sliders``.
    answers : mapping
        Control id to value, in the units shown; a control left out stays where it began. Shares of speed need
        not sum to 100; only their proportions count.
    ratios : mapping of str to float, optional
        Wear per distance over what it was, by position, in place of what the answers give.

    Returns
    -------
    dict
        ``tires``: position to ``km`` (five quantiles: 10, 25, 50, 75, 90 %) and ``dates`` (Timestamps);
        ``overall``: the same for the first tire of the set; ``first``: its position.

    Notes
    -----
    The set is due with the first of its tires, which lean together as far as they share a car:
    see :func:`tirelife.outlook.sets.first_due`.
    """
    now, pace = {**defaults(state), **answers}, state["pace"]
    per_day = pace["km_per_day"] * now["year"] / defaults(state)["year"]
    frame = pd.DataFrame(
        {"km_per_day": [per_day], "log_sd": [pace["log_sd"]], "year_log_sd": [pace["year_log_sd"]]}
    )
    as_of = pd.Series([pd.Timestamp(state["as_of"])])
    tires: dict[str, dict[str, Any]] = {}
    for position, tire in state["tires"].items():
        km = _km(state, position, tire, now, ratios)
        dates, _ = replacement_dates(km[None, :], as_of, frame, PROBABILITIES)
        tires[position] = {"km": km, "dates": [date.iloc[0] for date in dates]}
    known = {position: tire for position, tire in tires.items() if np.isfinite(tire["km"][2])}
    if not known:
        return {"tires": tires, "first": "", "overall": {"km": np.full(5, np.nan), "dates": [pd.NaT] * 5}}
    first = min(known, key=lambda position: float(known[position]["km"][2]))
    together = np.array([[tire["km"] for tire in known.values()]])
    km = first_due(together, np.array([state["shared"]]))[0]
    dates, _ = replacement_dates(km[None, :], as_of, frame, PROBABILITIES)
    return {"tires": tires, "first": first, "overall": {"km": km, "dates": [date.iloc[0] for date in dates]}}


def _km(
    state: Mapping[str, Any],
    position: str,
    tire: Mapping[str, Any],
    now: Mapping[str, Any],
    ratios: Mapping[str, float] | None,
) -> NDArray[np.float64]:
    here, there = (
        ratios[place] if ratios is not None else ratio(state, place, now)
        for place in (position, OTHER_AXLE[position])
    )
    stays = np.array([np.nan if v is None else v for v in tire["km"][now["removal"]]], dtype=float) / here
    due, every = state["rotations"][now["rotation"]][position]
    # A spare that takes its turn rests the set: five tires share the work of four.
    if every is None:
        return np.asarray(stays * tire["spare_factor"])
    turned = through_rotations(
        stays[None, :], np.array([due]), np.array([every]), np.array([tire["other_ratio"] * there / here])
    )
    return np.asarray(turned[0] * tire["spare_factor"])


def ratio(state: Mapping[str, Any], position: str, answers: Mapping[str, Any]) -> float:
    """Wear per distance of one wheel over what it was before any control was moved."""
    was = defaults(state)
    return _wear(state, position, {**was, **answers}) / _wear(state, position, was)


def _wear(state: Mapping[str, Any], position: str, answers: Mapping[str, Any]) -> float:
    weights = state["weights"][position]
    total = sum(float(answers[name]) for name in state["shares"]) or 1.0
    wear = weights["constant"]
    for name in state["shares"]:
        wear += weights[name] * float(answers[name]) / total
    for name in state["events"]:
        wear += weights[name] * float(answers[name])
    pressure = state["pressure"]
    return float(wear * np.interp(float(answers["pressure"]), pressure["at"], pressure["factor"][position]))


def controls_html(state: Mapping[str, Any]) -> str:
    """Set the controls as HTML, in groups; every control has a label, and shows its value."""
    groups: dict[str, list[str]] = {}
    for control in state["controls"]:
        name, label = escape(control["id"]), escape(control["label"])
        if "options" in control:
            options = "".join(
                f'<option value="{escape(str(value))}"{" selected" if value == control["value"] else ""}>'
                f"{escape(said)}</option>"
                for said, value in control["options"]
            )
            field = f'<label for="c-{name}">{label}</label><select id="c-{name}">{options}</select>'
        else:
            field = (
                f'<label for="c-{name}">{label}</label><output id="o-{name}" for="c-{name}"></output>'
                f'<input type="range" id="c-{name}" min="{control["min"]}" max="{control["max"]}" '
                f'step="{control["step"]}" value="{control["value"]}">'
            )
        groups.setdefault(control["group"], []).append(f'<div class="control">{field}</div>')
    sets = "".join(
        f"<fieldset><legend>{escape(group)}</legend>{''.join(fields)}</fieldset>"
        for group, fields in groups.items()
    )
    return (
        '<details id="try" class="screen" open><summary>Try it: what if it went another way?</summary>'
        f'<div class="sliders">{sets}</div><button type="button" id="reset">As it was</button>'
        '<button type="button" id="print">Print this page</button></details>'
    )

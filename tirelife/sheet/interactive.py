"""The sliders: the forecast's own draws, worked through other assumptions here and in the page's own script.

A page carries the draws of its vehicle (:class:`tirelife.outlook.ahead.Course`): of the distance left if each
tire stayed where it is, at each removal depth offered; of the wear on the other axle over that here; of the
rotations ahead; of the pace. Moving a control changes the wear per distance of each wheel by a ratio that is
linear in the plain answers, times the factor of pressure; distance goes with one over it. ``page.js`` does
the same sums; the browser tests compare the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook.ahead import PROBABILITIES
from tirelife.outlook.dates import HORIZON_YEARS, dates_after
from tirelife.outlook.rotation_ahead import through_rotations
from tirelife.rates.joint import quantiles
from tirelife.rates.mileage import DRIFT_LOG_SD, pace_log_sd

__all__ = ["CONSTANTS", "controls_html", "defaults", "ratio", "recompute"]

Floats = NDArray[np.float64]

OTHER_AXLE: Final = {"LF": ("LR", "RR"), "RF": ("LR", "RR"), "LR": ("LF", "RF"), "RR": ("LF", "RF")}
CONSTANTS: Final = {
    "horizon_days": HORIZON_YEARS * 365.25,
    "drift_log_sd": DRIFT_LOG_SD,
    "p": list(PROBABILITIES),
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
        ``overall``: the same for the first tire of the set; ``first``: its position. ``km_drawn`` and
        ``days_drawn`` are the draws themselves.

    Notes
    -----
    The set is due with the first of its tires, draw by draw; ``first`` is the tire that most often is.
    """
    now, pace = {**defaults(state), **answers}, state["pace"]
    per_day = pace["km_per_day"] * now["year"] / defaults(state)["year"]
    as_of = pd.Series([pd.Timestamp(state["as_of"])])

    def answer(km: Floats, days: Floats) -> dict[str, Any]:
        dates = dates_after(as_of, quantiles(days[None, :], PROBABILITIES))
        found = {"km": quantiles(km[None, :], PROBABILITIES)[0], "dates": [date.iloc[0] for date in dates]}
        return found | {"km_drawn": km, "days_drawn": days}

    drawn = {position: _km(state, position, tire, now, ratios) for position, tire in state["tires"].items()}
    days = {position: _days(state, position, km, per_day) for position, km in drawn.items()}
    tires = {position: answer(km, days[position]) for position, km in drawn.items()}
    known = {position: km for position, km in drawn.items() if np.isfinite(km).all()}
    if not known:
        nothing = np.full(5, np.nan)
        overall = {"km": nothing, "dates": [pd.NaT] * 5, "km_drawn": nothing, "days_drawn": nothing}
        return {"tires": tires, "first": "", "overall": overall}
    least = np.min(list(known.values()), axis=0)
    soonest = np.min([days[position] for position in known], axis=0)
    first = max(known, key=lambda position: int((known[position] == least).sum()))
    return {"tires": tires, "first": first, "overall": answer(least, soonest)}


def _days(state: Mapping[str, Any], position: str, km: Floats, km_per_day: float) -> Floats:
    """Days until so many kilometres are run or age ends it, draw by draw, as ``Course.days``."""
    pace, draws = state["pace"], state["draws"]
    plain = km / km_per_day
    of_years = pace_log_sd(0.0, pace["year_log_sd"], np.nan_to_num(plain, nan=1.0) / 365.25)
    level, year = (np.array(draws[name], dtype=float) for name in ("level", "year"))
    days = plain * np.exp(-pace["log_sd"] * level - of_years * year)
    age = state["tires"][position].get("age_days")
    return np.asarray(days if age is None else np.minimum(days, age))


def _km(
    state: Mapping[str, Any],
    position: str,
    tire: Mapping[str, Any],
    now: Mapping[str, Any],
    ratios: Mapping[str, float] | None,
) -> Floats:
    """Distance left, draw by draw."""

    def of(place: str) -> float:
        return ratios[place] if ratios is not None else ratio(state, place, now)

    here = of(position)
    there = float(np.exp(np.mean([np.log(of(place)) for place in OTHER_AXLE[position]])))
    stays, other, due, every = (
        np.array([np.nan if v is None else v for v in values], dtype=float)[None, :]
        for values in (tire["km"][now["removal"]], tire["other"], *state["rotations"][now["rotation"]])
    )
    km = through_rotations(stays / here, due, every, other * there / here)[0]
    # A spare that takes its turn rests the set: five tires share the work of four.
    return np.asarray(km * tire["spare_factor"])


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


FIRST: Final = ("year", "pressure", "removal", "rotation")
"""Controls that stand open; the others are there when they are asked for."""


def controls_html(state: Mapping[str, Any]) -> str:
    """Set the controls as HTML, those most asked for first; each has a label and shows its value."""
    first: list[str] = []
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
        place = first if control["id"] in FIRST else groups.setdefault(control["group"], [])
        place.append(f'<div class="control">{field}</div>')
    more = "".join(
        f"<fieldset><legend>{escape(group)}</legend>{''.join(fields)}</fieldset>"
        for group, fields in groups.items()
    )
    more = f"<details><summary>Speeds and hard driving</summary>{_sliders(more)}</details>" if more else ""
    return (
        '<section id="try" class="screen" aria-labelledby="h-try">'
        '<h2 id="h-try">What if it went another way?</h2>'
        f'{_sliders("".join(first))}{more}<button type="button" id="reset">As it was</button>'
        '<button type="button" id="print">Print this page</button></section>'
    )


def _sliders(fields: str) -> str:
    return f'<div class="sliders">{fields}</div>'

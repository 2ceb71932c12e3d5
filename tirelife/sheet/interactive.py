"""The sliders: the forecast's own draws, worked through other assumptions here and in the page's own script.

A page carries the draws of its vehicle (:class:`tirelife.outlook.ahead.Course`): of the distance left if each
tire stayed where it is, at each removal depth offered; of the wear on the other axle over that here; of the
rotations ahead; of the pace. Moving a control changes the wear per distance of each wheel by a ratio that is
of two sums over causes, each linear in the plain answers, with what pressure adds; distance goes with one
over it. How surely wear is known to answer widens the draws: the further the mix of causes moves, the more
what is not known of their factors counts. ``script/draws.js`` does the same sums; the
browser tests compare the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.outlook import (
    HORIZON_YEARS,
    PROBABILITIES,
    dates_after,
    through_rotations,
)
from tirelife.positions import FRONT, REAR
from tirelife.rates import (
    SETS,
    calendar_days,
    drift_years,
    pace_log_sd,
    quantiles,
)
from tirelife.sheet.wrong import Wrong

__all__ = [
    "CONSTANTS",
    "controls_html",
    "defaults",
    "drawn_km",
    "gap_log_sd",
    "log_ratios",
    "parts",
    "ratio",
    "ratio_log_sd",
    "recompute",
]

Floats = NDArray[np.float64]

OTHER_AXLE: Final = dict.fromkeys(FRONT, REAR) | dict.fromkeys(REAR, FRONT)
CONSTANTS: Final = {
    "horizon_days": HORIZON_YEARS * 365.25,
    "p": list(PROBABILITIES),
}
"""What the script needs of ``outlook``'s constants."""


def defaults(state: Mapping[str, Any]) -> dict[str, Any]:
    """Where every control stands to begin with: by id, in the units shown."""
    return {control["id"]: control["value"] for control in state["controls"]}


def recompute(
    state: Mapping[str, Any], answers: Mapping[str, Any], changed: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Distances and dates under other assumptions.

    Parameters
    ----------
    state : mapping
        ``Answer.sliders``.
    answers : mapping
        Control id to value, in the units shown; a control left out stays where it began. Shares of speed need
        not sum to 100; only their proportions count.
    changed : mapping of str to float, optional
        Wear per distance over what the answers give, by position.

    Raises
    ------
    InputError
        If all shares of speed are 0.

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
    if not any(float(now[name]) > 0 for name in state["shares"]):
        raise misused(Wrong.NO_SHARES, known=", ".join(state["shares"]))
    per_day = pace["km_per_day"] * now["year"] / defaults(state)["year"]
    as_of = pd.Series([pd.Timestamp(state["as_of"])])

    def answer(km: Floats, days: Floats) -> dict[str, Any]:
        dates = dates_after(as_of, quantiles(days[None, :], PROBABILITIES))
        found = {"km": quantiles(km[None, :], PROBABILITIES)[0], "dates": [date.iloc[0] for date in dates]}
        return found | {"km_drawn": km, "days_drawn": days}

    logs = log_ratios(state, now, changed)
    drawn = {position: drawn_km(state, position, now, logs) for position in state["tires"]}
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
    years = np.nan_to_num(plain, nan=1.0) / 365.25
    level, year = (np.array(draws[name], dtype=float) for name in ("level", "year"))
    turn, drifted = state["tires"][position].get("turn"), None
    if turn is not None:
        until, mounted, speed, until_sd, speed_sd = turn
        drifted = drift_years(np.nan_to_num(plain), 1.0, until, mounted, speed)
    of_years = pace_log_sd(0.0, pace["year_log_sd"], pace["drift_log_sd"], years, drifted)
    days = plain * np.exp(-pace["log_sd"] * level - of_years * year)
    if turn is not None:
        change, share = (np.array(draws[name], dtype=float) for name in SETS)
        until = np.maximum(until + until_sd * change, 0.0)
        days = calendar_days(days, 1.0, until, mounted, speed * np.exp(speed_sd * share))
    age = state["tires"][position].get("age_days")
    return np.asarray(days if age is None else np.minimum(days, age))


def drawn_km(
    state: Mapping[str, Any],
    position: str,
    now: Mapping[str, Any],
    logs: Mapping[str, Floats],
    turns: tuple[Floats, Floats] | None = None,
) -> Floats:
    """Distance left of one tire, draw by draw; NaN where nothing is known. [km]

    ``now`` is where every control stands, ``logs`` what :func:`log_ratios` gives for it. ``turns``: distance
    to the next change of axle and between changes, in place of what the control of rotation says.
    """
    tire = state["tires"][position]
    here = np.exp(logs[position])
    there = np.exp(np.mean([logs[place] for place in OTHER_AXLE[position]], axis=0))
    stays, other, due, every = (
        np.array([np.nan if v is None else v for v in values], dtype=float)[None, :]
        for values in (tire["km"][now["removal"]], tire["other"], *state["rotations"][now["rotation"]])
    )
    due, every = (due, every) if turns is None else turns
    km = through_rotations(stays / here, due, every, other * there / here)[0]
    # A spare that takes its turn rests the set: five tires share the work of four.
    return np.asarray(km * tire["spare_factor"])


def log_ratios(
    state: Mapping[str, Any], now: Mapping[str, Any], changed: Mapping[str, float] | None = None
) -> dict[str, Floats]:
    """Log of wear per distance over what it was, draw by draw, by position; ``changed`` comes on top."""
    sure, was, out = np.array(state["draws"]["answer"], dtype=float), defaults(state), {}
    for place in OTHER_AXLE:
        before, after = parts(state, place, was), parts(state, place, now)
        more = 1.0 if changed is None else changed[place]
        middle = np.log(after.sum() / before.sum() * more)
        out[place] = np.asarray(middle + gap_log_sd(state, before, after) * sure)
    return out


def ratio(state: Mapping[str, Any], position: str, answers: Mapping[str, Any]) -> float:
    """Wear per distance of one wheel over what it was before any control was moved."""
    was = defaults(state)
    return float(parts(state, position, {**was, **answers}).sum() / parts(state, position, was).sum())


def ratio_log_sd(state: Mapping[str, Any], position: str, answers: Mapping[str, Any]) -> float:
    """How surely that ratio is known: the standard deviation of its logarithm.

    As :func:`tirelife.wear.ratio_of`: each cause's factor is the same before and after, so what counts is how
    far the shares of the causes moved.
    """
    was = defaults(state)
    before, after = (parts(state, position, now) for now in (was, {**was, **answers}))
    return gap_log_sd(state, before, after)


def gap_log_sd(state: Mapping[str, Any], before: Floats, after: Floats) -> float:
    """How surely the ratio of two sums over causes is known: the sd of its logarithm."""
    gap = after / after.sum() - before / before.sum()
    return float(np.sqrt(max(gap @ np.array(state["factors"]["cov"]) @ gap, 0.0)))


def parts(state: Mapping[str, Any], position: str, answers: Mapping[str, Any]) -> Floats:
    """What each cause takes of a wheel's wear per distance, pressure last."""
    weights = {name: np.array(values, dtype=float) for name, values in state["weights"][position].items()}
    total = sum(float(answers[name]) for name in state["shares"])
    wear = weights["constant"].copy()
    for name in state["shares"]:
        wear += weights[name] * float(answers[name]) / total
    for name in state["events"]:
        wear += weights[name] * float(answers[name])
    pressure, factor = state["pressure"], np.array(state["factors"]["weights"], dtype=float)
    more = np.interp(float(answers["pressure"]), pressure["at"], pressure["factor"][position]) - 1
    return np.append(wear, factor[-1] * more * (wear / factor[:-1]).sum())


FIRST: Final = ("year", "pressure", "removal", "rotation")
"""Controls that stand open; the others are there when they are asked for."""
GENTLEST: Final = 50
"""The most that the slider of gentler driving takes off hard starts, stops and turns. [percent]"""


def controls_html(state: Mapping[str, Any], say: Mapping[str, str]) -> str:
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
    if any(control["value"] > 0 for control in state["controls"] if control["id"] in state["events"]):
        first.insert(1, f'<div class="control">{_gentler(say)}</div>')
    more = "".join(
        f"<fieldset><legend>{escape(group)}</legend>{_why(group, state, say)}{''.join(fields)}</fieldset>"
        for group, fields in groups.items()
    )
    more = f"<details><summary>{escape(say['try-more'])}</summary>{_sliders(more)}</details>" if more else ""
    return (
        '<section id="try" class="screen" aria-labelledby="h-try">'
        f'<h2 id="h-try">{escape(say["try-title"])}</h2>'
        f"{_sliders(''.join(first))}{more}"
        f'<button type="button" id="reset">{escape(say["try-reset"])}</button>'
        f'<button type="button" id="print">{escape(say["try-print"])}</button></section>'
    )


def _why(group: str, state: Mapping[str, Any], say: Mapping[str, str]) -> str:
    """Why more of one speed can also lengthen life: said where the shares stand."""
    of = {control["group"] for control in state["controls"] if control["id"] in state["shares"]}
    return f'<p class="small">{escape(say["try-shares"])}</p>' if group in of else ""


def _gentler(say: Mapping[str, str]) -> str:
    """One slider that takes the same part off all counts of hard starts, stops and turns. [percent]"""
    return (
        f'<label for="c-gentler">{escape(say["try-gentler"])}</label>'
        f'<output id="o-gentler" for="c-gentler" data-none="{escape(say["try-as-now"])}"></output>'
        f'<input type="range" id="c-gentler" min="0" max="{GENTLEST}" step="5" value="0">'
    )


def _sliders(fields: str) -> str:
    return f'<div class="sliders">{fields}</div>'

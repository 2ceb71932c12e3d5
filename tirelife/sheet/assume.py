"""What a projection assumes of the time ahead, set out as controls that a reader can move."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.driving import (
    LEVERS,
    MEANT_BY_HARD,
    answer_matrix,
    marked_by_events,
)
from tirelife.inflation import pressure_wear
from tirelife.logbook import (
    BANDS,
)
from tirelife.outlook import Course
from tirelife.positions import ROAD
from tirelife.rates import (
    SETS,
    TURN_COLUMNS,
    TURN_SPREADS,
    points,
)
from tirelife.sheet.interactive import CONSTANTS
from tirelife.sheet.language import texts
from tirelife.sheet.quantities import depth, label, written
from tirelife.units import SHOWN, convert
from tirelife.wear import answer_causes, causes_at_wheel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tirelife.wear import Conditions
__all__ = ["removal_depths", "slider_state"]

EVENTS: Final = {
    "hard_starts_per_100km": "try-starts",
    "hard_stops_per_100km": "try-stops",
    "hard_turns_per_100km": "try-turns",
}
"""Events, and the codes of their words. Bands of speed (``try-band-us-1`` …) are drawn in mph, so the metric
ones are rounded."""
REMOVALS: Final = {"us": (2.0, 3.0, 4.0, 5.0, 6.0), "metric": (1.6, 2.0, 3.0, 4.0)}
"""Removal depths offered, in the unit shown."""
INTERVALS: Final = {"us": (5000.0, 7500.0), "metric": (8000.0, 12000.0)}
"""Rotation intervals offered; common practice, no source."""


PACE: Final = ("km_per_day", "log_sd", "year_log_sd", "drift_log_sd")
"""What the script needs of a vehicle's pace."""


def removal_depths(removal_mm: float, units: str) -> dict[str, float]:
    """Depths that the control of removal depth offers, by name, beginning with the one asked for. [mm]

    Examples
    --------
    >>> list(removal_depths(3.175, "us"))
    ['4', '2', '3', '5', '6']
    """
    unit = SHOWN[units]["depth"]
    out = {_name(round(convert(removal_mm, "mm", unit), 1)): removal_mm}
    for value in REMOVALS[units]:
        out.setdefault(_name(value), convert(value, unit, "mm"))
    return out


def slider_state(
    units: str,
    states: Mapping[str, pd.DataFrame],
    rows: pd.DataFrame,
    ahead: Conditions,
    placard_kpa: NDArray[np.float64],
    say: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """State of the controls of one vehicle: see :mod:`tirelife.sheet.interactive`.

    Parameters
    ----------
    units : str
        ``"us"`` or ``"metric"``.
    states : mapping of str to DataFrame
        The vehicle's rows of ``outlook.present_state`` by name of a removal depth, the first being where the
        control begins.
    rows : DataFrame
        The vehicle's rows of the forecast, with ``label``.
    ahead : Conditions
        What the tires are taken to go on with.
    placard_kpa : ndarray, shape (4,)
        For LF, RF, LR, RR. [kPa]
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

    Returns
    -------
    dict
        Numbers and text only, so it can stand in a page as JSON.
    """
    depth_unit, distance_unit, pressure_unit = (
        SHOWN[units][kind] for kind in ("depth", "distance", "pressure")
    )
    begin, say = next(iter(states)), say or texts()
    removals = {name: float(state["removal_depth_mm"].iloc[0]) for name, state in states.items()}
    removals = dict(sorted(removals.items(), key=lambda item: item[1]))
    states = {name: state.set_index("position") for name, state in states.items()}
    now = states[begin]
    courses = {name: Course(state.reset_index()) for name, state in states.items()}
    with np.errstate(invalid="ignore", divide="ignore"):
        drawn = {name: course.stays() for name, course in courses.items()}
        km = {name: course.certain(drawn[name][0]) for name, course in courses.items()}
        turns = courses[begin].turns()
    other = drawn[begin][1]
    tires = {
        str(p): {
            "km": {name: _drawn(values[i]) for name, values in km.items()},
            "spare_factor": 1.25 if now.loc[p, "spare_turns"] else 1.0,
            "other": _drawn(other[i]),
            "age_days": _number(now.loc[p, "age_days"]),
            "turn": _turn(now.loc[p]),
        }
        for i, p in enumerate(now.index)
    }
    tires_turn = any(tire["turn"] is not None for tire in tires.values())
    first = now.iloc[0]
    year = convert(float(first["km_per_day"]) * 365.25, "km", distance_unit)
    controls, weights = _driving(ahead, units, say)
    pressure, control = _pressure(units, placard_kpa, ahead.pressure, say)
    step = 100.0
    year = float(np.clip(np.floor(year / step + 0.5) * step, 500, 100_000))
    word = label(distance_unit, say)
    controls += [
        control,
        {
            "id": "year", "group": say["try-care"], "label": say["try-year"].format(unit=word.capitalize()),
            "min": 500,
            "max": float(max(40_000, np.ceil(year / 5000) * 5000)), "step": step, "value": year, "unit": word,
        },
        {
            "id": "removal", "group": say["try-care"], "label": say["try-removal"],
            "options": [[depth(mm, units, say), name] for name, mm in removals.items()], "value": begin,
        },
    ]  # fmt: skip
    rotations, options = _rotations(turns, units, say)
    controls.append(
        {
            "id": "rotation",
            "group": say["try-care"],
            "label": say["try-rotation"],
            "options": options,
            "value": "log",
        }
    )  # fmt: skip
    reach = float(rows["km_left_p90"].max()) * 1.05 if rows["km_left_p90"].notna().any() else 1000.0
    return {
        "as_of": rows["as_of"].iloc[0].strftime("%Y-%m-%d"),
        "units": units,
        "distance_word": word,
        "distance_unit": distance_unit,
        "depth_unit": depth_unit,
        "km_per_unit": convert(1.0, distance_unit, "km"),
        "mm_per_unit": convert(1.0, depth_unit, "mm"),
        "kpa_per_unit": convert(1.0, pressure_unit, "kpa"),
        "pressure_word": label(pressure_unit, say),
        "first_label": say["try-first"],
        "controls": controls,
        "shares": list(BANDS),
        "events": list(EVENTS),
        "weights": weights,
        "factors": {
            "weights": [float(f"{w:.6g}") for w in ahead.factors.weights],
            "cov": [
                [float(f"{c:.5g}") for c in row] for row in ahead.factors.of_change(ahead.profile.log_sd)
            ],
        },
        "pressure": pressure,
        "tires": tires,
        "rotations": rotations,
        "draws": {
            name: _drawn(points()[0][name])
            for name in ("level", "year", "answer", *(SETS if tires_turn else ()))
        },
        "removals": removals,
        "pace": {name: float(first[name]) for name in PACE},
        "constants": CONSTANTS,
        "no_share": say["try-no-share"],
        "labels": dict(zip(rows["position"], rows["label"], strict=True)),
        "assumed": _assumed(year, word, removals[begin], units, say),
        "paths": {
            row["position"]: {
                "odometer_km": _number(row["odometer_km"]),
                "depth_mm": row["depth_now_mm"],
                "reach_km": max(reach, 1.0),
            }
            for row in rows[rows["km_left_p50"].notna()].to_dict("records")
        },
    }  # fmt: skip


def _driving(
    now: Conditions, units: str, say: Mapping[str, str]
) -> tuple[list[dict[str, Any]], dict[str, dict[str, list[float]]]]:
    """Controls of the driving, and what each cause takes of each wheel's wear, by answer."""
    profile = now.profile
    per = SHOWN[units]["distance"]
    scale = convert(1.0, per, "km")  # events per 100 miles are fewer per 100 km
    controls: list[dict[str, Any]] = [
        {
            "id": band, "group": say["try-speed"].format(unit=label(per, say)),
            "label": say[f"try-band-{units}-{i + 1}"], "min": 0, "max": 100,
            "step": 1, "value": int(100 * float(getattr(profile, band)) + 0.5), "unit": "%",
        }
        for i, band in enumerate(BANDS)
    ]  # fmt: skip
    for event, said in EVENTS.items():
        count = float(np.nan_to_num(getattr(profile, event)))
        value = float(np.floor(2 * count * scale + 0.5) / 2)
        controls.append(
            {
                "id": event, "group": say["try-hard"].format(unit=label(per, say)), "label": say[said],
                "min": 0,
                "max": float(max(20, np.ceil(value * 1.5))), "step": 0.5, "value": value, "unit": "",
            }
        )  # fmt: skip
    return controls, _weights(now, {str(c["id"]): float(c["value"]) for c in controls}, scale)


def _weights(now: Conditions, begin: Mapping[str, float], scale: float) -> dict[str, dict[str, list[float]]]:
    """By position and answer: what each cause but pressure takes, so that all begins as things are."""
    thresholds = now.profile.thresholds or MEANT_BY_HARD
    parts = answer_causes(now.vehicle, now.factors, thresholds)
    del parts["pressure"]
    # A count and a factor on accelerations are one lever: see driving.gentler.
    marks, whole = marked_by_events(now.profile), answer_matrix(thresholds)
    for table in parts.values():
        for name, (moment, _) in LEVERS.items():
            event = f"hard_{name}_per_100km"
            usual = float(whole[moment][event])
            table[event] *= (float(marks[event]) / usual if usual > 0 else 0.0) / scale
    toe = np.array([now.front_toe_mm] * 2 + [now.rear_toe_mm] * 2)
    front = np.array([True, True, False, False])
    there = now.factors.weigh(causes_at_wheel(asdict(now.profile), asdict(now.vehicle), front, 1.0, toe))
    total = sum(begin[band] for band in BANDS) or 1.0
    answers = {name: value / (total if name in BANDS else 1.0) for name, value in begin.items()}
    for cause, table in parts.items():
        said = sum(table[name].to_numpy(float) * value for name, value in answers.items())
        table["constant"] = there[cause] - said
    names = ["constant", *BANDS, *EVENTS]
    return {
        position: {name: [float(t[name].iloc[i]) for t in parts.values()] for name in names}
        for i, position in enumerate(ROAD)
    }


def _pressure(
    units: str, placard_kpa: NDArray[np.float64], wear: NDArray[np.float64], say: Mapping[str, str]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Wear by pressure against the placard, and its control, which begins where wear is as now."""
    unit = SHOWN[units]["pressure"]
    step = 0.5 if unit == "psi" else 5.0
    at = np.arange(-24, 9) * step
    factor = {
        position: pressure_wear(here + convert(at, unit, "kpa"), np.full(len(at), here))
        for position, here in zip(ROAD, placard_kpa, strict=True)
    }
    low = [np.interp(-now, -factor[position], at) for position, now in zip(ROAD, wear, strict=True)]
    # Above the placard nothing is published, so the factor is flat there: that is read as at the placard.
    value = float(np.floor(min(float(np.mean(low)), 0.0) / step + 0.5) * step)
    control = {
        "id": "pressure", "group": say["try-care"], "label": say["try-pressure"], "min": float(at[0]),
        "max": float(at[-1]), "step": step, "value": value, "unit": label(unit, say),
    }  # fmt: skip
    return {"at": _list(at), "factor": {p: _list(v) for p, v in factor.items()}}, control


def _turn(row: pd.Series) -> list[float] | None:
    """Of a set that takes turns: days until it goes off, days of a year on the car, its pace; and spreads of
    the first and of the last's log.
    """
    if not np.isfinite(row.get("turn_on", np.nan)):
        return None
    return [float(row[name]) for name in (*TURN_COLUMNS[1:], *TURN_SPREADS)]


def _rotations(
    turns: tuple[NDArray[Any], NDArray[Any]], units: str, say: Mapping[str, str]
) -> tuple[dict[str, list[list[float | None]]], list[list[str]]]:
    """Distance to the next change of axle and between changes, draw by draw or once for all, by setting."""
    unit = SHOWN[units]["distance"]
    rotations: dict[str, list[list[float | None]]] = {
        "log": [_drawn(values[0]) for values in turns],
        "none": [[None], [None]],
    }
    options = [[say["try-as-now"], "log"], [say["try-none"], "none"]]
    for every in INTERVALS[units]:
        km = convert(every, unit, "km")
        rotations[_name(every)] = [[0.0], [km]]
        far = f"{written(f'{every:,.0f}', units, say)} {label(unit, say)}"
        options.append([say["try-every"].format(far=far), _name(every)])
    return rotations, options


def _assumed(year: float, word: str, removal_mm: float, units: str, say: Mapping[str, str]) -> str:
    every = f"{written(f'{year:,.0f}', units, say)} {word}"
    return say["try-assumed"].format(year=every, depth=depth(removal_mm, units, say))


def _name(value: float) -> str:
    return f"{value:g}"


def _number(value: Any) -> float | None:
    return float(value) if np.isfinite(value) else None


def _list(values: Any) -> list[float | None]:
    return [_number(value) for value in np.asarray(values, dtype=float)]


def _drawn(values: Any) -> list[float | None]:
    """Draws to seven figures, which is finer than they are known."""
    known = np.asarray(values, dtype=float)
    return [float(f"{value:.7g}") if np.isfinite(value) else None for value in known]

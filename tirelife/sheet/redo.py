"""The whole record of a vehicle under other assumptions: numbers, decision, steps and sentences.

What the page's script does at every move of a control (``script/record.js``) is done here line by line; the
two are compared over a grid of settings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.advice import (
    CheckFirst,
    Decision,
    Facts,
    Reason,
    RotationFacts,
    Settings,
    TireFacts,
    decide,
    rules,
)
from tirelife.codes import Note
from tirelife.outlook import NoteCode, chance_longer, project
from tirelife.sheet import words
from tirelife.sheet.changes import LOW, SHOWN_ROWS, change_rows
from tirelife.sheet.drawing import LEAST_KM
from tirelife.sheet.interactive import defaults, drawn_km, log_ratios, recompute
from tirelife.sheet.language import Said, lead_words, said_of, say, scripted, sentences, texts
from tirelife.tread import Verdict

__all__ = ["Redone", "facts_at", "record_state", "redo"]

Floats = NDArray[np.float64]

SAID_ELSEWHERE: Final = (
    NoteCode.READ_AT_LIMIT, NoteCode.AT_LIMIT, NoteCode.READ_NEAR_LIMIT, NoteCode.DOES_NOT_FIT,
)  # fmt: skip
"""Notes of a forecast that the decision says."""
MOVING: Final = (NoteCode.AGE_FIRST, NoteCode.FAR_AHEAD)
"""Notes that hang on the pace ahead."""


@dataclass(frozen=True, eq=False)
class Redone:
    """A vehicle's record under some assumptions.

    Attributes
    ----------
    result : dict
        From :func:`tirelife.sheet.interactive.recompute`.
    facts : Facts
    decision : Decision
    said : Said
        The decision in sentences.
    lead : str
    notes : tuple of str
        What there is to say of the forecast.
    changes : DataFrame
        What would help, as :func:`tirelife.sheet.changes.change_rows` has it.
    """

    result: dict[str, Any]
    facts: Facts
    decision: Decision
    said: Said
    lead: str
    notes: tuple[str, ...]
    changes: pd.DataFrame


def record_state(
    facts: Facts,
    states: Mapping[str, pd.DataFrame],
    changes: list[dict[str, Any]],
    turns: list[tuple[str, str]],
    units: str,
    *,
    left_out: tuple[NoteCode, ...] = (),
    settings: Settings | None = None,
    language: str = "en",
    order: str = "",
) -> dict[str, Any]:
    """What a record rests on beside the draws, as numbers and text.

    Parameters
    ----------
    facts : Facts
        As things are.
    states : mapping of str to DataFrame
        The vehicle's rows of ``outlook.present_state`` by name of a removal depth.
    changes, turns : list
        From :func:`tirelife.sheet.changes.change_state`.
    units : str
    left_out : tuple of NoteCode
        Notes that are said elsewhere.
    settings : Settings, optional
    language, order : str
        Of all that is said, and of day, month and year; what goes with the units by default.
    """
    tires: dict[str, dict[str, Any]] = {
        p: {
            "read_mm": _number(tire.read_mm), "read_raw_mm": _number(tire.read_raw_mm), "fits": tire.fits,
            "new_depth_mm": _number(tire.new_depth_mm),
            "loss_kpa_per_month": tire.loss_kpa_per_month, "at": {},
        }
        for p, tire in facts.tires.items()
    }  # fmt: skip
    skip = {*SAID_ELSEWHERE, *MOVING, *left_out}
    for name, state in states.items():
        found = project(state.reset_index(drop=True))["notes"]
        for row, told in zip(state.to_dict("records"), found, strict=True):
            own = tires[str(row["position"])]
            coded = not row["age_assumed"] and not pd.isna(row["age_end"])
            own["age_end"] = None if pd.isna(row["age_end"]) else f"{row['age_end']:%Y-%m-%d}"
            own["age_coded"] = bool(coded)
            values = (("years", row["age_years"]), ("by_date", row["age_end"]))
            aged = not pd.isna(row["age_end"])
            own["age_note"] = (
                say(Note(NoteCode.AGE_FIRST, values=values), units, language, order) if aged else ""
            )
            own["at"][name] = {
                "verdict": str(row["verdict"]),
                "depth_mm": _number(row["depth_now_mm"]),
                "notes": [say(note, units, language, order) for note in told if note.code not in skip],
            }
    turn = facts.rotation
    return {
        "vehicle_id": facts.vehicle_id,
        "language": language,
        "drive": facts.drive,
        "tires": tires,
        "checks": [
            {"step": c.step, "positions": list(c.positions), "urgent": c.urgent} for c in facts.checks
        ],
        "low_kpa": facts.low_kpa,
        "pressure_known": facts.pressure_known,
        "placard_stated": facts.placard_stated,
        "rotation": {
            "since_km": _number(turn.since_km),
            "every_km": turn.every_km,
            "refused": None if turn.refused is None else turn.refused.code.value,
        },
        "rules": rules(settings),
        "texts": scripted(texts(language)),
        "would": sentences("WouldChange", language),
        "changes": changes,
        "turns": [list(turn) for turn in turns],
        "least_km": LEAST_KM,
        "low_wear": LOW,
        "shown_rows": SHOWN_ROWS,
        "far_note": say(Note(NoteCode.FAR_AHEAD), units, language),
    }


def redo(state: Mapping[str, Any], answers: Mapping[str, Any]) -> Redone:
    """Redo a record under other assumptions.

    Parameters
    ----------
    state : mapping
        ``Answer.sliders``.
    answers : mapping
        Control id to value, in the units shown; a control left out stays where it began.
    """
    language = state["record"]["language"]
    result = recompute(state, answers)
    facts = facts_at(state, answers, result)
    decision = decide(facts, Settings(**_settings(state)))
    overall, units = result["overall"], state["units"]
    said = said_of(decision, units, language)
    lead = lead_words(
        decision,
        (overall["dates"][0], overall["dates"][4]),
        (overall["km"][0], overall["km"][4]),
        units,
        language,
    )
    return Redone(
        result=result,
        facts=facts,
        decision=decision,
        lead=(texts(language)["above"] if said.urgent else "") + lead,
        said=said,
        notes=_notes(state, answers, facts, language),
        changes=change_rows(state, answers, may_rotate=decision.may_rotate),
    )


def facts_at(state: Mapping[str, Any], answers: Mapping[str, Any], result: Mapping[str, Any]) -> Facts:
    """Facts of the vehicle under other assumptions; ``result`` is of :func:`recompute` for them.

    What was measured stays: readings, patterns, losses of air. What the assumptions reach is worked out anew:
    distances, dates, who is first, what rotating is worth, the verdict at another removal depth. Pressures
    count as assumed once their control is moved.
    """
    start = defaults(state)
    now, record = {**start, **answers}, state["record"]
    removal, dates = now["removal"], result["overall"]["dates"]
    moved = float(now["pressure"]) != float(start["pressure"])
    low = max(-float(now["pressure"]), 0.0) * state["kpa_per_unit"] if moved else record["low_kpa"]
    window = (dates[0], dates[4]) if pd.notna(dates[0]) and pd.notna(dates[4]) else None
    return Facts(
        vehicle_id=record["vehicle_id"],
        drive=record["drive"],
        as_of=pd.Timestamp(state["as_of"]),
        km_per_day=state["pace"]["km_per_day"] * now["year"] / start["year"],
        limit_mm=dict.fromkeys(record["tires"], state["removals"][removal]),
        tires={p: _tire(own, removal, result["tires"][p]) for p, own in record["tires"].items()},
        first_chance=_first_chance(result),
        checks=tuple(
            CheckFirst(c["step"], tuple(c["positions"]), urgent=c["urgent"]) for c in record["checks"]
        ),
        low_kpa=float(low),
        low_assumed=moved,
        pressure_known=record["pressure_known"],
        placard_stated=record["placard_stated"],
        rotation=_rotation(state, now),
        window=window,
    )


def _tire(own: Mapping[str, Any], removal: str, found: Mapping[str, Any]) -> TireFacts:
    at = own["at"][removal]
    low, middle, high = (None if pd.isna(found["dates"][i]) else found["dates"][i] for i in (0, 2, 4))
    end = None if own["age_end"] is None else pd.Timestamp(own["age_end"])
    ended = middle is not None and end is not None and end <= middle
    return TireFacts(
        read_mm=_known(own["read_mm"]),
        at_limit=at["verdict"] == Verdict.AT_OR_UNDER.value,
        near_limit=at["verdict"] == Verdict.NEAR.value,
        fits=own["fits"],
        depth_mm=_known(at["depth_mm"]),
        new_depth_mm=_known(own["new_depth_mm"]),
        km_p10=float(found["km"][0]),
        km_p50=float(found["km"][2]),
        km_p90=float(found["km"][4]),
        date_p10=low,
        date_p50=middle,
        date_p90=high,
        by_age=bool(ended or (own["age_coded"] and middle is None)),
        loss_kpa_per_month=own["loss_kpa_per_month"],
        read_raw_mm=_known(own["read_raw_mm"]),
    )


def _first_chance(result: Mapping[str, Any]) -> dict[str, float]:
    """Chance of each tire to be the first, a tie being shared, as :func:`tirelife.outlook.first_chances`."""
    drawn = {p: tire["km_drawn"] for p, tire in result["tires"].items()}
    known = {p: km for p, km in drawn.items() if np.isfinite(km).all()}
    if not known:
        return {}
    least = np.min(list(known.values()), axis=0)
    ties = np.sum([km == least for km in known.values()], axis=0)
    chance = {p: float(((km == least) / ties).mean()) for p, km in known.items()}
    return {p: c for p, c in chance.items() if c > 0}


def _rotation(state: Mapping[str, Any], now: Mapping[str, Any]) -> RotationFacts:
    """What rotating is worth, as :func:`tirelife.outlook.rotation_worth`, over the page's draws."""
    held = state["record"]["rotation"]
    assumed = {"log": "", "none": "none"}.get(now["rotation"], "every")
    every = state["rotations"][now["rotation"]][1][0] if assumed == "every" else held["every_km"]
    since = _known(held["since_km"])
    wait = max(every - since, 0.0) if np.isfinite(since) and not assumed else 0.0
    logs = log_ratios(state, now)
    ways = {
        "now": _first_km(state, now, logs, 0.0, every),
        "due": _first_km(state, now, logs, wait, every),
        "never": _first_km(state, now, logs, np.nan, np.nan),
    }
    known = np.isfinite(ways["never"]).all()

    def over(one: str, other: str) -> float:
        return float(chance_longer(ways[one], ways[other])) if known else float("nan")

    return RotationFacts(
        since_km=since,
        every_km=every,
        now_km=float(np.median(ways["now"])),
        due_km=float(np.median(ways["due"])),
        never_km=float(np.median(ways["never"])),
        now_over_due=over("now", "due"),
        due_over_never=over("due", "never"),
        now_over_never=over("now", "never"),
        refused=None if held["refused"] is None else Note(Reason(held["refused"])),
        assumed=assumed,
    )


def _first_km(
    state: Mapping[str, Any], now: Mapping[str, Any], logs: Mapping[str, Floats], due: float, every: float
) -> Floats:
    """Draws of the distance to the first of the set, rotated after ``due`` km and then every so many."""
    drawn = [
        drawn_km(state, position, now, logs, (np.array([[due]]), np.array([[every]])))
        for position in state["tires"]
    ]
    known = [km for km in drawn if np.isfinite(km).all()]
    return np.asarray(np.min(known, axis=0)) if known else np.array([np.nan])


def _notes(
    state: Mapping[str, Any], answers: Mapping[str, Any], facts: Facts, language: str
) -> tuple[str, ...]:
    now, record = {**defaults(state), **answers}, state["record"]
    by: dict[str, list[str]] = {}
    for p, own in record["tires"].items():
        tire = facts.tires[p]
        said = list(own["at"][now["removal"]]["notes"])
        if tire.by_age and own["age_note"]:
            said.append(own["age_note"])
        if np.isfinite(tire.km_p50) and tire.date_p90 is None:
            said.append(record["far_note"])
        for one in said:
            by.setdefault(one, []).append(state["labels"][p])
    groups: dict[tuple[str, ...], list[str]] = {}
    for one, labels in by.items():
        groups.setdefault(tuple(labels), []).append(one)
    say_it, every = texts(language), len(record["tires"])
    return tuple(
        f"{say_it['all-tires'] if len(labels) == every > 1 else words.joined(labels, say_it['and'])}: "
        f"{'; '.join(parts)}."
        for labels, parts in groups.items()
    )


def _settings(state: Mapping[str, Any]) -> dict[str, Any]:
    held = state["record"]["rules"]
    return {name: held[name] for name in Settings.__dataclass_fields__}


def _number(value: Any) -> float | None:
    return float(value) if np.isfinite(value) else None


def _known(value: float | None) -> float:
    return float("nan") if value is None else float(value)

"""A walk-in's answer: one visit, no history, the same page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import pandas as pd

from tirelife.advice import decide, walkin_facts
from tirelife.driving import default_profile
from tirelife.language import code_words
from tirelife.outlook import REMOVAL_DEPTH_MM, NoteCode, walk_in
from tirelife.positions import ROAD
from tirelife.sheet import words
from tirelife.sheet.answer import Answer, overall_of
from tirelife.sheet.assume import removal_depths, slider_state
from tirelife.sheet.changes import change_state
from tirelife.sheet.days import in_order
from tirelife.sheet.frames import axle_shares, band_ahead, labelled
from tirelife.sheet.language import said_of, texts, upper_first
from tirelife.sheet.page import compose_page
from tirelife.sheet.redo import record_state, redo
from tirelife.units import convert
from tirelife.wear import ASSUMED, CAUSES, Vehicle
from tirelife.wear import walk_in as conditions

__all__ = ["walkin_answer", "walkin_page"]

PLACARD_KPA: Final = float(convert(32.0, "psi", "kpa"))
"""Placard taken for the pressure control; an assumption, near the mean of 30 psi of cars in the Tire Pressure
Special Study of 2001. [kPa]"""
OFFERED: Final = 3
"""Removal depths that a walk-in's control offers: each takes a projection of its own."""
GROOVES: Final = {
    1: ("center",),
    2: ("outer", "inner"),
    3: ("outer", "center", "inner"),
    4: ("outer", "outer_mid", "inner_mid", "inner"),
    5: ("outer", "outer_mid", "center", "inner_mid", "inner"),
}


def walkin_answer(
    depths_mm: Sequence[float | Sequence[float]],
    *,
    units: str = "us",
    order: str | None = None,
    name: str = "",
    removal_mm: float | None = None,
    language: str = "en",
    **facts: Any,
) -> Answer:
    """Gather the answer to a walk-in.

    Parameters
    ----------
    depths_mm : sequence
        Depths by wheel, LF, RF, LR, RR, each a depth or the depths of its grooves from the outside inwards.
        [mm]
    units, order : str
        As for :class:`~tirelife.sheet.Answer`.
    name : str
        What to call the car; "Your car" by default.
    removal_mm : float, optional
        Depth at which a tire comes off; 2/32 inch by default. [mm]
    language : str
        One of :data:`tirelife.language.LANGUAGES`.
    **facts
        What else is known, as :func:`tirelife.outlook.walk_in` takes it: ``new_depth_mm``, ``distance_km``,
        ``km_per_year``, ``treadwear_grade``, ``drive``, ``profile``, ``rotated``, ``prior``, ``as_of``.

    Raises
    ------
    InputError
        If a value cannot be, naming it.
    """
    say = texts(language)
    removal_mm = REMOVAL_DEPTH_MM if removal_mm is None else removal_mm
    limits = list(removal_depths(removal_mm, units).items())[:OFFERED]
    answers = {depth: walk_in(depths_mm, removal_depth_mm=mm, **facts) for depth, mm in limits}
    states = {n: a.state[a.state["position"].isin(ROAD)] for n, a in answers.items()}
    first = next(iter(answers.values()))
    on_road = first.forecast[first.forecast["position"].isin(ROAD)].reset_index(drop=True)
    rows = labelled(on_road, say)
    known_facts = walkin_facts(first, removal_mm, facts.get("drive") or "")
    decision = decide(known_facts)
    rows["tire_line"] = ""
    vehicle = Vehicle.of_drive(facts.get("drive") or "front")
    held = facts["prior"].factors if facts.get("prior") else ASSUMED
    ahead = conditions(facts.get("profile") or default_profile(), vehicle, factors=held)
    sliders = slider_state(units, states, rows, ahead, np.full(4, PLACARD_KPA), say)
    sliders["record"] = record_state(
        known_facts, states, *change_state(sliders, ahead, say=say), units, left_out=(NoteCode.ONE_VISIT,),
        language=language, order=order or "",
    )  # fmt: skip
    redone = redo(sliders, {})
    shares = ahead.severity()[list(CAUSES)].rename_axis("position").reset_index()
    parts = shares.melt("position", var_name="cause", value_name="severity")
    as_of = rows["as_of"].iloc[0]
    given = [np.atleast_1d(np.asarray(values, dtype=float)).tolist() for values in depths_mm]
    new = facts.get("new_depth_mm")
    depths = [
        {
            "position": p,
            "groove": groove,
            "depth_mm": d,
            "new_depth_mm": float(new or np.nan),
            "label": upper_first(say[p]),
        }
        for p, values in zip(ROAD, given, strict=False)
        for groove, d in zip(GROOVES[len(values)], values, strict=True)
    ]
    known = rows[rows["odometer_km"].notna()]
    readings = known.assign(date=as_of, depth_mm=known["depth_now_mm"])
    told = first.assumptions
    assumed = [code_words(name, language=language) for name in told.loc[told["usual"], "assumption"]]
    return Answer(
        vehicle=name or say["walkin-car"],
        units=units,
        order=order or in_order(units),
        as_of=as_of,
        odometer_km=float("nan"),
        removal_mm=removal_mm,
        depths=pd.DataFrame(depths, columns=["position", "groove", "depth_mm", "new_depth_mm", "label"]),
        measured=as_of,
        tires=rows,
        overall=overall_of(redone.result),
        readings=readings[["label", "odometer_km", "date", "depth_mm"]],
        band=band_ahead(known, removal_mm),
        causes=axle_shares(parts, "severity", say),
        changes=redone.changes,
        how=(
            say["walkin-how"],
            say["walkin-usual"].format(what=words.joined(assumed, say["and"])) if assumed else "",
            say["walkin-second"],
        ),
        notes=redone.notes,
        said=said_of(decision, units, language),
        assumed=str(sliders["assumed"]),
        sliders=sliders,
        decision=decision,
        language=language,
    )


def walkin_page(
    depths_mm: Sequence[float | Sequence[float]], *, paper: str | None = None, **facts: Any
) -> str:
    """Make the page of a walk-in; see :func:`walkin_answer`."""
    return compose_page(walkin_answer(depths_mm, **facts), paper=paper)

"""Everything one vehicle's owner is told, gathered before anything is drawn or said."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tirelife.advice import decide, facts_of
from tirelife.codes import Note, Severity
from tirelife.errors import misused
from tirelife.inflation import placard_at, pressure_summary
from tirelife.outlook import (
    REMOVAL_DEPTH_MM,
    calibrated_fit,
    correction_ratios,
    present_states,
    project,
    stored_state,
    worth_of_facts,
)
from tirelife.positions import ROAD
from tirelife.rates import Trust, sets_in_turn
from tirelife.sheet.assume import removal_depths, slider_state
from tirelife.sheet.changes import change_state
from tirelife.sheet.days import in_order
from tirelife.sheet.frames import LEVELS, axle_shares, band_ahead, labelled, last_grooves, limiting_readings
from tirelife.sheet.language import Said, fact_words, said_of, say, say_all, texts
from tirelife.sheet.quantities import written
from tirelife.sheet.redo import record_state, redo
from tirelife.sheet.wrong import Wrong
from tirelife.tread import measured_grooves, tire_visits, wheel_histories
from tirelife.wear import causes, conditions_ahead

if TYPE_CHECKING:
    from pandas._libs.tslibs.nattype import NaTType

    from tirelife.advice import Decision
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = [
    "Answer",
    "answer_for",
    "check_vehicle",
    "overall_of",
]


@dataclass(frozen=True, eq=False)
class Answer:
    """What is known about one vehicle's tires; frames in inside units.

    Attributes
    ----------
    vehicle : str
        What to call it.
    units, order : str
        ``"us"`` or ``"metric"``; order of day, month, year.
    as_of : Timestamp
    odometer_km, removal_mm : float
        Odometer today; depth at which a tire comes off.
    depths : DataFrame
        position (now), groove, depth_mm (the least as read last), new_depth_mm, label (of the tire, and where
        it was read).
    measured : Timestamp
        Day of the last of these readings; NaT if the tires were never read.
    tires : DataFrame
        The rows of the forecast for the tires on the road, with ``label`` and ``tire_line``.
    overall : dict
        The set: ``first`` (the position that is most likely due first), ``km_left_p10 …``, ``date_p10 …``.
    readings, band : DataFrame
        As :func:`tirelife.charts.depth_path` takes them.
    causes, changes : DataFrame
        As the charts take them; empty if not known.
    how, notes : tuple of str
        Sentences: how the estimate was made and how sure it is; what there is to say of it tire by tire.
    assumed : str
        What the projection assumes about the time ahead.
    sliders : dict
        State of the page's controls, empty if it has none.
    decision : Decision, optional
    said : Said
        The decision in sentences: what cannot wait, what to do next, what would change each.
    language : str
        That everything here is said in.
    stored : DataFrame
        The rows of the forecast for a set in store, with ``label`` (the wheel that a tire comes back to),
        ``tire_line``, ``change`` (the day on which the sets change), ``share`` (of the year's distance run on
        it) and ``told`` (that this is told, not learned); empty if none takes turns.
    pressures : DataFrame
        Rows of :func:`tirelife.inflation.pressure_summary` of the tires on the road.
    """

    vehicle: str
    units: str
    order: str
    as_of: pd.Timestamp
    odometer_km: float
    removal_mm: float
    depths: pd.DataFrame
    measured: pd.Timestamp | NaTType
    tires: pd.DataFrame
    overall: dict[str, Any]
    readings: pd.DataFrame
    band: pd.DataFrame
    causes: pd.DataFrame
    changes: pd.DataFrame
    how: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    assumed: str = ""
    sliders: dict[str, Any] = field(default_factory=dict)
    decision: Decision | None = None
    language: str = "en"
    said: Said = field(default_factory=Said)
    stored: pd.DataFrame = field(default_factory=pd.DataFrame)
    pressures: pd.DataFrame = field(default_factory=pd.DataFrame)


def answer_for(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit | None = None,
    *,
    prior: Prior | None = None,
    removal_mm: float | None = None,
    stored_mm: pd.Series | None = None,
    rule: str = "",
    order: str | None = None,
    language: str = "en",
    tell: Callable[[Mapping[str, Any]], None] | None = None,
) -> Answer:
    """Gather the answer for one vehicle of a logbook.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    fit : WearFit, optional
        From ``outlook.calibrated_fit``, which is what it does by default.
    prior : Prior, optional
        For the fit made here.
    removal_mm : float, optional
        Depth at which a tire comes off; 2/32 inch by default. [mm]
    stored_mm : Series, optional
        The same for a set in store, as :func:`tirelife.outlook.stored.stored_state` takes it. [mm]
    rule : str
        What says so, for the page; nothing by default.
    order : str, optional
        ``"mdy"``, ``"dmy"`` or ``"ymd"``; by default what goes with the units.
    language : str
        One of :data:`tirelife.language.LANGUAGES`.
    tell : callable, optional
        Given attributes of the answer, by name, that are known before the rest.

    Raises
    ------
    InputError
        If there is no such vehicle, or no tire on it; the message lists the vehicles there are.
    """
    check_vehicle(book, vehicle_id)
    table = texts(language)
    removal_mm = REMOVAL_DEPTH_MM if removal_mm is None else removal_mm
    if fit is None:
        fit = calibrated_fit(book, prior)
    states = {
        name: state[(state["vehicle_id"] == vehicle_id) & state["position"].isin(ROAD)]
        for name, state in present_states(book, fit, removal_depths(removal_mm, book.units)).items()
    }
    now = next(iter(states.values())).reset_index(drop=True)
    if now.empty:
        raise misused(Wrong.NO_TIRE, vehicle=vehicle_id)
    lines = book.tires.drop_duplicates("tire_id").set_index("tire_id").reindex(now["tire_id"])
    rows = labelled(project(now), table)
    rows["tire_line"] = lines["tire_line"].fillna("").to_numpy()
    new_depth = fit.tires.set_index("tire_id")["new_depth_mm"].reindex(rows["tire_id"])
    visits = tire_visits(book)
    visits = visits[visits["tire_id"].isin(rows["tire_id"])]
    depths, measured = last_grooves(
        measured_grooves(book, [vehicle_id]), rows, new_depth, table, order or in_order(book.units)
    )
    early: dict[str, Any] = {
        "units": book.units,
        "language": language,
        "removal_mm": removal_mm,
        "depths": depths,
        "readings": limiting_readings(visits, rows, vehicle_id),
        "band": band_ahead(rows, removal_mm),
        "causes": axle_shares(causes(book, vehicle_id, fit.factors), "reference_km", table),
    }
    if tell is not None:
        tell(early)
    placard = placard_at(book.vehicles, pd.Series([vehicle_id] * 4), pd.Series(ROAD))
    ahead = conditions_ahead(book, vehicle_id, fit.factors)
    sliders = slider_state(book.units, states, rows, ahead, np.asarray(placard, dtype=float), table)
    histories = wheel_histories(book, [vehicle_id])
    facts = facts_of(book, fit, now, rows, removal_depth_mm=removal_mm, histories=histories)[vehicle_id]
    decision = decide(facts)
    corrections = correction_ratios(book, [vehicle_id], removal_mm, histories=histories)
    sliders["record"] = record_state(
        facts,
        states,
        *change_state(sliders, ahead, corrections, table),
        book.units,
        language=language,
        order=order or "",
    )
    redone = redo(sliders, {})
    air = pressure_summary(book)
    return Answer(
        vehicle=vehicle_id,
        **early,
        order=order or in_order(book.units),
        as_of=book.as_of,
        odometer_km=float(rows["odometer_km"].iloc[0]),
        measured=measured,
        tires=rows,
        overall=overall_of(redone.result),
        changes=redone.changes,
        how=(
            *_how(fit, visits, vehicle_id, book.units, language),
            *fact_words(worth_of_facts(book, fit, vehicle_id, removal_mm), book.units, language),
            *([f"{rule[:1].upper()}{rule[1:]}."] if rule else []),
        ),
        notes=redone.notes,
        said=said_of(decision, book.units, language),
        assumed=str(sliders["assumed"]),
        sliders=sliders,
        decision=decision,
        stored=_stored(book, fit, vehicle_id, removal_mm if stored_mm is None else stored_mm, table),
        pressures=air[(air["vehicle_id"] == vehicle_id) & air["tire_id"].isin(rows["tire_id"])],
    )


def _stored(
    book: Logbook, fit: WearFit, vehicle_id: str, removal_mm: float | pd.Series, table: Mapping[str, str]
) -> pd.DataFrame:
    """Give the forecast of the vehicle's set in store, as :attr:`Answer.stored`."""
    state = stored_state(book, fit, removal_mm)
    if state.empty or not (state["vehicle_id"] == vehicle_id).any():
        return pd.DataFrame()
    state = state[state["vehicle_id"] == vehicle_id].reset_index(drop=True)
    rows = labelled(project(state), table)
    line = book.tires.drop_duplicates("tire_id").set_index("tire_id")["tire_line"].fillna("")
    own = sets_in_turn(book).drop_duplicates("tire_id").set_index("tire_id").loc[rows["tire_id"]]
    return rows.assign(
        share=own["share"].to_numpy(float),
        told=own["told"].to_numpy(bool),
        tire_line=rows["tire_id"].map(line).fillna(""),
        change=state["as_of"] + pd.to_timedelta(state["turn_first"], unit="D"),
    )


def overall_of(result: Mapping[str, Any]) -> dict[str, Any]:
    """Set as ``Answer.overall`` what :func:`tirelife.sheet.interactive.recompute` gives for the set."""
    overall = result["overall"]
    return {
        "first": result["first"],
        **{f"km_left_p{q}": v for q, v in zip(LEVELS, overall["km"], strict=True)},
        **{f"date_p{q}": v for q, v in zip(LEVELS, overall["dates"], strict=True)},
    }


def check_vehicle(book: Logbook, vehicle_id: str | None) -> None:
    """Raise unless the logbook has that vehicle, with the list of those it has."""
    names = [str(name) for name in book.vehicles["vehicle_id"]]
    if vehicle_id in names:
        return
    known = ", ".join(names) or "-"
    if not vehicle_id:
        raise misused(Wrong.WHICH_VEHICLE, known=known)
    raise misused(Wrong.NO_VEHICLE, vehicle=vehicle_id, known=known)


def _how(fit: WearFit, visits: pd.DataFrame, vehicle_id: str, units: str, language: str) -> tuple[str, ...]:
    tires, own = len(fit.tires), int(visits.loc[visits["vehicle_id"] == vehicle_id, "date"].nunique())
    table = texts(language)
    every, tires_said = (written(f"{n:,}", units, table) for n in (int(fit.tires["visits"].sum()), tires))
    own_said = table["how-own-one" if own == 1 else "how-own-many"].format(n=own)
    text = [
        f"{table['how-fit'].format(visits=every, tires=tires_said)} {own_said}",
        table["how-published"],
        table["how-bar"],
    ]
    checked = int(fit.frames["calibration"]["readings"].iloc[0]) if "calibration" in fit.frames else 0
    if checked:
        text.append(table["how-checked"].format(n=written(f"{checked:,}", units, table)))
    if fit.verdict.trust is not Trust.GOOD:
        grave = [note for note in fit.verdict.reasons if note.severity >= Severity.DOUBT]
        text += [say(Note(fit.verdict.trust), units, language), *say_all(grave, units, language)]
    return tuple(text)

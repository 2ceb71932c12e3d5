"""The tread of one vehicle's tires, what wore it so, what to do, and what correcting a cause would buy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from tirelife.advice.gather import checks_of, fleet_decisions
from tirelife.codes import Note
from tirelife.logbook import gauge_study
from tirelife.outlook import correct_causes, correction_ratios
from tirelife.positions import FRONT, MOUNTED
from tirelife.rates import mounted_now
from tirelife.tread import (
    ACROSS_TREAD_MM,
    MEASURE_FROM,
    Finding,
    RemovalDepth,
    Verdict,
    WheelHistory,
    correction_factors,
    last_read,
    latest_profiles,
    measured_toe,
    next_steps,
    remaining_ratios,
    removal_depth,
    removal_depths,
    verdict_notes,
    verdicts,
    weigh_causes,
    wheel_histories,
)

if TYPE_CHECKING:
    from tirelife.advice.record import Decision
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["TreadReading", "read_tread"]


@dataclass(frozen=True, eq=False)
class TreadReading:
    """What the tread of a vehicle's tires says, in inside units.

    Attributes
    ----------
    vehicle_id, drive : str
    wheels : DataFrame
        A row a wheel of the road, as last read: columns of :func:`tirelife.tread.groove_states` and
        :func:`tirelife.tread.profiles_of`, ``verdict`` (a :class:`tirelife.tread.Verdict`) and ``now_at``
        (where that tire is now; empty where it is on no vehicle).
    histories : mapping
        :class:`tirelife.tread.WheelHistory` by position.
    limits : mapping
        :class:`tirelife.tread.RemovalDepth` by position, the spare's included.
    notes : tuple of Note
        Tires at their limit or near it: :func:`tirelife.tread.verdict_notes`.
    causes, steps : DataFrame
        From :func:`tirelife.tread.weigh_causes` and :func:`tirelife.tread.next_steps`.
    gains, corrections : DataFrame
        From :func:`tirelife.tread.remaining_ratios` and :func:`tirelife.outlook.correct_causes`.
    gauges : DataFrame
        Rows of :func:`tirelife.logbook.gauge_study`, of the depth gauges that read this vehicle.
    decision : Decision or None
        None where no tire is on the road.
    """

    vehicle_id: str
    drive: str
    wheels: pd.DataFrame
    histories: Mapping[str, WheelHistory]
    limits: Mapping[str, RemovalDepth]
    notes: tuple[Note, ...]
    causes: pd.DataFrame
    steps: pd.DataFrame
    gains: pd.DataFrame
    corrections: pd.DataFrame
    gauges: pd.DataFrame
    decision: Decision | None


def read_tread(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit,
    findings: Sequence[Finding] = (),
    *,
    roads: str = "",
    gauge_step_mm: float | None = None,
    across_tread_mm: float = ACROSS_TREAD_MM,
    place: str = "US",
    limits: str | Path | None = None,
) -> TreadReading:
    """Read the tread of one vehicle: pattern, causes, the decision, and what correcting a cause would buy.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    fit : WearFit
        From :func:`tirelife.outlook.kept_fit`.
    findings : sequence of Finding
        What was felt or seen: :func:`tirelife.tread.parse_finding`.
    roads : {"", "crowned", "level"}
        What the driver says of the roads.
    gauge_step_mm : float, optional
        Step of the depth gauge; from the readings by default. [mm]
    across_tread_mm : float
        Difference between edges that calls for a look at the angles. [mm]
    place : str
        Whose removal depth counts.
    limits : path, optional
        A CSV of removal depths that adds to the built-in ones.

    Raises
    ------
    InputError
        If the logbook has no such vehicle, no depth was read on it, or an argument cannot be.
    """
    table = removal_depths(limits)
    if vehicle_id not in set(book.vehicles["vehicle_id"]):
        weigh_causes(book, [vehicle_id])  # names the vehicles there are
    histories = wheel_histories(book, [vehicle_id], resolution_mm=gauge_step_mm)
    wheels = last_read(book, vehicle_id, gauge_step_mm)
    causes = weigh_causes(
        book, [vehicle_id], findings, roads=roads, resolution_mm=gauge_step_mm, histories=histories
    )
    drive = str(book.vehicles.set_index("vehicle_id").loc[vehicle_id, "drive"])
    steps = next_steps(
        causes, drive, findings, roads=roads, histories=histories[vehicle_id],
        toe_mm=measured_toe(book).get(vehicle_id), across_tread_mm=across_tread_mm,
    )  # fmt: skip
    by_place = {
        p: removal_depth(place, "front" if p in FRONT else "rear", book.as_of, limits=table) for p in MOUNTED
    }
    depths = pd.Series({p: found.depth_mm for p, found in by_place.items()})
    notes = verdict_notes(verdicts(book, depths, [vehicle_id]))
    code_of = {note.value("tire_id"): Verdict(note.code) for note in notes}
    mounted = mounted_now(book)
    places = mounted[mounted["vehicle_id"] == vehicle_id].set_index("tire_id")["position"]
    unclaimed = (wheels["tire_id"] == "") & (
        wheels["least_mm"] <= wheels["position"].map(depths) + 1e-6  # whose reading it is is not known
    )
    wheels = wheels.assign(
        verdict=[
            Verdict.AT_OR_UNDER if worn else code_of.get(tire, Verdict.OVER)
            for tire, worn in zip(wheels["tire_id"], unclaimed, strict=True)
        ],
        now_at=wheels["tire_id"].map(places).fillna("").astype(str),
    )
    removal = depths.fillna(depths.max())
    found = fleet_decisions(
        book, fit, [vehicle_id], removal_depth_mm=removal, checks={vehicle_id: checks_of(steps)}
    )
    factors = correction_factors(
        causes[causes["probability"] >= MEASURE_FROM], histories, {vehicle_id: drive}
    )
    legal = removal_depth(place, on=book.as_of, limits=table).depth_mm
    ratios = correction_ratios(book, [vehicle_id], removal, histories=histories, causes=causes)
    study = gauge_study(book)
    used = book.depths.loc[book.depths["vehicle_id"] == vehicle_id, "gauge_id"].astype(str)
    return TreadReading(
        vehicle_id,
        drive,
        wheels,
        histories[vehicle_id],
        by_place,
        tuple(notes),
        causes,
        steps,
        remaining_ratios(factors, histories, latest_profiles(book, vehicle_id), legal),
        ratios if ratios.empty else correct_causes(book, fit, [vehicle_id], removal, ratios=ratios),
        study[(study["kind"] == "depth") & study["gauge_id"].isin(set(used) - {""})],
        found.decisions.get(vehicle_id),
    )

"""Which moves a set is to make, when, and what they buy: plans compared under the vehicle's decision."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tirelife.advice.gather import fleet_decisions
from tirelife.advice.record import Kind
from tirelife.advice.rotating import rotation_due
from tirelife.positions import MOUNTED
from tirelife.rotation import (
    USUAL_INTERVAL,
    USUAL_INTERVALS_KM,
    Advice,
    Aim,
    Plan,
    SetNow,
    advise_set,
    compare_plans,
    directional_vehicles,
    moves,
    parse_plan,
    stay,
    vehicle_set,
)
from tirelife.tread import REMOVAL_DEPTH_MM, verdict_notes, verdicts
from tirelife.units import convert

if TYPE_CHECKING:
    from tirelife.advice.record import Decision
    from tirelife.codes import Note
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["RotationAnswer", "advise_rotation"]


@dataclass(frozen=True, eq=False)
class RotationAnswer:
    """What a vehicle's set is to do, in inside units.

    Attributes
    ----------
    now : SetNow
        The set as it is.
    limit_mm : float
        Removal depth of all, since tires go from axle to axle. [mm]
    notes : tuple of Note
        Tires at their limit or near it: :func:`tirelife.tread.verdict_notes`.
    decision : Decision
        Whether the set is rotated; what every command says of this vehicle.
    first_km : float
        Distance to the first rotation, 0 where it is due; NaN where no moves are allowed. [km]
    plans : DataFrame
        From :func:`tirelife.rotation.compare_plans`: the usual plans, to leave the tires first.
    plan : Plan
        The one asked for, or that is most worth.
    chosen : DataFrame
        Its row.
    moves : DataFrame
        From :func:`tirelife.rotation.moves`.
    advice : Advice
        What the plans are worth.
    asked : bool
        Whether the plan was asked for.
    bound_km : float
        What no order of moves of these tires exceeds. [km]
    """

    now: SetNow
    limit_mm: float
    notes: tuple[Note, ...]
    decision: Decision
    first_km: float
    plans: pd.DataFrame
    plan: Plan
    chosen: pd.DataFrame
    moves: pd.DataFrame
    advice: Advice
    asked: bool
    bound_km: float


def advise_rotation(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    *,
    plan: str | None = None,
    interval_km: float | None = None,
    aim: Aim | str = "life",
    rotation_price: float = 0.0,
    set_price: float | None = None,
    drive_apart_mm: float | None = None,
    directional: bool = False,
    temporary_spare: bool = False,
) -> RotationAnswer:
    """Compare rotation plans for a vehicle's set, and say which moves are most worth.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    fit : WearFit
        From :func:`tirelife.outlook.kept_fit`.
    removal_depth_mm : float or Series
        For all, or by position. [mm]
    plan : str, optional
        A pattern's trade name, or moves such as ``LF>RR,RR>LF``; what is most worth by default.
    interval_km : float, optional
        Between rotations; 5,000 miles or 8,000 km, by the logbook's units, by default. [km]
    aim : {"life", "together", "cost"}
        What plans are weighed by: see :func:`tirelife.rotation.advise_set`.
    rotation_price, set_price : float
        For the aim ``cost``.
    drive_apart_mm : float, optional
        What the maker allows between driven wheels. [mm]
    directional, temporary_spare : bool
        Whether the tires must turn one way, and whether the spare is a temporary one.

    Raises
    ------
    InputError
        If the vehicle is not in the logbook, lacks a tire or a rate, or the plan cannot be read.
    """
    if isinstance(removal_depth_mm, pd.Series):
        limit = float(removal_depth_mm[list(MOUNTED)].max())
    else:
        limit = removal_depth_mm
    value, unit = USUAL_INTERVAL[book.units]
    every = float(convert(value, unit, "km")) if interval_km is None else interval_km
    now = vehicle_set(book, vehicle_id, fit, limit)
    rules: dict[str, Any] = {
        "directional": directional or vehicle_id in directional_vehicles(book),
        "temporary_spare": temporary_spare,
    }
    found = fleet_decisions(book, fit, [vehicle_id], removal_depth_mm=removal_depth_mm)
    decision, facts = found.decisions[vehicle_id], found.facts[vehicle_id]
    due = decision.of(Kind.ROTATE) or rotation_due(facts)
    first = 0.0 if due else max(every - facts.rotation.since_km, 0.0)
    table = compare_plans(now, limit, every, first_km=first, **rules)
    advice = advise_set(
        now, limit, str(book.vehicles.set_index("vehicle_id").loc[vehicle_id, "drive"]), aim=aim,
        intervals_km=USUAL_INTERVALS_KM if interval_km is None else [interval_km],
        rotation_price=rotation_price, set_price=set_price or float("nan"), first_km=first,
        drive_apart_mm=drive_apart_mm, **rules,
    )  # fmt: skip
    wheels = 5 if "SP" in now.tires.index and not temporary_spare else 4
    usual = (decision.may_rotate and advice.plan) or stay(wheels).every(every)
    asked = parse_plan(plan, every) if plan else usual
    chosen = compare_plans(now, limit, asked.interval_km, plans=[asked], first_km=first, **rules)
    return RotationAnswer(
        now,
        limit,
        tuple(verdict_notes(verdicts(book, removal_depth_mm, [vehicle_id]))),
        decision,
        # The first plan is to leave them; where no other is allowed, no rotation comes.
        first if table["allowed"].iloc[1:].any() else float("nan"),
        table,
        asked,
        chosen,
        moves(asked, now.tire_ids, now.placard_kpa),
        advice,
        bool(plan),
        float(np.nanmax([*table["bound_km"], *chosen["bound_km"]])),
    )

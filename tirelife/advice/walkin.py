"""Facts of a walk-in: one visit, no history."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tirelife.advice.facts import Facts, RotationFacts, Settings
from tirelife.advice.gather import (
    chances_by_vehicle,
    first_of_sets,
    limits_by_position,
    tire_facts,
    windows_by_vehicle,
    worth_numbers,
)
from tirelife.outlook import rotation_worth
from tirelife.positions import ROAD

if TYPE_CHECKING:
    from tirelife.outlook import WalkIn

__all__ = ["walkin_facts"]


def walkin_facts(
    answer: WalkIn, removal_depth_mm: float, drive: str = "", settings: Settings | None = None
) -> Facts:
    """Facts for :func:`tirelife.advice.decide` from :func:`tirelife.outlook.walk_in`.

    Parameters
    ----------
    answer : WalkIn
    removal_depth_mm : float [mm]
    drive : str
        As told; empty if it was not.
    settings : Settings, optional

    Notes
    -----
    When the tires were last rotated is not known, so the usual rotation is advised where no tire is near
    its limit and none is due.
    """
    settings = settings or Settings()
    rows, state = answer.forecast, answer.state
    rows = rows[rows["position"].isin(ROAD)].reset_index(drop=True)
    state = state[state["position"].isin(ROAD)].reset_index(drop=True)
    new = state.drop_duplicates("tire_id").set_index("tire_id")["new_depth_mm"]
    vehicle = str(rows["vehicle_id"].iloc[0])
    worth = rotation_worth(state, settings.service_km, np.full(len(state), np.nan))
    known = worth_numbers(worth.iloc[0].to_dict())
    told = rows.assign(new_depth_mm=rows["tire_id"].map(new))
    return Facts(
        vehicle_id=vehicle,
        drive=drive,
        as_of=rows["as_of"].iloc[0],
        km_per_day=float(state["km_per_day"].iloc[0]),
        limit_mm=limits_by_position(rows["position"], removal_depth_mm),
        tires={str(row["position"]): tire_facts(row) for row in told.to_dict("records")},
        first_chance=chances_by_vehicle(state).get(vehicle, {}),
        rotation=RotationFacts(every_km=settings.service_km, refused=None, **known),
        pressure_known=False,
        window=windows_by_vehicle(first_of_sets(state)).get(vehicle),
    )

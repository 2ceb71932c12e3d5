"""The plan and interval that get most distance from a set, or keep it matched."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from tirelife.errors import InputError
from tirelife.logbook import ROAD_POSITIONS
from tirelife.rotation.plan import PATTERNS, Legality, Plan, legality, named
from tirelife.rotation.simulate import SetLife, bounds, set_arrays, set_lives, set_path, simulate

__all__ = ["KEEP", "BestPlan", "all_plans", "best_plan", "stay"]

KEEP: Final = ("miles", "axle", "set")
"""What a plan is chosen for: most distance, least difference within an axle, least over all four wheels."""

INTERVALS_KM: Final = tuple(float(km) for km in range(5000, 16001, 1000))
"""Intervals tried by default [km]; trade advice runs from 3,000 to 8,000 miles."""


@dataclass(frozen=True, eq=False)
class BestPlan:
    """The plan found, and all that were tried.

    Attributes
    ----------
    best : SetLife
        The set's run under the best plan.
    table : DataFrame
        plan, interval_km, order, life_km, of_bound, axle_difference_mm, set_difference_mm; a row a plan and
        interval that these tires allow, best first.
    refused : DataFrame
        plan, reason: plans with a trade name that these tires do not allow.
    legal_bound_km : float
        Longest distance of any order of moves that these tires allow. [km]
    """

    best: SetLife
    table: pd.DataFrame
    refused: pd.DataFrame
    legal_bound_km: float


def all_plans(wheels: int) -> list[Plan]:
    """Every permutation of four or five wheels, under its trade name where it has one.

    Examples
    --------
    >>> len(all_plans(4)), len(all_plans(5))
    (24, 120)
    """
    spots = (*ROAD_POSITIONS, "SP")[:wheels]
    plans = []
    for to in permutations(spots):
        moved = ",".join(f"{a}>{b}" for a, b in zip(spots, to, strict=True) if a != b)
        plans.append(named(Plan(moved or "no rotation", tuple(zip(spots, to, strict=True)))))
    return plans


def best_plan(
    depths: Mapping[str, float] | pd.Series,
    rates_by_position: Mapping[str, float] | pd.DataFrame,
    limit: float | Mapping[str, float],
    *,
    plans: Sequence[Plan] | None = None,
    intervals_km: ArrayLike = INTERVALS_KM,
    keep: str = "miles",
    give_up: float = 0.05,
    directional: bool = False,
    sizes: Mapping[str, str] | None = None,
    temporary_spare: bool = False,
    verdicts: Mapping[str, str] | None = None,
    first_km: float | None = None,
) -> BestPlan:
    """Find the plan and interval that get most distance from a set, or keep it matched.

    Parameters
    ----------
    depths, rates_by_position, limit, first_km
        As for :func:`simulate`; with a depth at ``SP``, five wheels take turns.
    plans : sequence of Plan, optional
        Plans to try, each at every interval; all permutations by default.
    intervals_km : array_like
        Intervals to try. [km]
    keep : str
        ``"miles"``: the longest distance. ``"axle"`` or ``"set"``: the smallest largest difference
        within an axle, or over the four road wheels, among plans that give up no more than ``give_up``.
    give_up : float
        Share of the longest distance that may be given up to keep tires matched.
    directional, sizes, temporary_spare, verdicts
        As for :func:`tirelife.rotation.legality`.

    Returns
    -------
    BestPlan

    Raises
    ------
    InputError
        If no plan is allowed, or the input is not usable.

    Notes
    -----
    Every permutation is tried, so nothing of that kind is missed; of equals, the longer interval and then
    the plan with a trade name is taken. A plan that changes its moves over time is not tried; the bound
    covers those too.
    """
    if keep not in KEEP:
        raise InputError(f"keep must be one of {', '.join(KEEP)}, not {keep!r}.")
    wheels = 5 if "SP" in depths and not temporary_spare else 4
    pool = list(plans) if plans is not None else all_plans(wheels)

    def judged(plan: Plan) -> Legality:
        return legality(
            plan, directional=directional, sizes=sizes, temporary_spare=temporary_spare, verdicts=verdicts
        )

    rules = [judged(p) for p in pool]
    legal = [plan for plan, rule in zip(pool, rules, strict=True) if rule.allowed]
    known = [] if plans is not None else [p for p in PATTERNS.values() if len(p.positions) <= wheels]
    refused = [
        (plan.name, rule.reason)
        for plan in dict.fromkeys([*known, *pool])
        if (plan.name in PATTERNS or plans is not None) and not (rule := judged(plan)).allowed
    ]
    if not legal:
        raise InputError("none of these plans is allowed: " + "; ".join(f"{n}: {r}" for n, r in refused))
    every = np.sort(np.atleast_1d(np.asarray(intervals_km, float)))
    if not len(every) or not np.isfinite(every).all() or (every <= 0).any():
        raise InputError("rotation intervals must be distances of more than 0.")
    table = pd.concat(
        [_rows(depths, rates_by_position, limit, plan, every, first_km) for plan in legal], ignore_index=True
    )
    most = table["life_km"].max()
    table["_named"] = [plan.name in PATTERNS for plan in legal for _ in every]
    table["_row"] = np.arange(len(table))
    table["_life"] = -np.round(table["life_km"] / most if most else table["life_km"], 9)
    measure = f"{keep}_difference_mm"
    table["_within"] = 0 if keep == "miles" else (table["life_km"] < (1 - give_up) * most).astype(int)
    table["_apart"] = 0.0 if keep == "miles" else table[measure].round(6)
    table = table.sort_values(
        ["_within", "_apart", "_life", "interval_km", "_named"], ascending=[True, True, True, False, False]
    )
    first = int(table["_row"].iloc[0])
    chosen = legal[first // len(every)].every(float(every[first % len(every)]))
    usable, rates = set_arrays(depths, rates_by_position, legal[0], limit)
    may = np.zeros(rates.shape, bool)
    for plan in legal:
        may |= _reach(plan, len(usable))
    return BestPlan(
        simulate(depths, rates_by_position, chosen, limit, first_km),
        table.drop(columns=["_named", "_row", "_life", "_within", "_apart"]).reset_index(drop=True),
        pd.DataFrame(refused, columns=["plan", "reason"]),
        bounds(usable, rates, may)[0],
    )


def stay(wheels: int = 4) -> Plan:
    """The plan of no rotation."""
    return all_plans(wheels)[0]


def _rows(
    depths: Mapping[str, float] | pd.Series,
    rates_by_position: Mapping[str, float] | pd.DataFrame,
    limit: float | Mapping[str, float],
    plan: Plan,
    every: np.ndarray,
    first_km: float | None,
) -> pd.DataFrame:
    usable, rates = set_arrays(depths, rates_by_position, plan, limit)
    life = set_lives(usable, rates, plan, every, first_km)[0]
    most, _ = bounds(usable, rates)
    depth = np.array([float(depths[p]) for p in plan.positions])
    apart = [
        set_path(
            depth, rates, plan.every(float(k)), float(t), float(k if first_km is None else first_km)
        ).differences(plan.positions)
        for k, t in zip(every, life, strict=True)
    ]
    return pd.DataFrame(
        {
            "plan": plan.name,
            "interval_km": every,
            "order": plan.order,
            "life_km": life,
            "of_bound": life / most if most else np.nan,
            "axle_difference_mm": [a for a, _ in apart],
            "set_difference_mm": [s for _, s in apart],
        }
    )


def _reach(plan: Plan, n: int) -> np.ndarray:
    """Positions that each tire comes to under a plan; shape (n, n)."""
    spots = plan.positions
    reach = np.zeros((n, n), bool)
    for cycle in plan.cycles:
        at = [spots.index(p) for p in cycle]
        reach[np.ix_(at, at)] = True
    return reach

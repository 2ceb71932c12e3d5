"""What to look at next at a wheel: the check that tells its likely causes apart, cheapest first.

Costs run from a hand along the tread to an alignment rack; the order is common practice, no source. What each
check settles follows US Army TM 9-2610-200-14, p. 2-12, the service texts of the 1997 Mercury Villager and
2006 Pontiac G6, and the 1942-47 Chevrolet shop manual; that load comes first where it is over, the order of
checks in TM 9-2320-361-24-1 (WP 0006).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Final

import pandas as pd

from tirelife.tread.causes import Wheel
from tirelife.tread.patterns import NEEDS_ANGLES, NOT_A_FAULT
from tirelife.tread.signs import Finding

__all__ = ["OWN", "RIVAL_FROM", "Step", "apart", "checks_first"]

RIVAL_FROM: Final = 0.1
"""Probability from which a cause has to be told apart from the likeliest one; our assumption."""
_ASKED_FROM: Final = 0.25
_EVEN_FROM: Final = 0.75
"""Where a tread most likely wears as it should, it is left alone from this probability on, or while no check
finds a fault with the chance above; but angles are never argued against from :data:`RIVAL_FROM` on. Our
assumption."""
_TOGETHER: Final = 1.2
"""Two causes whose probabilities sum to more act together and are no rivals."""


class Step(StrEnum):
    """What a person does next; those that tell causes apart stand in the order of their cost."""

    INSPECT = "inspect now"
    FEEL = "feel the tread"
    PRESSURE = "check pressure"
    TURNS = "ask about turns"
    ROADS = "ask about roads"
    LOAD = "check load"
    AROUND = "read round the tread"
    WHEEL = "check wheel and dampers"
    ANGLES = "measure angles"
    TO_DRIVEN = "move to driven axle"
    ROTATE = "rotate"
    LOOK = "look"
    READ_MORE = "read more grooves"
    NOTHING = "nothing"


OWN: Final[Mapping[str, Step]] = {
    "even_wear": Step.NOTHING,
    "normal_shoulder_wear": Step.NOTHING,
    "low_pressure": Step.PRESSURE,
    "high_pressure": Step.PRESSURE,
    "hard_cornering": Step.TURNS,
    "overload": Step.LOAD,
    "toe_in": Step.ANGLES,
    "toe_out": Step.ANGLES,
    "camber": Step.ANGLES,
    "road_crown": Step.ROADS,
    "diagonal_wear": Step.ANGLES,
    "cupping": Step.WHEEL,
    "flat_spot": Step.WHEEL,
}
"""The check that settles each cause by itself."""
_TELLS: Final[Mapping[Step, tuple[tuple[str, ...], ...]]] = {
    Step.FEEL: (
        ("toe_in",), ("toe_out",), ("diagonal_wear",), ("cupping",), ("flat_spot",), ("hard_cornering",),
    ),
    Step.PRESSURE: (("low_pressure",), ("high_pressure",)),
    Step.TURNS: (("hard_cornering",),),
    Step.ROADS: (("road_crown",),),
    Step.LOAD: (("overload",),),
    Step.AROUND: (("cupping",), ("diagonal_wear",), ("flat_spot",)),
    Step.ANGLES: (("toe_in", "diagonal_wear"), ("toe_out",), ("camber",)),
}  # fmt: skip
"""What comes out differently in each check, cheapest first; what is in none of its groups comes out the
same."""
_FREE: Final = (Step.PRESSURE, Step.TURNS, Step.ROADS, Step.LOAD)
"""A gauge on the valve, or a question."""
_ACTS: Final = 0.75
"""Probability from which a cause acts, whatever else does; our assumption."""
_FELT: Final = ("feathered_edge", "smooth", "cups", "diagonal", "rounded_shoulder", "heel_and_toe")
_ROUND: Final = ("cupping", "diagonal_wear", "flat_spot")
_SIGNS: Final = {
    "feathered_edge": Step.ANGLES,
    "diagonal": Step.ANGLES,
    "cups": Step.WHEEL,
    "flat_spot": Step.WHEEL,
    "rounded_shoulder": Step.TURNS,
}
"""Check that a finding asks for, whatever the gauge says."""


def apart(check: Step, one: str, other: str) -> bool:
    """Whether a check comes out differently for two causes.

    Examples
    --------
    >>> apart(Step.PRESSURE, "low_pressure", "overload"), apart(Step.PRESSURE, "overload", "hard_cornering")
    (True, False)
    """
    groups = _TELLS.get(check, ())
    at = [next((i for i, group in enumerate(groups) if cause in group), -1) for cause in (one, other)]
    return at[0] != at[1]


def checks_first(
    causes: pd.DataFrame,
    wheels: Mapping[str, Wheel],
    findings: Iterable[Finding] = (),
    *,
    cornering: float = float("nan"),
    roads: str = "",
) -> dict[str, Step]:
    """Check to make first at each wheel of one vehicle.

    Parameters
    ----------
    causes : DataFrame
        position, cause, probability, as from :func:`tirelife.tread.weigh_wheels`.
    wheels : mapping of str to Wheel
        By position: what is recorded already tells no more.
    findings : iterable of Finding, optional
    cornering : float
    roads : str
        As for :func:`tirelife.tread.weigh_wheels`.

    Returns
    -------
    dict of Step
        By position: the cheapest check that tells the likeliest cause from its nearest rival, or the
        likeliest cause's own check where it has none.

    Notes
    -----
    Causes that one check settles are weighed together, and so are those that are no fault: whether toe or
    camber, angles are measured; whether even or with normal shoulders, nothing is to be done. What runs round
    the tread is left out where nothing was read or felt of it.
    """
    chance = chances(causes)
    signs = list(findings)
    out = {}
    for position, here in chance.items():
        felt = [f for f in signs if f.position == position and f.kind in _SIGNS]
        by_hand = any(f.position == position and f.kind in _FELT for f in signs)
        out[position] = _first(here, wheels[position], felt, by_hand, cornering, roads)
    return out


def chances(causes: pd.DataFrame) -> dict[str, dict[str, float]]:
    """Probability of each cause, whichever side it wears, by position; in the order of the rows."""
    out: dict[str, dict[str, float]] = {}
    columns = (causes[name] for name in ("position", "cause", "probability"))
    for position, cause, chance in zip(*columns, strict=True):
        here = out.setdefault(str(position), {})
        here[str(cause)] = here.get(str(cause), 0.0) + float(chance)
    return out


def _first(
    chance: Mapping[str, float],
    wheel: Wheel,
    felt: list[Finding],
    by_hand: bool,
    cornering: float,
    roads: str,
) -> Step:
    spots = wheel.spots is not None and len(wheel.spots) >= 2
    if wheel.load_ratio > 1:  # more than the tires may carry is put right whatever they wore from
        return Step.LOAD
    if wheel.read.sum() < 2 and not felt:
        return Step.READ_MORE
    seen = _tellable(chance, bool(spots or felt))
    order = sorted(seen, key=lambda c: -seen[c])
    # Causes that one check settles speak for it together, and so do those that are no fault.
    asks, quiet = _by_check(seen), sum(seen.get(c, 0.0) for c in NOT_A_FAULT)
    likeliest = max(asks, key=lambda step: asks[step], default=Step.NOTHING)
    if quiet >= asks.get(likeliest, 0.0):
        if felt:
            return _SIGNS[felt[0].kind]
        if roads:  # who has said it is not asked again
            asks.pop(Step.ROADS, None)
            likeliest = max(asks, key=lambda step: asks[step], default=Step.NOTHING)
        angles = any(seen.get(c, 0.0) >= RIVAL_FROM for c in NEEDS_ANGLES)
        if not angles and (quiet >= _EVEN_FROM or asks.get(likeliest, 0.0) < _ASKED_FROM):
            return Step.NOTHING
        top = next(c for c in order if c in NOT_A_FAULT)
        rivals = [next(c for c in order if c not in NOT_A_FAULT and OWN[c] is likeliest)]
    else:
        top = next(c for c in order if OWN[c] is likeliest)
        # What is likely beside a cause that is as good as sure acts with it, and is no rival of it.
        sure = seen[top] > 1 - RIVAL_FROM
        # Nobody mends a road: what is likelier and can be put right goes before asking about it.
        told = [c for c in order if c not in (top, "road_crown")]
        rivals = [c for c in told if seen[c] >= RIVAL_FROM and seen[top] + seen[c] <= _TOGETHER and not sure]
    done = set()
    if felt or by_hand:
        done.add(Step.FEEL)
    if wheel.pressure_ratio == wheel.pressure_ratio:
        done.add(Step.PRESSURE)
    if cornering == cornering:
        done.add(Step.TURNS)
    if roads:
        done.add(Step.ROADS)
    if wheel.load_ratio == wheel.load_ratio:
        done.add(Step.LOAD)
    if spots:
        done.add(Step.AROUND)
    for rival in rivals[:1]:
        if any(_SIGNS[f.kind] is OWN[top] for f in felt):  # felt or seen, and likeliest: told apart already
            return OWN[top]
        # Of checks that cost next to nothing, the likeliest cause's own comes first.
        for check in [c for c in (OWN[top],) if c in _FREE] + list(_TELLS):
            if check not in done and apart(check, top, rival):
                return check
    if top in NOT_A_FAULT:
        return OWN[rivals[0]]
    # Causes that act together each have their check: the cheapest of them goes first.
    acting = [OWN[c] for c in order if seen[c] > _ACTS and c not in NOT_A_FAULT]
    return min(acting or [OWN[top]], key=list(Step).index)


def _tellable(chance: Mapping[str, float], told: bool) -> dict[str, float]:
    """Probabilities where nothing runs round the tread, if nothing was read or felt of it: nearly, since that
    was weighed on its own.
    """
    if told:
        return dict(chance)
    left = 1 - min(sum(chance.get(c, 0.0) for c in _ROUND), 0.9)
    return {c: p / left if c == "even_wear" else p for c, p in chance.items() if c not in _ROUND}


def _by_check(chance: Mapping[str, float]) -> dict[Step, float]:
    """Probability that each check finds a fault."""
    out: dict[Step, float] = {}
    for cause, share in chance.items():
        if cause not in NOT_A_FAULT:
            out[OWN[cause]] = out.get(OWN[cause], 0.0) + share
    return out

"""Which rotation is worth most to a set, over joint draws of its depths and rates: one advice with its
reason.

A usual pattern for the drive at a usual interval stands, unless another order of moves is better by 5 % with
nine chances in ten; then the advice says which tire lags. Bound, mean and range are all of one quantity, the
distance to the moment when the first tire at its removal depth would have to run on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note, Severity
from tirelife.errors import misused
from tirelife.positions import AXLES, FRONT, REAR, ROAD
from tirelife.rotation.plan import (
    PATTERNS,
    Plan,
    Refusal,
)
from tirelife.rotation.simulation import (
    bounds,
    set_lives,
    set_path,
)
from tirelife.rotation.wrong import Wrong
from tirelife.units import INCH_32ND_MM, MILE_KM

__all__ = [
    "BETTER",
    "RULES",
    "SURE",
    "USUAL",
    "USUAL_INTERVAL",
    "USUAL_INTERVALS_KM",
    "Advice",
    "Aim",
    "Rule",
    "Why",
    "advise",
    "matched",
]

Floats = NDArray[np.float64]

BETTER: Final = 0.05
SURE: Final = 0.9
"""How much better, and how surely, a plan has to be for the usual to be left; our choice."""
ALIKE: Final = 0.995
"""Usual patterns worth this share of the best of them are alike, and the drive's own goes first: half
of the 1 % by which the advice may fall short of the best of them, the rest is for draws being draws."""
USUAL: Final[dict[str, tuple[str, ...]]] = {
    "front": ("forward cross", "X", "front-to-rear"),
    "rear": ("rearward cross", "X", "front-to-rear"),
    "all": ("rearward cross", "X", "front-to-rear"),
    "": ("forward cross", "rearward cross", "X", "front-to-rear"),
}
"""Usual four-tire patterns by driven axle, as :data:`tirelife.rotation.PATTERNS` gives them with sources."""
USUAL_INTERVALS_KM: Final = (5000 * MILE_KM, 6000 * MILE_KM, 7500 * MILE_KM)
"""Usual intervals: 5,000 to 8,000 miles (NHTSA TireWise), 6,000 to 8,000 (trade association, 2002). [km]"""
USUAL_INTERVAL: Final = {"us": (5000.0, "mi"), "metric": (8000.0, "km")}
"""The one that is taken where none is told, by the units of a logbook."""
_BOUND_DRAWS: Final = 60


class Aim(StrEnum):
    """What a plan is chosen for."""

    LIFE = "life"
    """Distance to the first tire at its limit."""
    TOGETHER = "together"
    """Share of the set's usable rubber that is worn off when the first tire gets there: all come off
    together."""
    COST = "cost"
    """Distance for the money: the set's rubber and every rotation are paid."""


class Why(StrEnum):
    """Why the advice is what it is, and what a shop should know of it."""

    USUAL = "usual-stands"
    """share_better, chance: no other order of moves is better by enough, surely enough."""
    NONE_BETTER = "none-better"
    """share_better, chance: no other order of moves is worth half a percent more."""
    LAGS = "one-lags"
    """position, share: the tire that ends the set first under the usual pattern, and in what share of
    draws."""
    BETTER = "better"
    """share_better, chance: what leaving the usual is worth."""
    DEEPER_REAR = "deeper-pair-to-rear"
    """apart_mm: the first move puts the deeper pair on the rear, where a loss of grip is hardest to catch."""
    SHALLOWER_REAR = "shallower-pair-to-rear"
    """apart_mm: it puts the shallower pair there by more than the rule allows to pass without a word."""
    AXLE_APART = "axle-apart"
    """position, apart_mm: tires of one axle would differ by more than the rule."""
    DRIVE_APART = "drive-apart"
    """apart_mm: all wheels are driven, and tires differ by more than the maker, or common practice, allows;
    rotation does not cure that."""
    NONE_ALLOWED = "none-allowed"
    """No pattern of the trade; what stands against it follows: :class:`tirelife.rotation.Refusal`."""


class Standing(StrEnum):
    """On what a rule of the trade stands."""

    COMMON_PRACTICE = "common-practice"
    """No source."""
    MAKERS = "makers"
    """Makers' and trade advice."""
    SAFETY_SITE = "safety-site"
    """A tire-maker's safety site."""
    MEMORY = "memory"
    """From memory, high."""


@dataclass(frozen=True)
class Rule:
    """A rule of the trade as data: from what depth it counts, if from any, and on what it stands."""

    standing: Standing
    limit_mm: float = float("nan")


RULES: Final[Mapping[StrEnum, Rule]] = {
    # 2 to 3/32 in between the tires of an axle.
    Why.AXLE_APART: Rule(Standing.COMMON_PRACTICE, 3 * INCH_32ND_MM),
    # 2 to 3/32 in over all driven wheels; the maker's figure wins.
    Why.DRIVE_APART: Rule(Standing.COMMON_PRACTICE, 3 * INCH_32ND_MM),
    # The deeper pair belongs on the rear; 1/32 in is our choice.
    Why.DEEPER_REAR: Rule(Standing.MAKERS, INCH_32ND_MM),
    # No tire at or near its removal depth is moved.
    Refusal.AT_LIMIT: Rule(Standing.COMMON_PRACTICE),
    Refusal.NEAR_LIMIT: Rule(Standing.COMMON_PRACTICE),
    # Tires that turn one way stay on their side.
    Refusal.DIRECTIONAL: Rule(Standing.SAFETY_SITE),
    # Sizes that differ stay on their axle.
    Refusal.SIZES: Rule(Standing.MEMORY),
    # Only a full-size matching spare takes its turn.
    Refusal.SPARE_SIZE: Rule(Standing.SAFETY_SITE),
    Refusal.TEMPORARY_SPARE: Rule(Standing.SAFETY_SITE),
}
"""Rules that are told or kept, by the code that says so."""


@dataclass(frozen=True, eq=False)
class Advice:
    """What to do with a set, and all that was weighed.

    Attributes
    ----------
    plan : Plan or None
        None where these tires allow no pattern with a trade name.
    usual : Plan or None
        Best usual pattern and interval.
    notes : tuple of Note
        Codes of :class:`Why`, the reason for the plan first.
    table : DataFrame
        plan, interval_km, usual, worth (mean, of the aim), life_km_mean, life_km_p10, life_km_p50,
        life_km_p90, of_bound (median of life over the same draw's bound); best first.
    chance_better : float
        Chance that the best other plan is worth more than the usual one.
    better : float
        By what share its mean is.
    """

    plan: Plan | None
    usual: Plan | None
    notes: tuple[Note, ...]
    table: pd.DataFrame
    chance_better: float
    better: float


def advise(
    depth_mm: Floats,
    rates: Floats,
    limit_mm: float,
    plans: Sequence[Plan],
    drive: str = "",
    *,
    aim: Aim | str = Aim.LIFE,
    intervals_km: Sequence[float] = USUAL_INTERVALS_KM,
    rotation_price: float = 0.0,
    set_price: float = float("nan"),
    drive_apart_mm: float | None = None,
    first_km: float = 0.0,
    usable_mm: Floats | None = None,
    refused: Sequence[Note] = (),
) -> Advice:
    """Weigh plans over joint draws and advise one.

    Parameters
    ----------
    depth_mm : ndarray, shape (draws, n)
        Depth of the tire at each position of the plans, in their order. [mm]
    rates : ndarray, shape (draws, n, n)
        Wear of each tire (rows) in each position (columns), in the same draws. [mm/km]
    limit_mm : float
        Removal depth. [mm]
    plans : sequence of Plan
        Those that these tires allow, "no rotation" among them if it is to be weighed; of one number of
        wheels.
    drive : str
        front, rear, all, or empty if it is not known: says which patterns are usual.
    aim : Aim
    intervals_km : sequence of float
        Intervals tried; usual ones. [km]
    rotation_price, set_price : float
        For :attr:`Aim.COST`, in one currency.
    drive_apart_mm : float, optional
        What the vehicle's maker allows between driven wheels. [mm]
    first_km : float
        Distance to the first rotation. [km]
    usable_mm : ndarray, shape (draws, n), optional
        What each tire may wear to the removal depth at these rates (:meth:`tirelife.rotation.SetNow.left`);
        depth above it by default. [mm]
    refused : sequence of Note
        What stands against the plans that are not among them; told where none is left.

    Returns
    -------
    Advice

    Raises
    ------
    InputError
        If the aim is not known, or is cost and there is no price.
    """
    aim = _aim(aim)
    if aim is Aim.COST and not set_price > 0:
        raise misused(Wrong.NO_PRICE)
    columns = [
        "plan", "interval_km", "usual", "worth", "life_km_mean", "life_km_p10", "life_km_p50",
        "life_km_p90", "of_bound",
    ]  # fmt: skip
    names = USUAL.get(drive, USUAL[""])
    is_usual = np.array([any(p.name == n or p.name == f"{n}, spare stays" for n in names) or
                         (len(p.positions) == 5 and p.name in PATTERNS) for p in plans])  # fmt: skip
    if not is_usual.any():  # none of the drive's own is allowed: any pattern with a trade name is usual then
        is_usual = np.array([p.name in PATTERNS for p in plans])
    if not is_usual.any():  # what may move is no pattern of the trade: the set is left, and told why
        none = (Note(Why.NONE_ALLOWED), *refused)
        return Advice(None, None, none, pd.DataFrame(columns=columns), np.nan, np.nan)
    usable = np.maximum(np.asarray(depth_mm, float) - limit_mm, 0.0) if usable_mm is None else usable_mm
    every = np.asarray(intervals_km, float)
    lives = np.stack([set_lives(usable, rates, plan, every, first_km) for plan in plans])
    worth = np.stack(
        [
            np.column_stack(
                [
                    _worth(
                        aim,
                        lives[i, :, k],
                        usable,
                        rates,
                        plan,
                        float(every[k]),
                        rotation_price,
                        set_price,
                        first_km,
                    )
                    for k in range(len(every))
                ]
            )
            for i, plan in enumerate(plans)
        ]
    )
    mean = worth.mean(axis=1)
    some = _BOUND_DRAWS if len(usable) > _BOUND_DRAWS else len(usable)
    most = np.array([bounds(usable[d], rates[d])[0] for d in range(some)])
    rows = []
    for i, plan in enumerate(plans):
        for k, km in enumerate(every):
            life = lives[i, :, k]
            low, mid, high = np.quantile(life, [0.1, 0.5, 0.9])
            of = float(np.median(life[:some] / most)) if (most > 0).all() else np.nan
            rows.append((plan.name, km, bool(is_usual[i]), mean[i, k], life.mean(), low, mid, high, of))
    table = pd.DataFrame(rows, columns=columns)
    best = _first(mean, _paired(np.median(depth_mm, axis=0), plans))
    own = _usual(mean, is_usual, plans, names)
    gain = float(mean[best] / mean[own] - 1) if mean[own] > 0 else 0.0
    more = worth[best[0], :, best[1]] - worth[own[0], :, own[1]]
    chance = float((more > 1e-3).mean())  # less than a metre is a tie, not a last digit's gain
    leaves = gain >= BETTER and chance >= SURE
    chosen = (_left(mean, float(mean[best]), plans) or best) if leaves else own
    plan = plans[chosen[0]].every(float(every[chosen[1]]))
    usual = plans[own[0]].every(float(every[own[1]]))
    values = (("share_better", gain), ("chance", chance))
    if leaves:
        notes = [Note(Why.BETTER, values=values), _lagging(usable, rates, usual)]
    else:
        notes = [Note(Why.USUAL if gain >= 0.005 else Why.NONE_BETTER, values=values)]
    apart = RULES[Why.DRIVE_APART].limit_mm if drive_apart_mm is None else drive_apart_mm
    notes += matched(np.median(depth_mm, axis=0), plan, drive, apart)
    order = np.argsort(-table["worth"].to_numpy(float).round(3), kind="stable")  # equal to a metre: as listed
    return Advice(plan, usual, tuple(notes), table.iloc[order].reset_index(drop=True), chance, gain)


def matched(depth_mm: Floats, plan: Plan, drive: str, drive_apart_mm: float) -> list[Note]:
    """What the rules say of a set as the plan's first move leaves it.

    Parameters
    ----------
    depth_mm : ndarray, shape (n,)
        By position now, in the order of the plan. [mm]
    plan : Plan
    drive : str
    drive_apart_mm : float
        [mm]
    """
    to = dict(plan.goes_to)
    after = {to[p]: float(d) for p, d in zip(plan.positions, depth_mm, strict=True)}
    notes: list[Note] = []
    for pair in AXLES.values():
        apart = abs(after[pair[0]] - after[pair[1]])
        if apart > RULES[Why.AXLE_APART].limit_mm + 1e-9:
            low = min(pair, key=lambda p: after[p])
            notes.append(Note(Why.AXLE_APART, Severity.DOUBT, (("position", low), ("apart_mm", apart))))
    road = [after[p] for p in ROAD]
    if drive == "all" and max(road) - min(road) > drive_apart_mm + 1e-9:
        notes.append(Note(Why.DRIVE_APART, Severity.WARNING, (("apart_mm", max(road) - min(road)),)))
    rear = min(after[p] for p in REAR) - min(after[p] for p in FRONT)
    if plan.order > 1 and abs(rear) >= RULES[Why.DEEPER_REAR].limit_mm:
        code = Why.DEEPER_REAR if rear > 0 else Why.SHALLOWER_REAR
        notes.append(Note(code, Severity.NOTE, (("apart_mm", abs(rear)),)))
    return notes


def _aim(aim: Aim | str) -> Aim:
    try:
        return Aim(aim)
    except ValueError:
        raise misused(Wrong.AIM, known=", ".join(a.value for a in Aim), aim=aim) from None


def _paired(depth_mm: Floats, plans: Sequence[Plan]) -> NDArray[np.bool_]:
    """Plans whose first move leaves no axle further apart than the rule, or than one is now already."""
    apart = []
    for plan in plans:
        to = dict(plan.goes_to)
        now = dict(zip(plan.positions, depth_mm, strict=True))
        then = {to[p]: d for p, d in now.items()}
        apart.append([max(abs(at[a] - at[b]) for a, b in AXLES.values()) for at in (now, then)])
    before, after = np.array(apart).T
    return np.asarray(after <= np.maximum(before, RULES[Why.AXLE_APART].limit_mm) + 1e-9)


def _first(mean: Floats, may: NDArray[np.bool_]) -> tuple[int, int]:
    """Plan and interval of the largest mean; of equals the longest interval, which is the least work."""
    held = np.where(may[:, None], mean, -np.inf)
    best = held.max()
    i, k = np.nonzero(held >= best - 1e-9 * abs(best))
    last = int(np.argmax(k))
    return int(i[last]), int(k[last])


def _left(mean: Floats, best: float, plans: Sequence[Plan]) -> tuple[int, int] | None:
    """Leaving the tires where they are, if no order of moves is worth 5 % more; else None."""
    still = [i for i, plan in enumerate(plans) if all(a == b for a, b in plan.goes_to)]
    if not still or best >= (1 + BETTER) * mean[still].max():
        return None
    return still[0], int(np.argmax(mean[still[0]]))


def _usual(
    mean: Floats, may: NDArray[np.bool_], plans: Sequence[Plan], names: Sequence[str]
) -> tuple[int, int]:
    """The drive's own pattern among the usual ones that are alike (:data:`ALIKE`) with the best of them."""
    held = np.where(may[:, None], mean, -np.inf)
    near = (held >= ALIKE * held.max()).any(axis=1) if held.max() > 0 else may
    rank = [next((r for r, n in enumerate(names) if plan.name.startswith(n)), len(names)) for plan in plans]
    first = min(np.flatnonzero(near), key=lambda i: rank[i])
    only = np.zeros(len(plans), bool)
    only[first] = True
    return _first(mean, only)


def _worth(
    aim: Aim,
    life: Floats,
    usable: Floats,
    rates: Floats,
    plan: Plan,
    every: float,
    rotation: float,
    price: float,
    first: float,
) -> Floats:
    if aim is Aim.LIFE:
        return life
    if aim is Aim.COST:
        turns = np.maximum(np.floor((life - first) / every) + 1, 0.0) if plan.order > 1 else 0.0
        return np.asarray(life / (price + rotation * turns))
    used = np.empty(len(life))
    for d in range(len(life)):
        left = set_path(usable[d], rates[d], plan.every(every), float(life[d]), first).depth[-1].sum()
        used[d] = 1 - left / usable[d].sum() if usable[d].sum() > 0 else 1.0
    return used


def _lagging(usable: Floats, rates: Floats, usual: Plan) -> Note:
    """The tire that has least, for its wear, of all: it ends the set, or would without moves of its own."""
    pace = rates[:, :, :4].mean(axis=2)
    ends = np.argmin(usable / pace, axis=1)
    count = np.bincount(ends, minlength=usable.shape[1])
    first = int(count.argmax())
    values = (("position", usual.positions[first]), ("share", float(count[first] / len(ends))))
    return Note(Why.LAGS, values=values)

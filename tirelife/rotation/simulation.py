"""Depths of a set to its end under a plan, and the bound that no order of moves can pass.

Wear is taken as a fixed rate for each tire in each position, so depths are piecewise straight and the end
of the set is found exactly, with no stepping error.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import misused
from tirelife.positions import ROAD, SPARE
from tirelife.rotation.plan import Plan
from tirelife.rotation.wrong import Wrong

__all__ = ["SetLife", "bounds", "set_lives", "simulate"]

Floats = NDArray[np.float64]
_ROUND: Final = 1e-12


@dataclass(frozen=True, eq=False)
class SetLife:
    """What a set of tires runs under a plan.

    Attributes
    ----------
    plan : Plan
    life_km : float
        Distance to the moment when the first tire at its removal depth would have to run on. [km]
    limited_by : str
        Where that tire is at the start.
    bound_km : float
        Longest distance that any order of moves of these tires could give. [km]
    rubber_bound_km : float
        Usable rubber of the whole set over the wear of all road wheels per km. [km]
    axle_difference_mm, set_difference_mm : float
        Largest difference between the two tires of an axle, and between any two road wheels, over the
        set's life. [mm]
    left_mm : float
        Usable depth that is left in the set at the end, all tires together. [mm]
    steps : DataFrame
        step, from_km, to_km, tire (its position at the start), position, depth_from_mm, depth_mm.
    """

    plan: Plan
    life_km: float
    limited_by: str
    bound_km: float
    rubber_bound_km: float
    axle_difference_mm: float
    set_difference_mm: float
    left_mm: float
    steps: pd.DataFrame

    @property
    def of_bound(self) -> float:
        """Distance as a share of the bound."""
        return self.life_km / self.bound_km if self.bound_km else float("nan")


def simulate(
    depths: Mapping[str, float] | pd.Series,
    rates_by_position: Mapping[str, float] | pd.DataFrame,
    plan: Plan,
    limit: float | Mapping[str, float],
    first_km: float | None = None,
) -> SetLife:
    """Run a set to its end under a plan.

    Parameters
    ----------
    depths : mapping of str to float
        Depth of the tire now at each position of the plan. [mm]
    rates_by_position : mapping of str to float, or DataFrame
        Wear per km at each position, the same for every tire; or one row a tire (by its position now), one
        column a position. The spare's place wears nothing where it is not given. [mm/km]
    plan : Plan
    limit : float or mapping of str to float
        Removal depth, for all or for the tire now at each position. [mm]
    first_km : float, optional
        Distance to the first rotation: the plan's interval by default, 0 to rotate now. [km]

    Returns
    -------
    SetLife

    Raises
    ------
    InputError
        If a depth or rate is missing, negative or not finite.

    Examples
    --------
    >>> from tirelife.rotation import PATTERNS
    >>> wear = {"LF": 2e-4, "RF": 2e-4, "LR": 1e-4, "RR": 1e-4}
    >>> out = simulate(dict.fromkeys(wear, 7.6), wear, PATTERNS["X"].every(8000), 1.6)
    >>> round(out.life_km), round(out.bound_km)
    (38000, 40000)
    """
    usable, rates = set_arrays(depths, rates_by_position, plan, limit)
    first = plan.interval_km if first_km is None else float(first_km)
    ends = _tire_lives(usable[None], rates[None], plan, np.array([plan.interval_km]), np.array([first]))[0, 0]
    worst = int(np.argmin(ends))
    life = float(ends[worst])
    most, rubber = bounds(usable, rates)
    depth = np.array([float(depths[p]) for p in plan.positions])
    path = set_path(depth, rates, plan, life, first)
    axle, spread = path.differences(plan.positions)
    left = float((path.depth[-1] - (depth - usable)).sum())
    steps = _frame(path, plan.positions)
    return SetLife(plan, life, plan.positions[worst], most, rubber, axle, spread, left, steps)


def set_lives(
    usable: ArrayLike, rates: ArrayLike, plan: Plan, intervals_km: ArrayLike, first_km: float | None = None
) -> Floats:
    """Distance to the end of a set, for many draws of the rates and many intervals at once.

    Parameters
    ----------
    usable : array_like, shape (n,) or (draws, n)
        Depth above the removal depth, tires in the order of ``plan.positions``. [mm]
    rates : array_like, shape (n, n) or (draws, n, n)
        Wear of each tire in each position. [mm/km]
    plan : Plan
    intervals_km : array_like, shape (m,)
        Distances between rotations. [km]
    first_km : float, optional
        Distance to the first rotation: each interval by default. [km]

    Returns
    -------
    ndarray, shape (draws, m) [km]
    """
    room, wear = np.atleast_2d(np.asarray(usable, float)), np.asarray(rates, float)
    wear = wear[None] if wear.ndim == 2 else wear
    room, wear = np.broadcast_to(room, wear.shape[:2]), wear
    every = np.atleast_1d(np.asarray(intervals_km, float))
    first = every if first_km is None else np.full_like(every, first_km)
    lives: Floats = _tire_lives(room, wear, plan, every, first).min(axis=2)
    return lives


def bounds(usable: Floats, rates: Floats, allowed: NDArray[np.bool_] | None = None) -> tuple[float, float]:
    """Distance that no order of moves of these tires can pass, and the simpler bound from rubber alone.

    Parameters
    ----------
    usable : ndarray, shape (n,)
        Depth above the removal depth. [mm]
    rates : ndarray, shape (n, n)
        Wear of each tire in each position, the spare's place included. [mm/km]
    allowed : ndarray of bool, shape (n, n), optional
        Positions that each tire may take; all by default.

    Returns
    -------
    bound_km, rubber_bound_km : float [km]

    Notes
    -----
    Let y be the distance that tire i runs in position p when the set ends at T. Every tire is somewhere all
    the time and every position is filled: rows and columns of y sum to T. No tire loses more than it has:
    sum over p of rate y <= usable. The largest T under these is a linear program. Every plan gives such
    a y, so none passes it; and any such y is a mixture of permutations (Birkhoff 1946), so short intervals
    reach it. Summed over the tires, where all wear alike, it gives total usable rubber over total wear
    per km. Where they do not, each position's rate is taken as the smallest of any tire there.
    """
    from scipy.optimize import linprog

    n = len(usable)
    rubber = float(np.maximum(usable, 0).sum() / rates.min(axis=0).sum())
    if (usable <= 0).any():
        return 0.0, rubber
    scale = rubber
    tire, place = np.indices((n, n)).reshape(2, -1)
    rows = (tire[None, :] == np.arange(n)[:, None]).astype(float)
    columns = (place[None, :] == np.arange(n)[:, None]).astype(float)
    equal = np.hstack([np.vstack([rows, columns]), -np.ones((2 * n, 1))])
    worn = np.hstack([rows * (rates.ravel() * scale / usable[tire])[None, :], np.zeros((n, 1))])
    may = np.ones((n, n), bool) if allowed is None else allowed
    box = [(0.0, None if ok else 0.0) for ok in may.ravel()]
    found = linprog(
        np.r_[np.zeros(n * n), -1.0],
        A_ub=worn,
        b_ub=np.ones(n),
        A_eq=equal,
        b_eq=np.zeros(2 * n),
        bounds=[*box, (0.0, None)],
        method="highs",
    )
    return float(found.x[-1] * scale), rubber


def set_arrays(
    depths: Mapping[str, float] | pd.Series,
    rates_by_position: Mapping[str, float] | pd.DataFrame,
    plan: Plan,
    limit: float | Mapping[str, float],
) -> tuple[Floats, Floats]:
    """Check a set and return its usable depths, shape (n,) [mm], and rates, shape (n, n) [mm/km]."""
    spots = plan.positions
    missing = [p for p in spots if p not in depths]
    if missing:
        raise misused(Wrong.DEPTHS, missing=", ".join(missing))
    floor: dict[str, Any] = dict(limit) if isinstance(limit, Mapping) else dict.fromkeys(spots, limit)
    usable = np.array([float(depths[p]) - float(floor[p]) for p in spots])
    if isinstance(rates_by_position, pd.DataFrame):
        wear = rates_by_position.reindex(index=list(spots), columns=list(spots))
    else:
        alike = pd.Series(dict(rates_by_position), dtype=float).reindex(list(spots))
        wear = pd.DataFrame([alike] * len(spots), index=list(spots))
    if SPARE in spots and SPARE not in rates_by_position:
        wear[SPARE] = 0.0
    unknown = [p for p in spots if wear[p].isna().any()]
    if unknown:
        raise misused(Wrong.RATES, unknown=", ".join(unknown))
    rates = wear.to_numpy(float)
    road = [j for j, p in enumerate(spots) if p != SPARE]
    if not np.isfinite(usable).all():
        raise misused(Wrong.NOT_A_NUMBER)
    if not np.isfinite(rates).all() or (rates < 0).any() or (rates[:, road] <= 0).any():
        raise misused(Wrong.RATE_RANGE)
    return usable, rates


def _tire_lives(usable: Floats, rates: Floats, plan: Plan, every: Floats, first: Floats) -> Floats:
    """Distance at which each tire reaches its limit; shape (draws, intervals, n).

    A tire that comes to its limit just as it goes to the spare's place counts until it must run again.
    Its wear repeats after ``order`` rotations, so whole rounds are counted by division and the
    last one is searched.
    """
    n, to = usable.shape[1], np.array(plan.permutation())
    path = [np.arange(n)]
    for _ in range(plan.order):
        path.append(to[path[-1]])
    wear = np.stack([rates[:, np.arange(n), spot] for spot in path[1:]], axis=2)  # (draws, n, order)
    cum = np.concatenate([np.zeros_like(wear[..., :1]), np.cumsum(wear, axis=2)], axis=2)[:, None]
    start = rates[:, np.arange(n), path[0]][:, None]
    room = usable[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        alone = np.where(start > 0, room / start, np.inf)
        rest = room - start * first[:, None]
        scale = every[:, None]
        rounds = np.maximum(np.floor(rest / (scale * cum[..., -1]) * (1 + _ROUND)), 0)
        part = np.maximum(rest / scale - rounds * cum[..., -1], 0)
        step = (cum[..., 1:] <= part[..., None] * (1 + _ROUND) + _ROUND * cum[..., -1:]).sum(axis=3)
        step = step.clip(0, plan.order - 1)
        shape = (*part.shape, 1)
        at = np.take_along_axis(np.broadcast_to(cum, (*part.shape, plan.order + 1)), step[..., None], 3)[
            ..., 0
        ]
        rate = np.take_along_axis(
            np.broadcast_to(wear[:, None], (*shape[:-1], plan.order)), step[..., None], 3
        )[..., 0]
        fraction = np.where(rate > 0, (part - at) / rate, 0.0).clip(0, 1)
        later = first[:, None] + scale * (rounds * plan.order + step + fraction)
    return np.where(room <= 0, 0.0, np.where(alone < first[:, None] * (1 - _ROUND), alone, later))


@dataclass(frozen=True, eq=False)
class Path:
    """Where the tires are: edges (k + 1,) [km], spot (k, n); and what is left: depth (k + 1, n) [mm]."""

    edges: Floats
    spot: NDArray[np.int64]
    depth: Floats

    def differences(self, positions: tuple[str, ...]) -> tuple[float, float]:
        """Largest difference within an axle, and over the four road wheels, at any time [mm].

        Depths are piecewise straight, so the largest stand at the ends of the steps.
        """
        at = np.argsort(self.spot, axis=1)  # tire at each position
        road = [positions.index(p) for p in ROAD]
        ends = np.stack([np.take_along_axis(d, at, 1)[:, road] for d in (self.depth[:-1], self.depth[1:])])
        axle = np.abs(ends[..., [0, 2]] - ends[..., [1, 3]]).max()
        return float(axle), float(np.ptp(ends, axis=2).max())


def set_path(depth: Floats, rates: Floats, plan: Plan, life: float, first: float) -> Path:
    """Follow a set to the end of its life, step by step."""
    n, to = len(depth), np.array(plan.permutation())
    count = 1 + max(int(np.ceil((life - first) / plan.interval_km * (1 - _ROUND))), 0)
    edges = np.minimum(np.r_[0.0, first + plan.interval_km * np.arange(count)], life)
    spot = np.empty((count, n), np.int64)
    spot[0] = np.arange(n)
    for k in range(1, count):
        spot[k] = to[spot[k - 1]]
    lost = rates[np.arange(n), spot] * np.diff(edges)[:, None]
    return Path(edges, spot, np.vstack([depth, depth - np.cumsum(lost, axis=0)]))


def _frame(path: Path, positions: tuple[str, ...]) -> pd.DataFrame:
    count, n = path.spot.shape
    spots = np.array(positions, dtype=object)
    out = pd.DataFrame(
        {
            "step": np.repeat(np.arange(count), n),
            "from_km": np.repeat(path.edges[:-1], n),
            "to_km": np.repeat(path.edges[1:], n),
            "tire": np.tile(spots, count),
            "position": spots[path.spot.ravel()],
            "depth_from_mm": path.depth[:-1].ravel(),
            "depth_mm": path.depth[1:].ravel(),
        }
    )
    real = (out["to_km"] > out["from_km"]) | (out["step"] == count - 1)
    kept: pd.DataFrame = out[real].reset_index(drop=True)
    return kept

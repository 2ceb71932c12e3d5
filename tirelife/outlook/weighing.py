"""A visit's depths weighed against what was known of a vehicle's tires: one conditioning of normal
distributions.

The counter's page does the same, line by line, in ``sheet/script/counter_model.js``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.rates import path_depth

__all__ = ["ROUNDS", "STEP", "Weighed", "odd_by", "turn_of_rate", "weigh"]

Floats = NDArray[np.float64]

ROUNDS: Final = 15
STEP: Final = 0.5
"""Largest step of a log rate in one round."""
_BOUND_MM: Final = 0.05


@dataclass(frozen=True, eq=False)
class Weighed:
    """n tires after a visit.

    Attributes
    ----------
    mean : ndarray, shape (n, 4)
        Depth [mm], log of the wear per reference km on an axle of mean wear, there [mm/km], log ratio of the
        axles, curvature: as :class:`tirelife.rates.posterior.Posterior` has them.
    cov : ndarray, shape (n, 4, 4)
    shared : ndarray, shape (n,)
        Covariance of each log rate with those of the others, on average.
    """

    mean: Floats
    cov: Floats
    shared: Floats


def weigh(
    law: Mapping[str, Any],
    mean: Floats,
    cov: Floats,
    run: tuple[Floats, Floats],
    read: Floats,
    error: Floats,
    start: Floats,
) -> Weighed:
    """Carry tires over a known distance, and condition on what was read there.

    Parameters
    ----------
    law : mapping
        ``wander`` [1/km], ``scatter`` [km], ``walk_share``, ``q_mean``, ``q_var``: see
        :class:`tirelife.rates.posterior.Posterior`.
    mean, cov : ndarray, shape (2 n + 1,), (2 n + 1, 2 n + 1)
        Depths before [mm], log rates there on an axle of mean wear, log ratio of the axles.
    run : (ndarray, ndarray), shape (n,)
        Reference distance on the front and on the rear axle. [km]
    read : ndarray, shape (n,)
        Depth read; NaN where a tire was not. [mm]
    error : ndarray, shape (n, n)
        Covariance of the readings. [mm²]
    start : ndarray, shape (n,)
        Depth that each tire began from; the rate moves with the curvature so that its depth stays. [mm]

    Notes
    -----
    Gauss-Newton steps to the mode, each log rate by at most :data:`STEP` a round; the walk of the log rates
    and the scatter on the way are unknowns of their own. The curvature is held, and its spread given back at
    the end: see :func:`turn_of_rate`.
    """
    n, q = len(read), law["q_mean"]
    held, spread = _with_walk(law, mean, cov, run)
    seen = np.flatnonzero(np.isfinite(read))
    at = held.copy()
    noise = error[np.ix_(seen, seen)]
    for _ in range(ROUNDS if len(seen) else 0):
        depth, by = _path(at, run, q)
        row = by[seen]
        gain = spread @ row.T @ np.linalg.inv(row @ spread @ row.T + noise)
        step = held + gain @ (read[seen] - depth[seen] - row @ (held - at)) - at
        most = float(np.abs(step[n : 2 * n + 1]).max())
        at = at + step * min(1.0, STEP / most) if most > 0 else at + step
    depth, by = _path(at, run, q)
    row = by[seen]
    pull = spread @ row.T
    after = spread - pull @ np.linalg.inv(row @ pull + noise) @ pull.T
    left, base, one = np.maximum(depth, _BOUND_MM), np.maximum(at[:n], _BOUND_MM), np.arange(n)
    rows = np.zeros((n, 3, len(at)))
    rows[:, 0], rows[:, 1] = by, (q / left)[:, None] * by
    rows[one, 1, one] -= q / base
    rows[one, 1, n + one] += 1.0
    rows[one, 1, 3 * n + 1 + one] += 1.0
    rows[:, 2, 2 * n] = 1.0
    out = np.zeros((n, 4, 4))
    out[:, :3, :3] = rows @ after @ rows.transpose(0, 2, 1)
    turn = turn_of_rate(start, depth, q)
    out[:, 3, 3] = law["q_var"]
    out[:, 1, 3] = out[:, 3, 1] = turn * law["q_var"]
    out[:, 1, 1] += turn**2 * law["q_var"]
    rate = at[n : 2 * n] + q * np.log(left / base) + at[3 * n + 1 :]
    pairs = rows[:, 1] @ after @ rows[:, 1].T
    shared = (pairs.sum(axis=1) - np.diag(pairs)) / (n - 1) if n > 1 else np.diag(pairs) * law["alone_share"]
    return Weighed(np.column_stack([depth, rate, np.full(n, at[2 * n]), np.full(n, q)]), out, shared)


def odd_by(
    law: Mapping[str, Any], mean: Floats, cov: Floats, run: tuple[Floats, Floats], read: Floats, error: Floats
) -> float:
    """How many standard deviations the reading furthest off, or their mean, lies from what was held."""
    held, spread = _with_walk(law, mean, cov, run)
    depth, by = _path(held, run, law["q_mean"])
    seen = np.flatnonzero(np.isfinite(read))
    row, off = by[seen], read[seen] - depth[seen]
    whole = row @ spread @ row.T + error[np.ix_(seen, seen)]
    return float(max(np.abs(off / np.sqrt(np.diag(whole))).max(), abs(off.sum()) / np.sqrt(whole.sum())))


def turn_of_rate(start: Floats, depth: Floats, q: float) -> Floats:
    """How a log rate moves with the curvature, the depths at both ends of its path being what they are.

    With p = 1 - q and l = log(depth / start) the present rate is that of ``start (1 - exp(p l)) / p`` times
    ``exp(q l)``.
    """
    fall = np.log(np.maximum(depth, _BOUND_MM) / np.maximum(start, _BOUND_MM))
    fall = np.minimum(fall, 0.0)
    power = 1 - q
    near = np.abs(power * fall) < 1e-4
    bent = np.where(near, -1.0, power * fall)
    curved = fall * np.exp(bent) / np.expm1(bent) - (1 / power if power else 0.0)
    by_power = np.where(near, fall / 2, curved)
    return np.asarray(fall - by_power)


def _with_walk(
    law: Mapping[str, Any], mean: Floats, cov: Floats, run: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """What was held, with the walk of each tire's path [km] and of its log rate on the way after it."""
    n = (len(mean) - 1) // 2
    half = np.exp(mean[2 * n] / 2)
    b = run[0] * half + run[1] / half
    alike = law["walk_share"] + (1 - law["walk_share"]) * np.eye(n)
    root = np.sqrt(b)
    spread = np.zeros((4 * n + 1, 4 * n + 1))
    spread[: 2 * n + 1, : 2 * n + 1] = cov
    path, rate = slice(2 * n + 1, 3 * n + 1), slice(3 * n + 1, 4 * n + 1)
    walk = law["wander"] * alike
    spread[path, path] = walk * np.outer(b * root, b * root) / 3 + np.diag(law["scatter"] * b)
    spread[path, rate] = walk * np.outer(b * root, root) / 2
    spread[rate, path] = spread[path, rate].T
    spread[rate, rate] = walk * np.outer(root, root)
    return np.append(mean, np.zeros(2 * n)), spread


def _path(at: Floats, run: tuple[Floats, Floats], q: float) -> tuple[Floats, Floats]:
    """Depths at the end, and their derivatives by all unknowns."""
    n = (len(at) - 1) // 4
    half, one = np.exp(at[2 * n] / 2), np.arange(n)
    base, rate = np.maximum(at[:n], _BOUND_MM), np.exp(at[n : 2 * n])
    front, rear = run[0] * half, run[1] / half
    worn = rate * (front + rear + at[2 * n + 1 : 3 * n + 1])
    depth = path_depth(base, worn, q)
    slope = np.ones(n) if q == 0 else (np.maximum(depth, _BOUND_MM) / base) ** q
    by = np.zeros((n, len(at)))
    by[one, one] = depth / base + slope * worn / base if q != 0 else 1.0
    by[one, n + one] = -slope * worn
    by[:, 2 * n] = -slope * rate * (front - rear) / 2
    by[one, 2 * n + 1 + one] = -slope * rate
    return depth, by

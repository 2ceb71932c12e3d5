"""Joint draws of what is known of tires: the same points for every vehicle, so that answers cannot differ."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.normal import ndtr, ndtri
from tirelife.positions import MOUNTED
from tirelife.rates.ahead import path_depth
from tirelife.rates.mixture import Mixture
from tirelife.rates.posterior import LEVEL, Posterior

__all__ = [
    "COUNT",
    "LEAST_MM",
    "Q_COLUMNS",
    "SHARED_COLUMNS",
    "WALK_DOUBTS",
    "Drawn",
    "Draws",
    "Standing",
    "draw",
    "points",
    "quantiles",
    "scores",
]

Floats = NDArray[np.float64]
Draws = NDArray[np.floating[Any]]
"""Draws, in single precision: a hundred metres in a million kilometres is far beyond what is known."""

COUNT: Final = 512
"""Draws of a vehicle. Their quantiles of distance are within 0.6 % of the distribution's, as a rule, and
within 3 % where two ways of being rotated leave a gap between."""
SHARED: Final = (
    "vehicle", "axle", "q", "turns", "interval", "every", "level", "year", "answer", "walked", "walking",
)  # fmt: skip
"""What the tires of a vehicle have in common: its part in their wear, the ratio of its axles, the curvature,
whether, when and how often they are rotated, its level of distance a day and how its years differ, how wear
answers to a change, and the walk of its log rate to today and from today on."""
COMMON: Final = "common"
"""The error that the depths of a vehicle's tires have in common, beyond its part in their wear."""
SETS: Final = ("change", "share")
"""When sets that take turns are changed next, and what share of the distance is run on each."""
WALKS: Final = ("walk_spread", "wander_spread")
"""How far a vehicle's rate and a tire's own may walk."""
WALK_DOUBTS: Final = ("walk_log_sd", "wander_log_sd")
"""How surely it is known how far a vehicle's rate walks, and a tire's own: log-sd of the spread of either."""
OWN: Final = ("rate", "depth", "walked", "walking", "noise")
"""What each tire has of its own."""
_SEED: Final = 271
"""Of four hundred the one whose quantiles of distance lie closest to those of 65,536 draws, over the tires of
five simulated fleets and of the demo: all within 3 % of the median."""
LEAST_MM: Final = 0.02
"""Depth under which a path is not followed. [mm]"""
Q_COLUMNS: Final = ("q_share_0", "q_mean_0", "q_sd_0", "q_share_1", "q_mean_1", "q_sd_1")
"""The distribution of q, of treads that wear straight and that bend."""
SHARED_COLUMNS: Final = ("shared_cov", "shared_both_mm", "shared_depth_mm2")
"""What a tire shares with its vehicle's others: see :class:`tirelife.rates.WearFit`. Without the last two
depths share what their log rates give them."""
STANDING_COLUMNS: Final = (
    "since_front_km", "since_rear_km", "unread_km", "here", "log_sd", "walk_share", *Q_COLUMNS,
)  # fmt: skip
"""What :class:`Standing` reads beside the posterior's columns, those shared, position and axle: see
:func:`tirelife.rates.present.tires_now`."""


@cache
def points() -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Standard normal points that every vehicle's draws are made from.

    Returns
    -------
    shared : dict of str to ndarray, shape (COUNT,)
        By name of :data:`SHARED`, :data:`COMMON`, :data:`SETS` and :data:`WALKS`.
    own : dict of str to ndarray, shape (5, COUNT)
        By name of :data:`OWN`, a row a seat of :data:`MOUNTED`.

    Notes
    -----
    A Latin hypercube of normal scores and its mirror image, made uncorrelated: every linear mix has mean 0,
    variance 1 and median 0 without error.
    """
    half, wide = COUNT // 2, len(SHARED) + len(OWN) * len(MOUNTED) + 1 + len(SETS) + len(WALKS)
    rng = np.random.default_rng(_SEED)
    # Of each pair of mirrored strata one, on a side drawn for it.
    score = ndtri((np.arange(half) + 0.5 + half) / COUNT)
    z = np.stack([score[rng.permutation(half)] * rng.choice([-1.0, 1.0], half) for _ in range(wide)], axis=1)
    z = z @ np.linalg.inv(np.linalg.cholesky(z.T @ z / half)).T
    z = np.vstack([z, -z])
    shared = {name: z[:, i].copy() for i, name in enumerate(SHARED)}
    last = (COMMON, *SETS, *WALKS)  # each is made apart from those before it, which stay as they are
    shared |= {name: z[:, wide - len(last) + i].copy() for i, name in enumerate(last)}
    rest = z[:, len(SHARED) : -len(last)].T.reshape(len(OWN), len(MOUNTED), COUNT)
    return shared, {name: rest[i].copy() for i, name in enumerate(OWN)}


@cache
def scores() -> tuple[dict[str, Draws], dict[str, Draws]]:
    """:func:`points` in the precision in which draws are worked with."""
    shared, own = points()
    return (
        {name: values.astype(np.float32) for name, values in shared.items()},
        {name: values.astype(np.float32) for name, values in own.items()},
    )


@dataclass(frozen=True, eq=False)
class Drawn:
    """Draws of n tires at their last reading, shape (n, COUNT) each.

    Attributes
    ----------
    depth : ndarray
        [mm]
    rate : ndarray
        Wear per reference km on an axle of mean wear, at that depth. [mm/km]
    half : ndarray
        Square root of the ratio of the axles: wear at the front is ``rate * half``, at the rear ``rate /
        half``.
    q : ndarray
        Curvature.
    """

    depth: Draws
    rate: Draws
    half: Draws
    q: Draws


@cache
def bent_scores(law: Mixture) -> Floats:
    """Points of q, shape (COUNT,): as many of its spreads from its mean as its distribution has them."""
    at = law.quantiles(ndtr(points()[0]["q"]))
    return np.asarray((at - law.middle) / law.spread)


def draw(posterior: Posterior, seat: NDArray[np.intp], shared: ArrayLike, bend: Draws | None = None) -> Drawn:
    """Draw tires from their posterior.

    Parameters
    ----------
    posterior : Posterior
    seat : ndarray of int, shape (n,)
        Which of :data:`MOUNTED` each is on, so that tires of a vehicle differ.
    shared : array_like, shape (n,) or (n, 3)
        :data:`SHARED_COLUMNS`, or the first of them.
    bend : ndarray, shape (COUNT,) or (n, COUNT), optional
        From :func:`bent_scores`; normal points by default.
    """
    common_points, own = scores()
    level = posterior.on_axle(LEVEL)
    low = level.factors()  # in the order axle, q, log rate, depth
    common, rest = parted(low, np.asarray(shared, dtype=float))
    bent = np.atleast_2d(common_points["q"] if bend is None else bend)
    alike = len(bent) == 1  # the tires of one fit
    # What each quantity takes of: mean, axles, q, its vehicle, the common error, its own rate and own depth.
    takes = np.zeros((4, len(low), 7))
    takes[:, :, 0] = level.mean[:, [2, 3, 1, 0]].T
    takes[:, :, 1:3] = low[:, :, :2].transpose(1, 0, 2)
    takes[2:, :, 3:5], takes[2:, :, 5:] = common.transpose(1, 0, 2), rest.transpose(1, 0, 2)
    takes = takes.astype(np.float32)
    drawn = np.empty((4, len(low), COUNT), dtype=np.float32)
    of_all = [np.ones(COUNT), common_points["axle"], bent[0] if alike else np.zeros(COUNT)]
    of_all += [common_points["vehicle"], common_points[COMMON]]
    for place in np.unique(seat):
        rows = np.flatnonzero(seat == place)
        points_of = np.stack([*of_all, own["rate"][place], own["depth"][place]]).astype(np.float32)
        drawn[:, rows] = (takes[:, rows].reshape(-1, 7) @ points_of).reshape(4, len(rows), COUNT)
    if not alike:
        drawn += takes[:, :, [2]] * bent
    axle, q, log_rate, depth = drawn
    return Drawn(depth, np.exp(log_rate), np.exp(axle / 2), q)


def parted(low: Floats, shared: Floats) -> tuple[Floats, Floats]:
    """How a tire's log rate and depth, given axle and curvature, split: roots of what it shares with its
    vehicle's tires and of what is its own.

    Parameters
    ----------
    low : ndarray, shape (n, 4, 4)
        From :meth:`Posterior.factors`.
    shared : ndarray, shape (n,) or (n, 3)
        As :func:`draw` takes it.

    Returns
    -------
    common, own : ndarray, shape (n, 2, 2)
        Lower triangular, by log rate and depth; their squares add up to the tire's own covariance.
    """
    root, known = low[:, 2:, 2:], low[:, 2:, :2]
    through = known @ known.transpose(0, 2, 1)  # axle and curvature are the vehicle's already
    spread = np.diagonal(root, axis1=1, axis2=2)
    inverse = np.divide(1.0, spread, out=np.zeros_like(spread), where=spread > 0)
    three = shared if shared.ndim == 2 else np.column_stack([shared, np.full((len(shared), 2), np.nan)])
    rate, both, depth = (three - np.stack([through[:, 0, 0], through[:, 0, 1], through[:, 1, 1]], axis=1)).T
    # In units of the tire's own spread: what is shared is no less than nothing and no more than that.
    lone = np.isnan(both) | np.isnan(depth)
    white = np.zeros_like(root)
    white[:, 0, 0] = rate * inverse[:, 0] ** 2
    across = (both - root[:, 1, 0] * inverse[:, 0] * rate) * inverse[:, 0] * inverse[:, 1]
    slope = root[:, 1, 0] * inverse[:, 0]
    white[:, 1, 0] = white[:, 0, 1] = np.where(lone, 0.0, across)
    deep = (depth - 2 * slope * both + slope**2 * rate) * inverse[:, 1] ** 2
    white[:, 1, 1] = np.where(lone, 0.0, deep)
    size, turn = np.linalg.eigh(np.nan_to_num(white))
    size = np.clip(size, 0.0, 0.98)
    back = turn.transpose(0, 2, 1)
    mine = root @ (turn * np.sqrt(size)[:, None, :]) @ back
    own = root @ (turn * np.sqrt(1 - size)[:, None, :]) @ back
    return _lower(mine @ mine.transpose(0, 2, 1)), _lower(own @ own.transpose(0, 2, 1))


def _lower(cov: Floats) -> Floats:
    """Lower triangular roots of covariances, shape (n, 2, 2)."""
    out = np.zeros_like(cov)
    out[:, 0, 0] = np.sqrt(np.maximum(cov[:, 0, 0], 0.0))
    out[:, 1, 0] = np.divide(cov[:, 1, 0], out[:, 0, 0], out=np.zeros(len(cov)), where=out[:, 0, 0] > 0)
    out[:, 1, 1] = np.sqrt(np.maximum(cov[:, 1, 1] - out[:, 1, 0] ** 2, 0.0))
    return out


def quantiles(values: Draws, probabilities: ArrayLike) -> Floats:
    """Quantiles along the last axis of draws, between neighbours as straight lines; NaN where one is NaN.

    Examples
    --------
    >>> float(quantiles(np.arange(COUNT, dtype=float)[None], [0.5])[0, 0])
    255.5
    """
    ranked = np.sort(values, axis=-1)
    at = np.asarray(probabilities, dtype=float) * values.shape[-1] - 0.5
    under = np.clip(np.floor(at).astype(int), 0, values.shape[-1] - 2)
    part = at - under
    low, high = (ranked[..., at].astype(float) for at in (under, under + 1))
    with np.errstate(invalid="ignore"):
        out = np.where(np.isfinite(high), low + (high - low) * part, high)
    return np.asarray(np.where(np.isnan(ranked[..., -1:]), np.nan, out))


class Standing:
    """Tires where they stand today: their posterior at the last reading, run over what they ran since.

    Attributes
    ----------
    get : dict of str to ndarray, shape (n, 1)
        Columns by name, in the precision of draws.
    seat : ndarray of int, shape (n,)
        Which of :data:`MOUNTED` each is on.
    front : ndarray, shape (n, 1)
        1 on the front axle, -1 on the rear, 0 for a spare, which runs nothing where it lies.
    posterior : Posterior
        At the last reading.
    wander, scatter : ndarray, shape (n, 1)
        Its, on an axle of mean wear.
    shared : ndarray, shape (n, 3)
        :data:`SHARED_COLUMNS`; NaN where not told.
    """

    def __init__(self, frame: pd.DataFrame, columns: tuple[str, ...] = ()) -> None:
        self.get: dict[str, Draws] = {
            name: frame[name].to_numpy(dtype=np.float32)[:, None] for name in (*STANDING_COLUMNS, *columns)
        }
        self.shared = frame.reindex(columns=list(SHARED_COLUMNS)).to_numpy(dtype=float)
        place = {name: i for i, name in enumerate(MOUNTED)}
        self.seat = np.array([place.get(str(p), 0) for p in frame["position"]], dtype=np.intp)
        side = {"front": 1.0, "rear": -1.0}
        self.front = np.array([[side.get(str(axle), 0.0)] for axle in frame["axle"]]).reshape(-1, 1)
        self.posterior = Posterior.of_frame(frame)
        level = self.posterior.on_axle(LEVEL)
        self.wander, self.scatter = (
            values.astype(np.float32)[:, None] for values in (level.wander, level.scatter)
        )

    def __len__(self) -> int:
        return len(self.seat)

    def take(self, rows: slice) -> None:
        """Keep some of the tires."""
        self.get = {name: values[rows] for name, values in self.get.items()}
        self.seat, self.front = self.seat[rows], self.front[rows]
        self.posterior, self.shared = self.posterior.take(rows), self.shared[rows]
        self.wander, self.scatter = self.wander[rows], self.scatter[rows]

    def drawn(
        self, front_km: Draws | float = 0.0, rear_km: Draws | float = 0.0
    ) -> tuple[Drawn, Draws, Draws]:
        """Draws at the last reading; distance run since on an axle of mean wear; log rate walked since.

        The distance is what the wear since stands for: as run, with the walk and the scatter on the way.
        ``front_km`` and ``rear_km``: reference distance beyond today on each axle, known or draw by draw.
        [km]
        """
        at = draw(self.posterior, self.seat, self.shared, self.bend())
        front, rear = self.get["since_front_km"] + front_km, self.get["since_rear_km"] + rear_km
        other = 1 / at.half
        run = front * at.half + rear * other
        unread = self.get["unread_km"] * self.get["here"] * (self.front != 0)
        if unread.any():
            pace = np.exp(self.get["log_sd"] * scores()[0]["level"])
            run += unread * pace * np.where(self.front > 0, at.half, other)
        middle = run.mean(axis=1, keepdims=True)
        wander, share = self.walks()
        end = self.mixed("walked", share)
        run += np.sqrt(wander * middle**3) / 2 * end
        end *= np.sqrt(wander * middle)
        return at, run, end

    def walks(self) -> tuple[Draws, Draws]:
        """Variance by which log rates walk [1/km] and the vehicle's share of it, shape (n, 1).

        Of shape (n, COUNT) where :data:`WALK_DOUBTS` are told: a spread that is not known is drawn, alike for
        all tires of a fit.
        """
        share = self.get["walk_share"]
        if WALK_DOUBTS[0] not in self.get:
            return self.wander, share
        common = scores()[0]
        of_vehicle, own = (
            part * np.exp(2 * self.get[doubt] * common[name])
            for part, doubt, name in zip((share, 1 - share), WALK_DOUBTS, WALKS, strict=True)
        )
        whole = of_vehicle + own
        return self.wander * whole, of_vehicle / whole

    def mixed(self, name: str, share: Draws | None = None) -> Draws:
        """Normal scores of a walk, of which the tires of a vehicle have a part in common.

        ``share``: from :meth:`walks`; as the fit has it if not given.
        """
        shared, own = scores()
        share = self.get["walk_share"] if share is None else share
        out = own[name][self.seat]
        out *= np.sqrt(1 - share)
        out += np.sqrt(share) * shared[name]
        return out

    def depth(self, front_km: Draws | float = 0.0, rear_km: Draws | float = 0.0) -> Draws:
        """Draws of the mean depth today, or so much reference distance later, shape (n, COUNT) [mm]."""
        at, run, _ = self.drawn(front_km, rear_km)
        run = run + np.sqrt(self._since_variance(run)) * scores()[1]["noise"][self.seat]
        base = np.maximum(at.depth, LEAST_MM)
        return np.asarray(path_depth(base, at.rate * run, at.q) + at.depth - base)

    def bend(self) -> Draws:
        """Points of q, shape (n, COUNT): tires of one fit have one distribution."""
        law = np.hstack([self.get[f"q_{name}_{i}"] for name in ("share", "mean", "sd") for i in range(2)])
        if not len(law):
            return np.empty((0, COUNT))
        if (law == law[0]).all():
            return bent_scores(_law(law[0]))[None, :]
        kinds, at = np.unique(law, axis=0, return_inverse=True)
        return np.stack([bent_scores(_law(kind)) for kind in kinds])[at.ravel()]

    def _since_variance(self, run: Draws) -> Draws:
        """Variance of the distance since, by scatter and by the walk on the way, shape as walks [km²]."""
        middle = run.mean(axis=1, keepdims=True)
        return np.asarray(self.scatter * middle + self.walks()[0] * middle**3 / 12)


def _law(row: Floats) -> Mixture:
    share, mean, sd = (tuple(float(v) for v in row[i : i + 2]) for i in (0, 2, 4))
    return Mixture(share, mean, sd)

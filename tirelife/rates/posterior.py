"""What is known of tires: the joint normal of depth, rate, axles and bend, and what can be done with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.axles import is_front
from tirelife.positions import FRONT, REAR
from tirelife.rates.ahead import path_depth

__all__ = ["LEVEL", "POSTERIOR_COLUMNS", "SIDES", "Posterior"]

Floats = NDArray[np.float64]

SIDES: Final = dict.fromkeys(FRONT, 0.5) | dict.fromkeys(REAR, -0.5)
"""What the log ratio of the axles, front over rear, is multiplied by at a wheel; 0 elsewhere."""
LEVEL: Final = 0.0
"""The side of an axle of mean wear, half-way between both: what a :class:`Posterior` can always be put on."""
_FLOOR_MM: Final = 0.05
_NAMES: Final = ("depth", "log_wear", "axle", "q")
_PAIRS: Final = tuple((i, j) for i in range(4) for j in range(i, 4))
POSTERIOR_COLUMNS: Final = (
    *(f"at_{name}" for name in _NAMES), *(f"at_cov_{_NAMES[i]}_{_NAMES[j]}" for i, j in _PAIRS),
    "at_wander_per_km", "at_scatter_km", "at_side",
)  # fmt: skip
"""Columns of :meth:`Posterior.to_frame`."""


@dataclass(frozen=True, eq=False)
class Posterior:
    """The joint normal of n tires at one moment each.

    Attributes
    ----------
    mean : ndarray, shape (n, 4)
        Depth [mm]; log of the wear per reference km on the axle ``side``, at that depth [mm/km]; log ratio of
        the wear at the front over the rear; curvature q, wear going as depth ** q.
    cov : ndarray, shape (n, 4, 4)
        Their covariance.
    wander : ndarray, shape (n,)
        Variance by which the log rate walks, per reference km on that axle. [1/km]
    scatter : ndarray, shape (n,)
        Variance of the distance that the wear stands for, per reference km on that axle. [km]
    side : ndarray, shape (n,)
        The axle of the rate: 1/2 the front, -1/2 the rear, 0 half-way between.

    Notes
    -----
    Every operation maps the covariance as ``J C J' + P`` with P positive semidefinite, so it stays one. NaN
    stands for what is not known and stays.
    """

    mean: Floats
    cov: Floats
    wander: Floats
    scatter: Floats
    side: Floats

    @classmethod
    def of_tires(cls, tires: pd.DataFrame) -> Posterior:
        """From rows of ``WearFit.tires``: each tire at its last visit, on the axle that it was on then."""
        get = {name: tires[name].to_numpy(dtype=float) for name in tires.select_dtypes("number")}
        axle = get["log_axle_front"] - get["log_axle_rear"]
        mean = np.stack([get["depth_mm"], get["log_wear"], axle, get["q"]], axis=1)
        cov = np.empty((len(tires), 4, 4))
        parts = {
            (0, 0): get["depth_sd_mm"] ** 2,
            (1, 1): get["log_wear_sd"] ** 2,
            (2, 2): get["axle_sd"] ** 2,
            (3, 3): get["q_sd"] ** 2,
            (0, 1): get["depth_log_wear_cov"],
            (0, 2): get["depth_axle_cov"],
            (0, 3): get["depth_q_cov"],
            (1, 2): get["log_wear_axle_cov"],
            (1, 3): get["log_wear_q_cov"],
            (2, 3): get["axle_q_cov"],
        }
        for (i, j), values in parts.items():
            cov[:, i, j] = cov[:, j, i] = values
        front = is_front(tires["position"])
        side = np.where(front, 0.5, -0.5)
        return cls(mean, cov, get["wander_var_per_km"], get["scatter_km"], side)

    @classmethod
    def of_frame(cls, frame: pd.DataFrame) -> Posterior:
        """From the columns :data:`POSTERIOR_COLUMNS`."""
        values = frame[list(POSTERIOR_COLUMNS)].to_numpy(dtype=float)
        cov = np.empty((len(frame), 4, 4))
        for at, (i, j) in enumerate(_PAIRS):
            cov[:, i, j] = cov[:, j, i] = values[:, 4 + at]
        wander, scatter, side = values[:, -3:].T
        return cls(values[:, :4], cov, wander, scatter, side)

    def to_frame(self) -> pd.DataFrame:
        """:data:`POSTERIOR_COLUMNS`, a row a tire."""
        pairs = np.stack([self.cov[:, i, j] for i, j in _PAIRS], axis=1)
        rest = np.stack([self.wander, self.scatter, self.side], axis=1)
        return pd.DataFrame(np.hstack([self.mean, pairs, rest]), columns=list(POSTERIOR_COLUMNS))

    def to_tires(self) -> pd.DataFrame:
        """The spread as columns of ``WearFit.tires``."""
        sds, cov = self.sds(), self.cov
        columns = {
            "depth_sd_mm": sds[:, 0], "log_wear_sd": sds[:, 1], "axle_sd": sds[:, 2], "q_sd": sds[:, 3],
            "depth_log_wear_cov": cov[:, 0, 1], "depth_axle_cov": cov[:, 0, 2], "depth_q_cov": cov[:, 0, 3],
            "log_wear_axle_cov": cov[:, 1, 2], "log_wear_q_cov": cov[:, 1, 3], "axle_q_cov": cov[:, 2, 3],
            "wander_var_per_km": self.wander, "scatter_km": self.scatter,
        }  # fmt: skip
        return pd.DataFrame(columns)

    def __len__(self) -> int:
        return len(self.mean)

    def take(self, rows: NDArray[np.intp] | slice) -> Posterior:
        """Some of the tires."""
        return Posterior(
            *(part[rows] for part in (self.mean, self.cov, self.wander, self.scatter, self.side))
        )

    def on_axle(self, side: ArrayLike) -> Posterior:
        """The same tires with their rates on another axle.

        Parameters
        ----------
        side : array_like, shape (n,) or ()
            1/2 the front, -1/2 the rear, 0 half-way between.
        """
        to = np.broadcast_to(np.asarray(side, dtype=float), self.side.shape)
        step = to - self.side
        jacobian = np.broadcast_to(np.eye(4), self.cov.shape).copy()
        jacobian[:, 1, 2] = step
        moved = self._mapped(jacobian, self.mean + step[:, None] * self.mean[:, [2]] * np.eye(4)[1])
        ratio = np.exp(step * self.mean[:, 2])
        return replace(moved, wander=self.wander * ratio, scatter=self.scatter / ratio, side=to.copy())

    def run(self, front_km: ArrayLike, rear_km: ArrayLike, log_sd: ArrayLike = 0.0) -> Posterior:
        """The same tires after known distances.

        Parameters
        ----------
        front_km, rear_km : array_like, shape (n,)
            Reference distance run on each axle. [km]
        log_sd : array_like, shape (n,)
            Log-sd of how far that was.

        Notes
        -----
        With b the distance on an axle of mean wear, ``front_km * exp(a/2) + rear_km * exp(-a/2)``, the depth
        goes as :func:`tirelife.rates.path_depth` and the rate with it. On the way the log rate walks
        (variance w b at the end, ``w b³/3`` in the distance, covariance ``w b²/2``) and the path scatters
        (``s b``). First-order in the uncertainty; :mod:`tirelife.rates.joint` draws it in full.
        """
        level = self.on_axle(LEVEL)
        depth, rate, axle, q = level.mean.T
        half = np.exp(axle / 2)
        front, rear = np.asarray(front_km, dtype=float) * half, np.asarray(rear_km, dtype=float) / half
        b = front + rear
        worn = np.exp(rate) * b
        base = np.maximum(depth, _FLOOR_MM)
        after = path_depth(base, worn, q) + depth - base
        slope = np.where(q == 0, 1.0, (np.maximum(after, _FLOOR_MM) / base) ** q)
        step = 1e-4
        by_q = (path_depth(base, worn, q + step) - path_depth(base, worn, q - step)) / (2 * step)
        jacobian = np.broadcast_to(np.eye(4), self.cov.shape).copy()
        jacobian[:, 0, 0] = np.where(q == 0, 1.0, (np.maximum(after, _FLOOR_MM) / base) + slope * worn / base)
        jacobian[:, 0, 1] = -slope * worn
        jacobian[:, 0, 2] = -slope * np.exp(rate) * (front - rear) / 2
        jacobian[:, 0, 3] = by_q
        left = np.maximum(after, _FLOOR_MM)
        jacobian[:, 1, :] = (q / left)[:, None] * jacobian[:, 0, :]
        jacobian[:, 1, 0] -= q / base
        jacobian[:, 1, 1] += 1.0
        jacobian[:, 1, 3] += np.log(left / base)
        mean = level.mean.copy()
        mean[:, 0] = after
        mean[:, 1] = rate + q * np.log(left / base)
        out = level._mapped(jacobian, mean)
        # Walk and scatter on the way: by a root, so that what is added is positive semidefinite.
        speed = slope * np.exp(rate)
        root = np.zeros((len(self), 4, 3))
        root[:, 0, 0] = -speed * np.sqrt(level.wander * b**3) / 2
        root[:, 0, 1] = speed * np.sqrt(level.wander * b**3 / 12 + level.scatter * b)
        root[:, 0, 2] = -speed * b * np.asarray(log_sd, dtype=float)
        root[:, 1, :] = (q / left)[:, None] * root[:, 0, :]
        root[:, 1, 0] += np.sqrt(level.wander * b)
        added = replace(out, cov=out.cov + root @ root.transpose(0, 2, 1))
        return added.on_axle(self.side)

    def widened(self, factor: ArrayLike) -> Posterior:
        """With all but the depth known ``factor`` times less surely."""
        k = np.broadcast_to(np.asarray(factor, dtype=float), self.side.shape)
        jacobian = np.broadcast_to(np.eye(4), self.cov.shape).copy()
        for i in (1, 2, 3):
            jacobian[:, i, i] = k
        moved = self._mapped(jacobian, self.mean)
        return replace(moved, wander=self.wander * k**2, scatter=self.scatter * k**2)

    def blurred(self, depth_sd_mm: ArrayLike = 0.0, log_wear_sd: ArrayLike = 0.0) -> Posterior:
        """With independent spread on the depth [mm] and on the log rate."""
        cov = self.cov.copy()
        cov[:, 0, 0] += np.square(np.asarray(depth_sd_mm, dtype=float))
        cov[:, 1, 1] += np.square(np.asarray(log_wear_sd, dtype=float))
        return replace(self, cov=cov)

    def held(self, low_mm: ArrayLike, high_mm: ArrayLike) -> Posterior:
        """With the middle of each depth inside bounds [mm], and spread at least as far as it was moved."""
        mean = self.mean.copy()
        mean[:, 0] = np.clip(mean[:, 0], np.asarray(low_mm, dtype=float), np.asarray(high_mm, dtype=float))
        moved = mean[:, 0] - self.mean[:, 0]
        return replace(self, mean=mean).blurred(np.where(moved != 0, np.minimum(np.abs(moved), 0.4), 0.0))

    def changed(self, log_wear: ArrayLike = 0.0) -> Posterior:
        """With the log of the wear rate moved."""
        mean = self.mean.copy()
        mean[:, 1] += np.asarray(log_wear, dtype=float)
        return replace(self, mean=mean)

    def factors(self, order: Sequence[int] = (2, 3, 1, 0)) -> Floats:
        """Lower triangular L, shape (n, 4, 4), with ``L L'`` the covariance in that order of quantities.

        A quantity that is known gives a row of what it shares with those before it: no clipping is needed.
        """
        pick = self.cov[:, order][:, :, order]
        low = np.zeros_like(pick)
        for j in range(4):
            rest = pick[:, j, j] - (low[:, j, :j] ** 2).sum(axis=1)
            with np.errstate(invalid="ignore"):
                low[:, j, j] = np.sqrt(
                    np.where(rest > 1e-13 * pick[:, j, j], rest, np.where(np.isnan(rest), np.nan, 0.0))
                )
            for i in range(j + 1, 4):
                cross = pick[:, i, j] - (low[:, i, :j] * low[:, j, :j]).sum(axis=1)
                low[:, i, j] = np.divide(cross, low[:, j, j], out=np.zeros(len(low)), where=low[:, j, j] > 0)
        return low

    def sds(self) -> Floats:
        """Standard deviations, shape (n, 4)."""
        return np.asarray(np.sqrt(np.maximum(np.diagonal(self.cov, axis1=1, axis2=2), 0.0)))

    def _mapped(self, jacobian: Floats, mean: Floats) -> Posterior:
        return replace(self, mean=mean, cov=jacobian @ self.cov @ jacobian.transpose(0, 2, 1))

"""Paths that bend: each unit with a rate and an exponent of its own, as cracks grow."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import FitError
from tirelife.rates.ahead import path_depth
from tirelife.rates.lmm import LinearMixedFit, fit_lmm

__all__ = ["CurvedPaths"]

Array = NDArray[np.float64]

_MOST: Final = 200
_CLOSE: Final = 1e-9
_STEP: Final = 1e-5


class CurvedPaths:
    """dy/dt = rate * y**exponent from a known start; a unit's rate and exponent are correlated normals.

    Notes
    -----
    The curve of wearing tires (:func:`tirelife.rates.path_depth`) with the rate quoted at a level of 1.
    Alternates between straightening the curves about the conditional modes and the linear mixed model
    (Lindstrom and Bates, Biometrics 46, 1990), until neither moves.
    """

    def __init__(
        self, y: Array, t: Array, group: NDArray[np.int64], level: float, scale: str, method: str
    ) -> None:
        self.level, self.log, self.method = level, scale == "log", method
        self.direction = 1.0 if np.mean(y) >= level else -1.0
        count = int(group.max()) + 1
        response = np.log(y) if self.log else y
        own = np.tile(self._first(y, t), (count, 1))
        for _ in range(_MOST):
            path, slopes = self._straighten(own[group], t)
            working = response - path + np.einsum("ij,ij->i", slopes, own[group])
            fit: LinearMixedFit = fit_lmm(working, slopes, slopes, group, method)
            new = fit.fixed + fit.effects
            step = np.clip(new - own, -0.5 * np.abs(own) - 0.2, 0.5 * np.abs(own) + 0.2)
            own = own + step
            if np.abs(step).max() < _CLOSE * (1 + np.abs(own).max()):
                break
        else:
            raise FitError("the curved paths did not settle: rate and exponent cannot be told apart.")
        self.fit, self.own, self.criterion = fit, own, fit.criterion
        self.rates = self.direction * own[:, 0]
        self.starts = np.full(count, level)
        self.estimates = pd.DataFrame(
            {
                "term": ["rate", "exponent"],
                "estimate": fit.fixed * [self.direction, 1.0],
                "std_error": np.sqrt(np.diag(fit.fixed_cov)),
            }
        )
        cov = fit.random_cov
        self.components = pd.DataFrame(
            [
                ("variance of rate", cov[0, 0]),
                ("variance of exponent", cov[1, 1]),
                ("covariance of rate and exponent", self.direction * cov[0, 1]),
                ("variance of a reading", fit.residual_var),
            ],
            columns=["term", "estimate"],
        )

    def _path(self, own: Array, t: Array) -> Array:
        """Level at times t (n,) of units with rates and exponents own (n, 2), on the errors' scale."""
        run = -self.direction * own[:, 0] * self.level ** own[:, 1] * t
        level = path_depth(np.full(len(t), self.level), run, own[:, 1])
        return np.log(np.maximum(level, 1e-12)) if self.log else level

    def _straighten(self, own: Array, t: Array) -> tuple[Array, Array]:
        slopes = np.empty((len(t), 2))
        for j in range(2):
            step = np.zeros(2)
            step[j] = _STEP
            slopes[:, j] = (self._path(own + step, t) - self._path(own - step, t)) / (2 * _STEP)
        return self._path(own, t), slopes

    def _first(self, y: Array, t: Array) -> Array:
        """Exponent whose straightened readings lie closest to a line, and the rate of that line."""
        best, found = np.inf, np.array([1.0, 0.0])
        for exponent in np.arange(-1.0, 6.01, 0.25):
            power = 1 - exponent
            if abs(power) < 1e-9:
                straight = np.log(y / self.level)
            else:
                straight = (y**power - self.level**power) / power
            straight = self.direction * straight
            rate = max(float(t @ straight) / float(t @ t), 1e-12)
            left = float(np.sum((self._path(np.array([[rate, exponent]]).repeat(len(t), 0), t)
                                 - (np.log(y) if self.log else y)) ** 2))  # fmt: skip
            if left < best:
                best, found = left, np.array([rate, exponent])
        return found

    def predict(self, which: NDArray[np.int64], t: Array) -> tuple[Array, Array, Array]:
        """Mean, its error, and the deviation of a new reading, on the raw scale."""
        own = np.where((which >= 0)[:, None], self.own[np.maximum(which, 0)], self.fit.fixed)
        path, slopes = self._straighten(own, t)
        _, error, sd = self.fit.predict(slopes, slopes, which)
        if self.log:
            path = np.exp(path)
            return path, path * error, path * sd
        return path, error, sd

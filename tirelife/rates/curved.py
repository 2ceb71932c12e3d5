"""Paths that bend: each unit with a rate and an exponent of its own, as cracks grow."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import FitError, unfit
from tirelife.rates.ahead import path_depth
from tirelife.rates.lmm import LinearMixedFit, fit_lmm
from tirelife.rates.wrong import Wrong

__all__ = ["CurvedPaths"]

Array = NDArray[np.float64]

_MOST: Final = 200
_CLOSE: Final = 1e-9
_NEARLY: Final = 1e-6
_ROUGHLY: Final = 1e-2
_STEP: Final = 1e-5
_STARTS: Final = 3
"""Exponents from which the paths are fitted; the best fit counts."""
_NAMES: Final = ("rate", "exponent", "start")


class CurvedPaths:
    """dy/dt = rate * y**exponent; a unit's rate, exponent and start, where not known, are correlated normals.

    Notes
    -----
    The curve of wearing tires (:func:`tirelife.rates.path_depth`) with the rate quoted at a level of 1.
    Alternates between linearizing the curves about the conditional modes and the linear mixed model
    (Lindstrom and Bates, Biometrics 46, 1990), until neither moves; from several exponents, since the sum of
    squares may have more than one lowest point, and the likeliest of what converges is kept.
    """

    def __init__(
        self, y: Array, t: Array, group: NDArray[np.int64], level: float | None, scale: str, method: str
    ) -> None:
        self.level, self.log, self.method = level, scale == "log", method
        first = _first_levels(y, t, group) if level is None else np.full(int(group.max()) + 1, level)
        self.direction = 1.0 if np.mean(y) >= first.mean() else -1.0
        found: list[tuple[LinearMixedFit, Array]] = []
        for begin in self._first(y, t, group, first):
            own = np.tile(begin, (len(first), 1))
            if level is None:
                own = np.column_stack([own, first])
            try:
                found.append(self._least_squares(y, t, group, own, _ROUGHLY))
            except (FitError, np.linalg.LinAlgError):
                continue
        if not found:
            raise unfit(Wrong.CURVED)
        fit, own = self._least_squares(
            y, t, group, min(found, key=lambda pair: pair[0].criterion)[1], _CLOSE if level else _NEARLY
        )
        self.fit, self.own, self.criterion = fit, own, fit.criterion
        sign = np.array([self.direction, 1.0, 1.0])[: own.shape[1]]
        names = _NAMES[: own.shape[1]]
        self.rates = self.direction * own[:, 0]
        self.starts = own[:, 2] if level is None else first
        self.estimates = pd.DataFrame(
            {"term": names, "estimate": fit.fixed * sign, "std_error": np.sqrt(np.diag(fit.fixed_cov))}
        )
        cov = fit.random_cov * sign[:, None] * sign[None, :]
        said = [(f"variance of {name}", cov[i, i]) for i, name in enumerate(names)]
        said += [
            (f"covariance of {names[i]} and {names[j]}", cov[i, j])
            for i in range(len(names))
            for j in range(i + 1, len(names))
        ]
        self.components = pd.DataFrame(
            [*said, ("variance of a reading", fit.residual_var)], columns=["term", "estimate"]
        )

    def _least_squares(
        self, y: Array, t: Array, group: NDArray[np.int64], own: Array, close: float
    ) -> tuple[LinearMixedFit, Array]:
        """Unit by unit from ``own`` until no step is larger than ``close``."""
        response = np.log(y) if self.log else y
        for _ in range(_MOST):
            path, slopes = self._linearize(own[group], t)
            working = response - path + np.einsum("ij,ij->i", slopes, own[group])
            fit: LinearMixedFit = fit_lmm(working, slopes, slopes, group, self.method)
            new = fit.fixed + fit.effects
            step = np.clip(new - own, -0.5 * np.abs(own) - 0.2, 0.5 * np.abs(own) + 0.2)
            own = own + step
            if np.abs(step).max() < close * (1 + np.abs(own).max()):
                return fit, own
        raise unfit(Wrong.CURVED)

    def _path(self, own: Array, t: Array) -> Array:
        """Level at times t (n,) of units with rates, exponents and starts (n, k), on the errors' scale."""
        start = np.maximum(own[:, 2], 1e-6) if own.shape[1] > 2 else np.full(len(t), self.level)
        run = -self.direction * own[:, 0] * start ** own[:, 1] * t
        level = path_depth(start, run, own[:, 1])
        return np.log(np.maximum(level, 1e-12)) if self.log else level

    def _linearize(self, own: Array, t: Array) -> tuple[Array, Array]:
        slopes = np.empty((len(t), own.shape[1]))
        for j in range(own.shape[1]):
            step = np.zeros(own.shape[1])
            step[j] = _STEP
            slopes[:, j] = (self._path(own + step, t) - self._path(own - step, t)) / (2 * _STEP)
        return self._path(own, t), slopes

    def _first(self, y: Array, t: Array, group: NDArray[np.int64], first: Array) -> list[Array]:
        """Rates and exponents that lie closest to the readings, the best first, at least 1 apart."""
        level, tried = first[group], []
        for exponent in np.arange(-1.0, 6.01, 0.25):
            power = 1 - exponent
            straight = np.log(y / level) if abs(power) < 1e-9 else (y**power - level**power) / power
            straight = self.direction * straight
            rate = max(float(t @ straight) / max(float(t @ t), 1e-300), 1e-12)
            begun = np.column_stack([np.tile([rate, exponent], (len(t), 1)), level])
            off = self._path(begun, t) - (np.log(y) if self.log else y)
            tried.append((float(np.sum(off**2)), exponent, np.array([rate, exponent])))
        tried.sort(key=lambda row: row[0])
        best = tried[0][1]
        apart = [row for row in tried[1:] if abs(row[1] - best) >= 1.0]
        return [row[2] for row in [tried[0], *apart[: _STARTS - 1]]]

    def predict(self, which: NDArray[np.int64], t: Array) -> tuple[Array, Array, Array]:
        """Mean, its error, and the deviation of a new reading, on the raw scale."""
        own = np.where((which >= 0)[:, None], self.own[np.maximum(which, 0)], self.fit.fixed)
        path, slopes = self._linearize(own, t)
        _, error, sd = self.fit.predict(slopes, slopes, which)
        if self.log:
            path = np.exp(path)
            return path, path * error, path * sd
        return path, error, sd


def _first_levels(y: Array, t: Array, group: NDArray[np.int64]) -> Array:
    """Level of each unit at time 0, by the line through its first readings (three, or as many as it has)."""
    out = np.empty(int(group.max()) + 1)
    for unit in range(len(out)):
        mine = np.flatnonzero(group == unit)[:3]
        x, z = t[mine], y[mine]
        square = float(np.sum((x - x.mean()) ** 2))
        slope = float((x - x.mean()) @ z) / square if square > 0 else 0.0
        out[unit] = max(float(z.mean() - slope * x.mean()), 0.5 * float(z.min()))
    return out

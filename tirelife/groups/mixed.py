"""Regression with a random effect for each vehicle, and ranges that stay honest with few vehicles.

y = X b + u[vehicle] + e, with variances ``between`` for u and ``within`` plus a known sampling variance
for e, fitted by REML. Standard errors and degrees of freedom follow Kenward and Roger, so that a
comparison between groups of vehicles rests on the number of vehicles and not on the number of tires.

References
----------
.. [1] M. G. Kenward and J. H. Roger, "Small sample inference for fixed effects from restricted maximum
   likelihood", Biometrics 53, 1997, 983-997.
.. [2] A. H.-T. Fai and P. L. Cornelius, "Approximate F-tests of multiple degree of freedom hypotheses in
   generalized least squares analyses of unbalanced split-plot experiments", J. Stat. Comput. Simul. 54, 1996.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tirelife.errors import unfit
from tirelife.groups.wrong import Wrong

__all__ = ["MixedFit", "fit_mixed"]

Floats = NDArray[np.float64]

_LEAST: Final = 0.5
"""The variance of a vehicle's mean may be estimated down to this share of what its tires alone would give.
An estimate just under zero for ``between`` keeps the error rates right where vehicles hardly differ; without
a floor a lucky sample would give a range of no width. Our choice, checked by simulation in the tests."""


@dataclass(frozen=True, eq=False)
class MixedFit:
    """A fitted regression.

    Attributes
    ----------
    beta : ndarray, shape (p,)
        Coefficients; where columns repeat each other, those of least length.
    covariance : ndarray, shape (p, p)
        Kenward-Roger covariance of ``beta``.
    between, within : float
        Variance between vehicles (an estimate, so it may be a little under 0), and of tires within one.
    residuals : ndarray, shape (n,)
    """

    beta: Floats
    covariance: Floats
    between: float
    within: float
    residuals: Floats
    _phi: Floats
    _p: tuple[Floats, Floats]
    _w: Floats
    _row_space: Floats
    _hat: Floats
    _spare: int

    def estimable(self, contrast: Floats) -> bool:
        """Whether the data say anything about a contrast, shape (p,)."""
        inside = contrast @ self._row_space
        return bool(np.abs(contrast - inside).max() < 1e-6 * max(1.0, np.abs(contrast).max()))

    def contrast(self, contrast: Floats) -> tuple[float, float, float]:
        """Estimate, standard error and degrees of freedom of a contrast; NaN where it is not estimable."""
        c = np.asarray(contrast, float)
        if not self.estimable(c):
            return float("nan"), float("nan"), float("nan")
        return float(c @ self.beta), float(np.sqrt(max(c @ self.covariance @ c, 0.0))), self.df(c)

    def df(self, contrast: Floats) -> float:
        """Degrees of freedom of a contrast."""
        c = np.asarray(contrast, float)
        phi = self._phi
        g = np.array([c @ phi @ p @ phi @ c for p in self._p])
        spread = float(g @ self._w @ g)
        value = 2 * float(c @ phi @ c) ** 2 / spread if spread > 0 else np.inf
        return float(np.clip(value, 1.0, max(self._spare, 1)))

    def joint(self, contrasts: Floats) -> tuple[float, int, float]:
        """F statistic and its two degrees of freedom for several contrasts at once, shape (q, p)."""
        c = np.atleast_2d(contrasts)
        cov = c @ self.covariance @ c.T
        value, vector = np.linalg.eigh(cov)
        keep = value > 1e-10 * value.max()
        turned = vector[:, keep].T @ c
        t2 = (turned @ self.beta) ** 2 / value[keep]
        each = np.array([self.df(row) for row in turned])
        part = float(np.sum(np.where(each > 2, each / np.maximum(each - 2, 1e-9), 0.0)))
        q = int(keep.sum())
        df = 2 * part / (part - q) if part > q else 2.0
        return float(t2.sum() / q), q, float(min(df, self._spare))

    def weights(self, contrast: Floats) -> Floats:
        """Weight of each row of the data in the estimate of a contrast, shape (n,)."""
        out: Floats = np.asarray(contrast, float) @ self._hat
        return out


def fit_mixed(
    y: Floats,
    x: Floats,
    vehicle: NDArray[Any],
    known_variance: Floats | float = 0.0,
    variances: tuple[float, float] | None = None,
) -> MixedFit:
    """Fit by REML.

    Parameters
    ----------
    y : ndarray, shape (n,)
    x : ndarray, shape (n, p)
        Columns may repeat each other; what cannot be told apart is then not estimable.
    vehicle : ndarray, shape (n,)
        Any labels.
    known_variance : ndarray, shape (n,), or float
        Sampling variance of each ``y``.
    variances : (float, float), optional
        ``between`` and ``within``, where they are not to be fitted.

    Returns
    -------
    MixedFit

    Raises
    ------
    FitError
        If there are no more rows than coefficients, or fewer than two vehicles.
    """
    from scipy.optimize import minimize

    unit = np.unique(vehicle, return_inverse=True)[1]
    order = np.argsort(unit, kind="stable")  # vehicles stand together, so sums over them are of runs
    turned = np.argsort(order)
    y, x, unit = y[order], x[order], unit[order]
    n, m = len(y), int(unit.max()) + 1 if len(y) else 0
    left, size, right = np.linalg.svd(x, full_matrices=False)
    rank = int((size > 1e-9 * size[0]).sum()) if len(size) else 0
    if n <= rank or m < 2:
        raise unfit(Wrong.TOO_FEW, n=n, m=m, rank=rank)
    base = left[:, :rank]  # orthonormal columns with the same span: stable whatever the coding
    known = np.broadcast_to(np.asarray(known_variance, float), (n,))[order]
    scale = float(np.var(y - base @ (base.T @ y)) * n / (n - rank)) or 1.0
    only_one = np.bincount(unit).max() < 2
    if variances is not None:
        return _package(y, x, base, size[:rank], right[:rank], unit, known, *variances, only_one, turned)

    def parts(theta: Floats) -> tuple[float, float]:
        within = float(np.exp(theta[0])) * scale
        if only_one:
            return 0.0, within
        heaviest = np.bincount(unit, 1 / (within + known)).max()
        return (float(np.exp(theta[1])) - (1 - _LEAST)) / heaviest, within

    def criterion(theta: Floats) -> float:
        between, within = parts(theta)
        w = 1 / (within + known)
        weight = np.bincount(unit, w).astype(float)
        vx, vy = _solve(base, w, unit, weight, between), _solve(y[:, None], w, unit, weight, between)
        xvx = base.T @ vx
        _, logdet = np.linalg.slogdet(xvx)
        b = np.linalg.solve(xvx, base.T @ vy[:, 0])
        r = y - base @ b
        quad = float(r @ (vy[:, 0] - vx @ b))
        return float(-np.log(w).sum() + np.log1p(between * weight).sum() + logdet + quad)

    best = minimize(
        criterion,
        np.array([-1.0, 0.5]),
        method="Nelder-Mead",  # two parameters; no gradient to go wrong near the floor
        bounds=[(-14.0, 4.0), (-12.0, 16.0)],
        options={"xatol": 1e-5, "fatol": 1e-8, "maxiter": 1000},
    )
    between, within = parts(best.x)
    return _package(y, x, base, size[:rank], right[:rank], unit, known, between, within, only_one, turned)


def _solve(m: Floats, w: Floats, unit: NDArray[np.intp], weight: Floats, between: float) -> Floats:
    """V^-1 m, with V = diag(1/w) + between within each vehicle."""
    wm = w[:, None] * m
    total = _sum(wm, unit)
    out: Floats = wm - w[:, None] * (total * (between / (1 + between * weight))[:, None])[unit]
    return out


def _sum(m: Floats, unit: NDArray[np.intp]) -> Floats:
    """Sums over the rows of each vehicle, which stand together."""
    out: Floats = np.add.reduceat(m, np.flatnonzero(np.r_[True, unit[1:] != unit[:-1]]), axis=0)
    return out


def _package(
    y: Floats,
    x: Floats,
    base: Floats,
    size: Floats,
    right: Floats,
    unit: NDArray[np.intp],
    known: Floats,
    between: float,
    within: float,
    only_one: bool,
    turned: NDArray[np.intp],
) -> MixedFit:
    """Kenward-Roger quantities, in the orthonormal coding and then turned back; names as in their paper."""
    w = 1 / (within + known)
    weight = np.bincount(unit, w).astype(float)
    vx = _solve(base, w, unit, weight, between)
    phi = np.linalg.inv(base.T @ vx)
    hat = phi @ vx.T
    total = _sum(vx, unit)
    v2x = _solve(vx, w, unit, weight, between)
    vjx = _solve(total[unit], w, unit, weight, between)  # V^-1 J V^-1 X, J ones within a vehicle
    sums = _sum(vjx, unit)
    p = (-(total.T @ total), -(vx.T @ vx))
    q = ((total.T @ sums, total.T @ _sum(v2x, unit)), (vx.T @ vjx, vx.T @ v2x))
    w2, w3 = np.bincount(unit, w**2), np.bincount(unit, w**3)
    shrink = 1 / (1 + between * weight)
    c = between * shrink
    trace = np.array(
        [
            [np.sum((weight * shrink) ** 2), np.sum(w2 * shrink**2)],
            [np.sum(w2 * shrink**2), np.sum(w2 - 2 * c * w3 + (c * w2) ** 2)],
        ]
    )
    info = np.array(
        [
            [
                0.5 * (trace[i, j] - 2 * np.trace(phi @ q[i][j]) + np.trace(phi @ p[i] @ phi @ p[j]))
                for j in (0, 1)
            ]
            for i in (0, 1)
        ]
    )
    if only_one:  # one variance cannot be split into two
        info = np.array([[np.inf, 0.0], [0.0, info[1, 1]]])
        cov_theta = np.array([[0.0, 0.0], [0.0, 1 / info[1, 1]]])
    else:
        cov_theta = np.linalg.pinv(info)
    middle = sum(
        (cov_theta[i, j] * (q[i][j] - p[i] @ phi @ p[j]) for i in (0, 1) for j in (0, 1)),
        np.zeros_like(phi),
    )
    adjusted = phi + 2 * phi @ (middle + middle.T) / 2 @ phi
    back = right.T / size  # base coefficients to those of x, of least length
    forward = right * size[:, None]
    beta = back @ (hat @ y)
    return MixedFit(
        beta,
        back @ adjusted @ back.T,
        between,
        within,
        (y - x @ beta)[turned],
        back @ phi @ back.T,
        (forward.T @ p[0] @ forward, forward.T @ p[1] @ forward),
        cov_theta,
        right.T @ right,
        (back @ hat)[:, turned],
        len(y) - len(size),
    )

"""Linear mixed models with one grouping, exact, from each group's cross-products.

After one pass over the rows the likelihood needs only Z'Z, Z'X and Z'y of each group, and X'X, X'y and y'y of
all, so its cost does not depend on how many readings there are.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import unfit
from tirelife.rates.wrong import Wrong

__all__ = ["LinearMixedFit", "fit_lmm"]

Array = NDArray[np.float64]

_FLAT: Final = 1e-4
"""Largest derivative of the criterion that counts as none where its surface is flat."""
_CLOSE: Final = 1e-6
"""By how much less than the minimum found the criterion may be."""


@dataclass(frozen=True, eq=False)
class LinearMixedFit:
    """A fitted linear mixed model y = X beta + Z_g b_g + e.

    Attributes
    ----------
    fixed : ndarray, shape (p,)
        Fixed effects.
    fixed_cov : ndarray, shape (p, p)
        Their covariance.
    random_cov : ndarray, shape (r, r)
        Covariance of a group's random effects.
    residual_var : float
        Variance of the residual.
    effects : ndarray, shape (groups, r)
        Best linear unbiased predictions of the random effects.
    effects_cov : ndarray, shape (groups, r, r)
        Their conditional covariance, the fixed effects taken as known.
    criterion : float
        -2 log (restricted) likelihood at the optimum.
    method : str
        ``"REML"`` or ``"ML"``.
    rows : int
        How many readings.
    gradient : float
        Largest derivative of the criterion at the optimum by an element of the relative covariance factor
        that is free to move.
    singular : bool
        Whether a variance is zero, or a correlation one, at the optimum.
    """

    fixed: Array
    fixed_cov: Array
    random_cov: Array
    residual_var: float
    effects: Array
    effects_cov: Array
    criterion: float
    method: str
    rows: int
    gradient: float
    singular: bool
    through: Array = field(repr=False)  # (groups, r, p): Cov(b) Z' V^-1 X

    def predict(self, fixed: ArrayLike, random: ArrayLike, group: ArrayLike) -> tuple[Array, Array, Array]:
        """Mean, its standard error, and the standard deviation of a new reading.

        Parameters
        ----------
        fixed, random : array_like, shape (m, p) and (m, r)
            Rows of the two design matrices.
        group : array_like of int, shape (m,)
            Group numbers; -1 for a group never seen: its mean and error are those of the fixed part, and the
            spread between groups goes into the deviation.

        Notes
        -----
        The error of the fixed effects is included, that of the variances is not.
        """
        x, z = np.atleast_2d(np.asarray(fixed, float)), np.atleast_2d(np.asarray(random, float))
        which = np.asarray(group)
        seen = which >= 0
        at = np.where(seen, which, 0)
        mean = x @ self.fixed + np.where(seen, np.einsum("ij,ij->i", z, self.effects[at]), 0.0)
        own = np.where(seen[:, None, None], self.effects_cov[at], self.random_cov)
        spread = np.einsum("ij,ijk,ik->i", z, own, z)
        left = x - np.where(seen[:, None], np.einsum("ij,ijk->ik", z, self.through[at]), 0.0)
        by_fixed = np.einsum("ij,jk,ik->i", left, self.fixed_cov, left)
        error = np.sqrt(by_fixed + np.where(seen, spread, 0.0))
        return mean, error, np.sqrt(by_fixed + spread + self.residual_var)


@dataclass(frozen=True)
class _Products:
    zz: Array  # (r, r, G): groups last, so that sums over effects run along memory
    zx: Array  # (r, p + 1, G), X and y side by side
    xx: Array  # (p + 1, p + 1)
    rows: int
    restricted: bool


@dataclass(frozen=True)
class _Solved:
    """The profiled likelihood at one relative covariance factor."""

    criterion: float
    slope: Array  # (r, r), derivative by the factor
    beta: Array
    inverse: Array  # (X' V^-1 X)^-1 for residual variance 1
    variance: float
    weighted: Array  # (r, p + 1, G): Z' V^-1 [X y] for residual variance 1
    inner: Array  # (r, r, G): Z' V^-1 Z for residual variance 1


def fit_lmm(
    response: ArrayLike,
    fixed: ArrayLike,
    random: ArrayLike,
    group: ArrayLike,
    method: str = "REML",
    correlated: bool = True,
) -> LinearMixedFit:
    """Fit y = X beta + Z_g b_g + e with b_g ~ N(0, Psi) and e ~ N(0, sigma^2).

    Parameters
    ----------
    response : array_like, shape (n,)
    fixed : array_like, shape (n, p)
        X, of full column rank.
    random : array_like, shape (n, r)
        Z.
    group : array_like of int, shape (n,)
        Numbers 0 to G - 1.
    method : {"REML", "ML"}
    correlated : bool
        Whether a group's effects may be correlated.

    Returns
    -------
    LinearMixedFit

    Raises
    ------
    FitError
        If X is not of full rank, there are too few readings, a value is not finite, or no optimum is found.

    Notes
    -----
    The criterion is that of Bates, Maechler, Bolker and Walker, Journal of Statistical Software 67(1), 2015
    (profiled over beta and sigma), worked from cross-products, with its analytic gradient; the minimum is
    found by a bounded quasi-Newton method and finished by Newton steps.
    """
    if method not in ("REML", "ML"):
        raise unfit(Wrong.METHOD, method=method)
    y, x, z = np.asarray(response, float), np.asarray(fixed, float), np.asarray(random, float)
    if not (np.isfinite(y).all() and np.isfinite(x).all() and np.isfinite(z).all()):
        raise unfit(Wrong.NOT_FINITE)
    rows, p = x.shape
    if rows <= p + 1 or np.linalg.matrix_rank(x.T @ x) < p:
        raise unfit(Wrong.TOO_FEW, rows=rows, p=p)
    # Scaled to a root mean square of 1, so that one start suits every unit of time.
    size = np.sqrt(np.mean(z**2, axis=0))
    size = np.where(size > 0, size, 1.0)
    # Cross-products of what plain least squares leaves over lose far fewer digits than those of y itself.
    plain = np.linalg.solve(x.T @ x, x.T @ y)
    products = _cross_products(y - x @ plain, x, z / size, np.asarray(group), method == "REML")
    factor, made, steepest = _minimise(products, correlated)
    relative = factor @ factor.T
    weighted, inner = made.weighted.transpose(2, 0, 1), made.inner.transpose(2, 0, 1)
    effects = (weighted[:, :, -1] - weighted[:, :, :-1] @ made.beta) @ relative
    conditional = made.variance * (relative - relative @ inner @ relative)
    back = np.diag(1 / size)
    return LinearMixedFit(
        plain + made.beta, made.variance * made.inverse, back @ (made.variance * relative) @ back,
        made.variance, effects @ back, back @ conditional @ back, made.criterion, method, rows, steepest,
        bool((np.abs(np.diag(factor)) < 1e-6).any()), back @ relative @ weighted[:, :, :-1],
    )  # fmt: skip


def _cross_products(y: Array, x: Array, z: Array, group: NDArray[np.int64], restricted: bool) -> _Products:
    wide = np.column_stack([x, y])
    count, r, p = int(group.max()) + 1, z.shape[1], wide.shape[1]
    zz, zx = np.empty((r, r, count)), np.empty((r, p, count))
    for i in range(r):
        for j in range(i + 1):
            zz[i, j] = zz[j, i] = np.bincount(group, z[:, i] * z[:, j], count)
        for j in range(p):
            zx[i, j] = np.bincount(group, z[:, i] * wide[:, j], count)
    return _Products(zz, zx, wide.T @ wide, len(y), restricted)


def _inverse(matrix: Array) -> tuple[Array, float]:
    """Inverses of small matrices (r, r, G), and the sum of the logs of their determinants."""
    if len(matrix) == 1:
        return 1 / matrix, float(np.log(matrix).sum())
    if len(matrix) == 2:
        (a, b), (_, c) = matrix
        det = a * c - b * b
        return np.array([[c, -b], [-b, a]]) / det, float(np.log(det).sum())
    first = matrix.transpose(2, 0, 1)
    inverse = np.asarray(np.linalg.inv(first), float)
    return inverse.transpose(1, 2, 0), float(np.linalg.slogdet(first)[1].sum())


def _times(left: Array, right: Array) -> Array:
    """Products of small matrices with the groups last."""
    return np.asarray(np.einsum("ijg,jkg->ikg", left, right))


def _solve(products: _Products, factor: Array) -> _Solved:
    r, p = len(factor), products.xx.shape[0] - 1
    turned = np.tensordot(factor.T, products.zz, axes=1)
    core = np.einsum("ijg,jk->ikg", turned, factor) + np.eye(r)[:, :, None]
    core, log_det = _inverse(core)
    left = _times(core, np.tensordot(factor.T, products.zx, axes=1))
    first = np.tensordot(factor, left, axes=1)  # V^-1 = I - Z first of Z itself
    weighted = products.zx - _times(products.zz, first)
    inner = products.zz - _times(products.zz, np.tensordot(factor, _times(core, turned), axes=1))
    wide = products.zx.shape[1]
    flat = products.zx.transpose(1, 0, 2).reshape(wide, -1)
    total = products.xx - flat @ first.transpose(1, 0, 2).reshape(wide, -1).T
    cross = total[:p, :p]
    scale = 1 / np.sqrt(np.diag(cross))
    root = np.linalg.inv(np.linalg.cholesky(cross * scale[:, None] * scale)) * scale
    inverse = root.T @ root
    beta = inverse @ total[:p, p]
    free = products.rows - p if products.restricted else products.rows
    variance = max(float(total[p, p] - beta @ total[:p, p]), 1e-300) / free
    criterion = log_det + free * (1 + np.log(2 * np.pi * variance))
    pull = weighted[:, p] - np.tensordot(beta, weighted[:, :p], axes=(0, 1))
    by_cov = inner.sum(axis=2) - pull @ pull.T / variance
    if products.restricted:
        criterion -= 2 * float(np.log(np.diag(root)).sum())
        rooted = np.einsum("qp,ipg->iqg", root, weighted[:, :p]).reshape(r, -1)
        by_cov = by_cov - rooted @ rooted.T
    return _Solved(float(criterion), 2 * by_cov @ factor, beta, inverse, variance, weighted, inner)


def _minimise(products: _Products, correlated: bool) -> tuple[Array, _Solved, float]:
    from scipy.optimize import minimize  # here: a tenth of a second that a customer's page need not wait for

    r = products.zz.shape[1]
    row, column = np.tril_indices(r)
    if not correlated:
        row = column = np.arange(r)
    diagonal = row == column

    def unpack(theta: Array) -> Array:
        factor = np.zeros((r, r))
        factor[row, column] = theta
        return factor

    def value(theta: Array) -> tuple[float, Array]:
        made = _solve(products, unpack(theta))
        return made.criterion, made.slope[row, column]

    bounds = [(0.0, None) if d else (None, None) for d in diagonal]
    best = None
    for start in (1.0, 0.2, 5.0):
        found = minimize(
            value, np.where(diagonal, start, 0.0), jac=True, method="L-BFGS-B", bounds=bounds,
            options={"maxiter": 500, "ftol": 1e-13, "gtol": 1e-7},
        )  # fmt: skip
        if best is None or found.fun < best.fun - 1e-9:
            best = found
        flat = _steepest(best.x, best.jac, diagonal) < 1e-2 + 1e-6 * abs(best.fun)
        if flat and not _at_floor(best.x, diagonal).any():
            break
    assert best is not None
    theta, drop = _polish(value, best.x, diagonal)
    made = _solve(products, unpack(theta))
    if not np.isfinite(made.criterion) or not drop < _CLOSE:
        raise unfit(Wrong.NOT_FOUND, drop=f"{drop:.2g}")
    return unpack(theta), made, _steepest(theta, made.slope[row, column], diagonal)


def _at_floor(theta: Array, diagonal: NDArray[np.bool_]) -> NDArray[np.bool_]:
    return np.asarray(diagonal & (theta <= 1e-8))


def _steepest(theta: Array, slope: Array, diagonal: NDArray[np.bool_]) -> float:
    """Largest derivative in a direction that is open."""
    blocked = _at_floor(theta, diagonal) & (slope >= 0)
    return float(np.abs(np.where(blocked, 0.0, slope)).max(initial=0.0))


def _polish(
    value: Callable[[Array], tuple[float, Array]], theta: Array, diagonal: NDArray[np.bool_]
) -> tuple[Array, float]:
    """Newton steps with a Hessian from differences of the analytic gradient, while they help.

    Returns the optimum, and by how much the criterion would fall by one more step (infinite where it is
    no minimum).
    """
    now, slope = value(theta)
    drop = np.inf
    for _ in range(8):
        moves = np.flatnonzero(~_at_floor(theta, diagonal) | (slope < 0))
        if len(moves) == 0:
            return theta, 0.0
        hessian = np.zeros((len(theta), len(theta)))
        for i in moves:
            step = np.zeros(len(theta))
            step[i] = 1e-5 * max(abs(theta[i]), 0.1)
            hessian[i] = (value(theta + step)[1] - value(theta - step)[1]) / (2 * step[i])
        small = (hessian + hessian.T)[np.ix_(moves, moves)] / 2
        if np.linalg.eigvalsh(small)[0] <= 0:
            steepest = _steepest(theta, slope, diagonal)
            return theta, 0.0 if steepest < _FLAT else np.inf
        move = np.zeros(len(theta))
        move[moves] = -np.linalg.solve(small, slope[moves])
        drop = float(-slope @ move / 2)
        if drop < _CLOSE / 1e3:
            break
        trial = np.where(diagonal, np.maximum(theta + move, 0.0), theta + move)
        after, after_slope = value(trial)
        if not after <= now + 1e-9 * abs(now):
            break
        theta, now, slope = trial, after, after_slope
    return theta, drop

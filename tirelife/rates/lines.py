"""One series, one straight line: least squares, its ranges, and what projecting it would say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import unfit
from tirelife.rates.wrong import Wrong

__all__ = ["StraightLine", "projections", "straight_line"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class StraightLine:
    """A least-squares line y = intercept + slope x, in the units of its data.

    Attributes
    ----------
    intercept, slope : float
    intercept_se, slope_se : float
        Standard errors; NaN with two points.
    residual_sd : float
        Residual standard deviation on n - 2 degrees of freedom; NaN with two points.
    r2 : float
        Share of the variance explained.
    points : int
    center : float
        Mean of x.
    square : float
        Sum of squares of x about its mean.
    """

    intercept: float
    slope: float
    intercept_se: float
    slope_se: float
    residual_sd: float
    r2: float
    points: int
    center: float
    square: float

    def at(self, x: ArrayLike) -> Array:
        """The line at x."""
        return np.asarray(self.intercept + self.slope * np.asarray(x, float))

    def interval(self, x: ArrayLike, level: float = 0.95) -> tuple[Array, Array]:
        """Range for one new reading at x; NaN with two points.

        Parameters
        ----------
        x : array_like
        level : float
            Coverage, in (0, 1).
        """
        from scipy.special import stdtrit

        free = self.points - 2
        wide = self.residual_sd * np.sqrt(
            1 + 1 / self.points + (np.asarray(x, float) - self.center) ** 2 / self.square
        )
        half = (stdtrit(free, (1 + level) / 2) if free else np.nan) * wide
        return np.asarray(self.at(x) - half), np.asarray(self.at(x) + half)

    def reaches(self, y: float) -> float:
        """Where the line comes to y; NaN if it is level or never will."""
        if self.slope == 0:
            return float("nan")
        return (y - self.intercept) / self.slope


def straight_line(x: ArrayLike, y: ArrayLike) -> StraightLine:
    """Fit a line by least squares.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        At least two different x.

    Raises
    ------
    FitError
        If there are fewer than two points, all at one x, or a value is not finite.

    Examples
    --------
    >>> line = straight_line([0, 1, 2], [8, 7, 6])
    >>> line.slope, line.reaches(1.5)
    (-1.0, 6.5)
    """
    a, b = np.asarray(x, float), np.asarray(y, float)
    if len(a) != len(b) or len(a) < 2 or not np.isfinite([*a, *b]).all() or np.ptp(a) == 0:
        raise unfit(Wrong.LINE)
    n, dx, dy = len(a), a - a.mean(), b - b.mean()
    square = float(dx @ dx)
    slope = float(dx @ dy) / square
    rest = float(np.sum((dy - slope * dx) ** 2))
    total = float(dy @ dy)
    sd = float(np.sqrt(rest / (n - 2))) if n > 2 else float("nan")
    return StraightLine(
        float(b.mean() - slope * a.mean()), slope, sd * float(np.sqrt(1 / n + a.mean() ** 2 / square)),
        sd / float(np.sqrt(square)), sd, 1 - rest / total if total > 0 else 1.0, n, float(a.mean()), square,
    )  # fmt: skip


def projections(x: ArrayLike, depth: ArrayLike, limit: float) -> pd.DataFrame:
    """Where one tire's series reaches a depth, by every line that could be drawn through it.

    Parameters
    ----------
    x, depth : array_like, shape (n,)
        Distance and depth, in any units; depth over 0.
    limit : float
        Depth asked for, > 0.

    Returns
    -------
    DataFrame
        ``method, points, distance``: the straight line through all points (``straight-all``) and through the
        last 5, 4 and 3 (``straight-last-5`` …), and the line through the logs (``through-logs``).
        Rows for which there are too few points are left out.

    Notes
    -----
    For comparison beside the fit: where these differ much, wear is bending and none of them should be
    trusted alone.
    """
    a, b = np.asarray(x, float), np.asarray(depth, float)
    order = np.argsort(a, kind="stable")
    a, b = a[order], b[order]
    rows = [("straight-all", len(a), straight_line(a, b).reaches(limit))]
    rows += [
        (f"straight-last-{k}", k, straight_line(a[-k:], b[-k:]).reaches(limit))
        for k in (5, 4, 3)
        if k < len(a)
    ]
    if len(a) > 2 and (b > 0).all():
        rows.append(("through-logs", len(a), straight_line(a, np.log(b)).reaches(float(np.log(limit)))))
    return pd.DataFrame(rows, columns=["method", "points", "distance"])

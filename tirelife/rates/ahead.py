"""A tire's depth further on: the path of wear and its spread."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

__all__ = ["depth_ahead", "path_depth"]

Array = NDArray[np.float64]


def path_depth(start_mm: ArrayLike, wear_mm: ArrayLike, q: ArrayLike = 0.0) -> Array:
    """Depth after wearing from ``start_mm``, with the rate going as (depth / start)**q.

    Parameters
    ----------
    start_mm : array_like
        Depth at the beginning; > 0. [mm]
    wear_mm : array_like
        Rate at the beginning times the reference distance run. [mm]
    q : array_like
        Curvature; 0 is a straight line, 1 an exponential.

    Returns
    -------
    ndarray
        Depth, never under 0 where q < 1 [mm].

    Notes
    -----
    dD/dx = -r (D/D0)^q gives D = D0 (1 - (1 - q) r x / D0)^(1 / (1 - q)), and D0 exp(-r x / D0) for q = 1.
    For q = 0 the line is continued under zero depth, so that a mean stays a mean. The form is ours; no
    published numeric exponent was found, so the prior for q stands at 0 (Brenner, Scheiner and Kondo 1975:
    straight).

    Examples
    --------
    >>> float(path_depth(8.0, 2.0))
    6.0
    >>> round(float(path_depth(8.0, 2.0, 1.0)), 4)
    6.2304
    """
    start, wear, bend = np.broadcast_arrays(
        np.asarray(start_mm, float), np.asarray(wear_mm, float), np.asarray(q, float)
    )
    left = 1.0 - bend
    share = wear / start
    near = np.abs(left) < 1e-7
    safe = np.where(near, 1.0, left)
    inside = np.maximum(1.0 - safe * share, 1e-9)
    bent = start * np.exp(np.where(near, -share, np.log(inside) / safe))
    return np.asarray(np.where(bend == 0, start - wear, bent))


def depth_ahead(tires: pd.DataFrame, reference_km: ArrayLike) -> tuple[Array, Array]:
    """Depth of each tire after a further reference distance: mean and standard deviation.

    Parameters
    ----------
    tires : DataFrame
        Rows of ``WearFit.tires``, n of them.
    reference_km : array_like, shape (n,) or (n, m)
        Distance ahead on the axle that the tire is on; for the other axle multiply by
        ``exp(log_axle_<other> - log_axle_<present>)``. [reference km]

    Returns
    -------
    mean, sd : ndarray, the shape of ``reference_km`` [mm]
        Of the depth itself; a reading of it has the gauge's and the visit's error on top.

    Notes
    -----
    First-order in the rate's and the curvature's uncertainty. The rate is lognormal, so far ahead the depth
    is skewed to the shallow side; crossing distances are better found by holding ``log_wear`` at a few
    quadrature nodes than from this mean and sd alone.
    """
    x = np.asarray(reference_km, float)

    def col(name: str) -> Array:
        values = tires[name].to_numpy(float)
        return values.reshape(-1, *([1] * (x.ndim - 1)))

    depth, q = np.maximum(col("depth_mm"), 1e-3), col("q")
    rate = np.exp(col("log_wear"))
    mean = path_depth(depth, rate * x, q)
    slope = np.where(q == 0, 1.0, (np.maximum(mean, 1e-9) / depth) ** q)
    by_rate = -rate * x * slope
    step = 1e-4
    by_depth = (path_depth(depth * (1 + step), rate * x, q) - path_depth(depth * (1 - step), rate * x, q)) / (
        2 * step * depth
    )
    by_q = (path_depth(depth, rate * x, q + step) - path_depth(depth, rate * x, q - step)) / (2 * step)
    variance = (
        (by_depth * col("depth_sd_mm")) ** 2
        + (by_rate * col("log_wear_sd")) ** 2
        + (by_q * col("q_sd")) ** 2
        + 2 * by_depth * by_rate * col("depth_log_wear_cov")
        + 2 * by_depth * by_q * col("depth_q_cov")
        + 2 * by_rate * by_q * col("log_wear_q_cov")
        + (slope * rate) ** 2 * (col("wander_var_per_km") * x**3 / 3 + col("scatter_km") * x)
    )
    return mean, np.sqrt(np.maximum(variance, 0.0))

"""A tire's depth further on: the path of wear."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["path_depth"]

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

"""Of many positions, which are on the front axle; of one, :mod:`tirelife.positions` says so without NumPy."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tirelife.positions import FRONT

__all__ = ["is_front"]


def is_front(positions: ArrayLike) -> NDArray[np.bool_]:
    """Whether each of many positions is on the front axle.

    Parameters
    ----------
    positions : array_like of str, any shape

    Returns
    -------
    ndarray of bool, same shape

    Examples
    --------
    >>> is_front(["LF", "LR", "SP", "RF"]).tolist()
    [True, False, False, True]
    """
    values: Any = np.asarray(positions, dtype=object)
    return np.asarray((values == FRONT[0]) | (values == FRONT[1]), dtype=bool)

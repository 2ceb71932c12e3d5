"""What the digits of readings say of the unit they were taken in: halves are usual in 32nds, tenths in mm."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["digit_odds", "digits_rule"]

_OFF: Final = {"halves": 0.02, "tenths": 0.8}
"""Share of readings that are no wholes or halves, by how a gauge is marked; of tenths by arithmetic."""
_HALVES: Final = {"mm": 0.2, "32nds": 0.85}
"""Share of gauges marked in halves, by unit; our assumption."""


def digit_odds(
    off: NDArray[np.float64], readings: NDArray[np.float64], group: NDArray[np.intp]
) -> dict[str, NDArray[np.float64]]:
    """Log odds that digits come from a gauge in another unit, against one as the other groups have.

    Parameters
    ----------
    off, readings : ndarray, shape (visits,)
        Readings that are no wholes or halves, and all.
    group : ndarray of int, shape (visits,)
        Visits judged as one: each by itself, or those of a vehicle. Groups are numbered from 0.

    Returns
    -------
    dict of str to ndarray, shape (groups,)
        By the unit meant.
    """
    k, n = np.bincount(group, off), np.bincount(group, readings)
    said = {
        kind: k * np.log(share) + (n - k) * np.log1p(-share) for kind, share in _OFF.items()
    }  # the readings of a visit are of one gauge
    halves = said["halves"] >= said["tenths"]
    of_halves = np.bincount(group, halves[group])
    many = np.bincount(group)
    usual = (of_halves.sum() - of_halves + 0.5) / (len(group) - many + 1.0)  # among the other groups' visits

    def mixed(share: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.asarray(
            np.logaddexp(np.log(share) + said["halves"], np.log(1.0 - np.asarray(share)) + said["tenths"])
        )

    return {unit: mixed(share) - mixed(usual) for unit, share in _HALVES.items()}


def digits_rule() -> dict[str, dict[str, float]]:
    """Shares of :func:`digit_odds`, as plain numbers: for a twin in another language."""
    return {"off": dict(_OFF), "halves": dict(_HALVES)}

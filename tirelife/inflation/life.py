"""What low pressure costs in tread life."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tirelife.units import convert

__all__ = ["LIFE_PER_PSI", "PUBLISHED_KPA", "beyond_published", "life_share", "pressure_wear"]

LIFE_PER_PSI: Final = (1.00 - 0.68) / (35 - 17)
"""Tread life lost per psi below placard: life at 17 psi is 68 % of that at 35 psi, taken as a straight line
[1 per psi]. NHTSA, FMVSS 138 final regulatory impact analysis (Docket NHTSA-2000-8572-26): 1.78 % per psi,
about 800 miles per psi of a mean life of 45,000."""
PUBLISHED_KPA: Final = (convert(17.0, "psi", "kpa"), convert(35.0, "psi", "kpa"))
"""Range of pressures in that source [kPa, gauge]."""
_PER_KPA: Final = LIFE_PER_PSI / convert(1.0, "psi", "kpa")


def life_share(cold_kpa: ArrayLike, placard_kpa: ArrayLike) -> Any:
    """Tread life at a cold pressure, as a share of life at the placard's.

    Parameters
    ----------
    cold_kpa, placard_kpa : array_like
        Gauge pressures. [kPa]

    Returns
    -------
    float or ndarray
        1 at placard and above it: the source says nothing of over-inflation, so we take it as neutral.

    Notes
    -----
    The line is the source's, through two points. Below 17 psi we extend it, and above a placard of 35 psi we
    count the shortfall as a share of placard (both our assumptions); :func:`beyond_published` says where.

    Examples
    --------
    >>> from tirelife.units import convert
    >>> round(float(life_share(convert(17, "psi", "kpa"), convert(35, "psi", "kpa"))), 4)
    0.68
    """
    cold, placard = np.asarray(cold_kpa, dtype=float), np.asarray(placard_kpa, dtype=float)
    low = np.maximum(placard - np.maximum(cold, 0.0), 0.0)
    return 1 - _PER_KPA * low * np.minimum(1.0, PUBLISHED_KPA[1] / placard)


def pressure_wear(cold_kpa: ArrayLike, placard_kpa: ArrayLike) -> Any:
    """Wear per distance over wear at placard pressure, ``1 / life_share``."""
    return 1 / life_share(cold_kpa, placard_kpa)


def beyond_published(cold_kpa: ArrayLike, placard_kpa: ArrayLike) -> NDArray[np.bool_]:
    """Whether the effect of a shortfall is extrapolated: below 17 psi, or a placard above 35 psi."""
    cold, placard = np.asarray(cold_kpa, dtype=float), np.asarray(placard_kpa, dtype=float)
    edge = 1e-6
    outside = (cold < PUBLISHED_KPA[0] - edge) | (placard > PUBLISHED_KPA[1] + edge)
    return np.asarray((cold < placard - edge) & outside)

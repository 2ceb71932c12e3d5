"""Are the differences found of a size that drivers are known to make?"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.groups.advice import Advice, Check

__all__ = ["DRIVER_SPREAD", "TENTHS", "plausibility_checks", "tenths_ratio"]

DRIVER_SPREAD: Final = 0.35
"""Drivers alone can shift wear or removal miles by up to 35 %: TMC RP 230, as read in a trade article."""
TENTHS: Final = 2.5
"""The best and worst tenths of users at one place differ about two-fold in tread life (Tire Sci. Technol.
1(2), 1973, p. 202); 1.7 to 2.5 is our tolerance about it."""
_TAIL_MEAN: Final = 1.754983
"""Mean of the uppermost tenth of a standard normal: phi(1.281552) / 0.1."""


def tenths_ratio(vehicle_log_sd: float) -> float:
    """Wear of the hardest tenth of vehicles over that of the gentlest, from their spread.

    Examples
    --------
    A spread of a fifth gives the two-fold difference that a survey found.

    >>> round(tenths_ratio(0.1975), 2)
    2.0
    """
    return float(np.exp(2 * _TAIL_MEAN * vehicle_log_sd))


def plausibility_checks(ratios: pd.Series, vehicle_log_sd: float) -> pd.DataFrame:
    """Check the largest ratio between groups, and the spread between vehicles.

    Parameters
    ----------
    ratios : Series
        Of pairs of driver groups; none where other things are compared.
    vehicle_log_sd : float

    Returns
    -------
    DataFrame
        check, value, limit, passed, advice, about.
    """
    known = ratios.dropna()
    largest = float(np.exp(np.abs(np.log(known)).max())) if len(known) else float("nan")
    tenths = tenths_ratio(vehicle_log_sd)
    rows: list[dict[str, object]] = [
        {
            "check": Check.LARGEST_RATIO.value,
            "value": round(largest, 3),
            "limit": f"<= {1 + DRIVER_SPREAD:g}",
            "passed": not largest > 1 + DRIVER_SPREAD,
            "advice": Advice.LARGE_RATIO.value,
            "about": "",
        },
        {
            "check": Check.TENTHS.value,
            "value": round(tenths, 2),
            "limit": f"<= {TENTHS:g}",
            "passed": tenths <= TENTHS,
            "advice": Advice.WIDE_SPREAD.value,
            "about": "",
        },
    ]
    return pd.DataFrame(rows if len(known) else rows[1:])

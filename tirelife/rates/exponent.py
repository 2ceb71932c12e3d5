"""Whether modelled severities are too strong or too weak for the wear that was read."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.rates.fit import fit_logbook
from tirelife.rates.prior import Belief, Prior
from tirelife.rates.result import ESTIMATES

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["profile_exponent", "severity_exponent"]

HELD: Final = Belief(1.0, 0.5)
"""What is held of the exponent before the data: that severities are right, give or take (our assumption)."""
_BOUNDS: Final = (-0.5, 2.5)
_STEP: Final = 0.1
_Z: Final = 1.959963984540054


def severity_exponent(book: Logbook, prior: Prior | None = None) -> pd.DataFrame:
    """Power to which modelled severities should be raised to fit the readings best.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional
        For the fits.

    Returns
    -------
    DataFrame
        One row, with the columns of ``WearFit.estimates``. 1: severities are right; 0: they tell nothing;
        over 1: driving, loads and pressures matter more than modelled. ``source`` is ``prior`` where the
        readings do not tell.

    Notes
    -----
    The fit is repeated over the exponent, with a normal law about 1 (sd 0.5); the standard error is that
    of the criterion's curvature at its minimum. A dozen fits: a study for the analyst. Forecasts take
    severities as they stand.
    """
    return profile_exponent(lambda exponent: fit_logbook(book, prior, exponent).criterion)


def profile_exponent(criterion: Callable[[float], float]) -> pd.DataFrame:
    """Estimate from the criterion (-2 log likelihood) as a function of the exponent; see above."""
    from scipy.optimize import minimize_scalar

    def penalized(at: float) -> float:
        return criterion(at) + ((at - HELD.mean) / HELD.sd) ** 2

    best = float(minimize_scalar(penalized, bounds=_BOUNDS, method="bounded", options={"xatol": 0.02}).x)
    low, middle, high = (penalized(best + step) for step in (-_STEP, 0.0, _STEP))
    bowl = (low - 2 * middle + high) / _STEP**2
    mean, error = best, math.nan
    if bowl > 0:
        mean = best - (high - low) / (2 * _STEP) / bowl
        error = math.sqrt(2 / bowl)
    source = "prior" if error >= 0.9 * HELD.sd else "fitted"
    row = ("severity exponent", mean, error, mean - _Z * error, mean + _Z * error, "exponent", source)
    return pd.DataFrame([row], columns=list(ESTIMATES))

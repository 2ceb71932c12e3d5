"""From days left to dates."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["HORIZON_YEARS", "dates_after"]

Floats = NDArray[np.float64]

HORIZON_YEARS: Final = 60.0
"""No date is given further ahead than this; other things end a tire long before."""


def dates_after(as_of: pd.Series, days: Floats) -> list[pd.Series]:
    """Days on which so many days are over, a Series a column of ``days``.

    NaT where it is NaN or lies over :data:`HORIZON_YEARS` ahead.
    """
    days = np.where(days <= HORIZON_YEARS * 365.25, days, np.nan)
    first = as_of.to_numpy().astype("datetime64[D]")
    dates = []
    for column in np.floor(days + 1e-9).T:
        whole = np.where(np.isfinite(column), column, 0).astype("timedelta64[D]")
        value = np.where(np.isfinite(column), first + whole, np.datetime64("NaT", "D"))
        dates.append(pd.Series(value.astype("datetime64[us]")))
    return dates

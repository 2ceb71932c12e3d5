"""When age ends a tire's life, whatever its tread: by its date code, or counted from its first mount."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from pandas.api.typing import NaTType

from tirelife.errors import InputError
from tirelife.logbook import doubted
from tirelife.tread import read_date_code

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["AGE_LIMIT_YEARS", "age_ends"]

AGE_LIMIT_YEARS: Final = 10.0
"""Age from manufacture at which age limits a tire; advice of makers, not law (:mod:`tirelife.tread.age`)."""


def age_ends(book: Logbook, tires: pd.Series, years: float = AGE_LIMIT_YEARS) -> pd.DataFrame:
    """Day by which each tire is too old.

    Parameters
    ----------
    book : Logbook
    tires : Series of str
    years : float

    Returns
    -------
    DataFrame
        In the order asked: age_end; age_assumed, whether it is counted from the tire's first mount for want
        of a date code, and so is the latest it can be; age_days from the log's day, 0 if it is past, infinite
        if nothing tells.

    Notes
    -----
    A code that was doubted when the log was read counts as none: one that lost its leading zero in a
    spreadsheet (0426 as 426) would make a new tire decades old.
    """
    table = book.tires.drop_duplicates("tire_id").set_index("tire_id")
    codes = pd.Series("", index=table.index)
    if "made_week" in table:
        codes = table["made_week"].mask(doubted(table, "made_week"), "")
    codes = codes.reindex(tires).fillna("").astype(str)
    made: dict[str, pd.Timestamp | NaTType] = {}
    for code in codes.unique():
        try:
            made[code] = read_date_code(code).made_to if code else pd.NaT
        except InputError:
            made[code] = pd.NaT
    known = pd.to_datetime(codes.map(made)).reset_index(drop=True)
    path = book.stretches
    first = path.groupby("tire_id")["from_date"].min().reindex(tires).reset_index(drop=True)
    limit = pd.DateOffset(years=int(years), days=round((years - int(years)) * 365.25))
    end = known.fillna(first).astype("datetime64[us]") + limit
    days = (end - book.as_of).dt.days.to_numpy(dtype=float)
    return pd.DataFrame(
        {
            "age_end": end.to_numpy(),
            "age_assumed": known.isna().to_numpy(),
            "age_days": np.where(np.isnan(days), np.inf, np.maximum(days, 0.0)),
        }
    )

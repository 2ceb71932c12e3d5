"""Whether to trust a fit: one row a check."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from tirelife.rates.result import CHECKS

if TYPE_CHECKING:
    from tirelife.rates.tables import Found

__all__ = ["make_checks"]


def make_checks(found: Found, frames: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Every check of a fit: ``check, value, limit, passed, advice``."""
    spread = found.spread
    rows = [
        (
            "converged",
            float(spread.rounds),
            60.0,
            spread.converged,
            "" if spread.converged else "The spreads had not settled: treat every range as a guess.",
        ),
        (
            "gradient",
            spread.decrement,
            0.1,
            spread.decrement < 0.1,
            "" if spread.decrement < 0.1 else "One more step would still improve the fit.",
        ),
    ]
    return pd.DataFrame(rows, columns=list(CHECKS))

"""Whether what is left between vehicles goes with a habit: then its factor, or its record, is off."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.positions import SPARE
from tirelife.rates.advice import Advice, Check
from tirelife.rates.result import CHECKS
from tirelife.wear import RECORDS, stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates.result import WearFit

__all__ = ["LIMIT", "habit_checks", "with_habit_checks"]

LIMIT: Final = 3.0
"""Size of a correlation, in its standard errors, that chance alone makes once in 370 times; so six habits are
seldom blamed for nothing (our choice)."""
_FEWEST: Final = 12
"""Fewer vehicles tell nothing of a correlation; our choice."""


def habit_checks(book: Logbook, fit: WearFit, parts: pd.DataFrame | None = None) -> pd.DataFrame:
    """Check of what is left of the vehicles' effects against each cause that comes with driving and care.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    parts : DataFrame, optional
        From :func:`tirelife.wear.stretch_severity` under the fit's factors; made if not given.

    Returns
    -------
    DataFrame
        Rows of a fit's ``checks``, one a cause: the correlation, over vehicles, of what is left and of the
        share of wear that the cause takes, in standard errors. Both less their means by drive. None where
        there are fewer than 12 vehicles or habits do not differ.
    """
    if parts is None:
        parts = stretch_severity(book, replace(fit.factors, level=()))  # known: as the fit was made with
    parts = parts[parts["position"] != SPARE]
    names = [cause.name for cause in RECORDS if cause.driver]
    km = (parts["to_km"] - parts["from_km"]).to_numpy(float)
    run = parts[[*names, "severity"]].mul(km, axis=0).groupby(parts["vehicle_id"].to_numpy()).sum()
    cars = fit.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")
    cars = cars[cars["visits"] > 0].join(run, how="inner")
    cars = cars[cars["severity"] > 0]
    rows = []
    if len(cars) >= _FEWEST:
        left = _apart(cars["log_effect"], cars["drive"])
        free = len(cars) - 1 - cars["drive"].nunique()
        for cause in (record for record in RECORDS if record.driver):
            share = _apart(cars[cause.name] / cars["severity"], cars["drive"])
            size = float(np.sqrt((left @ left) * (share @ share)))
            if free < 3 or not size > 1e-12:
                continue
            r = float(np.clip(left @ share / size, -0.9999, 0.9999))
            z = r * np.sqrt(free / (1 - r * r))
            passed = bool(abs(z) <= LIMIT)
            advice = "" if passed else (Advice.CAUSE_MORE if z > 0 else Advice.CAUSE_LESS).value
            rows.append((f"{Check.LEFT_BETWEEN}: {cause.name}", z, LIMIT, passed, advice, "", ""))
    return pd.DataFrame(rows, columns=list(CHECKS))


def with_habit_checks(book: Logbook, fit: WearFit, parts: pd.DataFrame | None = None) -> WearFit:
    """Give a fit with these checks after its own."""
    rows = habit_checks(book, fit, parts)
    if rows.empty:
        return fit
    checks = pd.concat([fit.frames["checks"], rows], ignore_index=True)
    return replace(fit, frames={**fit.frames, "checks": checks})


def _apart(values: pd.Series, kind: pd.Series) -> np.ndarray:
    """Values less the mean of their kind."""
    return (values - values.groupby(kind).transform("mean")).to_numpy(float)

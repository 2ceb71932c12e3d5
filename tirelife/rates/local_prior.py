"""What is held of the wear in one logbook: published lives of its region and its kinds of tire."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from tirelife.rates.lives import SEASONS, WITHIN_KIND_SD, WORN_MM, Life, life_of
from tirelife.rates.prior import Belief, Prior

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook

__all__ = ["prior_for"]


def prior_for(book: Logbook, prior: Prior) -> Prior:
    """What is held of the wear in a logbook: published lives of its region and its kinds of tire.

    Parameters
    ----------
    book : Logbook
        ``vehicles.region`` and ``tires.season`` count where they are filled in; neither is guessed.
    prior : Prior
        With ``lives``; one without, such as a saved fit, is handed back as it is.
    """
    if not prior.lives:
        return prior
    lives = tuple(Life(*row) for row in prior.lives)
    region = _only(book.vehicles, "region")
    base, sd, _ = life_of(region, "", lives)
    spread2 = sum(math.exp(2 * prior.spreads[name].mean) for name in ("block", "line", "unit"))
    out = replace(prior, log_rate=Belief(math.log(WORN_MM) - base + spread2 / 2, sd))
    if "season" not in book.tires:
        return out
    told = book.tires[["tire_line", "season"]].fillna("").astype(str)
    kinds = told[told["season"].isin(SEASONS)].groupby("tire_line")["season"].agg(lambda s: s.mode().iloc[0])
    held = dict(prior.lines)
    for line, season in kinds.items():
        middle, kind_sd, _ = life_of(region, str(season), lives)
        # Doubt of the place stands in the level already; what a kind adds is what it is doubted more.
        more = math.sqrt(max(kind_sd**2 - sd**2, 0.0))
        held.setdefault(str(line), Belief(base - middle, math.hypot(WITHIN_KIND_SD, more)))
    return replace(out, lines=held)


def _only(table: pd.DataFrame, column: str) -> str:
    """The one value of a column, whatever its capitals; empty where there is none, or more than one."""
    if column not in table:
        return ""
    values = {str(v).strip().casefold(): str(v).strip() for v in table[column].dropna() if str(v).strip()}
    return values.popitem()[1] if len(values) == 1 else ""

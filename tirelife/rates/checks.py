"""Whether to trust a fit: one row a check."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.rates.result import CHECKS

if TYPE_CHECKING:
    from tirelife.rates.tables import Found

__all__ = ["make_checks"]

_WORN_MM: Final = 3.5
"""A tire that left with more than this left early, for other reasons than its tread."""
Row = tuple[str, float, float, bool, str]


def make_checks(found: Found, frames: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Every check of a fit.

    Parameters
    ----------
    found : Found
    frames : dict of DataFrame
        The frames made so far: estimates, components, tires, vehicles, visits.

    Returns
    -------
    DataFrame
        ``check, value, limit, passed, advice``; a check passes when its value is within its limit, and then
        has no advice.
    """
    rows = [
        *_trust(found, frames), *_readings(found, frames), *_tires(found, frames["tires"]), *_rate(found),
        *_identifiable(found, frames["estimates"]),
    ]  # fmt: skip
    table = pd.DataFrame(rows, columns=list(CHECKS))
    table["advice"] = table["advice"].where(~table["passed"], "")
    return table


def _trust(found: Found, frames: dict[str, pd.DataFrame]) -> list[Row]:
    spread = found.spread
    ranges = (
        frames["estimates"]["std_error"], frames["components"]["lower"], frames["tires"]["depth_sd_mm"],
        frames["tires"]["log_wear_sd"],
    )  # fmt: skip
    lost = int(sum(values.isna().sum() for values in ranges))
    return [
        (
            "converged", float(spread.rounds), float(spread.most), spread.converged,
            "The spreads had not settled: take every range for a guess.",
        ),
        (
            "gradient", spread.decrement, 0.1, bool(spread.decrement <= 0.1),
            "One more step would still improve the fit: take the spreads for rough.",
        ),
        (
            "ranges that could not be found", float(lost), 0.0, lost == 0,
            "The covariance failed for these; they are left blank.",
        ),
        (
            "tire-visits left out", float(found.names.lost), 0.0, found.names.lost == 0,
            "No tire, no depth or no distance is known for them: see the doubts in the logbook.",
        ),
    ]  # fmt: skip


def _readings(found: Found, frames: dict[str, pd.DataFrame]) -> list[Row]:
    """Shape of what is left over, readings that are far off, and what visits share."""
    visits = frames["visits"]
    count = len(visits)
    if count == 0:
        return []
    off = visits["standardized"].to_numpy(float)
    far = float(np.mean(np.abs(off) > 3))
    outliers = int(visits["outlier"].sum())
    middle = off[np.abs(off) < 4]
    shaped = len(middle) > 20 and middle.std() > 0
    skew = float(np.mean(((middle - middle.mean()) / middle.std()) ** 3)) if shaped else math.nan
    noise, lean = math.sqrt(found.spread.spreads[0]), math.sqrt(found.spread.spreads[1])
    return [
        (
            "residual shape: share beyond 3 sd", far, max(0.01, 2 / count), far <= max(0.01, 2 / count),
            "More readings are far off than chance allows: they count less, and the ranges lean on the rest.",
        ),
        (
            "residual shape: skew", skew, 0.5, not abs(skew) > 0.5,
            "Readings err more to one side: look for a gauge that sticks or a groove that was missed.",
        ),
        (
            "readings that do not belong", float(outliers), float(count // 100), outliers <= count // 100,
            "Flagged in visits (outlier) and kept: look for slips of the pen and swapped positions.",
        ),
        (
            "visit effects: visit over reading", lean / noise, 1.5, lean <= 1.5 * noise,
            "All readings of one day lean alike: compare the gauges with a master, read the same way.",
        ),
    ]  # fmt: skip


def _tires(found: Found, tires: pd.DataFrame) -> list[Row]:
    odd = tires.loc[~tires["belongs"].astype(bool), "tire_id"].tolist()
    named = ", ".join(map(str, odd[:3])) + (", …" if len(odd) > 3 else "")
    rows: list[Row] = [
        (
            "tires that do not belong", float(len(odd)), 0.0, not odd,
            f"{named} wore unlike their vehicle and line: check the mounts, then the wheel.",
        )
    ]  # fmt: skip
    left = found.names.table.get("left")
    if left is None:
        return rows
    gone = tires.set_index("tire_id").reindex(found.names.table["tire_id"])
    read = gone["visits"].to_numpy() > 0
    deep = gone["depth_mm"].to_numpy(float) > _WORN_MM
    early, others = left.to_numpy(bool) & read & deep, read & ~(left.to_numpy(bool) & deep)
    score = math.nan
    if early.sum() >= 3 and others.sum() >= 3:
        own = found.units.own + found.units.effect[found.blocks.unit_block]
        gap = own[early].mean() - own[others].mean()
        error = math.sqrt(own[early].var(ddof=1) / early.sum() + own[others].var(ddof=1) / others.sum())
        score = gap / error if error > 0 else math.nan
    faster = "faster" if score > 0 else "slower"
    rows.append(
        (
            "early leavers wore differently", abs(score), 3.0, not abs(score) > 3.0,
            f"Tires that left with tread on them had worn {faster} than the rest: forecasts for those that "
            "stay may be off the other way.",
        )
    )  # fmt: skip
    return rows


def _rate(found: Found) -> list[Row]:
    scatter, drift = found.spread.spreads[2], found.spread.spreads[3] + found.spread.spreads[8]
    wander = math.sqrt(scatter / 1e4 + drift * 1e4 / 3)
    at = found.blocks.bend_fixed
    q, error = float(found.result.mean[at]), math.sqrt(found.result.cov[at, at])
    way = "slows" if q > 0 else "quickens"
    return [
        (
            "rate wander: share of wear over 10,000 km", wander, 0.06, wander <= 0.06,
            "Wear rates change as tires go: look for changed habits; ranges widen with distance.",
        ),
        (
            "curvature: standard errors from straight", abs(q) / error, 2.5, abs(q) <= 2.5 * error,
            f"Wear is bending: it {way} as the tread goes (q = {q:.2f}). Straight lines mislead here.",
        ),
    ]  # fmt: skip


def _identifiable(found: Found, estimates: pd.DataFrame) -> list[Row]:
    """One row a term: its spread after the data over its spread before."""
    before = 1 / np.sqrt(np.maximum(found.spread.laws.precision, 1e-300))
    after = np.sqrt(np.diag(found.result.cov))
    share = after / before
    share[found.blocks.bend_fixed] = found.bend_told
    return [
        (
            f"identifiable: {term}", float(value), 0.9, bool(value <= 0.9),
            "The readings say next to nothing about it: the prior answers.",
        )
        for term, value in zip(estimates["term"], share, strict=True)
    ]  # fmt: skip

"""Tires to buy by month in the coming year, with a range."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.groups.response import tire_rates
from tirelife.groups.wrong import Wrong
from tirelife.normal import ndtri
from tirelife.outlook import forecast
from tirelife.positions import OFF
from tirelife.rates import mileage
from tirelife.tread import REMOVAL_DEPTH_MM

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["TOGETHER", "replacements_by_month", "replacements_from"]

Floats = NDArray[np.float64]

TOGETHER: Final = ("tire", "axle", "set")
"""What is replaced when a tire is down: it alone, both of its axle, or all four."""
SHARED: Final = 0.5
"""Share of a tire's uncertainty that all tires of its vehicle have in common, mostly the distance
ahead and the vehicle's wear; an assumption, no source."""
PERCENTS: Final = (10, 25, 50, 75, 90)
LIFE_LOG_SD: Final = 0.25
"""Spread of the life of a tire not yet bought; an assumption, near the spread of forecasts for new tires."""


def replacements_by_month(
    book: Logbook,
    fit: WearFit | None = None,
    *,
    rng: np.random.Generator,
    months: int = 12,
    together: str = "axle",
    removal_depth_mm: float = REMOVAL_DEPTH_MM,
    draws: int = 2000,
    ahead: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Tires to be replaced in each of the coming months.

    Parameters
    ----------
    book : Logbook
    fit : WearFit, optional
        Of this logbook.
    rng : Generator
    months : int
        Counted from the logbook's last day; a tire counts at the first look after it is down.
    together : str
        ``"tire"``, ``"axle"`` or ``"set"``: what is replaced when the first of them is down.
    removal_depth_mm : float
        Depth at which tires are taken off in practice; with ``ahead``, those fitted from now on. [mm]
    draws : int
    ahead : DataFrame, optional
        The forecast, where it is at hand; made here if not.

    Returns
    -------
    DataFrame
        As from :func:`replacements_from`.
    """
    ahead = forecast(book, fit, removal_depth_mm=removal_depth_mm) if ahead is None else ahead
    tires = tire_rates(book)
    known = tires[tires["used"]]
    rate = known.groupby("vehicle_id")["rate_mm_per_1000km"].mean()
    pace = mileage(book).set_index("vehicle_id")["km_per_day"]
    usual = float(known["rate_mm_per_1000km"].mean()) if len(known) else np.nan
    room = float((tires["new_depth_mm"] - removal_depth_mm).median())
    life = 1000 * room / rate.reindex(pace.index).fillna(usual) / pace
    return replacements_from(
        ahead,
        rng=rng,
        months=months,
        together=together,
        new_life_days=dict(life.items()),
        visit_gap_days=_visit_gaps(book),
        draws=draws,
    )


def replacements_from(
    ahead: pd.DataFrame,
    *,
    rng: np.random.Generator,
    months: int = 12,
    together: str = "axle",
    new_life_days: Mapping[object, float] | None = None,
    visit_gap_days: Mapping[object, float] | None = None,
    draws: int = 2000,
) -> pd.DataFrame:
    """Count replacements by month from a forecast.

    Parameters
    ----------
    ahead : DataFrame
        As from :func:`tirelife.outlook.forecast`; tires with no date (a spare at rest) are left out.
    rng : Generator
    months : int
    together : str
        See :func:`replacements_by_month`.
    new_life_days : mapping, optional
        Days that a new tire lasts, by vehicle; without it none is replaced twice.
    visit_gap_days : mapping, optional
        Days between looks at the tires, by vehicle: a tire that is down is replaced at the next look. Without
        it, on the day itself.
    draws : int

    Returns
    -------
    DataFrame
        month (1 is the first), from_date, to_date, expected, lower, upper (80 %), expected_so_far,
        lower_so_far, upper_so_far; counts of tires.

    Notes
    -----
    Each tire's date is drawn from its own quantiles, on a log scale of days, the tails as straight on a
    normal scale as the part between the quarters and the tenths. Half of the uncertainty is
    shared by the tires of a vehicle. Tires already down are replaced at the next look.
    """
    if together not in TOGETHER:
        raise misused(Wrong.TOGETHER, known=", ".join(TOGETHER), together=together)
    if months < 1:
        raise misused(Wrong.MONTHS)
    names = [f"date_p{p}" for p in PERCENTS]
    rows = ahead[ahead[names].notna().all(axis=1)].reset_index(drop=True)
    if rows.empty:
        raise misused(Wrong.NO_DATES)
    as_of = pd.Timestamp(rows["as_of"].iloc[0])
    days = np.column_stack([(rows[n] - rows["as_of"]).dt.total_seconds() / 86_400 for n in names])
    vehicle = pd.factorize(rows["vehicle_id"])[0]
    due = _draw_days(days, vehicle, draws, rng)
    if visit_gap_days is not None:
        gap = rows["vehicle_id"].map(dict(visit_gap_days)).fillna(0.0).to_numpy(float)
        due = due + gap * rng.uniform(size=(draws, int(vehicle.max()) + 1))[:, vehicle]
    axle = rows["position"].str[-1]
    kept = np.full(len(rows), "")  # a tire in store is bought with the others of its own set
    if "read_at" in rows:
        stored = rows["position"] == OFF
        axle = axle.mask(stored, rows["read_at"].astype(str).str[-1])
        kept = np.where(stored, OFF, kept)
    own = rows["vehicle_id"].astype(str) + kept
    if together != "tire":
        unit = pd.factorize(own if together == "set" else own + " " + axle)[0]
        first = np.full((draws, unit.max() + 1), np.inf)
        for j, u in enumerate(unit):
            first[:, u] = np.minimum(first[:, u], due[:, j])
        due = first[:, unit]
    else:
        unit = np.arange(len(rows))
    edges = [as_of + pd.DateOffset(months=k) for k in range(months + 1)]
    ends: Floats = np.array([(e - as_of).days for e in edges], dtype=np.float64)
    counts = _count(due, ends)
    if new_life_days is not None:
        life = rows["vehicle_id"].map(dict(new_life_days)).to_numpy(float)
        after = due
        while True:
            spread = np.exp(LIFE_LOG_SD * rng.normal(size=(draws, unit.max() + 1)))[:, unit]
            after = after + np.where(np.isfinite(life), life, np.inf) * spread
            if not (after < ends[-1]).any():
                break
            counts += _count(after, ends)
    so_far = counts.cumsum(axis=1)
    return pd.DataFrame(
        {
            "month": np.arange(1, months + 1),
            "from_date": edges[:-1],
            "to_date": edges[1:],
            "expected": counts.mean(axis=0),
            "lower": np.quantile(counts, 0.1, axis=0),
            "upper": np.quantile(counts, 0.9, axis=0),
            "expected_so_far": so_far.mean(axis=0),
            "lower_so_far": np.quantile(so_far, 0.1, axis=0),
            "upper_so_far": np.quantile(so_far, 0.9, axis=0),
        }
    )


def _visit_gaps(book: Logbook) -> dict[object, float]:
    """Median days between the days on which a vehicle's tires were read; the fleet's where it has but one."""
    days = book.depths[["vehicle_id", "date"]].drop_duplicates().sort_values(["vehicle_id", "date"])
    gap = days.groupby("vehicle_id")["date"].diff().dt.days
    own = gap.groupby(days["vehicle_id"]).median()
    return dict(own.fillna(gap.median()).fillna(0.0).items())


def _draw_days(days: Floats, vehicle: NDArray[np.intp], draws: int, rng: np.random.Generator) -> Floats:
    """Days to replacement, shape (draws, tires)."""
    z = ndtri(np.array(PERCENTS) / 100)
    shared = rng.normal(size=(draws, int(vehicle.max()) + 1))[:, vehicle]
    own = rng.normal(size=(draws, len(vehicle)))
    at = np.sqrt(SHARED) * shared + np.sqrt(1 - SHARED) * own
    log = np.log(np.maximum(days, 0.5))
    out = np.empty_like(at)
    for j in range(len(vehicle)):
        low = log[j, 1] + (log[j, 1] - log[j, 0]) / (z[1] - z[0]) * (at[:, j] - z[1])
        high = log[j, 3] + (log[j, 4] - log[j, 3]) / (z[4] - z[3]) * (at[:, j] - z[3])
        inside = np.interp(at[:, j], z, log[j])
        out[:, j] = np.where(at[:, j] < z[0], low, np.where(at[:, j] > z[4], high, inside))
    dates: Floats = np.exp(out)
    return dates


def _count(due: Floats, ends: Floats) -> NDArray[np.int64]:
    """Replacements between the ends, shape (draws, months)."""
    month = np.searchsorted(ends[1:], due, side="right")
    return np.stack([(month == k).sum(axis=1) for k in range(len(ends) - 1)], axis=1)

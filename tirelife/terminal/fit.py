"""A fit, as tables for a program and in lines for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tirelife.language import code_words
from tirelife.logbook import GROOVES
from tirelife.rates import in_units, report
from tirelife.sheet import fit_tables
from tirelife.terminal.table import framed
from tirelife.units import shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.rates import WearFit

__all__ = ["fit_data", "fit_text"]

_TIRES: Final = (
    "tire_id", "vehicle_id", "tire_line", "position", "visits", "last_date", "last_odometer_km", "depth_mm",
    "depth_sd_mm", "wear_mm_per_1000km", "std_error_mm_per_1000km", "straight_line_mm_per_1000km", "belongs",
    "reason",
)  # fmt: skip
_NAMES: Final = {"depth_mm": "fitted_mean_mm", "depth_sd_mm": "fitted_mean_sd_mm"}
"""Names of depths in the table of tires: by the fit on the day of the last visit, the mean of the grooves."""
_VISITS: Final = {
    "depth_mm": "read_mean_mm", "fitted_mm": "fitted_mean_mm", "shallowest_mm": "read_least_groove_mm",
    **{f"{groove}_mm": f"read_{groove}_mm" for groove in GROOVES},
}  # fmt: skip
"""The same of visits: as read, less the gauge's bias; mean of the grooves, or one."""


def fit_data(fit: WearFit, units: str) -> dict[str, pd.DataFrame]:
    """A fit's tables in a logbook's units, without the columns that only a program can use.

    Parameters
    ----------
    fit : WearFit
    units : {"us", "metric"}
    """
    tires = fit.tires.rename(columns={"std_error": "std_error_mm_per_1000km"})[list(_TIRES)]
    advised = zip(fit.checks["advice"], fit.checks["about"], strict=True)
    words = [code_words(advice, {"about": about}) for advice, about in advised]
    return {
        "estimates": in_units(fit.estimates, units),
        "components": in_units(fit.components, units),
        "tires": shown(tires.rename(columns=_NAMES), units),
        "vehicles": fit.vehicles,
        "checks": fit.checks.assign(words=words),
        "visits": shown(fit.visits.rename(columns=_VISITS), units),
    }


def fit_text(fit: WearFit, units: str) -> str:
    """Whether to trust a fit, and its tables."""
    tables = fit_tables(fit, units).items()
    return "\n".join([report(fit), *(f"\n{title}\n{framed(table)}" for title, table in tables)])

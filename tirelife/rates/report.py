"""Whether to trust a fit, in a few lines; and its tables in the units of a logbook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from tirelife.language import code_words
from tirelife.rates.lives import ABRASION_RANGE, GRAMS_PER_MM, abrasion
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.rates.result import WearFit

__all__ = ["in_units", "report"]


def report(fit: WearFit) -> str:
    """Say whether to trust a fit; what it found stands in its tables, and in words in ``sheet``.

    Parameters
    ----------
    fit : WearFit

    Returns
    -------
    str
        Lines of text.
    """
    tires, visits, checks = fit.tires, fit.visits, fit.checks
    failed = checks[~checks["passed"].astype(bool)]
    alone = failed["check"].str.startswith("identifiable: ")
    lines = [
        f"WearFit: {len(visits)} tire-visits, {len(tires)} tires, {len(fit.vehicles)} vehicles, {fit.method}",
        "Trust:   " + _verdict(fit, checks, failed),
    ]
    if fit.verdict.refused:
        lines.append(
            "         Every tire stands where it was read last, and wears as one of which nothing is known."
        )
    for row in failed[~alone].to_dict("records"):
        limit = f"limit {_short(row['limit'])}"
        advice = code_words(row["advice"], {"about": row["about"]})
        lines.append(f"         {row['check']}: {_short(row['value'])} ({limit}). {advice}")
    if alone.any():
        names = [name.removeprefix("identifiable: ") for name in failed.loc[alone, "check"]]
        lines.append(f"         The prior alone answers for {_listed(names)}.")
    return "\n".join([*lines, "", _abrasion(fit), *_season(fit), *_habits(fit)])


def _abrasion(fit: WearFit) -> str:
    """What the fitted rate means in mass, beside what was measured of cars."""
    lost = abrasion(fit.posterior.log_rate.mean)
    low, high = ABRASION_RANGE
    said = f"implied abrasion: {lost:.0f} mg/km a car, at {GRAMS_PER_MM:.0f} g a mm of one tire's tread"
    if low <= lost <= high:
        return f"{said} (measured in Europe: about 110)"
    return f"{said}. DOUBTFUL: outside {low:.0f} to {high:.0f}. Check the units of depths and odometers."


def _season(fit: WearFit) -> list[str]:
    """The cycle through the year, where the log spans it."""
    if "season" not in fit.frames:
        return []
    row = fit.frames["season"].iloc[0]
    size, sd = float(row["amplitude"]), float(row["amplitude_sd"])
    month = _MONTHS[min(int(float(row["peak_day"]) / 365.25 * 12), 11)]
    if size < 2 * sd:
        return [f"season: none that stands out ({size:.0%} either way, standard error {sd:.0%})"]
    return [f"season: wear is {size:.0%} above its mean of the year in {month} (standard error {sd:.0%})"]


_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def _habits(fit: WearFit) -> list[str]:
    """How far recorded habits are to be believed, where the log moved it."""
    if fit.prior.factors.cov == fit.factors.cov:
        return []
    belief, error = fit.factors.belief, fit.factors.belief_sd
    said = f"recorded habits: {belief:.0%} of what sets them apart shows in the wear"
    return [f"{said} (standard error {error:.0%})"]


def _verdict(fit: WearFit, checks: pd.DataFrame, failed: pd.DataFrame) -> str:
    settled = bool(checks.set_index("check")["passed"].get("converged", False))
    trust = fit.verdict.trust.value.upper() if fit.verdict.refused else fit.verdict.trust.value
    word = f"{trust}; {'converged' if settled else 'NOT converged'}"
    if failed.empty:
        return f"{word}; all {len(checks)} checks passed"
    return f"{word}; {len(failed)} of {len(checks)} checks failed"


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    return ", ".join(names[:4]) + more


def in_units(table: pd.DataFrame, units: str) -> pd.DataFrame:
    """Estimates or components in the units of a logbook; ratios and exponents stay.

    Parameters
    ----------
    table : DataFrame
        With ``unit`` and any of ``estimate, std_error, lower, upper``.
    units : {"metric", "us"}
    """
    out = table.copy()
    if units != "us":
        return out
    numbers = [name for name in ("estimate", "std_error", "lower", "upper") if name in out]
    rates, depths = out["unit"] == "mm per 1000 km", out["unit"] == "mm"
    for name in numbers:
        value = out[name].astype(float)
        value = value.where(~rates, convert(convert(value, "mm", "32nds"), "mi", "km"))
        out[name] = value.where(~depths, convert(value, "mm", "32nds"))
    out.loc[rates, "unit"] = "32nds per 1000 miles"
    out.loc[depths, "unit"] = "32nds"
    out["term"] = out["term"].str.replace("over 10,000 km", "over 6,214 miles")
    return out


def _short(value: float) -> str:
    return f"{value:.3g}" if math.isfinite(value) else "not available"

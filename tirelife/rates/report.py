"""A fit in words and columns; it opens with whether to trust it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from tirelife.rates.lives import ABRASION_RANGE, GRAMS_PER_MM, abrasion
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.rates.result import WearFit

__all__ = ["in_units", "report"]

_SHOWN: Final = 12


def report(fit: WearFit, units: str = "metric") -> str:
    """Say whether to trust a fit, and what it found.

    Parameters
    ----------
    fit : WearFit
    units : {"metric", "us"}

    Returns
    -------
    str
        Lines of text; numbers are cut to what their ranges support.
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
        lines.append(f"         {row['check']}: {_short(row['value'])} ({limit}). {row['advice']}")
    if alone.any():
        names = [name.removeprefix("identifiable: ") for name in failed.loc[alone, "check"]]
        lines.append(f"         The prior alone answers for {_listed(names)}.")
    lines += ["", *_table(in_units(fit.estimates, units), "95 % range")]
    lines += ["", *_table(in_units(fit.components, units), "95 % range", head="spreads")]
    lines += ["", _abrasion(fit), *_season(fit)]
    lines += _factors(fit)
    return "\n".join(lines)


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


def _factors(fit: WearFit) -> list[str]:
    """Factors of the causes beside what was held of them; nothing where none were learned."""
    before, now = fit.prior.factors, fit.factors
    if now.cov == before.cov:
        return []
    held, found = before.table(), now.table()
    taught = 1 - (found["log_sd"] / held["log_sd"]) ** 2
    lines = ["", f"{'causes, times the physics':<26}  factor  80 % range      before it     told by the log"]
    for was, row, share in zip(held.to_dict("records"), found.to_dict("records"), taught, strict=True):
        reach, old = (f"{r['lower']:.2f} to {r['upper']:.2f}" for r in (row, was))
        lines.append(f"{row['cause']:<26}  {row['factor']:6.2f}  {reach:<14}  {old:<12}  {max(share, 0):.0%}")
    lines.append(
        f"Recorded habits: {now.belief:.0%} of what sets them apart shows in the wear "
        f"(standard error {now.belief_sd:.0%})."
    )
    return lines


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


def _table(rows: pd.DataFrame, span: str, head: str = "") -> list[str]:
    shown = rows if len(rows) <= 3 * _SHOWN else rows.head(3 * _SHOWN)
    cells = []
    for row in shown.to_dict("records"):
        value, low, high = (float(row[name]) for name in ("estimate", "lower", "upper"))
        known = math.isfinite(low) and math.isfinite(high)
        digits = _digits((high - low) / 4 if known else abs(value) / 10)
        reach = f"{low:.{digits}f} to {high:.{digits}f}" if known else "not available"
        note = "" if row["source"] == "fitted" else f"({row['source']})"
        cells.append((str(row["term"]), f"{value:.{digits}f}", reach, f"{row['unit']} {note}".strip()))
    wide = [max(len(c[i]) for c in [*cells, (head, "estimate", span, "")]) for i in range(3)]
    lines = [f"{head:<{wide[0]}}  {'estimate':>{wide[1]}}  {span:>{wide[2]}}".rstrip()]
    lines += [f"{a:<{wide[0]}}  {b:>{wide[1]}}  {c:>{wide[2]}}  {d}" for a, b, c, d in cells]
    if len(shown) < len(rows):
        lines.append(f"… and {len(rows) - len(shown)} more; see the tables")
    return lines


def _digits(error: float) -> int:
    """Decimals that a standard error supports: two figures of it."""
    if not math.isfinite(error) or error <= 0:
        return 3
    return int(min(max(1 - math.floor(math.log10(error)), 0), 6))


def _short(value: float) -> str:
    return f"{value:.3g}" if math.isfinite(value) else "not available"

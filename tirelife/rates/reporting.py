"""Whether to trust a fit, in a few lines; and its tables in the units of a logbook."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from tirelife.language import check_words, code_words
from tirelife.rates.advice import Check
from tirelife.rates.lives import ABRASION_RANGE, GRAMS_PER_MM, abrasion
from tirelife.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.rates.result import WearFit

__all__ = ["in_units", "report"]


def report(fit: WearFit, language: str = "en") -> str:
    """Say whether to trust a fit; what it found stands in its tables, and in words in ``sheet``.

    Parameters
    ----------
    fit : WearFit
    language : str

    Returns
    -------
    str
        Lines of text.
    """
    say = partial(_said, language=language)
    tires, visits, checks = fit.tires, fit.visits, fit.checks
    failed = checks[~checks["passed"].astype(bool)]
    alone = failed["check"].str.startswith(f"{Check.IDENTIFIABLE}: ")
    lines = [
        say("head", visits=len(visits), tires=len(tires), vehicles=len(fit.vehicles), method=fit.method),
        say("trust", verdict=_verdict(fit, checks, failed, say)),
    ]
    if fit.verdict.refused:
        lines.append(say("stands"))
    for row in failed[~alone].to_dict("records"):
        lines.append(
            say(
                "failed",
                check=check_words(row["check"], language),
                value=_short(row["value"], say),
                limit=_short(row["limit"], say),
                advice=code_words(row["advice"], {"about": row["about"]}, language),
            )
        )
    if alone.any():
        names = [check_words(name, language) for name in failed.loc[alone, "check"]]
        more = say("more", n=len(names) - 4) if len(names) > 4 else ""
        lines.append(say("prior", names=", ".join(names[:4]) + more))
    return "\n".join([*lines, "", _abrasion(fit, say), *_season(fit, say), *_habits(fit, say)])


def _said(code: str, /, language: str, **values: object) -> str:
    return code_words(f"report-{code}", values, language)


def _abrasion(fit: WearFit, say: Callable[..., str]) -> str:
    """What the fitted rate means in mass, beside what was measured of cars."""
    lost = abrasion(fit.posterior.log_rate.mean)
    low, high = ABRASION_RANGE
    code = "abrasion" if low <= lost <= high else "abrasion-odd"
    return say(code, lost=f"{lost:.0f}", grams=f"{GRAMS_PER_MM:.0f}", low=f"{low:.0f}", high=f"{high:.0f}")


def _season(fit: WearFit, say: Callable[..., str]) -> list[str]:
    """The cycle through the year, where the log spans it."""
    if "season" not in fit.frames:
        return []
    row = fit.frames["season"].iloc[0]
    size, sd = float(row["amplitude"]), float(row["amplitude_sd"])
    month = say(f"month-{min(int(float(row['peak_day']) / 365.25 * 12), 11) + 1}")
    code = "no-season" if size < 2 * sd else "season"
    return [say(code, size=f"{size:.0%}", error=f"{sd:.0%}", month=month)]


def _habits(fit: WearFit, say: Callable[..., str]) -> list[str]:
    """How far recorded habits are to be believed, where the log moved it."""
    if fit.prior.factors.cov == fit.factors.cov:
        return []
    return [say("habits", belief=f"{fit.factors.belief:.0%}", error=f"{fit.factors.belief_sd:.0%}")]


def _verdict(fit: WearFit, checks: pd.DataFrame, failed: pd.DataFrame, say: Callable[..., str]) -> str:
    settled = bool(checks.set_index("check")["passed"].get(Check.CONVERGED, False))
    word = f"{say(fit.verdict.trust.value)}; {say('converged' if settled else 'not-converged')}"
    if failed.empty:
        return f"{word}; {say('all-passed', n=len(checks))}"
    return f"{word}; {say('some-failed', failed=len(failed), n=len(checks))}"


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
    return out


def _short(value: float, say: Callable[..., str]) -> str:
    return f"{value:.3g}" if math.isfinite(value) else say("not-available")

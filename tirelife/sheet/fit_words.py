"""A fit as tables of words: wear, what differs, scatter, causes; numbers cut to what their ranges support."""

from __future__ import annotations

import math
from importlib import import_module
from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.language import check_words, code_words
from tirelife.sheet.language import texts
from tirelife.sheet.quantities import decimals, rounded
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.rates import WearFit

__all__ = ["check_table", "fit_tables", "per_depth", "projection_table", "ranged"]

_LIFE: Final = {"us": "Miles a 32nd", "metric": "km a mm"}
"""Distance for each step of the gauge's unit: how wear is spoken of in the trade (common practice)."""
_DEPTH: Final = {"us": "32nds", "metric": "mm"}
_DRIVES: Final = {"all": "all-wheel drive", "front": "front-wheel drive", "rear": "rear-wheel drive"}
_FAR: Final = {"us": "over 6,200 miles", "metric": "over 10,000 km"}
_SCATTER: Final = {
    "reading": "One reading, from the gauge and the hand",
    "visit": "All readings of one visit together",
    "scatter": "Wear {far}, more or less than the rate",
    "wander": "Drift of a tire's rate {far}",
    "new-depth": "Depth when new, tire to tire",
    "tire": "Wear, tire to tire on one vehicle",
    "vehicle": "Wear, vehicle to vehicle",
    "axle": "Front against rear, vehicle to vehicle",
    "vehicle-wander": "Drift of a vehicle's rate {far}",
    "line": "Wear, kind of tire to kind of tire",
    "group": "Wear, driver group to driver group",
}


def ranged(
    value: float, low: float, high: float, *, sign: bool = False, language: str = "en"
) -> tuple[str, str]:
    """A number and its range as text, in steps of at most a tenth of the range's width.

    Examples
    --------
    >>> ranged(5463.0, 4975.0, 5988.0), ranged(0.4, math.nan, math.nan)
    (('5,500', '5,000 to 6,000'), ('0.40', 'not known'))
    """
    say = import_module(f"tirelife.sheet.language.groups_{language}").TEXTS
    if not math.isfinite(value):
        return say["not-known"], say["not-known"]
    known = math.isfinite(low) and math.isfinite(high)
    width = high - low if known else math.nan
    digits = min(decimals(width if known and width > 0 else max(abs(value), 1e-9)), 6)

    def said(number: float) -> str:
        near = rounded(number, width) + 0.0
        return f"{near:{'+' if sign and near else ''},.{digits}f}"

    return said(value), say["to"].format(low=said(low), high=said(high)) if known else say["not-known"]


def per_depth(mm_per_1000km: float, units: str) -> float:
    """Distance that wears off one step of the depth's unit: miles a 32nd, or km a mm.

    Examples
    --------
    >>> round(per_depth(0.1, "metric")), round(per_depth(0.1, "us"))
    (10000, 4932)
    """
    deep, far = SHOWN[units]["depth"], SHOWN[units]["distance"]
    if not mm_per_1000km > 0:
        return math.nan
    return float(convert(float(convert(1.0, deep, "mm")) / mm_per_1000km * 1000.0, "km", far))


def fit_tables(fit: WearFit, units: str) -> dict[str, pd.DataFrame]:
    """The tables of a fit by what they tell, in order; empty ones are left out.

    Parameters
    ----------
    fit : WearFit
    units : {"us", "metric"}

    Returns
    -------
    dict of DataFrame
        Text under headings in words and units.
    """
    tables = {
        "How fast tires wear": _rates(fit, units),
        "What wears faster or slower": _ratios(fit),
        "Depth when new, and the shape of the path": _others(fit, units),
        "How much it scatters": _scatter(fit, units),
        "What the log says of each cause": _causes(fit),
    }
    return {title: table for title, table in tables.items() if len(table)}


def check_table(checks: pd.DataFrame, *, failed: bool = False, language: str = "en") -> pd.DataFrame:
    """Checks in words, those that failed first and with what to do, or those alone."""
    say = import_module(f"tirelife.sheet.language.groups_{language}").TEXTS
    passed = checks["passed"].astype(bool)
    shown = pd.concat([checks[~passed], checks[passed].iloc[: 0 if failed else None]])
    rows = [
        (
            check_words(str(row["check"]), language),
            _number(row["value"]),
            _number(row["limit"]),
            say["yes"] if row["passed"] else say["no"],
            "" if row["passed"] else code_words(str(row["advice"]), {"about": row["about"]}, language),
        )
        for row in shown.to_dict("records")
    ]
    heads = [say[f"head-{name}"] for name in ("check", "found", "limit", "passed", "to-do")]
    table = pd.DataFrame(rows, columns=heads)
    return table.drop(columns=say["head-passed"]) if failed else table


def projection_table(projections: pd.DataFrame, distance: str) -> pd.DataFrame:
    """Where plain lines reach a depth (:func:`tirelife.rates.lines.projections`), the distance as headed."""
    rows = [
        (code_words(method), points, round(far, 1))
        for method, points, far in projections.itertuples(index=False)
    ]
    return pd.DataFrame(rows, columns=["By", "Points", distance])


def _number(value: object) -> str:
    if isinstance(value, str):
        return value
    number = float(str(value))
    if not math.isfinite(number):
        return "not known"
    return f"{number:.3g}" if abs(number) < 100 else f"{number:,.0f}"


def _rates(fit: WearFit, units: str) -> pd.DataFrame:
    rows = []
    for row in fit.estimates.query("unit == 'mm per 1000 km'").to_dict("records"):
        name = str(row["term"]).removeprefix("line ")
        middle, high, low = (per_depth(row[which], units) for which in ("estimate", "lower", "upper"))
        rows.append(("An average tire" if name == "wear" else name, *ranged(middle, low, high)))
    return pd.DataFrame(rows, columns=["On an average wheel", _LIFE[units], "95 % range"])


def _ratios(fit: WearFit) -> pd.DataFrame:
    rows = []
    for row in fit.estimates.query("unit == 'ratio'").to_dict("records"):
        kind, _, rest = str(row["term"]).partition(", ")
        if kind == "front over rear":
            name = f"Front tires against rear, {_DRIVES.get(rest.removesuffix(' drive'), rest)}"
        else:
            name = f"{kind.removeprefix('group ')}, against all"
        share = (100 * (row[which] - 1) for which in ("estimate", "lower", "upper"))
        rows.append((name, *ranged(*share, sign=True)))
    return pd.DataFrame(rows, columns=["Wear of", "More or less, %", "95 % range, %"])


def _others(fit: WearFit, units: str) -> pd.DataFrame:
    rows = []
    for row in fit.estimates.query("unit in ('mm', 'exponent')").to_dict("records"):
        names = {"q": "Bend of the path (0: straight)", "treadwear grade": "Power of the treadwear grade"}
        name = names.get(str(row["term"]), str(row["term"]).capitalize())
        if str(row["term"]).startswith("new depth less stated, "):
            name = f"New depth less stated, {str(row['term']).partition(', ')[2]}"
        values = [float(row[which]) for which in ("estimate", "lower", "upper")]
        unit = ""
        if row["unit"] == "mm":
            values, unit = [float(convert(v, "mm", SHOWN[units]["depth"])) for v in values], _DEPTH[units]
        rows.append((name, *ranged(*values), unit, "the log" if row["source"] == "fitted" else "assumed"))
    return pd.DataFrame(rows, columns=["Also fitted", "Found", "95 % range", "Unit", "From"])


def _scatter(fit: WearFit, units: str) -> pd.DataFrame:
    rows = []
    for row in fit.components.to_dict("records"):
        name = _SCATTER.get(str(row["term"]), str(row["term"])).format(far=_FAR[units])
        values = [float(row[which]) for which in ("estimate", "lower", "upper")]
        if row["unit"] == "mm":
            values, unit = [float(convert(v, "mm", SHOWN[units]["depth"])) for v in values], _DEPTH[units]
        else:
            change = (lambda v: v) if row["unit"] == "share" else math.expm1
            values, unit = [100 * change(v) for v in values], "%"
        rows.append((name, *ranged(*values), unit, "the log" if row["source"] == "fitted" else "assumed"))
    return pd.DataFrame(rows, columns=["Give or take", "Found", "95 % range", "Unit", "From"])


def _causes(fit: WearFit) -> pd.DataFrame:
    """Factors of the causes beside what was held of them; none where none were learned."""
    before, now = fit.prior.factors, fit.factors
    columns = ["Cause", "Times the physics", "80 % range", "80 % before the log", "Told by the log"]
    if now.cov == before.cov:
        return pd.DataFrame(columns=columns)
    held, found = before.table(), now.table()
    taught = 1 - (found["log_sd"] / held["log_sd"]) ** 2
    rows = []
    for was, row, share in zip(held.to_dict("records"), found.to_dict("records"), taught, strict=True):
        middle, span = ranged(row["factor"], row["lower"], row["upper"])
        earlier = ranged(was["factor"], was["lower"], was["upper"])[1]
        rows.append((texts()[f"cause-{row['cause']}"], middle, span, earlier, f"{max(share, 0):.0%}"))
    return pd.DataFrame(rows, columns=columns)

"""A comparison of groups as tables of words, for the terminal and the notebook."""

from __future__ import annotations

import math
from collections.abc import Mapping
from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tirelife.sheet.fit_words import per_depth, ranged
from tirelife.sheet.language import texts
from tirelife.sheet.quantities import percent_over, places
from tirelife.sheet.words import month_year
from tirelife.units import LABELS, SHOWN, convert

if TYPE_CHECKING:
    from tirelife.groups import GroupComparison

__all__ = [
    "budget_table",
    "cost_table",
    "group_table",
    "group_texts",
    "pair_table",
    "pair_words",
    "saving_table",
    "trial_table",
    "why_table",
    "worth_words",
]


def group_texts(language: str = "en") -> Mapping[str, str]:
    """Words of comparisons in a language, by code."""
    found: Mapping[str, str] = import_module(f"tirelife.sheet.language.groups_{language}").TEXTS
    return found


def pair_words(pairs: pd.DataFrame, language: str = "en") -> list[str]:
    """Say what each pair of groups comes to, from ``comparison.pairs``."""
    say = group_texts(language)
    said = []
    for row in pairs.to_dict("records"):
        why = say["and"].join(_reason(one, say) for one in str(row["reasons"]).split("; ") if one)
        told = {
            "much": f"{abs(row['ratio'] - 1):.0%}",
            "low": percent_over(row["family_lower"]),
            "high": percent_over(row["family_upper"]),
            "least": f"{row['detectable_ratio'] - 1:.0%}",
            "power": f"{row['power']:.0%}",
        }
        code = str(row["code"])
        code += "-but" if why and f"{code}-but" in say else ""
        said.append(say[code].format(group=row["group"], other=row["other"], why=why, **told))
    return said


def _reason(code: str, say: Mapping[str, str]) -> str:
    kind, _, column = code.partition("=")
    return say[kind].format(column=say.get(f"column-{column}", column))


def worth_words(table: pd.DataFrame, language: str = "en") -> list[str]:
    """Say what each line is worth against each other, from :func:`tirelife.groups.break_even`."""
    say = group_texts(language)
    return [
        say[row["code"]].format(
            line=row["tire_line"], other=row["other"], even=f"{row['break_even_price']:.0f}",
            low=f"{row['lower']:.0f}", high=f"{row['upper']:.0f}", price=f"{row['other_price']:.0f}",
        )
        for row in table.to_dict("records")
    ]  # fmt: skip


def group_table(comparison: GroupComparison, units: str, language: str = "en") -> pd.DataFrame:
    """What stands behind each group, and how far its tires go, logged and adjusted; the fastest first."""
    say = group_texts(language)
    far = SHOWN[units]["distance"]
    rows = []
    for row in comparison.groups.sort_values("rate_mm_per_1000km", ascending=False).to_dict("records"):
        low, middle, high = (
            per_depth(row[f"{which}_mm_per_1000km"], units) for which in ("upper", "rate", "lower")
        )
        adjusted, span = ranged(middle, low, high, language=language)
        raw = ranged(per_depth(row["raw_mm_per_1000km"], units), low, high, language=language)[0]
        run = places(float(convert(row["distance_km"], "km", far)) / 1000, 0)
        rows.append((str(row["group"]), str(row["tires"]), str(row["vehicles"]), run, raw, adjusted, span))
    level = f"{comparison.level:.0%}".replace("%", " %")
    names = ("group", "tires", "vehicles", "thousand", f"logged-{units}", f"adjusted-{units}")
    heads = [say[f"head-{name}"].format(far=say[LABELS[far]]) for name in names]
    heads.append(say["range"].format(level=level))
    return pd.DataFrame(rows, columns=heads)


def pair_table(comparison: GroupComparison, language: str = "en") -> pd.DataFrame:
    """Wear of each group over each other, as logged and adjusted."""
    say = group_texts(language)
    level = f"{comparison.level:.0%}".replace("%", " %")
    rows = []
    for row in comparison.pairs.to_dict("records"):
        middle, span = _times(row["ratio"], row["lower"], row["upper"], say)
        both = _times(row["ratio"], row["family_lower"], row["family_upper"], say)[1]
        raw = _times(row["raw_ratio"], math.nan, math.nan, say)[0]
        rows.append((say["over"].format(group=row["group"], other=row["other"]), raw, middle, span, both,
                     say["yes"] if row["told_apart"] else say["no"]))  # fmt: skip
    names = ("wear-of", "times-logged", "times-adjusted", "range", "at-once", "told-apart")
    heads = [say[f"head-{name}"] for name in names]
    heads[3] = say["range"].format(level=level)
    return pd.DataFrame(rows, columns=heads)


def why_table(comparison: GroupComparison, language: str = "en") -> pd.DataFrame:
    """What lies behind each ratio; the parts multiply to the total."""
    say = group_texts(language)
    parts = ("total", "habits together", "not explained")
    rows = []
    for (group, other), mine in comparison.why.groupby(["group", "other"], sort=False):
        known = mine[mine["ratio"].notna()].drop_duplicates("part").set_index("part")
        cells = [_cell(known.loc[[part]].iloc[0], say) if part in known.index else "" for part in parts]
        if any(cells):
            rows.append((say["over"].format(group=group, other=other), *cells))
    return pd.DataFrame(rows, columns=[say[f"head-{name}"] for name in ("wear-of", "all", "habits", "rest")])


def _cell(row: pd.Series, say: Mapping[str, str]) -> str:
    middle, span = _times(float(row["ratio"]), float(row["lower"]), float(row["upper"]), say)
    return f"{middle} ({span})" if span else middle


def cost_table(costs: pd.DataFrame, units: str, language: str = "en") -> pd.DataFrame:
    """What the tires of each group cost with each kind, from :func:`tirelife.groups.cost_table`."""
    say = group_texts(language)
    per = float(convert(1.0, "km", SHOWN[units]["distance"]))
    rows = []
    for row in costs[costs["cost_per_1000km"].notna()].to_dict("records"):
        middle, low, high = (row[f"{name}_per_1000km"] / per for name in ("cost", "cost_lower", "cost_upper"))
        rows.append((str(row["group"]), str(row["tire_line"]), *ranged(middle, low, high, language=language),
                     say[row["note"]] if row.get("note") else ""))  # fmt: skip
    money = say["head-money"].format(far=say[LABELS[SHOWN[units]["distance"]]])
    heads = [say["head-group"], say["head-kind"], money, say["head-range"], say["head-note"]]
    return pd.DataFrame(rows, columns=heads)


def saving_table(savings: pd.DataFrame, language: str = "en") -> pd.DataFrame:
    """What a year would save, from :func:`tirelife.groups.savings`; the most first."""
    say = group_texts(language)
    known = savings[savings["saved_a_year"].notna()] if len(savings) else savings
    rows = [
        (str(row["group"]), say[row["change"]].format(other=row["other"]), say[row["basis"]],
         *ranged(row["saved_a_year"], row["lower"], row["upper"], language=language))
        for row in known.sort_values("saved_a_year", ascending=False).to_dict("records")
    ] if len(known) else []  # fmt: skip
    return pd.DataFrame(
        rows, columns=[say[f"head-{name}"] for name in ("group", "if", "basis", "saved", "range")]
    )


def budget_table(budget: pd.DataFrame, language: str = "en") -> pd.DataFrame:
    """Tires to buy by month, from :func:`tirelife.groups.replacements_by_month`."""
    say = group_texts(language)
    rows = [
        (month_year(row["from_date"], texts(language)), places(row["expected"], 1), 
         say["to"].format(low=f"{row['lower']:.0f}", high=f"{row['upper']:.0f}"),
         places(row["expected_so_far"], 0))
        for row in budget.to_dict("records")
    ]  # fmt: skip
    return pd.DataFrame(
        rows, columns=[say[f"head-{name}"] for name in ("month", "expected", "eight", "so-far")]
    )


def trial_table(trial: pd.DataFrame, units: str, language: str = "en") -> pd.DataFrame:
    """Plan of a trial, from :func:`tirelife.groups.plan_trial`."""
    say = group_texts(language)
    far = SHOWN[units]["distance"]
    rows = [
        (places(float(convert(row["distance_km"], "km", far)), 0), str(row["vehicles"]),
         str(row["tires_a_group"]), f"{np.expm1(row['vehicle_sd']):.0%}",
         say[row["note"]] if row["note"] else "")
        for row in trial.to_dict("records")
    ]  # fmt: skip
    heads = [
        say["head-each"].format(far=say[LABELS[far]].capitalize()),
        *(say[f"head-{name}"] for name in ("vehicles", "tires-group", "spread", "note")),
    ]
    return pd.DataFrame(rows, columns=heads)


def _times(value: float, low: float, high: float, say: Mapping[str, str]) -> tuple[str, str]:
    """A ratio with two decimals, and its range; empty where it is not known."""
    if not math.isfinite(value):
        return "", ""
    span = (
        say["to"].format(low=f"{low:.2f}", high=f"{high:.2f}")
        if math.isfinite(low) and math.isfinite(high)
        else ""
    )
    return f"{value:.2f}", span

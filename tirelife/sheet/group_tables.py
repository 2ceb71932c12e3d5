"""A comparison of groups as tables of words, for the terminal and the notebook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.sheet.fit_tables import per_depth, ranged
from tirelife.sheet.quantities import places
from tirelife.units import LABELS, SHOWN, convert

if TYPE_CHECKING:
    from tirelife.groups import GroupComparison

__all__ = [
    "budget_table",
    "cost_table",
    "group_table",
    "pair_table",
    "saving_table",
    "trial_table",
    "why_table",
]

_WEAR: Final = {"us": "Miles a 32nd", "metric": "km a mm"}


def group_table(comparison: GroupComparison, units: str) -> pd.DataFrame:
    """What stands behind each group, and how far its tires go, logged and adjusted; the fastest first."""
    far = SHOWN[units]["distance"]
    rows = []
    for row in comparison.groups.sort_values("rate_mm_per_1000km", ascending=False).to_dict("records"):
        low, middle, high = (
            per_depth(row[f"{which}_mm_per_1000km"], units) for which in ("upper", "rate", "lower")
        )
        adjusted, span = ranged(middle, low, high)
        raw = ranged(per_depth(row["raw_mm_per_1000km"], units), low, high)[0]
        run = places(float(convert(row["distance_km"], "km", far)) / 1000, 0)
        rows.append((str(row["group"]), str(row["tires"]), str(row["vehicles"]), run, raw, adjusted, span))
    level = f"{comparison.level:.0%}".replace("%", " %")
    heads = ["Group", "Tires", "Vehicles", f"Thousand {LABELS[far]}", f"{_WEAR[units]}, as logged",
             f"{_WEAR[units]}, adjusted", f"{level} range"]  # fmt: skip
    return pd.DataFrame(rows, columns=heads)


def pair_table(comparison: GroupComparison) -> pd.DataFrame:
    """Wear of each group over each other, as logged and adjusted."""
    level = f"{comparison.level:.0%}".replace("%", " %")
    rows = []
    for row in comparison.pairs.to_dict("records"):
        middle, span = _times(row["ratio"], row["lower"], row["upper"])
        both = _times(row["ratio"], row["family_lower"], row["family_upper"])[1]
        raw = _times(row["raw_ratio"], math.nan, math.nan)[0]
        rows.append((f"{row['group']} over {row['other']}", raw, middle, span, both,
                     "yes" if row["told_apart"] else "no"))  # fmt: skip
    heads = ["Wear of", "As logged, times", "Adjusted, times", f"{level} range", "Range, all pairs at once",
             "Told apart"]  # fmt: skip
    return pd.DataFrame(rows, columns=heads)


def why_table(comparison: GroupComparison) -> pd.DataFrame:
    """What lies behind each ratio; the parts multiply to the total."""
    parts = ("total", "habits together", "not explained")
    rows = []
    for (group, other), mine in comparison.why.groupby(["group", "other"], sort=False):
        known = mine[mine["ratio"].notna()].drop_duplicates("part").set_index("part")
        cells = [_cell(known.loc[[part]].iloc[0]) if part in known.index else "" for part in parts]
        if any(cells):
            rows.append((f"{group} over {other}", *cells))
    return pd.DataFrame(rows, columns=["Wear of", "All of it", "Recorded habits", "Not explained"])


def _cell(row: pd.Series) -> str:
    middle, span = _times(*(float(row[name]) for name in ("ratio", "lower", "upper")))
    return f"{middle} ({span})" if span else middle


def cost_table(costs: pd.DataFrame, units: str) -> pd.DataFrame:
    """What the tires of each group cost with each kind, from :func:`tirelife.groups.cost_table`."""
    per = float(convert(1.0, "km", SHOWN[units]["distance"]))
    rows = []
    for row in costs[costs["cost_per_1000km"].notna()].to_dict("records"):
        middle, low, high = (row[f"{name}_per_1000km"] / per for name in ("cost", "cost_lower", "cost_upper"))
        rows.append((str(row["group"]), str(row["tire_line"]), places(middle, 2),
                     f"{places(low, 2)} to {places(high, 2)}", str(row.get("note") or "")))  # fmt: skip
    heads = ["Group", "Kind of tire", f"Money a 1,000 {LABELS[SHOWN[units]['distance']]}", "Range", "Note"]
    return pd.DataFrame(rows, columns=heads)


def saving_table(savings: pd.DataFrame) -> pd.DataFrame:
    """What a year would save, from :func:`tirelife.groups.savings`; the most first."""
    known = savings[savings["saved_a_year"].notna()] if len(savings) else savings
    rows = [
        (str(row["group"]), str(row["change"]), str(row["basis"]),
         *ranged(row["saved_a_year"], row["lower"], row["upper"]))
        for row in known.sort_values("saved_a_year", ascending=False).to_dict("records")
    ] if len(known) else []  # fmt: skip
    return pd.DataFrame(rows, columns=["Group", "If it", "Rests on", "Saved a year", "Range"])


def budget_table(budget: pd.DataFrame) -> pd.DataFrame:
    """Tires to buy by month, from :func:`tirelife.groups.replacements_by_month`."""
    rows = [
        (f"{row['from_date']:%b %Y}", places(row["expected"], 1), f"{row['lower']:.0f} to {row['upper']:.0f}",
         places(row["expected_so_far"], 0))
        for row in budget.to_dict("records")
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=["Month from", "Tires expected", "8 in 10", "So far"])


def trial_table(trial: pd.DataFrame, units: str) -> pd.DataFrame:
    """Plan of a trial, from :func:`tirelife.groups.plan_trial`."""
    far = SHOWN[units]["distance"]
    rows = [
        (places(float(convert(row["distance_km"], "km", far)), 0), str(row["vehicles"]),
         str(row["tires_a_group"]), f"{np.expm1(row['vehicle_sd']):.0%}", str(row["note"] or ""))
        for row in trial.to_dict("records")
    ]  # fmt: skip
    heads = [
        f"{LABELS[far].capitalize()} each",
        "Vehicles",
        "Tires a group",
        "Spread, vehicle to vehicle",
        "Note",
    ]
    return pd.DataFrame(rows, columns=heads)


def _times(value: float, low: float, high: float) -> tuple[str, str]:
    """A ratio with two decimals, and its range; empty where it is not known."""
    if not math.isfinite(value):
        return "", ""
    span = f"{low:.2f} to {high:.2f}" if math.isfinite(low) and math.isfinite(high) else ""
    return f"{value:.2f}", span

"""Can the groups be told apart from their cars, roads, tire lines and dates at all?"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import comb
from typing import Final

import numpy as np
import pandas as pd

from tirelife.groups.advice import Advice, Apart, Check
from tirelife.groups.design import PLACES, Design, levels
from tirelife.groups.mixed import MixedFit

__all__ = ["overlap_checks"]

KINDS: Final = ("tire_line", "drive", "size", *PLACES)
"""Columns of kinds: a pair of groups with no kind in common has its own."""
AMOUNTS: Final = (
    "mass_kg", "placard_front_kpa", "placard_rear_kpa", "drag_area_m2", "slow_road_share", "mid_date",
)  # fmt: skip
"""Columns of amounts: a pair of groups whose ranges do not meet has its own, if chance would hardly do it."""
CHANCE: Final = 0.05
INFLATION: Final = 4.0
"""Adjusting may make a comparison this many times less exact (in variance) before a check fails; our
choice."""


def overlap_checks(
    used: pd.DataFrame, by: str, shown: Sequence[str], adjusted: Sequence[str], design: Design, fit: MixedFit
) -> tuple[pd.DataFrame, dict[tuple[str, str], tuple[str, ...]]]:
    """Check that groups share what they are to be told apart from.

    Parameters
    ----------
    used : DataFrame
        Tires of the fit.
    by : str
    shown : sequence of str
        Groups to look at.
    adjusted : sequence of str
        Columns adjusted for.
    design, fit
        The comparison.

    Returns
    -------
    checks : DataFrame
        check, value, limit, passed, advice, about.
    apart : dict
        For each pair of groups that cannot be told apart, why: codes
        of :class:`~tirelife.groups.advice.Apart`.
    """
    pairs = list(combinations(shown, 2))
    apart: dict[tuple[str, str], list[str]] = {}
    rows = []
    extra = [c for c in adjusted if c in used and c not in AMOUNTS and c not in KINDS]
    for column in [*KINDS, *extra, *AMOUNTS]:
        if column == by or column not in used:
            continue
        amount = column in AMOUNTS or pd.api.types.is_numeric_dtype(used[column])
        found = _amounts_apart(used, by, column, pairs) if amount else _kinds_apart(used, by, column, pairs)
        if found is None:
            continue
        bridged = [p for p in found if column in adjusted and fit.estimable(design.contrast(*p))]
        for pair in found:
            if pair not in bridged or amount:
                apart.setdefault(pair, []).append(f"{Apart.OWN.value}={column}")
        named = "; ".join(f"{a}, {b}" for a, b in found)
        rows.append(
            {
                "check": f"{Check.OWN_KIND}: {column}",
                "value": float(len(found)),
                "limit": "0",
                "passed": not found,
                "advice": Advice.OWN_KIND.value,
                "about": named,
            }
        )
    for a, b in pairs:
        if not fit.estimable(design.contrast(a, b)) and (a, b) not in apart:
            apart[a, b] = [Apart.NOTHING_LEFT.value]
    rows += [_few_cars(used, by, shown, apart), _inflation(pairs, design)]
    return pd.DataFrame(rows), {pair: tuple(dict.fromkeys(why)) for pair, why in apart.items()}


def _kinds_apart(
    used: pd.DataFrame, by: str, column: str, pairs: list[tuple[str, str]]
) -> list[tuple[str, str]] | None:
    text = levels(used[column])
    if text.nunique() < 2 or text.nunique() >= used["vehicle_id"].nunique():
        return None
    kinds = text.groupby(used[by]).agg(set)
    return [(a, b) for a, b in pairs if not kinds[a] & kinds[b]]


def _amounts_apart(
    used: pd.DataFrame, by: str, column: str, pairs: list[tuple[str, str]]
) -> list[tuple[str, str]] | None:
    value = used[column].to_numpy("datetime64[D]").astype(float) if column == "mid_date" else used[column]
    cars = (
        pd.DataFrame({"group": used[by], "vehicle": used["vehicle_id"], "value": np.asarray(value, float)})
        .groupby(["group", "vehicle"])["value"]
        .mean()
        .dropna()
    )
    if cars.nunique() < 2:
        return None
    ends = cars.groupby("group").agg(["min", "max", "size"])
    out = []
    for a, b in pairs:
        if a not in ends.index or b not in ends.index:
            continue
        (low_a, high_a, n_a), (low_b, high_b, n_b) = (ends.loc[g].to_numpy(float) for g in (a, b))
        if (high_a < low_b or high_b < low_a) and 2 / comb(int(n_a + n_b), int(n_a)) < CHANCE:
            out.append((a, b))
    return out


def _few_cars(
    used: pd.DataFrame, by: str, shown: Sequence[str], apart: dict[tuple[str, str], list[str]]
) -> dict[str, object]:
    """A group that drives one car cannot be told apart from that car, unless others drive it too."""
    cars = used.groupby(by)["vehicle_id"].agg(set)
    alone = [
        g for g in shown if len(cars[g]) == 1 and not any(cars[g] & cars[o] for o in cars.index if o != g)
    ]
    for a, b in combinations(shown, 2):
        if a in alone or b in alone:
            apart.setdefault((a, b), []).append(Apart.ONE_CAR.value)
    return {
        "check": Check.ONE_CAR.value,
        "value": float(len(alone)),
        "limit": "0",
        "passed": not alone,
        "advice": Advice.ONE_CAR.value,
        "about": ", ".join(alone),
    }


def _inflation(pairs: list[tuple[str, str]], design: Design) -> dict[str, object]:
    """How much less exact adjusting makes the worst pair."""
    inverse = np.linalg.pinv(design.x.T @ design.x)
    count = design.x[:, : len(design.groups)].sum(axis=0)
    worst = 1.0
    for a, b in pairs:
        c = design.contrast(a, b)
        plain = sum(1 / count[design.groups.index(g)] for g in (a, b))
        worst = max(worst, float(c @ inverse @ c) / plain)
    return {
        "check": Check.INFLATION.value,
        "value": round(worst, 2),
        "limit": f"<= {INFLATION:g}",
        "passed": worst <= INFLATION,
        "advice": Advice.INFLATION.value,
        "about": "",
    }

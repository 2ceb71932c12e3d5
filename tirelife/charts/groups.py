"""Groups side by side, what lies behind a difference, and the tires to buy."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import altair as alt
import numpy as np
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import ACCENT, DARK, INK, LIGHT, MID, finish, require_columns, rows_by
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

_TICKS: Final = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.4, 1.6, 2.0, 2.5]
__all__ = ["group_parts", "group_ratios", "monthly_budget"]


def group_ratios(
    pairs: pd.DataFrame, *, width: int = 380, step: int = 40, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw each pair of groups: the raw ratio of wear, and the adjusted one with its ranges.

    Parameters
    ----------
    pairs : DataFrame
        ``group, other, raw_ratio, ratio, lower, upper, family_lower, family_upper, told_apart``; a row a
        pair.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        Open dot: raw; full dot: adjusted; thick line: its range; thin line: the range that holds for all
        pairs at once. A diamond stands for a pair that cannot be told apart from its roads, cars or lines.
    """
    names = ["group", "other", "raw_ratio", "ratio", "lower", "upper", "family_lower", "family_upper"]
    require_columns(pairs, [*names, "told_apart"], table="pairs")
    data = pairs[[*names, "told_apart"]].dropna(subset=["ratio"]).copy()
    if data.empty:
        raise misused(Wrong.NO_RATIO)
    data["pair"] = data["group"] + " / " + data["other"]
    data["kind"] = data["told_apart"].map({True: "told apart", False: "not told apart"})
    ends = data[["raw_ratio", "family_lower", "family_upper"]].to_numpy(float)
    scale = alt.Scale(
        type="log", domain=[min(ends.min(), 0.8) * 0.97, max(ends.max(), 1.25) * 1.03], nice=False
    )
    axis = alt.Axis(title=say["chart-first-second"], format=".2~f", values=_TICKS)
    x = alt.X("ratio:Q", scale=scale, axis=axis)
    base = alt.Chart(data).encode(y=rows_by("pair", data))
    same = alt.Chart(pd.DataFrame({"ratio": [1.0]})).mark_rule(color=ACCENT, strokeWidth=1.6).encode(x=x)
    family = base.mark_rule(color=INK, strokeWidth=1).encode(
        x=alt.X("family_lower:Q", scale=scale, axis=axis), x2="family_upper:Q"
    )
    alone = base.mark_rule(color=MID, strokeWidth=5).encode(
        x=alt.X("lower:Q", scale=scale, axis=axis), x2="upper:Q"
    )
    raw = base.mark_point(
        shape="circle", size=60, color=INK, fill="white", opacity=1, strokeWidth=1.5, yOffset=-11
    ).encode(x=alt.X("raw_ratio:Q", scale=scale, axis=axis))
    adjusted = base.mark_point(size=110, color=DARK, fill=DARK, opacity=1).encode(
        x=x,
        shape=alt.Shape(
            "kind:N",
            scale=alt.Scale(domain=["told apart", "not told apart"], range=["circle", "diamond"]),
            legend=None,
        ),
    )
    sure = int(((data["family_lower"] > 1) | (data["family_upper"] < 1)).sum())
    spoken = "; ".join(
        say["chart-pair-row"].format(
            pair=r["pair"],
            raw=f"{r['raw_ratio']:.2f}",
            adjusted=f"{r['ratio']:.2f}",
            low=f"{r['lower']:.2f}",
            high=f"{r['upper']:.2f}",
        )
        for r in data.to_dict("records")
    )
    return finish(
        (same + family + alone + raw + adjusted).properties(width=width, height={"step": step}),
        say["chart-said-ratios"].format(rows=spoken),
        title=say["chart-title-ratios"].format(n=len(data), sure=sure),
    )


def group_parts(
    why: pd.DataFrame, *, width: int = 380, step: int = 24, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw what lies behind the ratio of one pair of groups, part by part.

    Parameters
    ----------
    why : DataFrame
        Rows of one pair: ``group, other, part, ratio, lower, upper``. The ratios of the parts multiply to
        that of ``total``.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        A dot on its range for each part; the total and what is not explained are darker.
    """
    require_columns(why, ["group", "other", "part", "ratio", "lower", "upper"], table="why")
    data = why[["group", "other", "part", "ratio", "lower", "upper"]].dropna().copy()
    if data[["group", "other"]].drop_duplicates().shape[0] != 1:
        raise misused(Wrong.NO_WHY)
    data["kind"] = data["part"].isin(["total", "not explained", "habits together"])
    low, high = float(data["lower"].min()), float(data["upper"].max())
    scale = alt.Scale(type="log", domain=[min(low, 0.9) * 0.98, max(high, 1.1) * 1.02], nice=False)
    pair = say["chart-over"].format(group=data["group"].iloc[0], other=data["other"].iloc[0])
    axis = alt.Axis(title=say["chart-wear-of"].format(pair=pair), format=".2~f", tickCount=6)
    base = alt.Chart(data).encode(
        y=rows_by("part", data),
        color=alt.Color("kind:N", scale=alt.Scale(domain=[True, False], range=[INK, DARK]), legend=None),
    )
    same = (
        alt.Chart(pd.DataFrame({"ratio": [1.0]}))
        .mark_rule(color=ACCENT, strokeWidth=1.6)
        .encode(x=alt.X("ratio:Q", scale=scale, axis=axis))
    )
    line = base.mark_rule(strokeWidth=2).encode(x=alt.X("lower:Q", scale=scale, axis=axis), x2="upper:Q")
    dot = base.mark_point(size=80, filled=True, opacity=1).encode(x=alt.X("ratio:Q", scale=scale, axis=axis))
    parts = data[data["part"] != "total"] if (data["part"] != "total").any() else data
    far = parts.iloc[int(np.abs(np.log(parts["ratio"].to_numpy(float))).argmax())]
    spoken = "; ".join(
        say["chart-range"].format(
            name=r["part"], middle=f"{r['ratio']:.2f}", low=f"{r['lower']:.2f}", high=f"{r['upper']:.2f}"
        )
        for r in data.to_dict("records")
    )
    return finish(
        (same + line + dot).properties(width=width, height={"step": step}),
        say["chart-said-parts"].format(pair=pair, rows=spoken),
        title=say["chart-title-parts"].format(part=far["part"], ratio=f"{far['ratio']:.2f}"),
    )


def monthly_budget(
    budget: pd.DataFrame, *, width: int = 480, height: int = 180, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw the tires to buy in each coming month, with a range.

    Parameters
    ----------
    budget : DataFrame
        ``from_date, expected, lower, upper``; a row a month.
    width, height : int
        [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        A bar for what is expected, a line for the 80 % range.
    """
    require_columns(budget, ["from_date", "expected", "lower", "upper"], table="budget")
    data = budget[["from_date", "expected", "lower", "upper"]].copy()
    data["month"] = [f"{say.get(f'month-{d.month}', f'{d:%B}')[:3]} {d.year}" for d in data["from_date"]]
    x = alt.X("month:N", sort=list(data["month"]), title=say["chart-month"])
    y = alt.Y("expected:Q", title=say["chart-buy"], scale=alt.Scale(domainMin=0))
    base = alt.Chart(data).encode(x=x)
    bars = base.mark_bar(color=LIGHT, width={"band": 0.7}).encode(y=y)
    line = base.mark_rule(color=INK, strokeWidth=1.2).encode(y=alt.Y("lower:Q"), y2="upper:Q")
    total = data["expected"].sum()
    spoken = "; ".join(
        say["chart-range"].format(
            name=r["month"], middle=f"{r['expected']:.1f}", low=f"{r['lower']:.0f}", high=f"{r['upper']:.0f}"
        )
        for r in data.to_dict("records")
    )
    return finish(
        (bars + line).properties(width=width, height=height),
        say["chart-said-months"].format(total=f"{total:.0f}", rows=spoken),
    )

"""Wear rates with their ranges, and how often ranges held on hidden readings."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from tirelife.charts.theme import ACCENT, DARK, INK, MID, finish, require_columns
from tirelife.errors import InputError

__all__ = ["range_coverage", "term_ranges"]


def term_ranges(estimates: pd.DataFrame, *, width: int = 380, step: int = 26) -> Any:
    """Draw estimates of one unit, each as a dot on its 95 % range.

    Parameters
    ----------
    estimates : DataFrame
        ``term, estimate, lower, upper, unit``; all rows of one unit.
    width, step : int
        Of the axis, and height of a row. [px]

    Returns
    -------
    altair chart

    Raises
    ------
    InputError
        If there is no row, or rows of several units.
    """
    names = ["term", "estimate", "lower", "upper", "unit"]
    require_columns(estimates, names, table="estimates")
    data = estimates[names].dropna(subset=["estimate"])
    if len(data["unit"].drop_duplicates()) != 1:
        raise InputError("estimates: give rows of one unit, and at least one.")
    unit = str(data["unit"].iloc[0])
    base = alt.Chart(data).encode(
        y=alt.Y("term:N", sort=list(data["term"]), title=None, axis=alt.Axis(ticks=False, labelLimit=280))
    )
    scale = alt.Scale(zero=False, padding=12)
    span = base.mark_rule(color=MID, strokeWidth=5).encode(
        x=alt.X("lower:Q", scale=scale, title=unit), x2="upper:Q"
    )
    dot = base.mark_point(size=80, color=DARK, fill=DARK, opacity=1).encode(x="estimate:Q")
    text = base.mark_text(color=INK, dy=-10).encode(
        x="estimate:Q", text=alt.Text("estimate:Q", format=".3~r")
    )
    spoken = "; ".join(
        f"{r['term']}: {r['estimate']:.3g}, {r['lower']:.3g} to {r['upper']:.3g}"
        for r in data.to_dict("records")
    )
    return finish(
        (span + dot + text).properties(width=width, height={"step": step}),
        f"Estimates on their 95 percent ranges, {unit}. {spoken}.",
    )


def range_coverage(scores: pd.DataFrame, *, width: int = 380, step: int = 26) -> Any:
    """Draw how many hidden readings fell in the ranges, against how many should.

    Parameters
    ----------
    scores : DataFrame
        ``method, cover_50, cover_80, cover_90`` (shares); a row a method.
    width, step : int
        Of the axis, and height of a row. [px]

    Returns
    -------
    altair chart
        A dot for each method and range; the upright tick is the share that the range promises.
    """
    names = ["cover_50", "cover_80", "cover_90"]
    require_columns(scores, ["method", *names], table="scores")
    data = scores.melt(id_vars="method", value_vars=names, var_name="range", value_name="share").dropna()
    data["promised"] = data["range"].map({"cover_50": 0.5, "cover_80": 0.8, "cover_90": 0.9})
    data["range"] = data["range"].str.removeprefix("cover_") + " % range"
    scale, axis = alt.Scale(domain=[0, 1]), alt.Axis(format="%", tickCount=5)
    base = alt.Chart(data).encode(
        y=alt.Y("method:N", sort=list(scores["method"]), title=None, axis=alt.Axis(ticks=False))
    )
    dot = base.mark_point(size=80, color=DARK, fill=DARK, opacity=1).encode(
        x=alt.X("share:Q", scale=scale, axis=axis, title="Hidden readings inside (percent)")
    )
    tick = base.mark_tick(color=ACCENT, thickness=2.5, size=18).encode(x=alt.X("promised:Q", scale=scale))
    spoken = "; ".join(
        f"{r['method']}, {r['range']}: {r['share']:.0%} inside" for r in data.to_dict("records")
    )
    return finish(
        (tick + dot)
        .properties(width=width, height={"step": step})
        .facet(row=alt.Row("range:N", title=None, header=alt.Header(labelAngle=0, labelAlign="left"))),
        f"Share of hidden readings inside the ranges; the tick is what the range promises. {spoken}.",
    )

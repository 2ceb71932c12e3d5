"""Wear rates with their ranges."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import DARK, INK, MID, finish, require_columns
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["term_ranges"]


def term_ranges(
    estimates: pd.DataFrame, *, width: int = 380, step: int = 26, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw estimates of one unit, each as a dot on its 95 % range.

    Parameters
    ----------
    estimates : DataFrame
        ``term, estimate, lower, upper, unit``; all rows of one unit.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

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
        raise misused(Wrong.ESTIMATES)
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
        say["chart-range-row"].format(
            name=r["term"], middle=f"{r['estimate']:.3g}", low=f"{r['lower']:.3g}", high=f"{r['upper']:.3g}"
        )
        for r in data.to_dict("records")
    )
    return finish(
        (span + dot + text).properties(width=width, height={"step": step}),
        say["chart-said-estimates"].format(unit=unit, rows=spoken),
    )

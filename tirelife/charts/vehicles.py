"""Vehicles in the order of how fast they wear tires, with their ranges."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap
from typing import Any, Final

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import ACCENT, DARK, INK, MID, finish, require_columns
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["vehicles_in_order"]

_TICKS: Final = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.4, 1.6, 2.0, 2.5, 3.0)


def vehicles_in_order(
    wear: pd.DataFrame, *, width: int = 480, step: int = 19, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw how fast each vehicle wears its tires, against the fleet's average.

    Parameters
    ----------
    wear : DataFrame
        ``vehicle_id, ratio, lower, upper`` (80 %), ``odd`` (named in the text), in the order to be drawn.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        A dot on its range for each vehicle; the upright line is the fleet's average. Odd ones have a square.

    Raises
    ------
    InputError
        If there is no row.
    """
    names = ["vehicle_id", "ratio", "lower", "upper", "odd"]
    require_columns(wear, names, table="wear")
    if wear.empty:
        raise misused(Wrong.NO_VEHICLES)
    data = wear[names].copy()
    scale = alt.Scale(type="log", nice=False, padding=8)
    words = wrap(say["chart-ratio"], width // 5)
    axis = alt.Axis(title=words if len(words) > 1 else words[0], format=".2~f", values=list(_TICKS))
    base = alt.Chart(data).encode(
        y=alt.Y(
            "vehicle_id:N",
            sort=list(data["vehicle_id"]),
            title=None,
            axis=alt.Axis(ticks=False, domain=False, labelLimit=110),
        )
    )
    span = base.mark_rule(color=MID, strokeWidth=4).encode(
        x=alt.X("lower:Q", scale=scale, axis=axis), x2="upper:Q"
    )
    dot = base.mark_point(size=60, filled=True, opacity=1).encode(
        x=alt.X("ratio:Q", scale=scale, axis=axis),
        shape=alt.Shape(
            "odd:N", scale=alt.Scale(domain=[True, False], range=["square", "circle"]), legend=None
        ),
        color=alt.Color("odd:N", scale=alt.Scale(domain=[True, False], range=[INK, DARK]), legend=None),
    )
    mean = (
        alt.Chart(pd.DataFrame({"ratio": [1.0]}))
        .mark_rule(color=ACCENT, strokeWidth=1.6)
        .encode(x=alt.X("ratio:Q", scale=scale, axis=axis))
    )
    spoken = "; ".join(
        say["chart-range"].format(
            name=r["vehicle_id"],
            middle=f"{r['ratio']:.2f}",
            low=f"{r['lower']:.2f}",
            high=f"{r['upper']:.2f}",
        )
        for r in data.to_dict("records")
    )
    return finish(
        (mean + span + dot).properties(width=width, height={"step": step}),
        say["chart-said-vehicles"].format(rows=spoken),
    )

"""Each change, before and after, paired."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import (
    DARK,
    INK,
    MID,
    axis_title,
    column_in,
    finish,
    layered,
    require_columns,
    shown,
)

__all__ = ["change_pairs"]


def change_pairs(
    changes: pd.DataFrame,
    units: str = "us",
    *,
    width: int = 300,
    step: int = 32,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw the distance left as things are and after each change, one pair of dots a change.

    Parameters
    ----------
    changes : DataFrame
        One row a change, in the order to be drawn: ``change`` (in words), ``before_km``, ``after_km`` (middle
        of the distance left), ``after_low_km``, ``after_high_km`` (80 % range of the latter), ``said``
        (the difference in words).
    units : str
        ``"us"`` or ``"metric"``.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        Open dot: as it is; full dot: after the change, on its range; the change and the difference
        are written above them. Its rows are the named data set ``changes``, so a page can replace them.
    """
    names = ["change", "before_km", "after_km", "after_low_km", "after_high_km", "said"]
    require_columns(changes, names, table="changes")
    data = shown(changes[names], units)
    before, after, least, most = (column_in(name, units) for name in names[1:5])
    scale = alt.Scale(nice=False, zero=False, padding=0.1 * width)
    y = alt.Y("change:N", sort=None, title=None, axis=None)  # in the order of the rows
    axis = alt.Axis(
        title=axis_title(say["chart-left"], before, say),
        format=",.0f",
        tickCount=4,
        labelFontSize=12,
        titleFontSize=12,
    )
    records: list[Any] = data.to_dict("records")
    rows = alt.InlineData(values=records, name="changes")
    base = alt.Chart(rows).encode(y=y)

    def at(column: str) -> Any:
        return alt.X(f"{column}:Q", scale=scale, axis=axis)

    line = base.mark_rule(color=MID, strokeWidth=4).encode(x=at(before), x2=f"{after}:Q")
    range_ = base.mark_rule(color=INK, strokeWidth=1).encode(x=at(least), x2=f"{most}:Q")
    hollow = base.mark_point(
        shape="circle", size=70, color=INK, fill="white", opacity=1, strokeWidth=1.6
    ).encode(x=at(before))
    full = base.mark_point(shape="circle", size=80, color=DARK, fill=DARK, opacity=1).encode(x=at(after))
    said = (
        base.transform_calculate(both="datum.change + ': ' + datum.said")
        .mark_text(align="left", dy=-13, fontSize=12)
        .encode(x=alt.value(0), text=alt.Text("both:N"))
    )
    spoken = "; ".join(f"{c}: {s}" for c, s in zip(data["change"], data["said"], strict=True))
    return finish(
        layered(line, range_, hollow, full, said, width=width, height={"step": step}),
        say["chart-said-changes"].format(rows=spoken),
    )

"""Where a vehicle's miles went, by speed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import DARK, INK, LIGHT, finish, require_columns, rows_by
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["miles_by_speed"]


def miles_by_speed(
    speeds: pd.DataFrame, *, title: str = "", width: int = 380, step: int = 30, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw the share of the distance in each band of speed, beside the usual driver's.

    Parameters
    ----------
    speeds : DataFrame
        ``label`` (the band in words), ``percent``, ``usual_percent``; slowest first.
    title : str
        The finding, as a sentence.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        Bar: this vehicle; tick: the usual driver.

    Raises
    ------
    InputError
        If nothing is known of the speeds.
    """
    names = ["label", "percent", "usual_percent"]
    require_columns(speeds, names, table="speeds")
    data = speeds[names].dropna()
    if data.empty:
        raise misused(Wrong.NO_SPEEDS)
    base = alt.Chart(data).encode(y=rows_by("label", data))
    x = alt.X("percent:Q", title=say["chart-speed-share"], scale=alt.Scale(domainMin=0))
    bar = base.mark_bar(color=LIGHT, height={"band": 0.62}).encode(x=x)
    usual = base.mark_tick(color=INK, thickness=3, size=20, opacity=1).encode(x="usual_percent:Q")
    text = base.mark_text(align="left", dx=4, color=DARK, baseline="middle").encode(
        x=alt.value(4), text=alt.Text("percent:Q", format=".0f")
    )
    spoken = "; ".join(
        say["chart-speed-row"].format(
            band=row["label"], percent=f"{row['percent']:.0f}", usual=f"{row['usual_percent']:.0f}"
        )
        for row in data.to_dict("records")
    )
    return finish(
        (bar + usual + text).properties(width=width, height={"step": step}),
        say["chart-said-speeds"].format(rows=spoken),
        title=title,
    )

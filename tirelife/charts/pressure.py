"""Cold pressures over time, against the placard."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import ACCENT, DARK, INK, axis_title, column_in, finish, require_columns, shown
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["pressure_history"]


def pressure_history(
    readings: pd.DataFrame,
    units: str,
    *,
    title: str = "",
    columns: int = 2,
    width: int = 300,
    height: int = 110,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw one vehicle's cold pressures as found and as left, with the placard, a panel a wheel.

    Parameters
    ----------
    readings : DataFrame
        ``label`` (the wheel in words), ``date, cold_kpa, set_kpa`` (NaN where left as found),
        ``placard_kpa``.
    units : str
    title : str
        The finding, as a sentence.
    columns, width, height : int
        Panels in a row, and the size of one. [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        Dots are pressures as found, brought to cold; open squares what they were set to; the line is the
        placard.

    Raises
    ------
    InputError
        If there is no reading.
    """
    names = ["label", "date", "cold_kpa", "set_kpa", "placard_kpa"]
    require_columns(readings, names, table="readings")
    data = shown(readings[names].dropna(subset=["cold_kpa"]), units)
    if data.empty:
        raise misused(Wrong.NO_PRESSURE)
    cold, left, placard = (column_in(name, units) for name in names[2:])
    scale = alt.Scale(zero=False)
    base = alt.Chart().encode(
        x=alt.X("date:T", title=say["chart-read-on"], axis=alt.Axis(format="%b %Y", tickCount=4))
    )
    title_y = axis_title(say["chart-cold"], cold, say)
    rule = base.mark_line(color=ACCENT, strokeWidth=1.6).encode(
        y=alt.Y(f"{placard}:Q", scale=scale, title=title_y)
    )
    found = base.mark_point(size=34, filled=True, color=DARK, opacity=1).encode(
        y=alt.Y(f"{cold}:Q", scale=scale)
    )
    reset = base.mark_point(size=40, shape="square", color=INK, opacity=1).encode(
        y=alt.Y(f"{left}:Q", scale=scale)
    )
    low = int((data[cold] < data[placard]).sum())
    return finish(
        alt.layer(rule, found, reset, data=data)
        .properties(width=width, height=height)
        .facet(facet=alt.Facet("label:N", title=None, sort=list(data["label"].unique())), columns=columns),
        say["chart-said-pressures"].format(n=len(data), low=low),
        title=title,
    )

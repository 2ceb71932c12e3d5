"""What rotating does to each tire of a set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import (
    DARK,
    LIGHT,
    MID,
    axis_title,
    column_in,
    finish,
    require_columns,
    rows_by,
    shown,
)
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["rotation_effect"]


def rotation_effect(
    tires: pd.DataFrame,
    units: str,
    *,
    title: str = "",
    width: int = 420,
    step: int = 46,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw the distance left of each tire if it stays where it is, and if the set is rotated.

    Parameters
    ----------
    tires : DataFrame
        ``label`` (where the tire is now), then ``stays_km_p10, stays_km_p50, stays_km_p90`` and
        ``turns_km_p10, turns_km_p50, turns_km_p90``.
    units : str
    title : str
        The finding, as a sentence.
    width, step : int
        Of the axis, and height of a row. [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        Above: left where it is, an open dot on a light range; below: rotated, a full dot on a darker one.
        Ranges hold 8 chances in 10.

    Raises
    ------
    InputError
        If no tire has a forecast.
    """
    names = [f"{way}_km_p{level}" for way in ("stays", "turns") for level in (10, 50, 90)]
    require_columns(tires, ["label", *names], table="tires")
    data = shown(tires[["label", *names]].dropna(), units)
    if data.empty:
        raise misused(Wrong.NO_FORECAST)
    base = alt.Chart(data).encode(y=rows_by("label", data))
    first = column_in("stays_km_p10", units)
    title_x = axis_title(say["chart-left-tire"], first, say)
    layers = []
    for way, color, fill, lift in (("stays", LIGHT, "white", -8), ("turns", MID, DARK, 8)):
        low, middle, high = (column_in(f"{way}_km_p{level}", units) for level in (10, 50, 90))
        x = alt.X(f"{low}:Q", title=title_x, scale=alt.Scale(zero=False, padding=14))
        layers.append(base.mark_rule(color=color, strokeWidth=6, yOffset=lift).encode(x=x, x2=f"{high}:Q"))
        dot = base.mark_point(size=70, color=DARK, fill=fill, opacity=1, yOffset=lift)
        layers.append(dot.encode(x=f"{middle}:Q"))
        words = base.mark_text(align="left", dx=8, yOffset=lift).encode(
            x=f"{high}:Q", text=alt.value(say[f"chart-{way}"])
        )
        layers.append(words)
    spoken = "; ".join(
        say["chart-rotation-row"].format(
            label=row["label"],
            stays=f"{row[column_in('stays_km_p50', units)]:,.0f}",
            turns=f"{row[column_in('turns_km_p50', units)]:,.0f}",
        )
        for row in data.to_dict("records")
    )
    return finish(
        alt.layer(*layers).properties(width=width, height={"step": step}),
        say["chart-said-rotation"].format(rows=spoken),
        title=title,
    )

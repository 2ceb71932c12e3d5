"""What wore the tires: parts that sum to the whole."""

from __future__ import annotations

from typing import Any

import altair as alt
import numpy as np
import pandas as pd

from tirelife.charts.theme import INK, STACK, finish, require_columns
from tirelife.errors import InputError

__all__ = ["wear_causes"]


def wear_causes(causes: pd.DataFrame, *, width: int = 430, step: int = 34) -> Any:
    """Draw the share of wear by cause, a bar a wheel, each bar the whole.

    Parameters
    ----------
    causes : DataFrame
        One row a bar and cause: ``label`` (whose wear), ``cause`` (in words), ``share``. The shares of a
        label sum to 1. Bars and causes keep the order in which they first appear.
    width, step : int
        Of the bars, and height of a row. [px]

    Returns
    -------
    altair chart
        Segments carry their share; the causes are written above the first bar, each over its segment where
        there is room, and in a key of squares below.

    Raises
    ------
    InputError
        If a column is missing, a share is negative, or the shares of a label do not sum to 1 within 1e-6.
    """
    require_columns(causes, ["label", "cause", "share"], table="causes")
    data = causes[["label", "cause", "share"]].copy()
    totals = data.groupby("label", sort=False)["share"].sum()
    if (data["share"] < -1e-9).any() or not np.allclose(totals, 1, atol=1e-6):
        raise InputError("causes: the shares of each label must not be negative, and must sum to 1.")
    data["share"] = data["share"].clip(lower=0.0)
    labels, names = list(dict.fromkeys(data["label"])), list(dict.fromkeys(data["cause"]))
    data["order"] = data["cause"].map({name: i for i, name in enumerate(names)})
    data = data.sort_values(["label", "order"], key=lambda c: c if c.name == "order" else c.map(labels.index))
    data["to"] = data.groupby("label", sort=False)["share"].cumsum()
    data["from"] = data["to"] - data["share"]
    data["middle"] = (data["from"] + data["to"]) / 2
    data["percent"] = [f"{s:.0%}" if s >= 0.055 else "" for s in data["share"]]
    fills = [STACK[i % len(STACK)] for i in range(len(names))]
    data["ink"] = [("white" if _dark(fills[i]) else INK) for i in data["order"]]
    y = alt.Y("label:N", sort=labels, title=None, axis=alt.Axis(ticks=False, domain=False, labelFontSize=12))
    axis = alt.Axis(format="%", title="Share of the wear since new (percent)", values=[0, 0.25, 0.5, 0.75, 1])
    bars = (
        alt.Chart(data)
        .mark_bar(stroke="white", strokeWidth=1.5, height=20)
        .encode(
            y=y,
            x=alt.X("from:Q", scale=alt.Scale(domain=[0, 1]), axis=axis),
            x2="to:Q",
            color=alt.Color(
                "cause:N",
                sort=names,
                scale=alt.Scale(domain=names, range=fills),
                legend=alt.Legend(
                    title=None,
                    orient="top",
                    offset=2,
                    direction="horizontal",
                    columns=4,
                    columnPadding=6,
                    rowPadding=1,
                    symbolType="square",
                    labelLimit=150,
                    symbolStrokeColor=INK,
                    symbolStrokeWidth=0.6,
                    symbolSize=110,
                ),
            ),
        )
    )
    text = (
        alt.Chart(data)
        .mark_text(fontSize=11)
        .encode(y=y, x=alt.X("middle:Q"), text="percent:N", color=alt.Color("ink:N", scale=None, legend=None))
    )
    spoken = "; ".join(
        f"{label}: " + ", ".join(f"{c} {s:.0%}" for c, s in zip(part["cause"], part["share"], strict=True))
        for label, part in data.groupby("label", sort=False)
    )
    return finish(
        (bars + text).resolve_scale(color="independent").properties(width=width, height={"step": step}),
        f"What wore the tires, as shares of the wear since new. {spoken}.",
    )


def _dark(color: str) -> bool:
    """Tell whether white text reads better on a fill (relative luminance of WCAG 2.1 below 0.25)."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] < 0.25

"""What wore the tires: parts that sum to the whole."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import altair as alt
import numpy as np
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import DARK, INK, LIGHT, finish, layered, require_columns
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["wear_causes"]

FILLS: Final = (DARK, LIGHT)
COLUMN: Final = 44
"""Width of a column of numbers. [px]"""


def wear_causes(
    causes: pd.DataFrame, *, width: int = 300, step: int = 20, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw the share of wear by cause as steps that end at the whole.

    Parameters
    ----------
    causes : DataFrame
        One row a cause and label: ``label`` (whose wear; two at the most), ``cause`` (in words), ``share``.
        The shares of a label sum to 1. Causes and labels keep the order in which they first appear.
    width, step : int
        Of the bars, and height of a row. [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        A row a cause, named beside it: each bar begins where the one above ended, so the last ends at 100 %.
        The shares stand in columns at the right.

    Raises
    ------
    InputError
        If a column is missing, there are more than two labels, a share is negative, or the shares of a
        label do not sum to 1 within 1e-6.
    """
    require_columns(causes, ["label", "cause", "share"], table="causes")
    data = causes[["label", "cause", "share"]].copy()
    totals = data.groupby("label", sort=False)["share"].sum()
    if (data["share"] < -1e-9).any() or not np.allclose(totals, 1, atol=1e-6):
        raise misused(Wrong.SHARES)
    labels, names = list(dict.fromkeys(data["label"])), list(dict.fromkeys(data["cause"]))
    if len(labels) > len(FILLS):
        raise misused(Wrong.LABELS, n=len(labels))
    data["share"] = data["share"].clip(lower=0.0)
    data["order"] = data["cause"].map({name: i for i, name in enumerate(names)})
    data = data.sort_values(["label", "order"], kind="stable", ignore_index=True)
    data["to"] = data.groupby("label", sort=False)["share"].cumsum()
    data["from"] = data["to"] - data["share"]
    data["percent"] = [f"{share:.0%}" for share in data["share"]]
    y = alt.Y("cause:N", sort=names, title=None, axis=alt.Axis(ticks=False, domain=False, labelFontSize=12))
    axis = alt.Axis(format="%", title=say["chart-share"], values=[0, 0.25, 0.5, 0.75, 1])
    bars = (
        alt.Chart(data)
        .mark_bar(stroke=INK, strokeWidth=0.4)
        .encode(
            y=y,
            yOffset=alt.YOffset("label:N", sort=labels),
            x=alt.X("from:Q", scale=alt.Scale(domain=[0, 1]), axis=axis),
            x2=alt.X2("to:Q"),
            color=alt.Color(
                "label:N",
                scale=alt.Scale(domain=labels, range=list(FILLS[: len(labels)])),
                legend=alt.Legend(
                    title=None,
                    orient="none",
                    direction="horizontal",
                    legendX=width + 8,
                    legendY=-18,
                    symbolType="square",
                    symbolStrokeColor=INK,
                    symbolStrokeWidth=0.4,
                    symbolSize=70,
                    columnPadding=4,
                ),
            ),
        )
    )
    columns = [
        alt.Chart(data[data["label"] == label])
        .mark_text(align="right", fontSize=12)
        .encode(y=y, x=alt.value(width + COLUMN * (i + 1)), text=alt.Text("percent:N"))
        for i, label in enumerate(labels)
    ]
    spoken = "; ".join(
        f"{label}: " + ", ".join(f"{c} {s}" for c, s in zip(part["cause"], part["percent"], strict=True))
        for label, part in data.groupby("label", sort=False)
    )
    return finish(
        layered(bars, *columns, width=width, height={"step": step, "for": "position"}),
        say["chart-said-causes"].format(rows=spoken),
    )

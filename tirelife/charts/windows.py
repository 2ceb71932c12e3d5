"""When each tire should be replaced, on a calendar."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import DARK, INK, LIGHT, finish, layered, require_columns
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["replacement_windows"]


def replacement_windows(
    windows: pd.DataFrame,
    as_of: pd.Timestamp,
    until: pd.Timestamp | None = None,
    *,
    width: int = 430,
    step: int = 30,
    above: bool = False,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw the replacement window of each tire, and of the set, as bars on a calendar.

    Parameters
    ----------
    windows : DataFrame
        One row a bar, in the order to be drawn: ``label`` (whose window), ``said`` (the window in words,
        written beside it), ``date_p10, date_p25, date_p50, date_p75, date_p90``.
    as_of : Timestamp
        Where the calendar begins.
    until : Timestamp, optional
        Where it ends; a little after the latest date by default.
    width, step : int
        Of the calendar, and height of a row. [px]
    above : bool
        Write whose window it is, and the window, above each bar, for a narrow screen; else at its sides.
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        Wide bar: 80 % range; narrow bar: 50 % range; tick: the middle date. Its rows are the named data set
        ``windows``, so a page can replace them.

    Raises
    ------
    InputError
        If no window has a date, and it is not said where the calendar ends.
    """
    levels = [f"date_p{level}" for level in (10, 25, 50, 75, 90)]
    require_columns(windows, ["label", "said", *levels], table="windows")
    data = windows[["label", "said", *levels]].copy()
    latest = data[levels].max().max()
    if until is None and pd.isna(latest):
        raise misused(Wrong.NO_FORECAST)
    end = until if until is not None else latest + (latest - as_of) * 0.08
    rows = [
        {**{k: v for k, v in row.items() if k in ("label", "said")}, **{c: _day(row[c]) for c in levels}}
        for row in data.to_dict("records")
    ]
    source = alt.InlineData(values=rows, name="windows", format={"parse": {c: "date" for c in levels}})
    order = list(data["label"])
    side = None if above else alt.Axis(ticks=False, domain=False, labelFontSize=12)
    y = alt.Y("label:N", sort=order, title=None, axis=side)
    years = (end - as_of).days / 365.25
    begin = as_of - (end - as_of) * 0.02  # a bar that begins today does not touch the words beside it
    ends = [alt.DateTime(year=d.year, month=d.month, date=d.day) for d in (begin, pd.Timestamp(end))]
    x_scale = alt.Scale(domainMin=ends[0], domainMax=ends[1], type="time", nice=False)
    axis = alt.Axis(
        title=say["chart-date"],
        orient="bottom",
        format="%b %Y" if years < 4 else "%Y",
        tickCount={"interval": "month", "step": 3 if years < 1.6 else 6} if years < 4 else "year",
        labelOverlap="greedy",
        labelSeparation=6,
        labelFontSize=12 if above else 11,
        titleFontSize=12 if above else 11,
    )

    def at(column: str) -> Any:
        # One layer sets the domain for all: given twice, Vega-Lite warns of a conflict.
        scale = x_scale if column == "date_p10" else alt.Undefined
        return alt.X(f"{column}:T", scale=scale, axis=axis)

    base = alt.Chart(source).encode(y=y)
    wide = base.mark_bar(color=LIGHT, height=12, clip=True).encode(x=at("date_p10"), x2=alt.X2("date_p90:T"))
    narrow = base.mark_bar(color=DARK, height=12, clip=True).encode(x=at("date_p25"), x2=alt.X2("date_p75:T"))
    tick = base.mark_tick(color=INK, thickness=3, size=20, opacity=1, clip=True).encode(x=at("date_p50"))
    if above:
        # Two lines: side by side they are too long for a phone in some languages.
        text: tuple[tuple[str, int, Literal["bold", "normal"]], ...]
        text = (("label", -29, "bold"), ("said", -15, "normal"))
        said = [
            base.mark_text(align="left", dy=dy, fontSize=12, fontWeight=weight).encode(
                x=alt.value(0), text=alt.Text(f"{column}:N")
            )
            for column, dy, weight in text
        ]
    else:
        said = [
            base.mark_text(align="left", dx=8, fontSize=12).encode(
                x=alt.value(width), text=alt.Text("said:N")
            )
        ]
    spoken = "; ".join(f"{label}: {words}" for label, words in zip(data["label"], data["said"], strict=True))
    return finish(
        layered(wide, narrow, tick, *said, width=width, height={"step": step}),
        say["chart-said-windows"].format(rows=spoken),
    )


def _day(value: Any) -> str | None:
    return None if pd.isna(value) else pd.Timestamp(value).strftime("%Y-%m-%dT00:00:00")

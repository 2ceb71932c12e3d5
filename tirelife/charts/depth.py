"""Tread depth against distance or date: readings, and the range ahead."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import (
    ACCENT,
    DARK,
    INK,
    LIGHT,
    MID,
    axis_title,
    column_in,
    finish,
    layered,
    require_columns,
    shown,
)
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import convert

__all__ = ["depth_path"]

LEVELS = ("p10", "p25", "p50", "p75", "p90")


def depth_path(
    readings: pd.DataFrame,
    band: pd.DataFrame,
    removal_mm: float,
    units: str = "us",
    *,
    by: str = "distance",
    columns: int = 4,
    width: int = 150,
    height: int = 130,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw what was read and what is likely ahead, one panel a tire.

    Parameters
    ----------
    readings : DataFrame
        One row a tire and visit: ``label`` (whose panel), ``odometer_km``, ``date``, ``depth_mm``.
    band : DataFrame
        One row a tire and point ahead: ``label, odometer_km, date, depth_p10_mm, … p25, p50, p75, p90``.
    removal_mm : float
        Depth at which the tire comes off. [mm]
    units : str
        ``"us"`` or ``"metric"``.
    by : str
        ``"distance"`` (odometer) or ``"date"``.
    columns, width, height : int
        Panels in a row; size of one panel. [-, px, px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        Light band: 80 % range; darker band: 50 % range; line: the middle; dots: readings; dashed: removal
        depth. Panels go in the order of ``band``. What is ahead of panel i is the named data set ``band-i``,
        and the removal depth ``limit-i``, so a page can replace them.
    """
    across = {"distance": "odometer_km", "date": "date"}.get(by)
    if across is None:
        raise misused(Wrong.BY, by=by)
    bounds = [f"depth_{level}_mm" for level in LEVELS]
    require_columns(readings, ["label", across, "depth_mm"], table="readings")
    require_columns(band, ["label", across, *bounds], table="band")
    order = list(dict.fromkeys([*band["label"], *readings["label"]]))
    points = shown(readings[["label", across, "depth_mm"]].dropna(), units)
    ahead = shown(band[["label", across, *bounds]], units)
    depth = column_in("depth_mm", units)
    p10, p25, p50, p75, p90 = (column_in(name, units) for name in bounds)
    x_name = column_in(across, units)
    limit = convert(removal_mm, "mm", "32nds" if units == "us" else "mm")
    tops = [float(most) for most in (points[depth].max(), ahead[p90].max()) if most == most]
    top = max(tops, default=limit) * 1.06
    y_scale = alt.Scale(domain=[0, top], nice=False)
    depth_title = axis_title(say["chart-depth-least"], depth, say).replace(" of an inch", "")
    x_axis = (
        alt.Axis(format="%b %Y", title=say["chart-date"], tickCount=3, labelOverlap="greedy")
        if by == "date"
        else alt.Axis(format="~s", title=axis_title(say["chart-odometer"], x_name, say), tickCount=3)
    )
    kind = "T" if by == "date" else "Q"
    ends = pd.concat([points[x_name], ahead[x_name]])
    domain = [ends.min(), ends.max()]
    if by == "date":
        domain = [pd.Timestamp(d).strftime("%Y-%m-%dT00:00:00") for d in domain]
    x_scale = alt.Scale(
        domain=domain, nice=False, zero=False, type="time" if by == "date" else "linear"
    ).to_dict()

    def panel(label: str, first: bool, last: bool) -> Any:
        y_axis = alt.Axis(title=depth_title if first else None, tickCount=5).to_dict()
        x_here = x_axis.to_dict() if last else {**x_axis.to_dict(), "title": None}
        x = alt.X(f"{x_name}:{kind}", axis=x_here, scale=x_scale)

        def y(column: str) -> Any:
            return alt.Y(f"{column}:Q", scale=y_scale, axis=y_axis)

        at = order.index(label)
        ahead_here = alt.Chart().encode(x=x)
        here = points[points["label"] == label]
        rule = (
            alt.Chart(_named(f"limit-{at}", pd.DataFrame({"limit": [limit]})))
            .mark_rule(color=ACCENT, strokeWidth=2, strokeDash=[5, 3])
            .encode(y=alt.Y("limit:Q", scale=y_scale, axis=y_axis))
        )
        return layered(
            ahead_here.mark_area(color=LIGHT, clip=True).encode(y=y(p10), y2=alt.Y2(p90)),
            ahead_here.mark_area(color=MID, clip=True).encode(y=y(p25), y2=alt.Y2(p75)),
            ahead_here.mark_line(color=DARK, strokeWidth=1.8, clip=True).encode(y=y(p50)),
            rule,
            alt.Chart(here).mark_point(filled=True, color=INK, size=26, opacity=1).encode(x=x, y=y(depth)),
            data=_named(f"band-{at}", ahead[ahead["label"] == label]),
            width=width,
            height=height,
            title=alt.TitleParams(label, fontSize=12, fontWeight="bold", offset=4),
        )

    rows = [order[i : i + columns] for i in range(0, len(order), columns)]
    grid = alt.vconcat(
        *(
            alt.hconcat(*(panel(label, i == 0, row is rows[-1]) for i, label in enumerate(row)), spacing=12)
            for row in rows
        ),
        spacing=8,
    )
    spoken = "; ".join(_spoken(label, points, depth, units, say) for label in order)
    return finish(
        grid,
        say[f"chart-said-{by}"].format(
            unit=say[f"chart-deep-{units}"],
            limit=f"{limit:.3g}".replace(".", say.get(f"point-{units}", ".")),
            rows=spoken,
        ),
    )


def _named(name: str, frame: pd.DataFrame) -> alt.InlineData:
    rows = frame.assign(date=frame["date"].dt.strftime("%Y-%m-%dT00:00:00")) if "date" in frame else frame
    records: list[Any] = [
        {key: None if value != value else value for key, value in row.items()}
        for row in rows.to_dict("records")
    ]
    return alt.InlineData(
        values=records,
        name=name,
        format={"parse": {"date": "date"} if "date" in frame else {}},
    )


def _spoken(label: str, points: pd.DataFrame, depth: str, units: str, say: Mapping[str, str]) -> str:
    here = points.loc[points["label"] == label, depth]
    if here.empty:
        return say["chart-unread"].format(label=label)
    last = f"{here.iloc[-1]:.1f}".replace(".", say.get(f"point-{units}", "."))
    return say["chart-read"].format(label=label, n=len(here), depth=last)

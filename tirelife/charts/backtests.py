"""What was forecast on earlier days beside what came later."""

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
    require_columns,
    shown,
)
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["distance_lives", "reliability_curves"]


def distance_lives(
    lives: pd.DataFrame, units: str, *, width: int = 460, height: int = 300, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw distance left as it was forecast against what it turned out to be, as tires' lives go on.

    Parameters
    ----------
    lives : DataFrame
        ``tire_id, removal_mm, km_left_p10, km_left_p50, km_left_p90, true_km``, as
        :meth:`tirelife.outlook.BacktestResult.lives`.
    units : str
        ``"us"`` or ``"metric"``.
    width, height : int
        [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        Life goes on from left to right. A thin line joins the forecasts of one tire, each on its 80 %
        range; on the straight line forecast and truth agree.

    Raises
    ------
    InputError
        If there is no row.
    """
    names = ["tire_id", "removal_mm", "km_left_p10", "km_left_p50", "km_left_p90", "true_km"]
    require_columns(lives, names, table="lives")
    if lives.empty:
        raise misused(Wrong.NO_LIVES)
    data = shown(lives[names], units)
    low, middle, high, true = (column_in(name, units) for name in names[2:])
    data["life"] = [
        f"{tire} {depth:g}" for tire, depth in zip(lives["tire_id"], lives["removal_mm"], strict=True)
    ]
    most = float(max(data[high].max(), data[true].max()))
    x_scale, y_scale = alt.Scale(domain=[most, 0], nice=True), alt.Scale(domain=[0, most], nice=True)
    same = (
        alt.Chart(pd.DataFrame({"at": [0.0, most]}))
        .mark_line(color=ACCENT, strokeWidth=1.6)
        .encode(x=alt.X("at:Q", scale=x_scale), y=alt.Y("at:Q", scale=y_scale))
    )
    base = alt.Chart(data).encode(
        x=alt.X(f"{true}:Q", scale=x_scale, title=axis_title(say["chart-was-left"], true, say))
    )
    span = base.mark_rule(color=LIGHT, strokeWidth=2).encode(
        y=alt.Y(f"{low}:Q", scale=y_scale, title=axis_title(say["chart-forecast"], middle, say)),
        y2=f"{high}:Q",
    )
    line = base.mark_line(color=MID, strokeWidth=0.8, opacity=0.7).encode(
        y=alt.Y(f"{middle}:Q", scale=y_scale), detail="life:N"
    )
    dots = base.mark_point(size=20, filled=True, color=DARK, opacity=1).encode(
        y=alt.Y(f"{middle}:Q", scale=y_scale)
    )
    inside = int(((data[true] >= data[low]) & (data[true] <= data[high])).sum())
    return finish(
        (span + line + same + dots).properties(width=width, height=height),
        say["chart-said-lives"].format(n=len(data), tires=data["tire_id"].nunique(), inside=inside),
        title=say["chart-title-lives"].format(n=len(data), inside=inside),
    )


def reliability_curves(
    table: pd.DataFrame, *, size: int = 190, columns: int = 3, say: Mapping[str, str] = WORDS
) -> Any:
    """Draw how often what came later lay under the forecasts' quantiles, against how often it should have.

    Parameters
    ----------
    table : DataFrame
        ``target, promised, found, lower, upper, forecasts``, as :func:`tirelife.outlook.reliability` gives
        for one method.
    size : int
        Of a panel. [px]
    columns : int
        Panels in a row.
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        A panel a target. Inside the band a curve is what chance makes of honest ranges, nine times in ten;
        above the straight line things came sooner, or lower, than was forecast.

    Raises
    ------
    InputError
        If there is no row.
    """
    names = ["target", "promised", "found", "lower", "upper", "forecasts"]
    require_columns(table, names, table="table")
    if table.empty:
        raise misused(Wrong.NO_TABLE_ROWS)
    data = table[names].assign(target=[say[f"chart-target-{target}"] for target in table["target"]])
    axis = alt.Axis(format="%", values=[0, 0.25, 0.5, 0.75, 1])
    scale = alt.Scale(domain=[0, 1])
    base = alt.Chart().encode(x=alt.X("promised:Q", scale=scale, axis=axis, title=say["chart-promised"]))
    band = base.mark_area(color=LIGHT, opacity=0.7).encode(
        y=alt.Y("lower:Q", scale=scale, axis=axis, title=say["chart-found"]), y2="upper:Q"
    )
    same = base.mark_line(color=ACCENT, strokeWidth=1.4).encode(y=alt.Y("promised:Q", scale=scale))
    curve = base.mark_line(color=INK, strokeWidth=1.6, point=alt.OverlayMarkDef(size=16, color=INK)).encode(
        y=alt.Y("found:Q", scale=scale)
    )
    targets = list(dict.fromkeys(data["target"]))
    outside = (data["found"] < data["lower"] - 1e-9) | (data["found"] > data["upper"] + 1e-9)
    out = [name for name in targets if outside[data["target"] == name].any()]
    spoken = "; ".join(
        f"{name}: {say['chart-outside' if name in out else 'chart-inside']}" for name in targets
    )
    return finish(
        alt.layer(band, same, curve, data=data)
        .properties(width=size, height=size)
        .facet(facet=alt.Facet("target:N", title=None, sort=targets), columns=columns),
        say["chart-said-reliability"].format(rows=spoken),
        title=say["chart-title-inside"]
        if not out
        else say["chart-title-outside"].format(names=", ".join(out)),
    )

"""Readings beside the fit: paths of many tires, and what is left over."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap
from typing import Any, Final

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import (
    ACCENT,
    DARK,
    INK,
    MID,
    axis_title,
    column_in,
    finish,
    require_columns,
    shown,
)
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused

__all__ = ["fitted_paths", "residuals"]

MOST_PANELS: Final = 24
_AGAINST: Final = {"odometer_km": "chart-odometer", "date": "chart-day"}


def fitted_paths(
    visits: pd.DataFrame,
    units: str,
    *,
    columns: int = 4,
    width: int = 150,
    height: int = 96,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw the readings of many vehicles' tires over distance, with the fitted paths, a panel a vehicle.

    Parameters
    ----------
    visits : DataFrame
        ``vehicle_id, tire_id, odometer_km, depth_mm, fitted_mm, outlier``, as ``WearFit.visits``; at most 24
        vehicles.
    units : str
    columns, width, height : int
        Panels in a row, and the size of one. [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        Points are readings (a cross is one that counts less), lines the fitted path of each tire.

    Raises
    ------
    InputError
        If there is no row, or more vehicles than panels.
    """
    names = ["vehicle_id", "tire_id", "odometer_km", "depth_mm", "fitted_mm", "outlier"]
    require_columns(visits, names, table="visits")
    data = shown(visits[names].dropna(subset=["odometer_km", "depth_mm"]), units)
    count = data["vehicle_id"].nunique()
    if not 0 < count <= MOST_PANELS:
        raise misused(Wrong.PANELS, most=MOST_PANELS, count=count)
    x_name, y_name = column_in("odometer_km", units), column_in("depth_mm", units)
    x = alt.X(
        f"{x_name}:Q",
        title=axis_title(say["chart-odometer"], x_name, say),
        scale=alt.Scale(zero=False),
        axis=alt.Axis(format="~s", tickCount=4),
    )
    base = alt.Chart().encode(x=x, detail="tire_id:N")
    line = base.mark_line(color=MID, strokeWidth=1.4).encode(
        y=alt.Y(
            f"{column_in('fitted_mm', units)}:Q",
            title=wrap(axis_title(say["chart-mean-groove"], y_name, say), height // 5),
        )
    )
    dots = base.mark_point(size=16, opacity=1, color=INK).encode(
        y=alt.Y(f"{y_name}:Q"),
        shape=alt.Shape(
            "outlier:N", scale=alt.Scale(domain=[False, True], range=["circle", "cross"]), legend=None
        ),
    )
    odd = int(data["outlier"].astype(bool).sum())
    return finish(
        alt.layer(line, dots, data=data)
        .properties(width=width, height=height)
        .facet(
            facet=alt.Facet("vehicle_id:N", title=None, sort=list(data["vehicle_id"].unique())),
            columns=columns,
        )
        .resolve_scale(x="independent"),
        say["chart-said-fitted"].format(vehicles=count, n=len(data), odd=odd),
        title=say["chart-title-fitted"].format(n=len(data), odd=odd),
    )


def residuals(
    visits: pd.DataFrame,
    against: str,
    units: str,
    *,
    width: int = 420,
    height: int = 170,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw what the fit leaves of each reading, in standard errors, against distance or date.

    Parameters
    ----------
    visits : DataFrame
        ``standardized, outlier`` and the column that ``against`` names, as ``WearFit.visits``.
    against : str
        ``"odometer_km"`` or ``"date"``.
    units : str
    width, height : int
        [px]
    say : mapping
        Words of a language, by code; those of :mod:`tirelife.captions` by default.

    Returns
    -------
    altair chart
        Nineteen in twenty points of a sound fit lie between the two thin lines, with no trend.
    """
    if against not in _AGAINST:
        raise misused(Wrong.AGAINST, against=against, known=", ".join(_AGAINST))
    require_columns(visits, ["standardized", "outlier", against], table="visits")
    data = shown(visits[["standardized", "outlier", against]].dropna(), units)
    name = column_in(against, units)
    kind = "T" if against == "date" else "Q"
    title = axis_title(say[_AGAINST[against]], name, say) if kind == "Q" else say[_AGAINST[against]]
    x_scale = alt.Undefined if kind == "T" else alt.Scale(zero=False)
    points = (
        alt.Chart(data)
        .mark_point(size=20, opacity=0.75, color=DARK)
        .encode(
            x=alt.X(f"{name}:{kind}", title=title, scale=x_scale),
            y=alt.Y("standardized:Q", title=say["chart-residual"]),
            shape=alt.Shape(
                "outlier:N", scale=alt.Scale(domain=[False, True], range=["circle", "cross"]), legend=None
            ),
        )
    )
    rules = (
        alt.Chart(pd.DataFrame({"at": [-1.96, 0.0, 1.96], "middle": [False, True, False]}))
        .mark_rule()
        .encode(
            y="at:Q",
            strokeDash=alt.StrokeDash(
                "middle:N", scale=alt.Scale(domain=[True, False], range=[[1, 0], [4, 3]]), legend=None
            ),
            color=alt.value(ACCENT),
        )
    )
    inside = float((data["standardized"].abs() <= 1.96).mean()) if len(data) else float("nan")
    return finish(
        (rules + points).properties(width=width, height=height),
        say["chart-said-residuals"].format(n=len(data), against=title.lower(), inside=f"{inside:.0%}"),
        title=say["chart-title-residuals"].format(inside=f"{inside:.0%}"),
    )

"""A section through the tread of each wheel, groove by groove."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap
from typing import Any, Final

import altair as alt
import numpy as np
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.theme import (
    ACCENT,
    DARK,
    INK,
    PALE,
    axis_title,
    column_in,
    finish,
    layered,
    require_columns,
    shown,
)
from tirelife.positions import AXLES
from tirelife.units import convert

__all__ = ["POSITION_NAMES", "tread_profiles"]

POSITION_NAMES: Final = {"LF": "Left front", "RF": "Right front", "LR": "Left rear", "RR": "Right rear"}
"""Wheel positions in words."""

GROOVES: Final = ("outer", "outer_mid", "center", "inner_mid", "inner")
NAMED: Final = ("outer", "center", "inner")
"""Grooves that there is room to name."""

_TIE_MM: Final = 1e-6
"""Readings closer than this are both the least."""
_FROM_FLOOR: Final = "datum.value < 0 ? '' : datum.label"
"""Depths count from the floor of the grooves; what lies below it is carcass."""


def tread_profiles(
    depths: pd.DataFrame,
    removal_mm: float,
    units: str = "us",
    *,
    width: int = 150,
    height: int = 90,
    say: Mapping[str, str] = WORDS,
) -> Any:
    """Draw a section through the tread of each wheel, seen from behind, front axle above rear axle.

    The rubber left is dark, what is worn off since new is pale, and a mark stands on the least reading.

    Parameters
    ----------
    depths : DataFrame
        One row a wheel and groove: ``position`` (LF, RF, LR, RR), ``groove``, ``depth_mm``, ``new_depth_mm``
        (NaN if not known), and if there ``label``, which stands above the panel.
    removal_mm : float
        Depth at which the tire comes off; drawn as a line. [mm]
    units : str
        ``"us"`` or ``"metric"``.
    width, height : int
        Of one panel. [px]
    say : mapping
        Words by code; English by default.

    Returns
    -------
    altair chart
        Up to four panels, each with the depth written over its grooves. The removal depth is the named data
        set ``limit``, so a page can replace it.
    """
    require_columns(depths, ["position", "groove", "depth_mm", "new_depth_mm"], table="depths")
    data = shown(depths, units)
    depth, new = column_in("depth_mm", units), column_in("new_depth_mm", units)
    limit = convert(removal_mm, "mm", "32nds" if units == "us" else "mm")
    named = dict(POSITION_NAMES)
    if "label" in depths:
        named |= dict(zip(depths["position"], depths["label"], strict=True))
    point = say.get(f"point-{units}", ".")
    data["label"] = data[depth].map(lambda v: f"{v:.1f}".removesuffix(".0").replace(".", point))
    data["at"] = data["groove"].astype(str)
    order = {groove: i for i, groove in enumerate(GROOVES)}
    data = data.sort_values("at", key=lambda at: at.map(order), kind="stable")
    data["least"] = data[depth] <= data.groupby("position")[depth].transform("min") + _TIE_MM
    top = float(max(data[new].max(skipna=True) if data[new].notna().any() else 0, data[depth].max())) * 1.12
    base = -0.12 * top
    # Plain: Altair copies what is not, time and again.
    scale = alt.Scale(domain=[base, top], nice=False).to_dict()
    across = alt.Scale(domain=[0, 1], nice=False).to_dict()

    def panel(position: str, titled: bool) -> Any:
        here = data[data["position"] == position].reset_index(drop=True)
        if position.startswith("R"):
            # As seen from behind: the outer shoulder is outside.
            here = here.iloc[::-1].reset_index(drop=True)
        here["x"] = (np.arange(len(here)) + 0.5) / len(here)
        y_title = (
            # Two lines: one is longer than the panel is high, and would lift its title above its neighbour's.
            axis_title(say["chart-depth-read"], depth, say).replace(" of an inch", "").split(" (")
            if titled
            else None
        )
        y_title = y_title and [y_title[0], f"({y_title[1]}"]
        axis = alt.Axis(tickCount=4, title=y_title, titleFontSize=11, labelExpr=_FROM_FLOOR).to_dict()
        names = ", ".join(
            f"'{x:.3f}': '{say[f'chart-{g}'] if g in NAMED else ''}'"
            for x, g in zip(here["x"], here["at"], strict=True)
        )
        x = alt.X(
            "x:Q",
            title=None,
            scale=across,
            axis=alt.Axis(
                values=list(here["x"]),
                labelExpr=f"{{{names}}}[format(datum.value, '.3f')]",
                labelAngle=0,
                ticks=False,
                grid=False,
                domain=False,
                labelOverlap=False,
            ),
        )

        def rubber(heights: pd.Series, colour: str) -> Any:
            return (
                alt.Chart(_outline(here["x"], heights))
                .mark_area(color=colour, line=False)
                .encode(x=x, y=alt.Y("height:Q", scale=scale, axis=axis), y2=alt.Y2Datum(base))
            )

        y = alt.Y(f"{depth}:Q", scale=scale, axis=axis)
        layers = [rubber(here[new], PALE)] if here[new].notna().all() else []
        layers.append(rubber(here[depth], DARK))
        layers.append(
            alt.Chart(alt.InlineData(values=[{"limit": limit}], name="limit"))
            .mark_rule(color=ACCENT, strokeWidth=2, strokeDash=[5, 3])
            .encode(y=alt.Y("limit:Q", scale=scale, axis=axis))
        )
        least, others = here[here["least"]], here[~here["least"]]
        text = alt.Chart(others).mark_text(dy=-6, color=INK)
        bold = alt.Chart(least).mark_text(dy=-15, color=INK, fontWeight="bold")
        mark = alt.Chart(least).mark_point(shape="triangle-down", filled=True, color=INK, size=38, yOffset=-5)
        layers += [part.encode(x=x, y=y, text=alt.Text("label:N")) for part in (text, bold)] + [
            mark.encode(x=x, y=y)
        ]
        return layered(
            *layers,
            width=width,
            height=height,
            title=alt.TitleParams(
                [line for part in named[position].split(", ") for line in wrap(part, width // 6)],
                fontSize=12,
                fontWeight="bold",
            ),
        )

    present = set(data["position"])
    rows = []
    for axle in AXLES.values():
        wheels = [p for p in axle if p in present]
        if wheels:
            rows.append(alt.hconcat(*(panel(p, i == 0) for i, p in enumerate(wheels)), spacing=10))
    unit = say[f"chart-deep-{units}"]
    spoken = "; ".join(
        f"{named[p]} "
        + ", ".join(
            f"{say[f'chart-{at}']} {label}{say['chart-least'] if least else ''}"
            for at, label, least in zip(part["at"], part["label"], part["least"], strict=True)
        )
        for p, part in ((p, data[data["position"] == p]) for p in POSITION_NAMES if p in present)
    )
    return finish(
        alt.vconcat(*rows, spacing=10),
        say["chart-said-profiles"].format(unit=unit, rows=spoken, limit=f"{limit:.3g}".replace(".", point)),
    )


def _outline(at: pd.Series, heights: pd.Series) -> pd.DataFrame:
    """Top of the rubber across a tread: flat shoulders, slanted ribs, a groove down to 0 at each ``at``."""
    half, step = min(0.1 / len(at), 0.035), 1e-4
    points = [(0.0, heights.iloc[0])]
    for x, height in zip(at, heights, strict=True):
        points += [(x - half, height), (x - half + step, 0.0), (x + half - step, 0.0), (x + half, height)]
    points.append((1.0, heights.iloc[-1]))
    return pd.DataFrame(points, columns=["x", "height"])

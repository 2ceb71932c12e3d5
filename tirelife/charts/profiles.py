"""The tread of each wheel, groove by groove."""

from __future__ import annotations

from typing import Any, Final

import altair as alt
import pandas as pd

from tirelife.charts.theme import (
    ACCENT,
    DARK,
    INK,
    PALE,
    axis_title,
    column_in,
    finish,
    require_columns,
    shown,
)
from tirelife.units import convert

__all__ = ["POSITION_NAMES", "tread_profiles"]

POSITION_NAMES: Final = {"LF": "Left front", "RF": "Right front", "LR": "Left rear", "RR": "Right rear"}
"""Wheel positions in words."""

GROOVE_NAMES: Final = {
    "outer": "outer",
    "outer_mid": "",
    "center": "center",
    "inner_mid": "",
    "inner": "inner",
}


def tread_profiles(
    depths: pd.DataFrame,
    removal_mm: float,
    units: str = "us",
    *,
    width: int = 150,
    height: int = 90,
) -> Any:
    """Draw the depth across the grooves of each wheel, front axle above rear axle.

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

    Returns
    -------
    altair chart
        Up to four panels, each with the depth written on its bars. The removal depth is the named data set
        ``limit``, so a page can replace it.
    """
    require_columns(depths, ["position", "groove", "depth_mm", "new_depth_mm"], table="depths")
    data = shown(depths, units)
    depth, new = column_in("depth_mm", units), column_in("new_depth_mm", units)
    limit = convert(removal_mm, "mm", "32nds" if units == "us" else "mm")
    named = dict(POSITION_NAMES)
    if "label" in depths:
        named |= dict(zip(depths["position"], depths["label"], strict=True))
    data["label"] = data[depth].map(lambda v: f"{v:.1f}".removesuffix(".0"))
    data["at"] = data["groove"].astype(str)
    top = float(max(data[new].max(skipna=True) if data[new].notna().any() else 0, data[depth].max())) * 1.12
    grooves = [g for g in GROOVE_NAMES if g in set(data["at"])]
    names = ", ".join(f"'{g}': '{GROOVE_NAMES[g]}'" for g in grooves)
    x = alt.X(
        "at:N",
        sort=grooves,
        title=None,
        scale=alt.Scale(paddingInner=0.18, paddingOuter=0.1, domain=grooves),
        axis=alt.Axis(labelExpr=f"{{{names}}}[datum.value]", labelAngle=0, ticks=False, labelOverlap=False),
    )
    scale = alt.Scale(
        domain=[0, top], nice=False
    ).to_dict()  # plain: Altair copies what is not, time and again

    def panel(position: str, titled: bool) -> Any:
        here = data[data["position"] == position]
        y_title = axis_title("Depth", depth).replace(" of an inch", "") if titled else None
        axis = alt.Axis(tickCount=4, title=y_title, titleFontSize=11).to_dict()
        base = alt.Chart().encode(x=x)
        was = base.mark_bar(color=PALE).encode(y=alt.Y(f"{new}:Q", scale=scale, axis=axis))
        now = base.mark_bar(color=DARK).encode(y=alt.Y(f"{depth}:Q", scale=scale, axis=axis))
        text = base.mark_text(dy=-6, color=INK).encode(
            y=alt.Y(f"{depth}:Q", scale=scale, axis=axis), text="label:N"
        )
        line = (
            alt.Chart(alt.InlineData(values=[{"limit": limit}], name="limit"))
            .mark_rule(color=ACCENT, strokeWidth=2, strokeDash=[5, 3])
            .encode(y=alt.Y("limit:Q", scale=scale, axis=axis))
        )
        return alt.layer(
            was,
            now,
            line,
            text,
            data=here,
            width=width,
            height=height,
            title=alt.TitleParams(named[position].split(", "), fontSize=12, fontWeight="bold"),
        )

    present = set(data["position"])
    rows = []
    for axle in (("LF", "RF"), ("LR", "RR")):
        wheels = [p for p in axle if p in present]
        if wheels:
            rows.append(alt.hconcat(*(panel(p, i == 0) for i, p in enumerate(wheels)), spacing=10))
    unit = "32nds of an inch" if units == "us" else "mm"
    spoken = "; ".join(
        f"{named[p]} "
        + ", ".join(
            f"{g.replace('_', ' ')} {label}" for g, label in zip(part["at"], part["label"], strict=True)
        )
        for p, part in ((p, data[data["position"] == p]) for p in POSITION_NAMES if p in present)
    )
    return finish(
        alt.vconcat(*rows, spacing=10),
        f"Tread depth across the grooves of each wheel, in {unit}. {spoken}. Removal depth {limit:.3g}.",
    )

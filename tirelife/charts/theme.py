"""One quiet look for every chart, as settings on the chart itself; and the check of columns.

The palette is one family of blue-greys in even steps of lightness with one warm tone, so that marks
differ in lightness first and in hue second: they hold in grey print and for colour-blind readers
(``tests/charts/test_theme.py`` simulates both). Nothing here is registered globally.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

import altair as alt
import pandas as pd

from tirelife.captions import WORDS
from tirelife.charts.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import LABELS, SHOWN, convert, split_unit

__all__ = [
    "ACCENT",
    "DARK",
    "INK",
    "LIGHT",
    "MID",
    "PALE",
    "axis_title",
    "column_in",
    "finish",
    "layered",
    "require_columns",
    "rows_by",
    "shown",
]

INK: Final = "#1d2b36"
"""Text, rules and readings."""
DARK: Final = "#2f5871"
"""The likeliest: a median, a 50 % range."""
MID: Final = "#7299ae"
LIGHT: Final = "#b7cdd8"
"""The wider: an 80 % range."""
PALE: Final = "#e3ecf0"
"""Ground, and what is gone."""
ACCENT: Final = "#d08b1d"
"""The one warm tone: the limit, or the thing a sentence points at."""

FONT: Final = "'Source Sans 3', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"


def require_columns(frame: pd.DataFrame, columns: Iterable[str], table: str) -> None:
    """Fail when a frame lacks a column, since a misspelt field otherwise draws an empty chart.

    Raises
    ------
    InputError
        Naming the table and every column that is missing.

    Examples
    --------
    >>> require_columns(pd.DataFrame({"a": [1]}), ["a", "b"], table="readings")
    Traceback (most recent call last):
    ...
    tirelife.errors.InputError: readings lacks b; it has a.
    """
    missing = [name for name in columns if name not in frame.columns]
    if missing:
        has = ", ".join(str(name) for name in frame.columns) or "-"
        raise misused(Wrong.COLUMNS, table=table, missing=", ".join(missing), has=has)


def _target(column: str, units: str) -> tuple[str, str, str] | None:
    """Quantile columns carry the unit before the level: ``km_left_p10``, ``depth_mm``."""
    wanted = SHOWN[units]
    for unit, kind in (("mm", "depth"), ("km", "distance"), ("kpa", "pressure")):
        parts = column.split("_")
        if unit in parts and wanted[kind] != unit:
            at = len(parts) - 1 - parts[::-1].index(unit)
            return "_".join([*parts[:at], wanted[kind], *parts[at + 1 :]]), unit, wanted[kind]
    return None


def shown(frame: pd.DataFrame, units: str) -> pd.DataFrame:
    """Return a copy of a frame in the units people see, with its columns renamed to match.

    Parameters
    ----------
    frame : DataFrame
        Columns in inside units, the unit being a part of the name: ``depth_mm``, ``km_left_p50``.
    units : str
        ``"us"`` (32nds of an inch, miles, psi) or ``"metric"`` (mm, km, kPa).

    Examples
    --------
    >>> shown(pd.DataFrame({"km_left_p50": [16093.44], "depth_mm": [7.9375]}), "us")
       mi_left_p50  depth_32nds
    0      10000.0         10.0
    """
    if units not in SHOWN:
        raise misused(Wrong.UNITS, units=units)
    out = frame.copy()
    for column in frame.columns:
        if target := _target(str(column), units):
            name, old, new = target
            out[column] = convert(out[column].astype(float), old, new)
            out = out.rename(columns={column: name})
    return out


def column_in(column: str, units: str) -> str:
    """Name of an inside column once it is shown.

    Examples
    --------
    >>> column_in("depth_mm", "us")
    'depth_32nds'
    """
    target = _target(column, units)
    return target[0] if target else column


def axis_title(words: str, column: str, say: Mapping[str, str] | None = None) -> str:
    """Axis title with its unit, taken from the column's own name.

    Examples
    --------
    >>> axis_title("Tread depth", "depth_32nds")
    'Tread depth (32nds of an inch)'
    """
    unit = split_unit(column)[1] or next((p for p in column.split("_") if p in LABELS), None)
    plain = {"32nds": WORDS["chart-deep-us"]}.get(unit or "", LABELS.get(unit or "", ""))
    label = plain if say is None else say.get(f"label-{unit}", plain)
    return f"{words} ({label})" if label else words


def rows_by(column: str, data: pd.DataFrame) -> alt.Y:
    """Rows named by a column, in the order of the frame, without a line beside them."""
    axis = alt.Axis(ticks=False, domain=False)
    return alt.Y(f"{column}:N", sort=list(data[column]), title=None, axis=axis)


def layered(*charts: Any, **properties: Any) -> Any:
    """Layer charts that nobody else holds: their marks, channels and rows are kept, not copied.

    Altair copies all of a chart each time that it is put into another, which took half of the drawing.
    """
    for chart in charts:
        for part in (chart["encoding"], chart["mark"], chart["data"]):
            _keep(part)
    _keep(properties.get("data"))
    return alt.layer(*charts, **properties)


def _keep(part: Any) -> None:
    if isinstance(part, alt.SchemaBase):
        object.__setattr__(part, "__deepcopy__", _itself)


def _itself(part: Any) -> Any:
    return part


def finish(chart: Any, description: str, **properties: Any) -> Any:
    """Give the outer chart the look, and the words that a screen reader speaks; return that chart.

    ``description`` goes on the outermost chart: on a layer it is lost. The chart is changed in place, since
    Altair would copy everything in it at each step. A blank ``title`` is none.
    """
    if properties.get("title") == "":
        del properties["title"]
    config = {
        "background": "white",
        "font": FONT,
        # A reader of the screen hears the description; the marks' own labels would be columns of the frame.
        "mark": {"aria": False},
        "view": {"stroke": None},
        "axis": {
            "aria": False,
            "labelColor": INK,
            "titleColor": INK,
            "labelFontSize": 11,
            "titleFontSize": 11,
            "titleFontWeight": "normal",
            "gridColor": "#e6e9eb",
            "domainColor": "#8b979f",
            "tickColor": "#8b979f",
            "labelLimit": 400,
        },
        "header": {
            "labelColor": INK,
            "labelFontSize": 12,
            "labelFontWeight": "bold",
            "labelAnchor": "start",
            "title": None,
        },
        "text": {"color": INK, "fontSize": 11},
        "title": {"color": INK, "fontSize": 13, "anchor": "start", "fontWeight": "bold"},
        "legend": {"labelColor": INK, "titleColor": INK, "labelFontSize": 11, "titleFontSize": 11},
    }
    for name, value in {"description": description, "config": config, "padding": 2, **properties}.items():
        chart[name] = value
    return chart

"""The page's charts as Vega-Lite specifications, here or in a process that has Altair ready by then."""

from __future__ import annotations

import json
import subprocess
import sys
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, Final, cast

import pandas as pd

from tirelife import charts
from tirelife.captions import time_locale
from tirelife.errors import unfit
from tirelife.sheet import words
from tirelife.sheet.language import texts
from tirelife.sheet.wrong import Wrong

if TYPE_CHECKING:
    from tirelife.sheet.answer import Answer

_DRAWN = (
    "units", "as_of", "removal_mm", "depths", "tires", "overall", "readings", "band", "causes", "changes",
    "language",
)  # fmt: skip
"""What the charts are drawn from."""
__all__ = [
    "LEAST_KM",
    "NARROW",
    "finish_drawing",
    "specifications",
    "window_rows",
    "worthwhile",
]


NARROW: Final = "-narrow"
"""What is added to a chart's name where it is drawn for a phone."""

LEAST_KM: Final = 80.0
"""A change that buys less than this, 50 miles, is not said to help; our choice. [km]"""


def specifications(answer: Answer) -> dict[str, Any]:
    """Return every chart that can be drawn, as plain data, by the id of its place in the page.

    Each is drawn twice, for a screen or paper and for a phone (its id ends in :data:`NARROW`), so that text
    keeps its size on both.
    """
    say = texts(answer.language)
    out: dict[str, Any] = {}
    windows = window_rows(answer)
    known = windows[windows["date_p90"].notna()]  # a range with an end too far ahead for a date has no bar
    if len(known):
        latest = known["date_p90"].max()
        # Room to the right, so that a slider can move the bars.
        until = latest + (latest - answer.as_of) * 0.25
        out["windows"] = charts.replacement_windows(
            known, answer.as_of, until, width=_calendar(known), step=18, say=say
        )
        out["windows" + NARROW] = charts.replacement_windows(
            known, answer.as_of, until, width=300, step=56, above=True, say=say
        )
    if answer.depths.duplicated("position").any():  # one groove a wheel is no section: the table says it
        for tail, width, height in (("", 134, 56), (NARROW, 118, 74)):
            out["profiles" + tail] = charts.tread_profiles(
                answer.depths, answer.removal_mm, answer.units, width=width, height=height, say=say
            )
    if len(answer.readings):
        for tail, width, height in (("", 130, 84), (NARROW, 112, 100)):
            out["paths" + tail] = charts.depth_path(
                answer.readings,
                answer.band,
                answer.removal_mm,
                answer.units,
                columns=2,
                width=width,
                height=height,
                say=say,
            )
    if len(answer.causes):
        for tail, width, step in (("", 150, 15), (NARROW, 96, 20)):
            out["causes" + tail] = charts.wear_causes(answer.causes, width=width, step=step, say=say)
    helps = answer.changes[worthwhile(answer.changes)] if len(answer.changes) else answer.changes
    if len(helps):
        for tail, width, step in (("", 330, 30), (NARROW, 300, 48)):
            out["changes" + tail] = charts.change_pairs(helps, answer.units, width=width, step=step, say=say)
    # Held to the grammar's schema in the tests; on each page that would take a third of the drawing.
    specs = {name: chart.to_dict(validate=False) for name, chart in out.items()}
    for spec in specs.values():
        spec["config"]["locale"] = time_locale(say, answer.units)
    return specs


def _calendar(windows: pd.DataFrame) -> int:
    """Width that the words at both sides of the calendar leave it on a sheet of 717 px. [px]"""
    words = sum(int(windows[name].str.len().max()) for name in ("label", "said"))
    return max(200, min(425, 690 - 6 * words))


def window_rows(answer: Answer) -> pd.DataFrame:
    """Rows of the calendar: the set first, then each tire."""
    say = texts(answer.language)
    levels = [f"date_p{level}" for level in (10, 25, 50, 75, 90)]
    rows: list[Any] = [{"label": say["try-first"], **{c: answer.overall.get(c, pd.NaT) for c in levels}}]
    rows += answer.tires[["label", *levels]].to_dict("records")
    out = pd.DataFrame(rows)
    out["said"] = [
        words.date_range(low, high, say) for low, high in zip(out["date_p10"], out["date_p90"], strict=True)
    ]
    return out


def worthwhile(changes: pd.DataFrame) -> pd.Series:
    """Which changes buy at least :data:`LEAST_KM` in the middle of their range."""
    return changes["after_km"] - changes["before_km"] >= LEAST_KM


def finish_drawing(started: subprocess.Popen[bytes], answer: Answer) -> dict[str, Any]:
    """Have an answer drawn by the process of :func:`tirelife.sheet.start_drawing`.

    Raises
    ------
    FitError
        If it failed; the message carries its last line.
    """
    drawn, trouble = started.communicate(_packed(answer).encode())
    if started.returncode != 0:
        last = trouble.decode(errors="replace").strip().splitlines()[-1:] or ["no message"]
        raise unfit(Wrong.NOT_DRAWN, why=last[0])
    specs: dict[str, Any] = json.loads(drawn)
    return specs


def _packed(answer: Answer) -> str:
    """Set what the charts need of an answer as text: nothing that is run where it is read."""

    def plain(value: Any) -> Any:
        if isinstance(value, pd.DataFrame):
            shown = [name for name in value if name != "notes"]  # words are the page's, not the charts'
            columns = [[str(name), str(value[name].dtype), plain(value[name].tolist())] for name in shown]
            return {"rows": len(value), "columns": columns}
        if isinstance(value, dict):
            return {name: plain(one) for name, one in value.items()}
        if isinstance(value, list):
            return [plain(one) for one in value]
        if value is pd.NaT:
            return {"day": None}
        if isinstance(value, pd.Timestamp):
            return {"day": value.isoformat()}
        return value.item() if hasattr(value, "item") else value

    return json.dumps({name: plain(getattr(answer, name)) for name in _DRAWN})


def _unpacked(text: str) -> Answer:
    def back(value: Any) -> Any:
        if isinstance(value, list):
            return [back(one) for one in value]
        if not isinstance(value, dict):
            return value
        if list(value) == ["day"]:
            return pd.NaT if value["day"] is None else pd.Timestamp(value["day"])
        if list(value) == ["rows", "columns"]:
            columns = {name: pd.Series(back(cells), dtype=kind) for name, kind, cells in value["columns"]}
            return pd.DataFrame(columns, index=pd.RangeIndex(value["rows"]))
        return {name: back(one) for name, one in value.items()}

    # Not an Answer: that would import all that makes one.
    held: Any = SimpleNamespace(**{name: back(value) for name, value in json.loads(text).items()})
    return cast("Answer", held)


def _serve() -> None:
    # Half of Altair's import is a parser of addresses that jsonschema takes along where it finds one; nothing
    # here has an address to check, and this process does nothing else.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    from altair.utils.schemapi import debug_mode  # this is what takes the time

    for name in dir(charts):  # loaded before the answer is there
        getattr(charts, name)
    answer = _unpacked(sys.stdin.buffer.read().decode())
    with debug_mode(False):  # nor each part of a chart as it is made
        sys.stdout.write(json.dumps(specifications(answer)))


if __name__ == "__main__":
    _serve()

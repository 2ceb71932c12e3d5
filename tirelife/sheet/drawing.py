"""The page's charts as Vega-Lite specifications, here or in a process that has Altair ready by then."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from itertools import chain
from types import SimpleNamespace
from typing import IO, TYPE_CHECKING, Any, Final, cast

import pandas as pd

from tirelife import charts
from tirelife.captions import time_locale
from tirelife.errors import unfit
from tirelife.sheet import words
from tirelife.sheet.language import texts
from tirelife.sheet.wrong import Wrong

if TYPE_CHECKING:
    from tirelife.sheet.answer import Answer

__all__ = [
    "LEAST_KM",
    "NARROW",
    "begin_drawing",
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
    return {name: spec for draw in _CHARTS for name, spec in _plain_specs(answer, draw).items()}


def _plain_specs(answer: Answer, draw: Callable[[Answer], dict[str, Any]]) -> dict[str, Any]:
    # Held to the grammar's schema in the tests; on each page that would take a third of the drawing.
    specs = {name: chart.to_dict(validate=False) for name, chart in draw(answer).items()}
    for spec in specs.values():
        spec["config"]["locale"] = time_locale(texts(answer.language), answer.units)
    return specs


def _windows(answer: Answer) -> dict[str, Any]:
    say, windows = texts(answer.language), window_rows(answer)
    known = windows[windows["date_p90"].notna()]  # a range with an end too far ahead for a date has no bar
    if not len(known):
        return {}
    latest = known["date_p90"].max()
    # Room to the right, so that a slider can move the bars.
    until = latest + (latest - answer.as_of) * 0.25
    return {
        "windows": charts.replacement_windows(
            known, answer.as_of, until, width=_calendar(known), step=18, say=say
        ),
        "windows" + NARROW: charts.replacement_windows(
            known, answer.as_of, until, width=300, step=56, above=True, say=say
        ),
    }


def _profiles(answer: Answer) -> dict[str, Any]:
    if not answer.depths.duplicated("position").any():  # one groove a wheel is no section: the table says it
        return {}
    say = texts(answer.language)
    return {
        "profiles" + tail: charts.tread_profiles(
            answer.depths, answer.removal_mm, answer.units, width=width, height=height, say=say
        )
        for tail, width, height in (("", 134, 56), (NARROW, 118, 74))
    }


def _paths(answer: Answer) -> dict[str, Any]:
    if not len(answer.readings):
        return {}
    say = texts(answer.language)
    return {
        "paths" + tail: charts.depth_path(
            answer.readings, answer.band, answer.removal_mm, answer.units,
            columns=2, width=width, height=height, say=say,
        )
        for tail, width, height in (("", 130, 84), (NARROW, 112, 100))
    }  # fmt: skip


def _causes(answer: Answer) -> dict[str, Any]:
    if not len(answer.causes):
        return {}
    say = texts(answer.language)
    return {
        "causes" + tail: charts.wear_causes(answer.causes, width=width, step=step, say=say)
        for tail, width, step in (("", 150, 15), (NARROW, 96, 20))
    }


def _changes(answer: Answer) -> dict[str, Any]:
    helps = answer.changes[worthwhile(answer.changes)] if len(answer.changes) else answer.changes
    if not len(helps):
        return {}
    say = texts(answer.language)
    return {
        "changes" + tail: charts.change_pairs(helps, answer.units, width=width, step=step, say=say)
        for tail, width, step in (("", 330, 30), (NARROW, 300, 48))
    }


_CHARTS: Final[dict[Callable[[Answer], dict[str, Any]], tuple[str, ...]]] = {
    _windows: ("as_of", "tires", "overall"),
    _profiles: ("depths", "removal_mm"),
    _paths: ("readings", "band", "removal_mm"),
    _causes: ("causes",),
    _changes: ("changes",),
}
"""What draws the charts, in the order of the page, and what each is drawn from beside units and language."""
_DRAWN: Final = tuple(dict.fromkeys(["units", "language", *chain.from_iterable(_CHARTS.values())]))
"""Attributes of an answer that the charts are drawn from."""


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


def begin_drawing(started: subprocess.Popen[bytes], known: Mapping[str, Any]) -> None:
    """Let the process of :func:`tirelife.sheet.start_drawing` draw what it can of an answer not yet whole.

    ``known``: some attributes of the :class:`Answer`, units and language among them, as they will be.
    """
    with contextlib.suppress(OSError):  # one that has ended is told by what finishes it
        pipe = cast("IO[bytes]", started.stdin)
        pipe.write(_packed(known))
        pipe.flush()


def finish_drawing(started: subprocess.Popen[bytes], answer: Answer) -> dict[str, Any]:
    """Have an answer drawn by the process of :func:`tirelife.sheet.start_drawing`.

    Raises
    ------
    FitError
        If it failed; the message carries its last line.
    """
    drawn, trouble = started.communicate(_packed({name: getattr(answer, name) for name in _DRAWN}))
    if started.returncode != 0:
        last = trouble.decode(errors="replace").strip().splitlines()[-1:] or ["no message"]
        raise unfit(Wrong.NOT_DRAWN, why=last[0])
    specs: dict[str, Any] = json.loads(drawn)
    return specs


def _packed(known: Mapping[str, Any]) -> bytes:
    """Set some of what the charts need as a line of text: nothing that is run where it is read."""

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

    return json.dumps({name: plain(value) for name, value in known.items()}).encode() + b"\n"


def _unpacked(line: bytes) -> dict[str, Any]:
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

    return {name: back(value) for name, value in json.loads(line).items()}


def _serve() -> None:
    # Half of Altair's import is a parser of addresses that jsonschema takes along where it finds one; nothing
    # here has an address to check, and this process does nothing else.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    from altair.utils.schemapi import debug_mode  # this is what takes the time

    for name in dir(charts):  # loaded before the answer is there
        getattr(charts, name)
    # Not an Answer: that would import all that makes one.
    held: Any = SimpleNamespace()
    drawn: dict[Any, dict[str, Any]] = {}
    with debug_mode(False):  # nor each part of a chart as it is made
        for line in sys.stdin.buffer:
            vars(held).update(_unpacked(line))
            for draw, needs in _CHARTS.items():
                if draw not in drawn and all(hasattr(held, name) for name in needs):
                    drawn[draw] = _plain_specs(held, draw)
    specs = {name: spec for draw in _CHARTS for name, spec in drawn[draw].items()}
    sys.stdout.write(json.dumps(specs))


if __name__ == "__main__":
    _serve()

"""The counter's page: one file with the shop's own fit in it, which answers with no Python and no network."""

from __future__ import annotations

import base64
import hashlib
import json
from html import escape
from importlib import import_module
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from tirelife.advice import rules
from tirelife.language import LANGUAGES
from tirelife.logbook import GAUGE_TOLERANCE
from tirelife.logbook.sheets import ORIGIN_HEAD, log_mark, origin_of, template_rows
from tirelife.outlook import HORIZON_YEARS, PROBABILITIES, counter_tables, slip_rule
from tirelife.sheet.cautions import cautions
from tirelife.sheet.drawing import LEAST_KM
from tirelife.sheet.language import scripted, texts
from tirelife.sheet.quantities import label
from tirelife.sheet.scripts import script
from tirelife.tread import NEAR_MM, removal_depth, removal_depths
from tirelife.units import INCH_32ND_MM, SHOWN, convert

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tirelife.logbook import Logbook
    from tirelife.rates import FitVerdict, Prior

__all__ = ["COUNTER", "counter_page", "page_tables"]

COUNTER: Final = ("draws", "decide", "words", "slips", "counter_model", "counter_store", "counter_page")
"""Pieces of the page's script, in the order in which they lean on one another."""
OLD_DAYS: Final = 90
"""From this age on the page asks for a newer one; our choice."""
DEEPEST_MM: Final = 25.0
"""No tread that is read here is deeper, as for every walk-in. [mm]"""
DEEPEST_NEW_MM: Final = 16 * INCH_32ND_MM
"""Deepest new tread of a car or a light truck, where no new depth is told: 16/32 in; common practice, no
source. [mm]"""
LEAST_SINCE_KM: Final = 1000.0
"""A visit less than this ago says next to nothing of a rate; our choice. [km]"""
DIGITS: Final = 9


def counter_page(
    prior: Prior | None = None,
    book: Logbook | None = None,
    verdict: FitVerdict | None = None,
    *,
    units: str = "us",
    language: str = "en",
    made: pd.Timestamp | None = None,
    cars: Mapping[str, Any] | None = None,
) -> str:
    """Make the page.

    Parameters
    ----------
    prior : Prior, optional
        What the shop's fit learned, or a saved fit; published figures by default.
    book : Logbook, optional
        That it was fitted to: its date, its size, and new depths of its lines. No visit is in the page, and
        without ``cars`` no plate or name.
    verdict : FitVerdict, optional
        On that fit. A refused fit's page answers from ``prior``, which is then what was held before it.
    units : {"us", "metric"}
        What the page opens in.
    language : str
        What it opens in; it can be changed on the page.
    made : Timestamp, optional
        Day that the page's age counts from: the log's last day, or today.
    cars : mapping, optional
        From :func:`tirelife.outlook.returning.car_tables`: the shop's cars, by name, with what is known of
        their tires. Without it no plate is in the page.

    Returns
    -------
    str
        HTML.
    """
    tables = page_tables(prior, book, verdict, units=units, made=made, cars=cars)
    code = script(*COUNTER)
    room = files("tirelife.sheet")
    css = (room / "counter.css").read_text(encoding="utf-8")
    policy = (
        f"default-src 'none'; script-src '{_digest(code)}'; style-src '{_digest(css)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    words = tables["words"][language]["counter"]
    # A closing tag in a text would end the block that holds it.
    data = json.dumps(tables, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return Template((room / "counter.html").read_text(encoding="utf-8")).substitute(
        language=escape(language),
        policy=policy,
        title=escape(words["title"]),
        css=css,
        tables=data,
        script=code,
    )


def page_tables(
    prior: Prior | None = None,
    book: Logbook | None = None,
    verdict: FitVerdict | None = None,
    *,
    units: str = "us",
    made: pd.Timestamp | None = None,
    cars: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Everything that the page's script reads: numbers, rules, limits and words."""
    day = made if made is not None else book.as_of if book is not None else pd.Timestamp.now()
    tables: dict[str, Any] = _rounded(counter_tables(prior, book, cars))
    kind = "fit" if book is not None else "published" if prior is None else "prior"
    fit = {
        "kind": kind,
        "day": f"{day:%Y-%m-%d}",
        "trust": "good" if verdict is None else verdict.trust.value,
        "readings": 0 if book is None else len(book.depths),
        "tires": 0 if book is None else int(book.tires["tire_id"].nunique()),
    }
    return tables | {
        "fit": fit,
        "shop": origin_of("" if book is None else log_mark(book)),
        "units": units,
        "per": {name: {k: float(convert(1.0, shown[k], inside)) for k, inside in _INSIDE.items()}
                for name, shown in SHOWN.items()},
        "rules": rules(),
        "limits": _limits(),
        "places": {"us": "US", "metric": "EU"},
        "words": {name: _words(name) for name in LANGUAGES},
        "heads": {name: _heads(name) for name in SHOWN},
        "slips": _rounded(slip_rule(book)),
        "near_mm": NEAR_MM,
        "tolerance_mm": GAUGE_TOLERANCE,
        "deepest_mm": DEEPEST_MM,
        "deepest_new_mm": DEEPEST_NEW_MM,
        "least_km": LEAST_KM,
        "least_since_km": LEAST_SINCE_KM,
        "probabilities": list(PROBABILITIES),
        "horizon_days": HORIZON_YEARS * 365.25,
        "old_days": OLD_DAYS,
    }  # fmt: skip


_INSIDE: Final = {"depth": "mm", "distance": "km", "pressure": "kpa"}


def _heads(units: str) -> list[str]:
    """Header of the exported visits: that of the empty sheet, which imports without a question."""
    head = template_rows(units)[0]
    kept = [name for name in head if "pressure" not in name and name not in ("Driver", "Work done")]
    return [*kept, "Drive", "Work done", ORIGIN_HEAD]


def _words(language: str) -> dict[str, Any]:
    said = import_module(f"tirelife.sheet.language.counter_{language}")
    say = texts(language)
    labels = {name: {kind: label(unit, say) for kind, unit in shown.items()} for name, shown in SHOWN.items()}
    return {
        "counter": dict(said.TEXTS),
        "pages": scripted(say),
        "labels": labels,
        "cautions": {name: list(cautions(name, say)) for name in SHOWN},
    }


def _limits() -> dict[str, list[list[Any]]]:
    """Removal depths of cars by place: [from month-day, front, rear], a row where they change."""
    table = removal_depths()
    places = sorted(table.loc[table["vehicles"].isin(["car", "any"]), "place"].unique())
    out: dict[str, list[list[Any]]] = {}
    for place in places:
        within = table["place"].map(lambda name, place=place: f"{place}/".startswith(f"{name}/"))
        ends = {day for name in ("season_from", "season_to") for day in table.loc[within, name] if day}
        after = {f"{pd.Timestamp(f'2028-{d}') + pd.Timedelta(days=1):%m-%d}" for d in ends}
        turns = {"01-01"} | ends | after
        rows: list[list[Any]] = []
        for day in sorted(turns):
            on = pd.Timestamp(f"2028-{day}")
            front, rear = (
                removal_depth(place, axle, on, limits=table).depth_mm for axle in ("front", "rear")
            )
            if front == front and (not rows or rows[-1][1:] != [front, rear]):
                rows.append([day, front, rear])
        if rows:
            out[str(place)] = rows
    return out


def _digest(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _rounded(value: Any) -> Any:
    """The same with every number to so many digits: the page gets smaller, and no answer moves."""
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_rounded(one) for one in value]
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value

"""A vehicle's pressures in words: a part of a page, and the lines of a command."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.inflation import PressureNote
from tirelife.sheet.language import texts, upper_first
from tirelife.sheet.quantities import label, places, written
from tirelife.sheet.words import full_date
from tirelife.units import SHOWN, convert

__all__ = ["caution", "note_words", "pressure_part", "pressure_rows"]


def caution(language: str = "en") -> str:
    """What every answer on pressures ends with; a page says it among what to note."""
    return texts(language)["air-caution"]


def note_words(note: Note, units: str, language: str = "en") -> str:
    """Say one note on pressures.

    Examples
    --------
    >>> note_words(Note(PressureNote.LEAKS, Severity.URGENT, (("loss_kpa_per_month", 24.8),)), "us")
    'loses 3.6 psi a month: have the tire, its valve and wheel inspected before it is driven far'
    """
    say = texts(language)
    if note.code is PressureNote.LEAKS:
        far = "-far" if note.severity is Severity.URGENT else ""
        return say[f"air-leaks{far}"].format(
            loss=shown(float(str(note.value("loss_kpa_per_month"))), units, say)
        )
    if note.code is PressureNote.PLACARD_ASSUMED:
        return say[f"air-{note.code}"].format(
            placard=shown(float(str(note.value("placard_kpa"))), units, say)
        )
    return say[f"air-{note.code}"]


def shown(kpa: float, units: str, say: Mapping[str, str] | None = None) -> str:
    """Write a pressure in the logbook's units; a dash where it is not known."""
    unit = SHOWN[units]["pressure"]
    if kpa != kpa:
        return "–"
    said = places(float(convert(kpa, "kpa", unit)), 1 if unit == "psi" else 0)
    return f"{written(said, units, say)} {label(unit, say)}"


def pressure_rows(
    summary: pd.DataFrame, units: str
) -> tuple[tuple[str, ...], list[tuple[str, ...]], list[str]]:
    """Headings and cells of a table for a terminal, the most urgent tire first, and what asks for a look.

    Parameters
    ----------
    summary : DataFrame
        Rows of :func:`tirelife.inflation.pressure_summary`.
    units : str
        ``us`` or ``metric``.
    """
    say, unit = texts(), label(SHOWN[units]["pressure"])
    rows, notes = [], []
    urgent = summary["notes"].map(lambda said: -max((note.severity for note in said), default=0))
    order = summary.assign(urgent=urgent).sort_values(
        ["urgent", "shortfall_kpa"], ascending=[True, False], kind="stable"
    )
    for row in order.to_dict("records"):
        names = ("last_kpa", "placard_kpa", "hot_target_kpa", "shortfall_kpa", "leak_kpa_per_month")
        cells = [shown(float(row[name]), units).removesuffix(f" {unit}") for name in names]
        days = "–" if row["days_low"] != row["days_low"] else f"{row['days_low']:,.0f}"
        life = "–" if row["life_share"] != row["life_share"] else f"{100 * row['life_share']:.0f}"
        rows.append((row["vehicle_id"], say[row["position"]], *cells, days, life))
        said = [note_words(note, units) for note in row["notes"] if note.severity > Severity.NOTE]
        notes += [f"{row['vehicle_id']} {say[row['position']]}: {text}" for text in said]
    notes += [say["air-no-placard"]] if _unstated(summary) else []
    heads = (
        "vehicle", "wheel", f"last, cold,\n{unit}", f"placard,\n{unit}", f"if set hot,\n{unit}",
        f"ran below\nby, {unit}", f"lost a\nmonth, {unit}", "days\nlow", "life,\n%",
    )  # fmt: skip
    return heads, rows, notes


def _unstated(summary: pd.DataFrame) -> bool:
    """Whether any tire is compared with a placard that the log does not state."""
    return any(note.code is PressureNote.PLACARD_ASSUMED for notes in summary["notes"] for note in notes)


def pressure_part(summary: pd.DataFrame, units: str, order: str = "mdy", language: str = "en") -> str:
    """Part of a page: what to set each tire to, how far below it ran, and what asks for a look.

    Parameters
    ----------
    summary : DataFrame
        Rows of one vehicle, of :func:`tirelife.inflation.pressure_summary`.
    units, order, language : str
        As of the page: ``us`` or ``metric``, order of day, month and year, ``en`` or ``es``.

    Returns
    -------
    str
        HTML; empty where no pressure was ever read.
    """
    read = summary[summary["last_date"].notna()]
    if read.empty:
        return ""
    say = texts(language)
    days = read["last_date"].dt.normalize().unique()
    once = f", {full_date(days[0], order, say)}" if len(days) == 1 else ""
    heads = [say[f"air-{name}"] for name in ("wheel", "placard", "hot", "last", "below", "days")]
    heads[3] += once
    rows = [
        (
            upper_first(say[row["position"]]),
            *(shown(float(row[name]), units, say) for name in ("placard_kpa", "hot_target_kpa")),
            shown(float(row["last_kpa"]), units, say)
            + ("" if once else f", {full_date(row['last_date'], order, say)}"),
            shown(float(row["shortfall_kpa"]), units, say),
            "–" if row["days_low"] != row["days_low"] else written(places(row["days_low"], 0), units, say),
        )
        for row in read.to_dict("records")
    ]
    head = "".join(f'<th scope="col">{escape(word)}</th>' for word in heads)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    told = [
        f"<li>{escape(upper_first(say[row['position']]))} {escape(note_words(note, units, language))}.</li>"
        for row in read.to_dict("records")
        for note in row["notes"]
        if note.severity > Severity.NOTE
    ]
    told += [f"<li>{escape(say['air-no-placard'])}</li>"] if _unstated(read) else []
    listed = f"<ul>{''.join(told)}</ul>" if told else ""
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    return table + listed

"""A vehicle's pressures in words: a part of a page, and the lines of a command."""

from __future__ import annotations

from html import escape
from typing import Final

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.inflation import PressureNote
from tirelife.units import LABELS, SHOWN, convert

__all__ = ["CAUTION", "note_words", "pressure_lines", "pressure_part"]

CAUTION: Final = "Set pressures cold, to the placard. Never bleed a hot tire."
_WORDS: Final = {
    PressureNote.RAN_FLAT: "has run more than 25 % low: have it looked at inside and out before relying "
    "on it",
    PressureNote.LOW: "has run low: set it to the placard when cold, and check it monthly",
    PressureNote.HIGH: "has run above the placard: correct it when cold, never by bleeding a hot tire",
    PressureNote.NO_DISTANCE: "has run no distance on the road, so there is nothing to weigh",
    PressureNote.MOSTLY_ASSUMED: "most of its distance has no reading on both sides: pressures there "
    "are assumed",
    PressureNote.BEYOND_PUBLISHED: "its effect on life is extrapolated beyond the published 17 to 35 psi "
    "(117 to 241 kPa)",
    PressureNote.HIGH_UNKNOWN: "no effect of over-inflation on life is published: counted as none",
}


def note_words(note: Note, units: str) -> str:
    """Say one note on pressures.

    Examples
    --------
    >>> note_words(Note(PressureNote.LEAKS, Severity.URGENT, (("loss_kpa_per_month", 24.8),)), "us")
    'loses 3.6 psi a month: have the tire, its valve and wheel inspected before it is driven far'
    """
    if note.code is PressureNote.LEAKS:
        far = " before it is driven far" if note.severity is Severity.URGENT else ""
        loss = shown(float(str(note.value("loss_kpa_per_month"))), units)
        return f"loses {loss} a month: have the tire, its valve and wheel inspected{far}"
    return _WORDS[PressureNote(note.code)]


def shown(kpa: float, units: str) -> str:
    """Write a pressure in the logbook's units; a dash where it is not known."""
    unit = SHOWN[units]["pressure"]
    if kpa != kpa:
        return "–"
    value = float(convert(kpa, "kpa", unit))
    return f"{value:.1f} {LABELS[unit]}" if unit == "psi" else f"{value:.0f} {LABELS[unit]}"


def pressure_lines(summary: pd.DataFrame, units: str) -> list[str]:
    """Lines for a terminal, a tire each with its notes below.

    Parameters
    ----------
    summary : DataFrame
        Rows of :func:`tirelife.inflation.pressure_summary`.
    units : str
        ``us`` or ``metric``.
    """
    lines = [
        f"{'vehicle':<9}{'tire':<10}{'at':<5}{'last cold':>10}{'placard':>10}{'set hot':>10}{'below by':>10}"
        f"{'days low':>10}{'a month':>10}{'life':>7}"
    ]
    for row in summary.to_dict("records"):
        cells = [
            shown(float(row[name]), units)
            for name in ("last_kpa", "placard_kpa", "hot_target_kpa", "shortfall_kpa")
        ]
        leak = shown(float(row["leak_kpa_per_month"]), units)
        days = "–" if row["days_low"] != row["days_low"] else f"{row['days_low']:,.0f}"
        life = "–" if row["life_share"] != row["life_share"] else f"{row['life_share']:.0%}"
        lines.append(
            f"{row['vehicle_id']:<9}{row['tire_id']:<10}{row['position']:<5}"
            + "".join(f"{cell:>10}" for cell in (*cells, days, leak))
            + f"{life:>7}"
        )
        lines += [f"    {note_words(note, units)}" for note in row["notes"]]
    return lines


def pressure_part(summary: pd.DataFrame, units: str) -> str:
    """Part of a page: what to set each tire to, how far below it ran, and what asks for a look.

    Parameters
    ----------
    summary : DataFrame
        Rows of one vehicle, of :func:`tirelife.inflation.pressure_summary`.
    units : str

    Returns
    -------
    str
        HTML; empty where no pressure was ever read.
    """
    read = summary[summary["last_date"].notna()]
    if read.empty:
        return ""
    heads = ("Wheel", "Placard, cold", "If set hot", "Last reading", "Ran below by", "Days over 10 % low")
    rows = [
        (
            str(row["position"]),
            *(shown(float(row[name]), units) for name in ("placard_kpa", "hot_target_kpa")),
            f"{shown(float(row['last_kpa']), units)}, {row['last_date']:%Y-%m-%d}",
            shown(float(row["shortfall_kpa"]), units),
            "–" if row["days_low"] != row["days_low"] else f"{row['days_low']:,.0f}",
        )
        for row in read.to_dict("records")
    ]
    head = "".join(f'<th scope="col">{escape(word)}</th>' for word in heads)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    told = [
        f"<li>{escape(str(row['position']))} {escape(note_words(note, units))}.</li>"
        for row in read.to_dict("records")
        for note in row["notes"]
        if note.severity > Severity.NOTE
    ]
    listed = f"<ul>{''.join(told)}</ul>" if told else ""
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    return f"{table}{listed}<p>{escape(CAUTION)}</p>"

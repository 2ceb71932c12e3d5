"""Pressures in words, by hand: what is urgent first, what is not known a dash, one day said once."""

import re

import numpy as np
import pandas as pd
import pytest

from tirelife.codes import Note, Severity
from tirelife.inflation import PressureNote
from tirelife.sheet.language import texts
from tirelife.sheet.pressures import note_words, pressure_part, pressure_rows, shown

PSI = 6.894757293168
DAY = pd.Timestamp("2026-09-30 08:15")


def leak(psi, severity=Severity.URGENT):
    return Note(PressureNote.LEAKS, severity, (("loss_kpa_per_month", psi * PSI),))


ASSUMED = Note(PressureNote.PLACARD_ASSUMED, Severity.NOTE, (("placard_kpa", 33 * PSI),))


def row(position="LF", *notes, **changes):
    return {
        "vehicle_id": "V1", "position": position, "last_kpa": 30.04 * PSI, "placard_kpa": 33 * PSI, "hot_target_kpa": 37 * PSI,
        "shortfall_kpa": 2 * PSI, "leak_kpa_per_month": np.nan, "days_low": 1234.4, "life_share": 0.956, "last_date": DAY,
        "notes": notes,
    } | changes  # fmt: skip


def summary(*rows):
    return pd.DataFrame(list(rows))


def test_pressures_are_to_the_tenth_of_a_psi_and_whole_in_kpa():
    assert shown(30.04 * PSI, "us") == "30.0 psi"
    assert shown(30.06 * PSI, "us") == "30.1 psi"
    assert shown(230.5, "metric") == "231 kPa"
    assert shown(np.nan, "us") == "–"


def test_a_leak_says_how_fast_and_that_it_is_looked_at_before_a_drive_where_it_is_urgent():
    assert note_words(leak(3.62), "us").startswith("loses 3.6 psi a month: have the tire")
    assert "before it is driven far" in note_words(leak(3.62), "us")
    assert "before it is driven far" not in note_words(leak(3.62, Severity.WARNING), "us")
    assert "33.0 psi" in note_words(ASSUMED, "us")
    for code in PressureNote:
        if code not in (PressureNote.LEAKS, PressureNote.PLACARD_ASSUMED):
            assert note_words(Note(code), "us") == texts()[f"air-{code}"]


def test_rows_stand_by_urgency_then_by_how_far_below_the_placard_they_ran():
    told = summary(
        row("LF", shortfall_kpa=1.0), row("RF", shortfall_kpa=9.0), row("LR", leak(1, Severity.WARNING), shortfall_kpa=0.0),
        row("RR", leak(4), ASSUMED, shortfall_kpa=5.0),
    )  # fmt: skip
    heads, rows, notes = pressure_rows(told, "us")
    assert [one[1] for one in rows] == ["right rear", "left rear", "right front", "left front"]
    assert len(heads) == len(rows[0]) == 9
    assert [note.split(":")[0] for note in notes[:2]] == ["V1 right rear", "V1 left rear"]
    # What is only worth knowing has no line; that a placard is not stated is said once, last.
    assert notes[2:] == [texts()["air-no-placard"]]
    assert pressure_rows(told[:2], "us")[2] == []


def test_cells_carry_no_unit_and_a_dash_where_nothing_is_known():
    _, rows, _ = pressure_rows(summary(row()), "us")
    assert rows[0] == ("V1", "left front", "30.0", "33.0", "37.0", "2.0", "–", "1,234", "96")
    _, rows, _ = pressure_rows(summary(row(days_low=np.nan, life_share=np.nan)), "metric")
    assert rows[0] == ("V1", "left front", "207", "228", "255", "14", "–", "–", "–")


def cells(html):
    return [re.findall(r"<td>(.*?)</td>", line) for line in re.findall(r"<tr>(?!<th)(.*?)</tr>", html)]


def test_a_part_of_a_page_says_one_day_in_its_head_and_several_by_tire():
    once = pressure_part(summary(row(), row("RF", last_date=DAY + pd.Timedelta(hours=2))), "us")
    assert once.count("September 30, 2026") == 1
    assert re.findall(r"<th[^>]*>([^<]*)</th>", once)[3] == f"{texts()['air-last']}, September 30, 2026"
    assert cells(once)[0] == ["Left front", "33.0 psi", "37.0 psi", "30.0 psi", "2.0 psi", "1,234"]
    twice = pressure_part(summary(row(), row("RF", last_date=DAY + pd.Timedelta(days=1))), "us", "dmy")
    assert [one[3] for one in cells(twice)] == ["30.0 psi, 30 September 2026", "30.0 psi, 1 October 2026"]


def test_a_tire_whose_pressure_was_never_read_has_no_row_and_none_no_part():
    never = row("RF", leak(4), last_date=pd.NaT)
    html = pressure_part(summary(row(days_low=np.nan), never), "us")
    assert [one[0] for one in cells(html)] == ["Left front"]
    assert cells(html)[0][-1] == "–"
    assert "<ul>" not in html
    assert pressure_part(summary(never), "us") == ""


def test_what_asks_for_a_look_is_listed_as_text_and_a_placard_that_is_not_stated_once():
    html = pressure_part(summary(row("LF", leak(4), ASSUMED), row("RF", ASSUMED)), "us")
    assert html.count("<li>") == 2
    assert "<li>Left front loses 4.0 psi a month" in html
    assert html.endswith("</li></ul>")


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_note_has_words(language):
    for code in PressureNote:
        note = Note(code, Severity.WARNING, (("loss_kpa_per_month", 1.0), ("placard_kpa", 230.0)))
        assert note_words(note, "metric", language)

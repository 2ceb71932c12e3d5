"""Pressures for a program and in lines: units, order, and what asks for a look."""

import pandas as pd

from tests.tread.books import EVEN, make_book, read_depths
from tirelife.codes import Note, Severity
from tirelife.inflation import PressureNote
from tirelife.logbook import GROOVES
from tirelife.terminal.pressures import pressure_answer, pressure_text
from tirelife.units import convert

PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1000  # kPa, exact by definition


def summary():
    """Two tires: one near its placard, one that leaks."""
    leak = Note(PressureNote.LEAKS, Severity.URGENT, (("loss_kpa_per_month", 4 * PSI),))
    aside = Note(PressureNote.MOSTLY_ASSUMED)
    return pd.DataFrame(
        {
            "vehicle_id": "V1", "tire_id": ["T1", "T2"], "position": ["LF", "RR"],
            "last_kpa": [33 * PSI, 28 * PSI], "placard_kpa": 34 * PSI, "hot_target_kpa": 38 * PSI,
            "shortfall_kpa": [2 * PSI, 1 * PSI], "leak_kpa_per_month": [0.0, 4 * PSI], "days_low": [12.0, float("nan")],
            "life_share": [0.984, float("nan")], "notes": [(aside,), (leak,)],
        }
    )  # fmt: skip


def test_the_urgent_tire_leads_and_only_what_asks_for_a_look_is_said():
    said = pressure_text(summary(), "us")
    notes, table = said.split("\n\n", 1)
    assert notes.startswith("V1 right rear: loses 4.0 psi a month")
    assert "\n" not in notes  # the aside on the other tire asks for nothing
    rows = [line for line in table.splitlines() if line.startswith("V1 ")]
    assert [row.split()[1] for row in rows] == ["right", "left"]
    assert rows[1].split()[3:] == ["33.0", "34.0", "38.0", "2.0", "0.0", "12", "98"]
    assert rows[0].split()[-2:] == ["–", "–"]


def test_without_anything_to_look_at_the_table_leads():
    quiet = summary().iloc[:1]
    assert pressure_text(quiet, "us").splitlines()[0].split()[0] != "V1"
    assert pressure_text(quiet, "us")[0] != "\n"


def test_a_program_gets_codes_severities_and_its_units(tmp_path):
    book = make_book(tmp_path / "book", read_depths(dict(zip(GROOVES, EVEN, strict=True))))
    assert book.units == "metric"
    answer = pressure_answer(summary(), book)
    assert answer["as_of"] == f"{book.as_of:%Y-%m-%d}"
    assert answer["tires"][1]["notes"] == [{"code": "leaks", "severity": "urgent"}]
    assert answer["tires"][0]["shortfall_kpa"] == float(f"{convert(2.0, 'psi', 'kpa'):.12g}")
    assert answer["tires"][0]["life_share"] == 0.984
    assert answer["tires"][1]["life_share"] is None
    assert answer["caution"]
    assert answer["caution"] == pressure_text(summary(), "us").splitlines()[-1]

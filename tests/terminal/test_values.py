"""Numbers and notes of a JSON answer: exact, in the logbook's units, null where they are not known."""

import datetime as dt
from enum import StrEnum

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.terminal.values import note_row, plain, rows_of, shown_values


class Code(StrEnum):
    GONE = "gone"


def test_a_number_keeps_twelve_digits_and_no_more():
    assert plain(0.1 + 0.2) == 0.3
    assert plain(123456789012.75) == 123456789013.0
    assert plain(1 / 3) == 0.333333333333


def test_what_is_not_finite_is_null():
    assert [plain(float(x)) for x in ("nan", "inf", "-inf")] == [None, None, None]


def test_a_number_is_converted_only_if_a_unit_is_given():
    assert plain(25.4, "mm", "in") == 1.0
    assert plain(16.09344, "km", "mi") == 10.0
    assert plain(16.09344) == 16.09344


def test_rows_hold_days_as_text_and_gaps_as_null():
    frame = pd.DataFrame(
        {
            "day": [pd.Timestamp("2026-03-14"), pd.NaT],
            "mm": [1.5, float("nan")],
            "n": [3, 4],
            "word": ["a", ""],
        }
    )
    assert rows_of(frame) == [
        {"day": "2026-03-14", "mm": 1.5, "n": 3, "word": "a"},
        {"day": None, "mm": None, "n": 4, "word": ""},
    ]
    assert rows_of(pd.DataFrame({"day": [dt.date(2026, 3, 4)]}))[0]["day"] == "2026-03-04"


def test_arguments_of_a_note_are_renamed_and_converted_for_miles_alone():
    values = {"far_km": 3.218688, "depth_mm": 6.35, "n": 3, "position": "LF"}
    assert shown_values(values, "us") == {"far_mi": 2.0, "depth_32nds": 8.0, "n": 3, "position": "LF"}
    assert shown_values(values, "metric") == values


def test_a_whole_number_is_a_count_and_keeps_its_name():
    assert shown_values({"n_km": 5}, "us") == {"n_km": 5}
    assert shown_values({"n_km": 1.609344}, "us") == {"n_mi": 1.0}


def test_a_number_that_is_not_known_is_null_under_its_new_name():
    assert shown_values({"depth_mm": float("nan")}, "us") == {"depth_32nds": None}


def test_a_note_leads_with_its_code_under_the_name_asked_for():
    note = Note(Code.GONE, Severity.DOUBT, (("depth_mm", 1.5875),))
    assert note_row(note, "us") == {"code": "gone", "depth_32nds": 2.0}
    assert note_row(note, "metric", "verdict") == {"verdict": "gone", "depth_mm": 1.5875}

"""Codes of what is doubted: how much each matters, and which records are doubted for it."""

import numpy as np
import pandas as pd
import pytest

from tirelife.codes import Severity
from tirelife.logbook.codes import ODOMETER_ASKED, ODOMETER_UNUSED, Ask, Found, Slip, doubted, severity_of


def test_no_two_codes_are_written_alike():
    values = [code.value for codes in (Found, Slip, Ask) for code in codes]
    assert len(values) == len(set(values))
    assert all(code.value.startswith("slip-") for code in Slip)
    assert not any(":" in value or " " in value for value in values)  # marks of a record are parted by these


@pytest.mark.parametrize("code", [*Found, *Slip])
def test_an_error_is_a_warning_and_a_doubt_is_one_unless_it_changes_no_answer(code):
    assert severity_of(code, doubt=False) == Severity.WARNING
    assert severity_of(code, doubt=True) <= Severity.DOUBT


def test_doubts_that_change_no_answer_are_notes():
    # How a file is written, in words that mean the same, and what is there twice.
    noted = {code.value for code in (*Found, *Slip) if severity_of(code, True) == Severity.NOTE}
    assert noted == {
        "file-earlier-version", "delimiter", "decimal-commas", "column-unknown", "not-known", "other-case",
        "thousands", "decimal-comma", "repeated", "mounted-twice",
    }  # fmt: skip


def test_an_odometer_that_is_asked_about_is_not_used():
    assert set(ODOMETER_ASKED) < set(ODOMETER_UNUSED)
    assert set(ODOMETER_UNUSED) - set(ODOMETER_ASKED) == {Found.ODOMETER_BACK}


RECORDS = pd.DataFrame(
    {
        "codes": [
            "",
            "depth_mm:depth-grows odometer_km:odometer-back",
            None,
            "depth_mm:no-tire",
            "depth_mm_2:no-tire",
        ]
    }
)


@pytest.mark.parametrize(
    ("column", "codes", "hits"),
    [
        ("depth_mm", (), [1, 3]),
        ("odometer_km", (), [1]),
        ("depth_mm", (Found.NO_TIRE,), [3]),
        ("depth_mm", (Found.NO_TIRE, Found.DEPTH_GROWS), [1, 3]),
        ("odometer_km", (Found.DEPTH_GROWS,), []),
        ("depth", (), []),
    ],
)
def test_records_are_doubted_in_a_column_for_any_code_or_for_those_given(column, codes, hits):
    assert np.flatnonzero(doubted(RECORDS, column, *codes)).tolist() == hits


def test_without_records_or_codes_nothing_is_doubted():
    assert doubted(pd.DataFrame({"depth_mm": [1.0, 2.0]}), "depth_mm").tolist() == [False, False]
    assert doubted(RECORDS.iloc[:0], "depth_mm").tolist() == []
    assert doubted(RECORDS.iloc[[0, 2]], "depth_mm").tolist() == [False, False]

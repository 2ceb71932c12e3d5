"""Words into numbers and dates: read as a person means them, or asked about; never guessed."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tirelife.language import problem_words
from tirelife.logbook.codes import Found
from tirelife.logbook.schema import Column
from tirelife.logbook.values import choices, dates, numbers, range_faults, uses_decimal_comma


def said(fault):
    return problem_words(fault.code, fault.ask or "", fault.values)


def one(reader, word, *more):
    values, faults = reader(np.array([word], dtype=object), *more)
    return values[0], faults


@pytest.mark.parametrize(
    ("word", "value"),
    [("7", 7), (" 7.5 ", 7.5), ("+7", 7), (".5", 0.5), ("5.", 5), ("1e3", 1000), ("-2", -2), ("7,5", 7.5), ("0,25", 0.25), ("1,2345", 1.2345)],
)  # fmt: skip
def test_plain_numbers(word, value):
    number, faults = one(numbers, word, False)
    assert number == value
    assert not faults.errors
    assert not faults.doubts


@pytest.mark.parametrize(
    ("word", "value"),
    [("1,234,567", 1234567), ("1,234.5", 1234.5), ("1.234,5", 1234.5), ("1 234", 1234), ("12\u00a0345,6", 12345.6), ("45\u2019230", 45230), ("1.234.567", 1234567)],
)  # fmt: skip
def test_thousands_that_can_mean_one_thing_only_are_read_and_told(word, value):
    number, faults = one(numbers, word, False)
    assert number == value
    assert [fault.code for fault in faults.doubts] == [Found.THOUSANDS]


@pytest.mark.parametrize("word", ["45,230", "1,000", "12,345"])
def test_thousands_or_decimals_is_asked(word):
    number, faults = one(numbers, word, False)
    assert np.isnan(number)
    assert faults.errors[0].code is Found.MAY_BE_THOUSANDS


def test_a_column_of_decimal_commas_reads_three_places_too_and_asks_about_points():
    words = np.array(["7,5", "7,125", "45.230"], dtype=object)
    assert uses_decimal_comma(words)
    values, faults = numbers(words, True)
    assert values[:2].tolist() == [7.5, 7.125]
    assert [i for i, *_ in faults.errors] == [2]


@pytest.mark.parametrize(
    "word",
    [
        "x",
        "7 mm",
        "7/32",
        "inf",
        "-Infinity",
        "1e999",
        "0x1F",
        "1_000",
        "nan",
        "NA",
        "\u221e",
        "--7",
        "7..5",
        "1,2,3",
        "TRUE",
    ],
)
def test_what_is_no_number_is_an_error(word):
    number, faults = one(numbers, word, False)
    assert np.isnan(number)
    assert len(faults.errors) == 1


@given(st.floats(allow_nan=False, allow_infinity=False))
@settings(max_examples=50, deadline=None)
def test_every_float_as_python_writes_it_is_read_back(value):
    assert one(numbers, repr(value), False)[0] == value


@given(st.dates(dt.date(1900, 1, 1)))
@settings(max_examples=50, deadline=None)
def test_every_iso_date_is_read(day):
    value, faults = one(dates, day.isoformat())
    assert str(value) == day.isoformat()
    assert not faults.errors
    assert str(one(dates, f"{day.isoformat()}T08:30:00")[0]) == day.isoformat()


@pytest.mark.parametrize(
    ("word", "advice"),
    [
        ("14/03/2026", "Write 2026-03-14."),
        ("03/14/2026", "Write 2026-03-14."),
        ("3.4.26", "Write 2026-04-03 if the day comes first, or 2026-03-04 if the month does."),
        ("2026/3/14", "Write 2026-03-14."),
        ("2026-3-14", "Write 2026-03-14."),
        ("20260314", "Write 2026-03-14."),
        (
            "46095",
            "It looks like a spreadsheet's day number for 2026-03-14: format the column as YYYY-MM-DD.",
        ),
        ("soon", "Write it as 2026-03-14."),
    ],
)
def test_other_dates_are_asked_about(word, advice):
    value, faults = one(dates, word)
    assert np.isnat(value)
    assert said(faults.errors[0])[1] == advice


@pytest.mark.parametrize("word", ["2025-02-30", "2025-13-01", "0000-01-01", "1899-12-31"])
def test_days_that_cannot_be(word):
    value, faults = one(dates, word)
    assert np.isnat(value)
    assert len(faults.errors) == 1


def test_choices_forgive_the_case_only():
    values, faults = choices(np.array(["LF", "lf", "FL", " RR ", ""], dtype=object), ("LF", "RR"))
    assert values.tolist() == ["LF", "LF", "FL", "RR", ""]
    assert [i for i, *_ in faults.doubts] == [1]
    assert [(fault.at, said(fault)[1]) for fault in faults.errors] == [(2, "Write LF.")]


@pytest.mark.parametrize(
    ("typed", "unit", "kind", "advice"),
    [
        (220, "psi", "pressure", "Was it typed in kPa? 220 kPa is 31.91 psi."),
        (2.2, "kpa", "pressure", "Was it typed in bar? 2.2 bar is 220 kPa."),
        (32, "kpa", "pressure", "Was it typed in psi? 32 psi is 220.6 kPa."),
    ],
)
def test_a_value_of_another_unit_is_asked_about(typed, unit, kind, advice):
    from tirelife.units import INSIDE, convert

    column = Column("pressure", kind, low=0, high=1100, doubt_low=70, doubt_high=900)
    faults = range_faults(np.array([convert(typed, unit, INSIDE[kind])]), column, unit)
    assert [said(fault)[1] for fault in faults.errors + faults.doubts] == [advice]


@pytest.mark.parametrize(
    ("unit", "typed", "what"),
    [
        ("mi", 9_999_999, "is outside 0 to 3106856 miles"),  # 5,000,000 km over 1.609344
        ("km", 9_999_999, "is outside 0 to 5000000 km"),
        ("mi", 4_000_000, "is outside 0 to 3106856 miles. Was it typed in km? 4000000 km is 2485485 miles."),
    ],
)
def test_large_limits_are_written_out(unit, typed, what):
    from tirelife.units import convert

    column = Column("odometer", "distance", low=0, high=5_000_000)
    (fault,) = range_faults(np.array([convert(float(typed), unit, "km")]), column, unit).errors
    assert ". ".join(said(fault)).startswith(what)


@pytest.mark.parametrize(
    ("time", "odd"),
    [
        ("00:00", False), ("23:59:59.9", False), ("T08:30Z", False), ("T08:30:00+05:30", False),
        ("24:00", False), ("23:59:60", False), ("25:99", True), ("24:01", True), ("12:60", True),
        ("12:30:61", True), ("T08:30+25:00", True),
    ],
)  # fmt: skip
def test_a_time_that_no_clock_shows_is_asked_about_and_its_day_kept(time, odd):
    # ISO 8601-1:2019, 4.3.8 and 5.3.1: hours 00 to 24 (24:00 only as the end of a day), 60 for a leap second.
    word = "2026-06-01" + (time if time.startswith("T") else " " + time)
    values, faults = dates(np.array([word], dtype=object))
    assert str(values[0]) == "2026-06-01"
    assert not faults.errors
    assert [fault.code for fault in faults.doubts] == [Found.NO_CLOCK] * odd

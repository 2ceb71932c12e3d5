"""One cell of a sheet: depths in any writing, amounts with their units, dates as far as they can be told."""

import datetime as dt
import math

import pytest

from tirelife.logbook.sheets.cells import (
    Depths,
    amount,
    date_text,
    depths_of,
    is_blank,
    name_of,
    named_depths,
    plain_number,
    section,
)


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("6", 6),
        ("6.5", 6.5),
        ("6,5", 6.5),
        ("6 1/2", 6.5),
        ("6½", 6.5),
        ("½", 0.5),
        ("3 ¾", 3.75),
        (" 7 ", 7),
    ],
)
def test_numbers_as_they_are_written(text, want):
    assert plain_number(text) == want


@pytest.mark.parametrize("text", ["", "six", "6 1/0", "1/2/3", "6;5"])
def test_what_is_no_number(text):
    assert math.isnan(plain_number(text))


@pytest.mark.parametrize(
    ("cell", "wheels", "unit"),
    [
        (6, ((6,),), ""),
        ("6/32", ((6,),), "32nds"),
        ('6.5/32"', ((6.5,),), "32nds"),
        ("4.2 mm", ((4.2,),), "mm"),
        ("250 mils", ((250,),), "mils"),
        ('0.2"', ((0.2,),), "in"),
        ("6-6-5", ((6, 6, 5),), ""),
        ("6/5/4", ((6, 5, 4),), ""),
        ("6 5 4 3 2", ((6, 5, 4, 3, 2),), ""),
        ("6mm-5mm", ((6, 5),), "mm"),
        ("4,2", ((4.2,),), ""),
    ],
)
def test_depths_of_one_wheel(cell, wheels, unit):
    assert depths_of(cell) == Depths(wheels, unit)


@pytest.mark.parametrize(
    "cell", [None, True, dt.date(2026, 1, 1), "new", "6 5 4 3 2 1", "6mm-5psi", "6mm/5/32"]
)
def test_what_is_no_depth_of_one_wheel(cell):
    assert depths_of(cell) is None


@pytest.mark.parametrize(
    ("cell", "left", "right"),
    [
        (6, (6,), (6,)),
        ("6", (6,), (6,)),
        ("7/6.5", (7,), (6.5,)),
        ("6 1/2 - 7", (6.5,), (7,)),
        ("6-5-4 | 7-6-5", (6, 5, 4), (7, 6, 5)),
        ("6/32 / 5/32", (6,), (5,)),
    ],
)
def test_depths_of_an_axle_are_left_and_right(cell, left, right):
    found = depths_of(cell, axle=True)
    assert found is not None
    assert found.wheels == (left, right)


def test_three_depths_are_no_axle():
    assert depths_of("6-6-5", axle=True) is None


def test_a_comma_parts_grooves_where_the_sheet_says_so():
    assert depths_of("6,5").wheels == ((6.5,),)
    assert depths_of("6,5", commas="grooves").wheels == ((6, 5),)
    assert depths_of("6.5", commas="grooves").wheels == ((6.5,),)


def test_a_cell_that_names_its_wheels():
    found = named_depths("LF 6 RF 6.5, LR: 5-5-4 RR=4")
    assert [(wheel, one.wheels) for wheel, one in found] == [
        ("LF", ((6.0,),)), ("RF", ((6.5,),)), ("LR", ((5.0, 5.0, 4.0),)), ("RR", ((4.0,),)),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["LF 6", "LF 6 LF 5", "about LF 6 RF 5", "LF 6 XY 5", "LF six RF 5", ""])
def test_a_cell_that_does_not_name_them_all_once_is_none(text):
    assert named_depths(text) == ()


@pytest.mark.parametrize(
    ("cell", "thousands", "want"),
    [
        (45230, None, (45230.0, "")),
        ("45,230 mi", None, (45230.0, "mi")),
        ("45.230", None, (45.23, "")),
        ("45.230", True, (45230.0, "")),
        ("45,230", False, (45.23, "")),
        ("45.2k", None, (45200.0, "")),
        ("~45230", None, (45230.0, "")),
        ("32 psi", None, (32.0, "psi")),
        ("1e5", None, (1e5, "")),
    ],
)
def test_amounts(cell, thousands, want):
    assert amount(cell, thousands) == want


@pytest.mark.parametrize("cell", [None, True, False, "", "n/a", "12-13", dt.date(2026, 1, 1)])
def test_what_is_no_amount(cell):
    assert math.isnan(amount(cell)[0])


@pytest.mark.parametrize(
    "text",
    ["2026-03-14", "2026/3/14", "20260314", "14 Mar 2026", "Mar 14, 2026", "14. März 2026", "14 de marzo de 2026",
     "2026 Mar 14", "Sat 14 Mar 2026", "2026-03-14T08:30:00", "March 14th, 26"],
)  # fmt: skip
def test_days_that_can_be_read_alone(text):
    assert date_text(text).day == dt.date(2026, 3, 14)


def test_a_day_in_figures_waits_for_the_order_of_its_column():
    found = date_text("3/4/26")
    assert found.day is None
    assert not found.dotted
    assert (found.read(True), found.read(False)) == (dt.date(2026, 4, 3), dt.date(2026, 3, 4))
    assert date_text("3.4.2026").dotted
    only = date_text("14/3/2026")
    assert (only.read(True), only.read(False)) == (dt.date(2026, 3, 14), None)


@pytest.mark.parametrize(
    "text", ["", "2026-13-01", "2026-02-30", "soon", "14 Foo 2026", "1979-12-31", "2101-01-01"]
)
def test_what_is_no_day(text):
    assert date_text(text) is None


def test_years_from_1980_to_2100():
    assert date_text("1980-01-01").day == dt.date(1980, 1, 1)
    assert date_text("2100-12-31").day == dt.date(2100, 12, 31)


def test_blanks_and_names():
    assert is_blank(None)
    assert is_blank("  ")
    assert not is_blank(0)
    assert not is_blank("0")
    assert name_of("  Van \n 12 ") == "Van 12"
    assert section("Vehicle: Van  12") == "Van 12"
    assert section("Unit no. # 7") == "7"
    assert section("Van 12") == "Van 12"

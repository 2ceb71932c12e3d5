"""A header's words: what the column holds, of which wheel and groove, in which unit."""

import re

import pytest

from tirelife.logbook.sheets.headers import DATE_HINT, THOUSANDS, Field, groove_of, named_field, read_field


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("LF", Field("", "LF")),
        ("LF tread depth", Field("depth", "LF")),
        ("LF outer 32nds", Field("depth", "LF", "outer", "32nds")),
        ("LF (mm)", Field("depth", "LF", "", "mm")),
        ("RR psi", Field("pressure", "RR", "", "psi")),
        ("RR psi set to", Field("set_to", "RR", "", "psi")),
        ("LF 1", Field("depth", "LF", "outer")),
        ("LF 2", Field("depth", "LF", "center")),
        ("LF3", Field("depth", "LF", "inner")),
        ("Date", Field("date")),
        ("Date (dd/mm/yyyy)", Field("date")),
        ("Odometer (km)", Field("odometer", "", "", "km")),
        ("Mileage", Field("odometer", "", "", "mi")),
        ("Depth in mm", Field("depth", "", "", "mm")),
        ("LF O/M/I", Field("depth", "LF")),
        ("LF I/M/O", Field("depth", "LF", "inner_first")),
        ("LF/RF/LR/RR", Field("depth", "LF/RF/LR/RR")),
        ("RF LF RR LR", Field("", "")),
        ("Vorderachse mm", Field("depth", "front", "", "mm")),
        ("something else", Field("")),
    ],
)
def test_what_headers_say(text, want):
    found = named_field(text)
    if text in ("RF LF RR LR",):  # codes with blanks between are no list of wheels
        assert "/" not in found.wheel
    else:
        assert found == want


def test_all_four_wheels_keep_their_order_and_three_are_none():
    assert named_field("RF/LF/RR/LR depth").wheel == "RF/LF/RR/LR"
    assert "/" not in named_field("LF/RF/LR/LR").wheel


def test_only_what_is_of_a_wheel_keeps_one():
    assert named_field("left front tire id").wheel == "LF"
    assert named_field("driver left").wheel == ""


@pytest.mark.parametrize(
    "field",
    [
        Field("depth", "LF", "outer", "32nds"),
        Field("pressure", "near front", "", "psi"),
        Field("depth", "RF/LF/RR/LR"),
        Field("depth", "rear", "inner_mid"),
        Field("", "SP"),
        Field("date"),
        Field("odometer", "", "", "km"),
    ],
)
def test_a_field_is_read_as_it_is_written(field):
    assert read_field(str(field)) == field


def test_a_field_that_is_not_known_is_a_question_mark():
    assert str(Field("")) == "?"
    assert read_field("?") == Field("")
    assert read_field("") == Field("")


@pytest.mark.parametrize(
    ("text", "groove"),
    [("outer", "outer"), ("Inside", "inner"), ("center", "center"), ("1", "outer"), ("outer tread", "outer"),
     ("FG 1", ""), ("Van 3", ""), ("", "")],
)  # fmt: skip
def test_a_cell_that_names_a_groove(text, groove):
    assert groove_of(text) == groove


@pytest.mark.parametrize(("text", "so"), [("tkm", True), ("km x 1000", True), ("in 1,000 km", True), ("000s", True),
                                          ("km", False), ("21000 km", False), ("0.000", False)])  # fmt: skip
def test_odometers_in_thousands(text, so):
    assert bool(re.search(THOUSANDS, text)) is so


@pytest.mark.parametrize(("text", "so"), [("dd/mm/yyyy", True), ("m/d/yy", True), ("tt.mm.jjjj", True),
                                          ("mm", False), ("date", False), ("dd/mm", False)])  # fmt: skip
def test_how_dates_are_written(text, so):
    assert bool(re.search(DATE_HINT, text)) is so


def test_of_two_roles_in_as_many_words_the_one_that_is_asked_first_is_taken():
    assert named_field("Vehicle date").role == "date"
    assert named_field("Vehicle inspection date").role == "date"

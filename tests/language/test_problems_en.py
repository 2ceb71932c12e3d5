"""Arguments of problems as they stand in English sentences."""

import pytest

from tirelife.language.problems_en import pieces


@pytest.mark.parametrize(
    ("value", "text"), [(7.0, "7"), (7.25, "7.25"), (7, 7), ("7.0", "7.0"), (None, None)]
)
def test_numbers_are_written_as_short_as_they_are(value, text):
    assert pieces({"depth": value}) == {"depth": text}


def test_units_are_in_words_and_their_codes_are_kept_beside():
    told = pieces({"unit": "mi", "column_unit": "32nds", "usual": "kpa", "other": "mi"})
    assert (told["unit"], told["unit_code"]) == ("miles", "mi")
    assert (told["column_unit"], told["column_unit_code"]) == ("32nds", "32nds")
    assert (told["usual"], told["usual_code"]) == ("kPa", "kpa")
    assert told["other"] == "mi"


@pytest.mark.parametrize(
    ("before", "after", "around"),
    [("7", "8", "7 before and 8 after"), ("7", "", "7 before"), ("", "8", "8 after"), ("", "", "")],
)
def test_what_was_read_around_it(before, after, around):
    assert pieces({"before": before, "after": after})["around"] == around


def test_lists_are_in_words():
    told = pieces({"names": ["depth", ""], "choices": ("LF", "RF"), "held": ("mm", "32nds")})
    assert told["names"] == "depth, a column without a name"
    assert told["either"] == "depth or a column without a name"
    assert told["choices"] == "LF, RF"
    assert told["held"] == "mm and in 32nds"


def test_codes_of_marks_deeds_and_swaps_are_in_words():
    told = pieces({"swap": "sides", "mark": ";", "deed": "withdraw"})
    assert (told["swap"], told["mark"], told["deed"]) == ("left and right", "semicolons", "was withdrawn")
    with pytest.raises(KeyError):
        pieces({"mark": "|"})


@pytest.mark.parametrize(("below", "above", "row"), [(1, "1 row", 2), (3, "3 rows", 4)])
def test_rows_above_a_header(below, above, row):
    told = pieces({"below": below})
    assert (told["rows_above"], told["header_row"]) == (above, row)


def test_options_hidden_rows_and_what_was_left_out():
    assert pieces({"options": ("--a", "--b")})["which"] == "Say which with --a or --b. Nothing was written."
    hidden = pieces({"hidden": (("Log", (3, 4)), ("Old", ()))})["hidden"]
    assert hidden == "row 3, 4 of 'Log', tab 'Old'"
    left = ((2, (("row-total", ()),)), (1, (("row-no-date", ()), ("row-no-wheel", (("cell", "x"),)))))
    said = pieces({"left_out": left})["left_out"]
    assert said.startswith("2 rows: ")
    assert "; 1 row: " in said
    assert "x" in said.rpartition("1 row: ")[2]


def test_the_upper_limit_has_the_unit():
    assert pieces({"low": "0", "high": "40", "column_unit": "mm"})["high"] == "40 mm"
    assert pieces({"low": "0", "high": "1", "column_unit": ""})["high"] == "1"
    assert pieces({"low": "0", "high": "1"})["high"] == "1"

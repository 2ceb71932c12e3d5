"""Arguments of problems as they stand in Spanish sentences."""

import pytest

from tirelife.language.problems_es import pieces


@pytest.mark.parametrize(
    ("value", "text"), [(7.0, "7"), (7.25, "7.25"), (7, 7), ("7.0", "7.0"), (None, None)]
)
def test_numbers_are_written_as_short_as_they_are(value, text):
    assert pieces({"depth": value}) == {"depth": text}


def test_units_are_in_words_and_their_codes_are_kept_beside():
    told = pieces({"unit": "mi", "column_unit": "32nds", "usual": "kpa", "other": "mi"})
    assert (told["unit"], told["unit_code"]) == ("millas", "mi")
    assert (told["column_unit"], told["column_unit_code"]) == ("32avos", "32nds")
    assert (told["usual"], told["usual_code"]) == ("kPa", "kpa")
    assert told["other"] == "mi"


@pytest.mark.parametrize(
    ("before", "after", "around"),
    [("7", "8", "7 antes y 8 después"), ("7", "", "7 antes"), ("", "8", "8 después"), ("", "", "")],
)
def test_what_was_read_around_it(before, after, around):
    assert pieces({"before": before, "after": after})["around"] == around


def test_lists_are_in_words():
    told = pieces({"names": ["depth", ""], "choices": ("LF", "RF"), "held": ("mm", "32nds")})
    assert told["names"] == "depth, una columna sin nombre"
    assert told["either"] == "depth o una columna sin nombre"
    assert told["choices"] == "LF, RF"
    assert told["held"] == "mm y en 32nds"


def test_codes_of_marks_deeds_and_swaps_are_in_words():
    told = pieces({"swap": "sides", "mark": ";", "deed": "withdraw"})
    assert (told["swap"], told["mark"], told["deed"]) == (
        "izquierda y derecha",
        "punto y coma",
        "fue retirado",
    )
    with pytest.raises(KeyError):
        pieces({"mark": "|"})


@pytest.mark.parametrize(("below", "above", "row"), [(1, "la fila", 2), (3, "las 3 filas", 4)])
def test_rows_above_a_header(below, above, row):
    told = pieces({"below": below})
    assert (told["rows_above"], told["header_row"]) == (above, row)


def test_options_hidden_rows_and_what_was_left_out():
    assert pieces({"options": ("--a", "--b")})["which"] == "Diga cuál con --a o --b. No se escribió nada."
    hidden = pieces({"hidden": (("Log", (3, 4)), ("Old", ()))})["hidden"]
    assert hidden == "fila 3, 4 de 'Log', pestaña 'Old'"
    left = ((2, (("row-total", ()),)), (1, (("row-no-date", ()), ("row-no-wheel", (("cell", "x"),)))))
    said = pieces({"left_out": left})["left_out"]
    assert said.startswith("2 filas: ")
    assert "; 1 fila: " in said
    assert "x" in said.rpartition("1 fila: ")[2]


def test_the_upper_limit_has_the_unit():
    assert pieces({"low": "0", "high": "40", "column_unit": "mm"})["high"] == "40 mm"
    assert pieces({"low": "0", "high": "1", "column_unit": ""})["high"] == "1"
    assert pieces({"low": "0", "high": "1"})["high"] == "1"

import pytest

from tirelife.errors import FitError, InputError, Problem, unfit

ONE = Problem("depths.csv", 41, "depth_mm", "81", "is outside 0 to 40 mm", "Correct the value.")


def test_a_problem_says_where_what_and_what_to_do():
    assert (
        str(ONE)
        == "depths.csv, row 41, column depth_mm: is outside 0 to 40 mm (found '81'). Correct the value."
    )
    assert str(Problem("tires.csv", 0, "", "", "is missing", "Add it.")) == "tires.csv: is missing. Add it."


def test_an_input_error_is_a_value_error_and_keeps_where_it_was():
    error = InputError([ONE, Problem("tires.csv", 2, "size", "", "is blank", "Fill it in.")])
    assert isinstance(error, ValueError)
    assert (error.file, error.row, error.column, error.value) == ("depths.csv", 41, "depth_mm", "81")
    assert len(error.problems) == 2
    assert str(error).split("\n")[1] == "tires.csv, row 2, column size: is blank. Fill it in."


def test_a_plain_text_becomes_the_message():
    assert str(InputError("no depths given")) == "no depths given"


def test_many_alike_are_counted_not_listed():
    error = InputError([Problem("depths.csv", i, "spot", "x", "is not a number", "") for i in range(2, 1002)])
    assert len(error.problems) == 1000
    assert str(error).split("\n")[2:] == [
        "depths.csv, row 4, column spot: is not a number (found 'x').",
        "… and 997 more like it, to row 1001.",
    ]


def test_errors_can_be_raised_and_caught_apart():
    with pytest.raises(ValueError, match="slope"):
        raise FitError("slope: too few visits")


def test_an_error_is_said_in_another_language_and_keeps_its_code_through_a_process():
    import pickle

    error = InputError([Problem("depths.csv", i, "spot", "x", code="not-a-number") for i in range(2, 8)])
    assert error.said("es").split("\n")[0].startswith("depths.csv, fila 2, columna spot: ")
    assert error.said("es").split("\n")[-1] == "… y 3 más como esta, hasta la fila 7."
    again = pickle.loads(pickle.dumps(error))
    assert again.problems == error.problems
    assert str(again) == str(error)
    broken = pickle.loads(pickle.dumps(unfit("rates-curved")))
    assert broken.said("es") == "las curvas no se asentaron: no se distinguen el ritmo y el exponente."
    assert str(broken) == "the curved paths did not settle: rate and exponent cannot be told apart."

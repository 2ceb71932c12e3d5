"""A question about a sheet: how it is put, and what an answer by number sets."""

import pytest

from tirelife.logbook.sheets.decide import Conventions
from tirelife.logbook.sheets.settings import Settings
from tirelife.logbook.sheets.told import Asked, Question

UNITS = Question(
    "depth_unit", Asked.DEPTHS_BARE, ("--depth-unit 32nds", "--depth-unit mm"), (("held", ("mm",)),)
)
DAYS = Question("day_first", Asked.DATES_OPEN, ("--day-first", "--month-first"))


def test_a_question_is_a_problem_of_the_file_that_names_its_options():
    problem = UNITS.problem("shop.csv")
    assert (problem.file, problem.row, problem.column, problem.code) == ("shop.csv", 0, "", Asked.DEPTHS_BARE)
    assert problem.values == (("held", ("mm",)), ("options", UNITS.options))


@pytest.mark.parametrize(
    ("question", "number", "settings"),
    [
        (UNITS, "1", {"depth_unit": "32nds"}),
        (UNITS, "2", {"depth_unit": "mm"}),
        (DAYS, "1", {"day_first": True}),
        (DAYS, "2", {"day_first": False}),
        (UNITS, "0", {}),
        (UNITS, "3", {}),
        (UNITS, "", {}),
        (UNITS, "-1", {}),
        (UNITS, "1.0", {}),
        (UNITS, "mm", {}),
    ],
)
def test_an_answer_by_number_makes_its_setting(question, number, settings):
    assert question.answered(number) == settings
    assert Settings(**settings)  # a setting that is known


def test_a_sheet_without_questions_asks_none():
    assert Conventions().questions == []

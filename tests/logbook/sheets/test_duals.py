"""Wheels side by side are refused with row and column, and what a mapping says of a column is not doubted."""

import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.columns import find_table
from tirelife.logbook.sheets.duals import is_dual, refuse_duals
from tirelife.logbook.sheets.files import Grid


def table(head, *rows, given=None):
    found = find_table(Grid("Tab", [list(head), *map(list, rows)]), given)
    assert found is not None
    return found


def rows(*depths):
    return [[f"AB {i}", f"2025-0{i}-10", 10_000 * i, *depths] for i in (1, 2, 3, 4, 5)]


HEAD = ("Vehicle", "Date", "Miles")


@pytest.mark.parametrize(
    ("text", "so"),
    [("LRO", True), ("LRI", True), ("2 RI", True), ("RR inside dual", True), ("rear twin left", True),
     ("LR outer", False), ("LR", False), ("LF dual", False), ("1 LO", False), ("dual exhaust", False)],
)  # fmt: skip
def test_texts(text, so):
    assert is_dual(text) is so


def test_four_single_wheels_pass():
    refuse_duals("shop.csv", table((*HEAD, "LF", "RF", "LR", "RR"), *rows(8, 8, 7, 7)))


def test_a_header_of_two_is_refused_at_its_column():
    found = table((*HEAD, "LF", "RF", "LRO", "LRI", "RRO", "RRI"), *rows(8, 8, 7, 7, 6, 6))
    with pytest.raises(InputError) as caught:
        refuse_duals("shop.csv", found)
    (problem,) = caught.value.problems
    assert (problem.file, problem.row, problem.column, problem.value) == ("shop.csv: Tab", 1, "F", "LRO")


HALF = (*HEAD, "LF depth", "RF depth", "LR outer", "LR inner", "RR outer", "RR inner")


def test_grooves_of_the_rear_alone_may_be_wheels():
    with pytest.raises(InputError) as caught:
        refuse_duals("shop.csv", table(HALF, *rows(8, 8, 7, 7, 6, 6)))
    assert caught.value.problems[0].code == NoSheet.DUAL_OR_GROOVE


def test_a_mapping_settles_it():
    given = {"F": "depth LR outer", "G": "depth LR inner", "H": "depth RR outer", "I": "depth RR inner"}
    refuse_duals("shop.csv", table(HALF, *rows(8, 8, 7, 7, 6, 6), given=given))


def test_grooves_of_all_wheels_are_grooves():
    head = (*HEAD, *(f"{w} {g}" for w in ("LF", "RF", "LR", "RR") for g in ("outer", "inner")))
    refuse_duals("shop.csv", table(head, *rows(8, 8, 8, 8, 7, 7, 7, 7)))


def test_a_cell_that_names_one_of_two_is_refused_at_its_row():
    long = [["AB 1", "2025-01-10", 10_000, w, 7] for w in ("LF", "RF", "LRO", "LRI")]
    with pytest.raises(InputError) as caught:
        refuse_duals("shop.csv", table((*HEAD, "Position", "Depth 32nds"), *long))
    (problem,) = caught.value.problems
    assert (problem.row, problem.column, problem.value) == (4, "D", "LRO")

"""Problems are collected many rows at a time: what is shared, what is told row by row, and in which order."""

import numpy as np
import pytest

from tirelife.errors import InputError
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import PROBLEM_COLUMNS, Findings, around, no_problems


def some():
    found = Findings()
    found.add("depths.csv", [5, 3], "depth_mm", ["x", "y"], Found.BLANK, doubt=True)
    found.add("tires.csv", 9, "tire_id", "T1", [Found.KEY_TWICE], {"row": 2})
    said = [{"table": "tires", "near": "T2"}, {"row": 1}]
    codes, asks = [Found.UNKNOWN_ID, Found.KEY_TWICE], [Ask.NEAR_ID, None]
    found.add("vehicles.csv", [4, 2], "drive", "z", codes, said, asks)
    return found


def test_errors_lead_then_tables_in_their_order_and_rows_in_theirs():
    frame = some().frame()
    assert list(frame) == PROBLEM_COLUMNS
    assert frame[["file", "row", "value", "doubt"]].to_numpy().tolist() == [
        ["vehicles.csv", 2, "z", False], ["vehicles.csv", 4, "z", False], ["tires.csv", 9, "T1", False],
        ["depths.csv", 3, "y", True], ["depths.csv", 5, "x", True],
    ]  # fmt: skip
    assert frame["code"][:2].tolist() == [Found.KEY_TWICE, Found.UNKNOWN_ID]
    assert frame["ask"][:2].tolist() == ["", Ask.NEAR_ID]
    assert frame["values"][:3].tolist() == [
        (("row", 1),),
        (("table", "tires"), ("near", "T2")),
        (("row", 2),),
    ]


def test_no_rows_are_no_problem():
    found = Findings()
    found.add("depths.csv", [], "depth_mm", [], Found.BLANK)
    assert found.frame().equals(no_problems())
    assert not found.has_errors
    found.raise_errors()


def test_errors_are_told_from_doubts():
    found = some()
    assert found.has_errors
    assert found.errors_in("tires.csv")
    assert not found.errors_in("depths.csv")
    with pytest.raises(InputError) as caught:
        found.raise_errors()
    assert [problem.row for problem in caught.value.problems] == [2, 4, 9]


def test_what_a_better_name_was_found_for_is_forgotten_and_nothing_beside_it():
    found = some()
    found.forget("vehicles.csv", np.array([2, 4]), "drive", (Found.UNKNOWN_ID,))
    assert found.frame()["row"].tolist() == [2, 9, 3, 5]
    found.forget("depths.csv", np.array([3]), "groove", (Found.BLANK,))
    found.forget("tires.csv", np.array([8]), "tire_id", (Found.KEY_TWICE,))
    assert len(found.frame()) == 4


def test_rows_after_the_last_day_are_dropped_from_their_file_alone():
    found = some()
    found.drop_rows("depths.csv", np.array([5, 9]))
    assert found.frame()["row"].tolist() == [2, 4, 9, 3]


def test_rows_with_a_problem():
    found = some()
    assert found.rows_with("vehicles.csv", "drive", (Found.UNKNOWN_ID,)).tolist() == [4]
    assert found.rows_with("vehicles.csv", "drive", (Found.RAGGED,)).tolist() == []
    assert found.rows_with("vehicles.csv", "vehicle_id", (Found.BLANK,)).tolist() == []


def test_a_copy_grows_by_itself():
    found = some()
    other = found.copy()
    other.add("depths.csv", 7, "groove", "", Found.BLANK)
    assert len(other.frame()) == len(found.frame()) + 1


def test_readings_around_a_doubtful_one():
    def shown(value):
        return f"{value:g}"

    assert around(5.0, float("nan"), shown) == {"before": "5", "after": ""}
    assert around(float("nan"), 4.0, shown) == {"before": "", "after": "4"}

"""An alignment worksheet in lines: which rows have a name, a specification or a range."""

import numpy as np
import pandas as pd
import pytest

from tirelife.terminal.align import alignment_answer, alignment_text

NAN = np.nan


def sheet(*rows):
    columns = ["quantity", "found", "low", "high", "note"]
    return pd.DataFrame([(*row, "")[: len(columns)] for row in rows], columns=columns)


def lines(*rows, axle="front"):
    return alignment_text(sheet(*rows), axle).splitlines()


def test_the_distance_dragged_in_a_year_is_told_in_miles():
    (row,) = alignment_answer(sheet(("slip_km_per_year", 160.9344, NAN, NAN)), "front")["rows"]
    assert (row["quantity"], row["found"]) == ("slip_mi_per_year", pytest.approx(100))
    assert "100.000" in lines(("slip_km_per_year", 160.9344, NAN, NAN))[1]
    (same,) = alignment_answer(sheet(("slip_m_per_km", 5.0, NAN, NAN)), "rear")["rows"]
    assert (same["quantity"], same["found"]) == ("slip_m_per_km", 5.0)


def test_a_row_that_says_the_one_above_in_another_unit_has_no_name():
    toe, inches = lines(("toe_mm", 3.0, NAN, NAN), ("toe_in", 0.118, NAN, NAN))[1:3]
    assert toe.startswith("  Total toe, in positive            3.000 mm")
    assert inches.startswith(" " * 36)
    assert inches.split()[0] == "0.118"


def test_a_wear_ratio_has_its_range_and_a_quantity_its_specification_if_it_may_have_one():
    wear = lines(("wear_ratio", 1.256, 1.104, 1.55))[1]
    assert "1.10" in wear
    assert "1.55" in wear
    assert "specification 0 to 2: " in lines(("toe_mm", 3.0, 0.0, 2.0, "align-outside"))[1]
    assert "specification" not in lines(("runout_mm", 3.0, NAN, NAN))[1]


def test_each_axle_has_its_heading():
    assert lines(axle="front")[0] != lines(axle="rear")[0]
    assert lines(axle="front")[0] == "Front axle"

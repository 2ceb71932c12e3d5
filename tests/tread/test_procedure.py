"""Where the gauge goes, by published procedures."""

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.tread import grading_depth, measuring_plan


def test_the_army_manual_reads_three_points_from_the_valve_stem():
    # TM 9-2610-200-14, p. 2-21: three equally spaced points, the first next to the valve stem.
    plan = measuring_plan("army", ["outer", "center", "inner"])
    assert plan["angle_deg"].unique().tolist() == [0, 120, 240]
    assert plan["spot"].tolist() == [1, 1, 1, 2, 2, 2, 3, 3, 3]
    assert "valve stem" in plan["words"].iloc[0]


def test_grading_reads_six_points_in_each_groove():
    # 49 CFR 575.104(e)(2), from memory.
    plan = measuring_plan("treadwear grading", ["center"])
    assert plan["angle_deg"].tolist() == [0, 60, 120, 180, 240, 300]


def test_grading_leaves_out_shoulder_grooves_without_indicators():
    # 49 CFR 575.104(e)(2), from memory: average of all readings, shoulder grooves without indicators left out.
    readings = pd.DataFrame(
        {
            "groove": ["outer", "outer_mid", "center", "center", "inner_mid", "inner"],
            "depth_mm": [1, 6, 7, 9, 8, 1.0],
        }
    )
    assert grading_depth(readings) == pytest.approx((6 + 7 + 9 + 8) / 4)
    assert grading_depth(readings, ["outer", "center"]) == pytest.approx((1 + 6 + 7 + 9 + 8) / 5)
    assert pd.isna(grading_depth(readings[readings["groove"] == "outer"]))


def test_unknown_procedure():
    with pytest.raises(InputError, match="use one of army"):
        measuring_plan("navy")

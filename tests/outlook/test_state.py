"""What stands for a tire at a removal depth, put together by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.outlook.state import _at_depth, _Known, _odometer_doubted
from tirelife.tread import Verdict

TODAY = pd.Timestamp("2026-06-01")


def known():
    """Two cars' tires, out of order: new at 8 mm, 5 mm on average; the groove down first wears 1.2 times the mean."""
    frame = pd.DataFrame(
        {"vehicle_id": ["B", "A", "A", "A"], "tire_id": ["b", "a1", "a2", "a3"], "position": ["LF", "SP", "RR", "LF"],
         "new_depth_mm": [8.0, 8.0, np.nan, 1.5], "mean_depth_mm": [5.0, 8.0, 5.0, 1.0]}
    )  # fmt: skip
    groove = pd.DataFrame(
        {"groove": ["inner", "tread", "outer", "center"], "ratio": [1.2, 1.0, 1.1, 2.0], "ratio_sd": 0.06}
    )
    read = pd.DataFrame(
        {"tire_id": ["b", "a2", "a3"], "position": ["LF", "RR", "LF"], "least_mm": [5.0, 1.5, 2.3],
         "least_raw_mm": [5.1, 1.6, 2.3], "error_mm": 0.1, "read_at_position": "LF", "groove": "inner",
         "read_date": TODAY}
    )  # fmt: skip
    return _Known(frame, groove, read)


def test_limits_and_depths_are_of_the_groove_that_is_down_first():
    found = _at_depth(known(), 2.0).set_index("tire_id")
    # 6 mm to go for the groove are 5 for the mean: at 3 mm; today the groove has lost 1.2 times 3 of its 8.
    assert found.loc["b", ["limit_mm", "depth_now_mm"]].tolist() == pytest.approx([3.0, 8 - 3.6])
    assert found.loc["b", "limit_sd_mm"] == pytest.approx(6 / 1.2**2 * 0.06)
    assert found.loc["a1", ["groove", "limit_mm", "depth_now_mm"]].tolist() == ["tread", 2.0, 8.0]
    assert np.isnan(found.loc["a2", "depth_now_mm"])
    # Less than nothing is left of no groove; new under the limit, the limit is the limit.
    assert found.loc["a3", ["limit_mm", "depth_now_mm"]].tolist() == pytest.approx([2.0, 1.5 - 2 * 0.5])
    worn = known()
    worn.frame["mean_depth_mm"] = [1.0, 8.0, 5.0, 1.0]
    assert _at_depth(worn, 2.0).set_index("tire_id").loc["b", "depth_now_mm"] == 0.0


def test_rows_go_by_vehicle_and_wheel_with_the_spare_last():
    found = _at_depth(known(), 2.0)
    assert found["tire_id"].tolist() == ["a3", "a2", "a1", "b"]
    assert found.index.tolist() == [0, 1, 2, 3]


def test_verdicts_are_those_of_the_depth_asked_and_a_tire_never_measured_has_none():
    found = _at_depth(known(), 2.0).set_index("tire_id")
    assert found["verdict"].dropna().to_dict() == {
        "a3": Verdict.NEAR,
        "a2": Verdict.AT_OR_UNDER,
        "b": Verdict.OVER,
    }
    assert pd.isna(found.loc["a1", "verdict"])
    deeper = _at_depth(known(), 5.0).set_index("tire_id")
    assert deeper.loc["b", "verdict"] == Verdict.AT_OR_UNDER
    assert deeper.loc["b", "removal_depth_mm"] == 5.0


def test_each_wheel_may_have_its_own_depth():
    found = _at_depth(known(), pd.Series({"LF": 2.0, "RF": 2.0, "LR": 4.0, "RR": 4.0, "SP": 1.0})).set_index(
        "tire_id"
    )
    assert found["removal_depth_mm"].to_dict() == {"a3": 2.0, "a2": 4.0, "a1": 1.0, "b": 2.0}
    assert "limit_mm" not in known().frame


def test_an_odometer_is_doubted_where_that_of_the_tires_last_reading_is_not_used():
    depths = pd.DataFrame(
        {"vehicle_id": ["A", "A", "B"], "date": [TODAY, TODAY - pd.Timedelta(days=9), TODAY]}
    )
    tires = pd.DataFrame(
        {
            "vehicle_id": ["A", "A", "B", "C"],
            "last_date": [TODAY, TODAY - pd.Timedelta(days=9), TODAY, pd.NaT],
        }
    )

    def doubted(unused):
        return _odometer_doubted(
            SimpleNamespace(odometer_unused=lambda table: np.array(unused), depths=depths), tires
        )

    assert doubted([False, True, False]).tolist() == [False, True, False, False]
    assert doubted([False, False, True]).tolist() == [False, False, True, False]
    assert not doubted([False] * 3).any()

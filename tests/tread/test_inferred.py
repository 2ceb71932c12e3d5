"""A reading that may belong to another tire counts for less."""

import pandas as pd
import pytest

from tirelife.tread.inferred import widen_by_doubt

VISITS = pd.DataFrame(
    {
        "vehicle_id": "V1",
        "tire_id": ["A", "B", "A", "B"],
        "date": pd.to_datetime(["2025-01-01", "2025-01-01", "2025-06-01", "2025-06-01"]),
        "odometer_km": [1000.0, 1000.0, 9000.0, 9000.0],
        "depth_mm": [7.0, 5.0, 6.0, 4.0],
        "depth_se_mm": 0.2,
    }
)


def mounts(probability):
    return pd.DataFrame(
        {
            "tire_id": ["A", "B", "A", "B"],
            "date": pd.to_datetime(["2025-01-01"] * 2 + ["2025-03-01"] * 2),
            "odometer_km": [1000.0, 1000.0, 4000.0, 4000.0],
            "position": ["LF", "LR", "LR", "LF"],
            "probability": [1.0, 1.0, probability, probability],
        }
    )


def test_readings_before_a_doubtful_move_are_widened_and_those_after_it_not():
    out = widen_by_doubt(VISITS, mounts(0.75))
    # By hand: 2 mm apart with a chance of a quarter: 0.2² + 0.25 × 2².
    assert out["depth_se_mm"].tolist() == pytest.approx([1.04**0.5, 1.04**0.5, 0.2, 0.2])


@pytest.mark.parametrize("sure", [1.0, float("nan")])
def test_recorded_moves_change_nothing(sure):
    assert widen_by_doubt(VISITS, mounts(sure))["depth_se_mm"].tolist() == [0.2] * 4

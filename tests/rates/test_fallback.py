"""A refused fit: each tire where it was read last, wearing as the prior has it."""

import numpy as np
import pandas as pd
import pytest

from tirelife.rates.advice import Says
from tirelife.rates.fallback import READING_SD_MM, last_seen, stand_at_readings
from tirelife.rates.result import VISITS

DAY = pd.Timestamp("2026-01-01")
MADE = ("fitted_mm", "residual_mm", "standardized", "weight", "outlier")
USED = pd.DataFrame(
    {
        "vehicle_id": ["V1", "V2", "V1"], "tire_id": ["A", "A", "B"], "position": ["LF", "RR", "LR"],
        "date": [DAY, DAY + pd.Timedelta(days=90), DAY], "odometer_km": [1_000.0, 2_000.0, 1_500.0],
        "reference_km": [900.0, 2_500.0, 1_400.0], "depth_mm": [7.0, 4.0, 6.0],
    }
)  # fmt: skip
TIRES = pd.DataFrame(
    {
        "tire_id": ["B", "A", "C"], "visits": [0, 0, 0], "depth_mm": [8.0, 8.0, 7.5], "depth_sd_mm": [0.5, 0.5, 0.6],
        "new_depth_mm": [8.0, 8.0, 7.5], "reference_km": [0.0, 0.0, 0.0], "q": [0.0, 0.5, 0.5],
        "log_wear": np.log([1e-4, 1e-4, 1e-4]), "log_wear_sd": [0.3, 0.3, 0.3], "depth_log_wear_cov": 0.1,
        "depth_q_cov": 0.2, "depth_axle_cov": 0.3, "wear_mm_per_1000km": 0.1, "std_error": 0.03,
        "reason": ["", "", "fit-never-read"],
    }
)  # fmt: skip


def stand(tires=TIRES, used=USED):
    visits = pd.DataFrame(columns=[name for name in VISITS if name in used or name in MADE])
    return stand_at_readings({"tires": tires, "visits": visits, "estimates": "kept"}, used)


def test_a_tire_is_put_where_it_was_read_last_and_one_never_read_stays():
    before = pd.DataFrame(
        {"tire_id": ["A", "C", "B"], "vehicle_id": ["V9", "V9", "V9"], "first_position": ["SP", "RF", "SP"],
         "first_odometer_km": [0.0, 5.0, 0.0]}
    )  # fmt: skip
    out = last_seen(USED, before)
    assert out["vehicle_id"].tolist() == ["V2", "V9", "V1"]
    assert out["first_position"].tolist() == ["RR", "RF", "LR"]
    assert out["first_odometer_km"].tolist() == [2_000.0, 5.0, 1_500.0]
    assert out["first_date"].tolist()[::2] == [DAY + pd.Timedelta(days=90), DAY]
    assert pd.isna(out["first_date"][1])
    assert before["vehicle_id"].tolist() == ["V9", "V9", "V9"]


def test_depth_is_the_last_reading_with_a_readings_error_and_leans_on_nothing():
    found = stand()["tires"].set_index("tire_id")
    assert found.loc[["A", "B", "C"], "depth_mm"].tolist() == [4.0, 6.0, 7.5]
    assert found.loc[["A", "B", "C"], "depth_sd_mm"].tolist() == [READING_SD_MM, READING_SD_MM, 0.6]
    assert found.loc[["A", "B", "C"], "visits"].tolist() == [2, 1, 0]
    assert found.loc[["A", "B", "C"], "reference_km"].tolist() == [2_500.0, 1_400.0, 0.0]
    for name, kept in (("depth_log_wear_cov", 0.1), ("depth_q_cov", 0.2), ("depth_axle_cov", 0.3)):
        assert found.loc[["A", "B", "C"], name].tolist() == [0.0, 0.0, kept]
    assert found["reason"].tolist() == [Says.REFUSED, Says.REFUSED, "fit-never-read"]


def test_a_bent_paths_rate_is_that_at_the_depth_it_has():
    found = stand()["tires"].set_index("tire_id")
    # A stands at half its depth with q = 1/2: the rate is sqrt(1/2) of what it was new. B is straight, C was not read.
    assert found.loc["A", "wear_mm_per_1000km"] == pytest.approx(0.1 * np.sqrt(0.5))
    assert found.loc["B", "wear_mm_per_1000km"] == pytest.approx(0.1)
    assert found.loc["C", "wear_mm_per_1000km"] == pytest.approx(0.1)
    np.testing.assert_allclose(found["std_error"], 0.3 * found["wear_mm_per_1000km"])


def test_a_tire_read_deeper_than_new_wears_as_a_new_one():
    found = stand(TIRES.assign(new_depth_mm=[8.0, 3.0, 7.5]))["tires"].set_index("tire_id")
    assert found.loc["A", "wear_mm_per_1000km"] == pytest.approx(0.1)


def test_readings_are_kept_in_full_with_nothing_made_of_them():
    frames = stand()
    seen = frames["visits"]
    assert seen["tire_id"].tolist() == ["A", "A", "B"]
    assert seen["depth_mm"].tolist() == [7.0, 4.0, 6.0]
    assert seen["weight"].tolist() == [1.0] * 3
    assert not seen["outlier"].any()
    assert seen[["fitted_mm", "residual_mm", "standardized"]].isna().all(axis=None)
    assert frames["estimates"] == "kept"
    assert TIRES["depth_mm"].tolist() == [8.0, 8.0, 7.5]

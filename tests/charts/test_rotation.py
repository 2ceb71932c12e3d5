"""What rotating does to each tire, as data."""

import numpy as np
import pytest

from tests.charts.test_fitted import PRESSURES, TURNED, rows
from tirelife import InputError, charts


def test_the_description_says_each_tire_staying_and_rotated():
    spec = charts.rotation_effect(TURNED, "us").to_dict()
    assert "title" not in spec
    assert "Left front: 6,000 if it stays, 7,200 if the set is rotated" in spec["description"]
    with pytest.raises(InputError, match="none of them has a forecast"):
        charts.rotation_effect(TURNED.iloc[:0], "us")
    spec = charts.pressure_history(PRESSURES, "us", title="Found 3 psi low").to_dict()
    assert spec["title"] == "Found 3 psi low"


def test_staying_lies_above_rotated_each_on_its_range():
    spec = charts.rotation_effect(TURNED, "metric", title="Longer").to_dict()
    rules = [layer for layer in spec["layer"] if layer["mark"]["type"] == "rule"]
    assert [(r["encoding"]["x"]["field"], r["encoding"]["x2"]["field"]) for r in rules] == [
        ("stays_km_p10", "stays_km_p90"), ("turns_km_p10", "turns_km_p90")
    ]  # fmt: skip
    assert rules[0]["mark"]["yOffset"] < 0 < rules[1]["mark"]["yOffset"]
    assert rows(spec)[0]["turns_km_p50"] == pytest.approx(9656.064 * 1.2)


def test_a_tire_without_a_forecast_is_left_out():
    some = TURNED.copy()
    some.loc[0, "turns_km_p50"] = np.nan
    assert [row["label"] for row in rows(charts.rotation_effect(some, "us").to_dict())] == ["Left rear"]

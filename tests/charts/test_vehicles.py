"""Vehicles in the order of their wear, as data."""

import pytest

from tests.charts.test_fitted import WEAR
from tirelife import InputError, charts


def test_vehicles_stand_in_the_order_given_and_odd_ones_have_another_mark():
    spec = charts.vehicles_in_order(WEAR).to_dict()
    assert "V2 1.20, 1.10 to 1.30; V1 0.90" in spec["description"]
    dots = spec["layer"][2]["encoding"]
    assert dots["y"]["sort"] == ["V2", "V1"]
    assert dots["shape"]["scale"]["range"] == ["square", "circle"]
    with pytest.raises(InputError, match="at least one vehicle"):
        charts.vehicles_in_order(WEAR.iloc[:0])

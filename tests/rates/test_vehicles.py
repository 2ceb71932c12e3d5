"""Vehicles in the order of their wear."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.rates import wear_by_vehicle


def of(effects, sd):
    table = pd.DataFrame(
        {"vehicle_id": [f"V{i}" for i in range(len(effects))], "log_effect": effects, "log_effect_sd": sd}
    )
    return wear_by_vehicle(SimpleNamespace(vehicles=table))


def test_the_fastest_comes_first_with_its_eighty_percent_range():
    found = of(np.log([0.8, 1.25, 1.0]), 0.1)
    assert found["vehicle_id"].tolist() == ["V1", "V2", "V0"]
    assert found["ratio"].tolist() == pytest.approx([1.25, 1.0, 0.8])
    # A normal distribution holds 80 % within 1.2816 standard deviations (any table of it).
    assert found["upper"][0] == pytest.approx(1.25 * np.exp(0.12816), rel=1e-5)
    assert found["lower"][0] == pytest.approx(1.25 * np.exp(-0.12816), rel=1e-5)


def test_only_a_vehicle_that_surely_wears_unlike_most_is_odd():
    sure = of([0.0, 0.01, -0.01, 0.02, -0.02, 0.5], 0.02)
    assert sure.loc[sure["odd"], "vehicle_id"].tolist() == ["V5"]
    assert not of([0.0, 0.01, -0.01, 0.02, -0.02, 0.5], 0.3)["odd"].any()

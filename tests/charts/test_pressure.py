"""Pressures beside the placard, as data."""

import numpy as np
import pandas as pd
import pytest

from tests.charts.test_fitted import PRESSURES, rows
from tirelife import InputError, charts


def test_pressures_are_shown_in_psi_with_how_many_were_low():
    spec = charts.pressure_history(PRESSURES, "us").to_dict()
    assert [r["cold_psi"] for r in rows(spec)] == pytest.approx([30.0, 33.0], abs=1e-6)
    assert "2 readings, 1 of them below it" in spec["description"]


def test_a_wheel_has_a_panel_and_what_was_not_read_is_left_out():
    rows_of = pd.concat([PRESSURES, PRESSURES.assign(label="Right rear", cold_kpa=[np.nan, 220.632233])])
    spec = charts.pressure_history(rows_of, "metric", columns=1).to_dict()
    assert len(rows(spec)) == 3
    assert spec["facet"]["sort"] == ["Left front", "Right rear"]
    # At the placard it is not below it; one of the three is.
    assert "3 readings, 1 of them below it" in spec["description"].replace("2 of them", "2 of them")
    with pytest.raises(InputError):
        charts.pressure_history(PRESSURES.assign(cold_kpa=np.nan), "us")

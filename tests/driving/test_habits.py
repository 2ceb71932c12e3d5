"""Driving as the logbook's habits table: what is converted, and what stays as it is."""

import numpy as np
import pandas as pd
import pytest

from tests.driving.recordings import trips_frame
from tirelife.driving import reduce_trips
from tirelife.driving.habits import habits_table, in_units
from tirelife.logbook import BANDS


@pytest.fixture(scope="module")
def summary():
    t = np.arange(101.0)
    speed = np.concatenate([np.full(50, 10.0), [12.5, 15.0], np.full(49, 15.0)])
    dated = trips_frame((t, speed), vehicle="A", date="2026-03-01")
    bare = trips_frame((t, speed), vehicle="B", date="")
    return reduce_trips(pd.concat([dated, bare]))


def test_events_are_told_per_100_miles(summary):
    table = habits_table(summary)
    km = (49 * 10 + 11.25 + 13.75 + 49 * 15) / 1000
    assert table["hard_starts_per_100mi"].tolist() == pytest.approx([160.9344 / km] * 2)
    assert table["hard_stops_per_100mi"].tolist() == [0, 0]
    assert not [name for name in table if name.startswith("hard") and name.endswith("km")]
    assert table["distance_km"].tolist() == pytest.approx([km] * 2)
    assert table[list(BANDS)].sum(axis=1).tolist() == pytest.approx([1, 1])


def test_days_are_those_of_the_trips_or_the_ones_told_or_blank(summary):
    assert habits_table(summary)["from_date"].tolist() == ["2026-03-01", ""]
    assert habits_table(summary)["to_date"].tolist() == ["2026-03-01", ""]
    told = habits_table(summary, "2025-01-02", pd.Timestamp(2025, 12, 31))
    assert told["from_date"].tolist() == ["2026-03-01", "2025-01-02"]
    assert told["to_date"].tolist() == ["2026-03-01", "2025-12-31"]


def test_the_summary_is_left_as_it_was(summary):
    before = summary.vehicles.copy()
    habits_table(summary, "2025-01-02", "2025-01-03")
    pd.testing.assert_frame_equal(summary.vehicles, before)
    assert "hard_starts_per_100km" in summary.vehicles


TABLE = {
    "vehicle_id": ["A"], "distance_km": [1.609344], "max_speed_mps": [44.704], "hard_stops_per_100km": [2.0],
    "kinetic_intensity_per_km": [3.0], "accel_mps2": [4.0], "trips": [5], "text_km": ["far"], "gap_mi": [6.0],
    "whole_km": [16],
}  # fmt: skip


def test_distances_speeds_and_rates_are_shown_in_the_units_asked_for():
    out = in_units(pd.DataFrame(TABLE), "us")
    assert out.loc[0].to_dict() == {
        "vehicle_id": "A", "distance_mi": pytest.approx(1), "max_speed_mph": pytest.approx(100),
        "hard_stops_per_100mi": pytest.approx(3.218688), "kinetic_intensity_per_km": 3, "accel_mps2": 4,
        "trips": 5, "text_km": "far", "gap_mi": 6, "whole_mi": pytest.approx(16 / 1.609344),
    }  # fmt: skip
    assert list(out) == [
        "vehicle_id", "distance_mi", "max_speed_mph", "hard_stops_per_100mi", "kinetic_intensity_per_km",
        "accel_mps2", "trips", "text_km", "gap_mi", "whole_mi",
    ]  # fmt: skip
    metric = in_units(pd.DataFrame(TABLE), "metric")
    assert metric["max_speed_kmh"].tolist() == pytest.approx([160.9344])
    assert metric[["distance_km", "hard_stops_per_100km"]].loc[0].tolist() == [1.609344, 2]

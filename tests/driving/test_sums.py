"""From the sums of trips to statistics, means and doubts, each by hand from a few round numbers."""

import numpy as np
import pandas as pd
import pytest

from tirelife.driving.answers import answer_matrix
from tirelife.driving.profile import EVENTS, MEANT_BY_HARD, Thresholds
from tirelife.driving.sums import (
    EXTREMES,
    FOUND,
    SUMS,
    event_sizes,
    looks_like,
    means,
    parked,
    statistics,
    typical_turns,
)
from tirelife.logbook import BANDS


def sums(**given):
    """Sums of one trip, nothing in it but what is given."""
    assert set(given) <= {*SUMS, "parked_m", "trips_squared_m2"}
    return pd.DataFrame([{**dict.fromkeys(SUMS, 0.0), "parked_m": 0.0, "trips_squared_m2": 0.0, **given}])


def test_statistics_by_hand():
    row = statistics(
        sums(
            samples=10, zero_samples=2, path_m=2500, duration_s=9, start_s=3, speed_sum=40, speed2_sum=250,
            speed3_sum=640, speed_max=8, power_sum=-4, power_size_sum=20, power_max=6, power_min=-7,
            aero_sum=30, aero_max=9, aero_path_sum=40_000, mean_sum=11, mean_max=4, work_sum=90, work_net=-10,
        )
    ).iloc[0]  # fmt: skip
    want = {
        "distance_km": 2.5,
        "mean_speed_mps": 4,
        "driving_mean_speed_mps": 5,
        "root_mean_cubed_speed_mps": 4,
        "sd_speed_mps": 3,  # 25 - 16
        "kinetic_demand_total_m2s3": 8,  # what is gained and what is returned: 8 - 12 is -4, 8 + 12 is 20
        "kinetic_return_total_m2s3": -12,
        "kinetic_demand_max_m2s3": 6,
        "kinetic_return_max_m2s3": -7,
        "aerodynamic_demand_total_m3s3": 15,
        "aerodynamic_demand_max_m3s3": 4.5,
        "rolling_demand_total_m2s3": 11 * 9.80665,
        "rolling_demand_max_m2s3": 4 * 9.80665,
        "aerodynamic_speed_mps": 4,  # 40,000 over 2,500 is 16
        "characteristic_acceleration_mps2": 40 / 2500,
        "kinetic_intensity_per_km": 1,  # 0.016 over 16, per 1,000 m
    }
    assert row[list(want)].to_dict() == pytest.approx(want)


def test_a_trip_that_only_slows_down_demands_nothing_and_one_at_a_steady_speed_has_no_spread():
    row = statistics(sums(samples=4, power_max=-1, power_min=-2, speed_sum=40, speed2_sum=400 - 1e-9)).iloc[0]
    assert (row["kinetic_demand_max_m2s3"], row["kinetic_return_max_m2s3"]) == (0, -2)
    assert row["sd_speed_mps"] == 0
    up = statistics(sums(samples=4, power_max=2, power_min=1)).iloc[0]
    assert up["kinetic_return_max_m2s3"] == 0
    assert np.isnan(up["aerodynamic_speed_mps"])


def test_means_are_over_the_distance_that_counts():
    row = means(
        sums(
            drive_m=1500, brake_m=500, drive_m_v2=60_000, brake_m_a2=3_000, band0_m=400, band2_m=1600,
            hard_starts=1, hard_stops=2, hard_turns=3, side_m=2000, side_m_ay2=1000, steer_m=40, slow_m=100,
            parking_m=400, parked_m=100, trips_squared_m2=2000**2,
        )
    ).iloc[0]  # fmt: skip
    assert row["counted_km"] == 2
    assert row[list(BANDS)].tolist() == [0.2, 0, 0.8, 0, 0]
    assert row[list(EVENTS)].tolist() == pytest.approx([50, 100, 150])
    assert row[["drive_share", "brake_share", "drive_v2", "brake_a2"]].tolist() == [0.75, 0.25, 30, 1.5]
    assert (row["ay2"], row["lateral_share"]) == (0.5, 1)
    # Steered as at full lock in a fifth of it, where nobody knows.
    assert row["slow_turn"] == pytest.approx((40 / 0.2 + 100) / 2000)
    assert row["turning_share"] == 0.75
    # One trip with lateral acceleration: 0.15 and 0.25, and the share of the wear that parking takes.
    share = 12.5 * 100 / 2000
    assert row["log_sd"] == pytest.approx(np.sqrt(0.15**2 + 0.25**2 + (share / (1 + share)) ** 2))


def test_more_trips_are_surer_and_unknown_corners_less():
    one, many = (means(sums(drive_m=1000, trips_squared_m2=s)).iloc[0]["log_sd"] for s in (1e6, 1e6 / 25))
    assert one == pytest.approx(np.sqrt(0.25**2 + 0.25**2))
    assert many == pytest.approx(np.sqrt(0.25**2 + 0.05**2))
    # Corners known for half of the distance: halfway between 0.15 and 0.25.
    half = means(sums(drive_m=1000, side_m=500, trips_squared_m2=0)).iloc[0]["log_sd"]
    assert half == pytest.approx(0.20)


def test_turns_that_nobody_recorded_are_those_of_plain_answers():
    usual = answer_matrix()["ay2"]
    typical = usual[BANDS[4]] + typical_turns() * usual[EVENTS[2]]
    none = means(sums(drive_m=1000, band4_m=1000)).iloc[0]
    assert none["ay2"] == pytest.approx(typical)
    assert np.isnan(none["hard_turns_per_100km"])
    half = means(sums(drive_m=1000, band4_m=1000, side_m=500, side_m_ay2=200, hard_turns=1)).iloc[0]
    assert half["ay2"] == pytest.approx(0.2 + typical / 2)
    assert half["lateral_share"] == 0.5
    assert half["hard_turns_per_100km"] == pytest.approx(200)  # over the distance where they are known


def test_no_distance_has_no_means():
    row = means(sums(parking_m=0)).iloc[0]
    assert row["counted_km"] == 0
    assert row.drop("counted_km").isna().all()


def test_turning_that_was_not_recorded_is_parking_up_to_a_limit():
    trips = pd.concat([sums(drive_m=m, brake_m=m, slow_m=s) for m, s in
                       ((500, 150), (500, 300), (10_000, 390), (10_000, 450))])  # fmt: skip
    assert parked(trips)["parked_m"].tolist() == [150, 200, 390, 400]


def test_event_sizes():
    row = event_sizes(
        sums(
            along_max=2.5, along_min=-3.5, side_max=4, side_s=50, side_s_ay2=200, counted_s=100,
            along_s_a2=900, hard_starts=2, start_peaks=5, hard_turns=1, turn_peaks=3.5,
        )
    ).iloc[0]  # fmt: skip
    assert row["largest_start_mps2"] == 2.5
    assert row["largest_stop_mps2"] == 3.5
    assert row["largest_turn_mps2"] == 4
    assert (row["start_peak_mps2"], row["turn_peak_mps2"]) == (2.5, 3.5)
    assert np.isnan(row["stop_peak_mps2"])
    assert (row["rms_along_mps2"], row["rms_side_mps2"]) == (3, 2)


def test_nothing_to_the_side_has_no_size():
    row = event_sizes(sums(along_max=-0.5, along_min=0.5, counted_s=10)).iloc[0]
    assert (row["largest_start_mps2"], row["largest_stop_mps2"]) == (0, 0)
    assert row[["largest_turn_mps2", "rms_side_mps2", "turn_peak_mps2"]].isna().all()
    assert np.isnan(event_sizes(sums())["rms_along_mps2"].iloc[0])


def test_hard_turns_beyond_another_threshold_are_fewer_as_each_says_more():
    # A corner of radius R adds (pi/2) R (Ay² - Ay0²): what is marked goes with Ay² - 2.0², in m/s².
    meant = MEANT_BY_HARD.turn_mps2
    for turn in (0.3 * 9.80665, 0.5 * 9.80665):
        share = typical_turns(Thresholds(2, 2, turn)) / typical_turns()
        assert share == pytest.approx((meant**2 - 4) / (turn**2 - 4))
    assert typical_turns(Thresholds(2, 2, 1.9)) == typical_turns()


@pytest.mark.parametrize(
    ("given", "unit"),
    [
        ({"work_sum": 12.9, "power_max": 99}, "mps"),
        ({"work_sum": 13.1, "power_max": 61}, "mph"),
        ({"work_sum": 13.1, "power_max": 59}, "mps"),  # a noisy receiver at a steady speed
        ({"work_sum": 33.9, "power_max": 99}, "mph"),
        ({"work_sum": 34.1, "power_max": 99}, "kmh"),
        ({"fast": 5}, "mps"),
        ({"fast": 5.1}, "either"),
        ({"fast": 6, "fastest": 5.1}, "kmh"),
        ({"fast": 6, "spikes": 20}, "mps"),  # one in twenty of all samples given
        ({"fast": 6, "work_sum": 13.1, "power_max": 61}, "mph"),
    ],
)
def test_units_that_speeds_look_like(given, unit):
    seconds = 30.0
    row = sums(
        **{"samples": 100, **given, "moving_s": seconds, "work_sum": seconds * given.get("work_sum", 5)}
    )
    assert looks_like(row).tolist() == [unit]


def test_a_trip_of_less_than_half_a_minute_says_nothing_of_its_unit():
    for seconds, unit in ((29.9, "mps"), (30.0, "kmh")):
        row = sums(samples=100, moving_s=seconds, work_sum=40 * seconds, power_max=99)
        assert looks_like(row).tolist() == [unit]


def test_what_is_listed():
    assert len(SUMS) == len(set(SUMS))
    assert sum(name.startswith("band") for name in SUMS) == len(BANDS)
    assert set(EXTREMES) <= set(SUMS)
    assert set(FOUND) <= set(SUMS)

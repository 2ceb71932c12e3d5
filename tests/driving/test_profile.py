import math
from dataclasses import fields

import numpy as np
import pytest

from tirelife import InputError
from tirelife.driving import (
    MOMENTS,
    DrivingProfile,
    Thresholds,
    coast_down,
    combine,
    default_profile,
    profile_from_answers,
    profile_from_row,
    profiles_to_frame,
)
from tirelife.logbook import BANDS

TOWN = profile_from_answers([0.7, 0.3, 0, 0, 0], 2, 8, 20, distance_km=120.0)
ROAD = profile_from_answers([0, 0.1, 0.2, 0.4, 0.3], 0, 1, 2, distance_km=480.0)
BOTH = profile_from_answers([0.14, 0.14, 0.16, 0.32, 0.24], 0.4, 2.4, 5.6, distance_km=600.0)


def test_combine_by_distance_equals_answers_of_the_whole():
    # The map from answers is linear, so 120 km of town and 480 km of road are the answers weighted 1 : 4.
    both = combine([TOWN, ROAD])
    for field in fields(DrivingProfile):
        if field.name not in ("source", "thresholds"):
            assert getattr(both, field.name) == pytest.approx(getattr(BOTH, field.name), rel=1e-12), (
                field.name
            )


def test_combine_in_any_order_and_grouping():
    third = profile_from_answers([0.2] * 5, 1, 2, 3, distance_km=50.0)
    left = combine([combine([TOWN, ROAD]), third])
    right = combine([third, combine([ROAD, TOWN])])
    assert profiles_to_frame([left]).iloc[0][list(MOMENTS)].tolist() == pytest.approx(
        profiles_to_frame([right]).iloc[0][list(MOMENTS)].tolist(), rel=1e-12
    )
    assert combine([TOWN, ROAD], weights=[0, 8]).drive_a2 == ROAD.drive_a2


def test_combine_takes_the_least_sure_source():
    assert combine([TOWN, default_profile()], weights=[9, 1]).source == "default"
    assert combine([TOWN, default_profile()], weights=[9, 1]).log_sd == pytest.approx(
        0.9 * TOWN.log_sd + 0.1 * default_profile().log_sd
    )


def test_event_rates_with_different_thresholds_do_not_add_up():
    other = profile_from_answers([0.2] * 5, 1, 2, 3, distance_km=1.0, thresholds=Thresholds(stop_mps2=4.0))
    both = combine([TOWN, other])
    assert both.thresholds is None
    assert math.isnan(both.hard_stops_per_100km)
    assert np.isfinite([getattr(both, m) for m in MOMENTS]).all()


def test_combine_refuses_unknown_distances():
    with pytest.raises(InputError, match="pass weights"):
        combine([TOWN, default_profile()])
    with pytest.raises(InputError, match="at least one profile"):
        combine([])


def test_frame_and_back():
    frame = profiles_to_frame({"V1": TOWN, "V2": ROAD})
    assert list(frame.index) == ["V1", "V2"]
    assert profile_from_row(frame.loc["V2"]) == ROAD
    with pytest.raises(InputError, match="lacks brake_a2"):
        profile_from_row(frame.drop(columns="brake_a2").loc["V1"])


def test_coast_down_is_the_median_test_car():
    # EPA test-car list 2022, medians: A 39.3 lbf, B 0.227 lbf/mph, C 0.0226 lbf/mph², 4250 lb; the force at
    # 50 mph is 107.15 lbf (the list's own median at 50 mph is 107.6), so the deceleration is 0.02521 g.
    assert coast_down(50 * 0.44704) == pytest.approx(
        (39.3 + 0.227 * 50 + 0.0226 * 2500) / 4250 * 9.80665, rel=1e-12
    )
    assert coast_down(np.array([0.0, 30.0])).shape == (2,)


def test_phases_add_up_in_every_band():
    for i in range(5):
        one = [0.0] * 5
        one[i] = 1.0
        p = profile_from_answers(one, 0, 0, 0)
        assert p.drive_share + p.brake_share == pytest.approx(1, abs=2e-5)
        # Household cars come back to rest: what is gained in speed is lost again, to a few per cent.
        assert p.drive_a + p.brake_a == pytest.approx(0, abs=0.03 * p.drive_a)
        low, high = [0, 25, 40, 55, 70, 90][i : i + 2]
        assert low <= math.sqrt(p.drive_v2 + p.brake_v2) / 0.44704 <= high
        # Jensen: the mean of v⁴ is at least the square of the mean of v².
        assert p.drive_v4 + p.brake_v4 >= (p.drive_v2 + p.brake_v2) ** 2
    assert sum(getattr(default_profile(), b) for b in BANDS) == pytest.approx(1)


def test_thresholds_must_make_sense():
    with pytest.raises(InputError, match="stop_mps2 is -1"):
        Thresholds(stop_mps2=-1)
    with pytest.raises(InputError, match="merge_s"):
        Thresholds(merge_s=-1)

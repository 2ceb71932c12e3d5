"""What is wrong with recorded samples: where each limit lies, and that no trip disturbs the next."""

import numpy as np
import pytest

from tirelife.driving.kernel import Runs
from tirelife.driving.repair import drifting_steps, repair

NAMES = ("missing", "negative", "unsorted", "repeated", "spikes", "fast", "fastest")


def runs(*trips, **sides):
    starts = np.cumsum([0, *(len(t) for t, _ in trips[:-1])])
    time, speed = (np.concatenate([np.asarray(trip[k], float) for trip in trips]) for k in (0, 1))
    return Runs(starts, time, speed, **{name: np.asarray(values, float) for name, values in sides.items()})


def repaired(*trips, **sides):
    """Starts, times and speeds that are left, and what was found of each trip."""
    clean, found = repair(runs(*trips, **sides))
    counts = {name: found.counts[name].tolist() for name in NAMES if found.counts[name].any()}
    jumps = None if found.jumps is None else found.jumps.tolist()
    return clean, counts, jumps


def second(*speeds):
    return np.arange(float(len(speeds))), speeds


def test_sound_samples_stay_as_they_are():
    clean, counts, jumps = repaired(second(0, 3, 6, 6, 2), second(8, 8))
    assert clean.starts.tolist() == [0, 5]
    assert clean.speed_mps.tolist() == [0, 3, 6, 6, 2, 8, 8]
    assert counts == {}
    assert jumps is None


def test_blank_samples_go_and_a_trip_keeps_one():
    clean, counts, _ = repaired(
        ([0, 1, np.nan, 3], [5, np.nan, 5, 5]), ([7, 8], [np.nan, np.nan]), ([0, 1], [4, 4]),
        lateral_mps2=range(8), heading_deg=range(10, 18), longitudinal_mps2=range(20, 28),
    )  # fmt: skip
    assert counts == {"missing": [2, 2, 0]}
    assert clean.starts.tolist() == [0, 2, 3]
    assert clean.time_s.tolist() == [0, 3, 0, 0, 1]
    assert clean.speed_mps.tolist() == [5, 5, 0, 4, 4]
    assert clean.lateral_mps2.tolist() == [0, 3, 4, 6, 7]
    assert clean.heading_deg.tolist() == [10, 13, 14, 16, 17]
    assert clean.longitudinal_mps2.tolist() == [20, 23, 24, 26, 27]


def test_negative_speeds_are_standstill():
    clean, counts, _ = repaired(second(0.2, -0.1, 0, 0.3), second(1, 1))
    assert clean.speed_mps.tolist() == [0.2, 0, 0, 0.3, 1, 1]
    assert counts == {"negative": [1, 0]}


def test_samples_are_put_in_order_within_their_trip():
    clean, counts, _ = repaired(([3, 1, 2], [6, 4, 5]), ([0, 1], [7, 8]))
    assert clean.time_s.tolist() == [1, 2, 3, 0, 1]
    assert clean.speed_mps.tolist() == [4, 5, 6, 7, 8]
    assert counts == {"unsorted": [1, 0]}


def test_of_repeated_times_the_lowest_speed_stays():
    for times, unsorted in (([0, 1, 1, 2], []), ([1, 0, 2, 1], [2, 0])):
        speed = [5, 6, 5.5, 5] if not unsorted else [6, 5, 5, 5.5]
        clean, counts, _ = repaired((times, speed), ([2, 3], [4, 4]))
        assert clean.speed_mps.tolist() == [5, 5.5, 5, 4, 4]
        assert clean.starts.tolist() == [0, 3]
        assert counts == {"repeated": [1, 0], **({"unsorted": unsorted} if unsorted else {})}


@pytest.mark.parametrize(("size", "spikes"), [(5.4, 0), (5.6, 1), (-5.4, 0), (-5.6, 1)])
def test_a_sample_that_stands_out_both_ways_is_a_spike(size, spikes):
    clean, counts, _ = repaired(second(10, 10, 10 + size, 10, 10), second(3, 3))
    assert counts == ({"spikes": [1, 0]} if spikes else {})
    assert clean.speed_mps.tolist() == [10, 10, *([] if spikes else [10 + size]), 10, 10, 3, 3]


def test_a_change_that_stays_is_no_spike():
    _, counts, jumps = repaired(second(10, 10, 15.6, 15.6, 10, 10))
    assert (counts, jumps) == ({}, None)


def test_a_limit_goes_with_the_length_of_the_step():
    for step, spikes in ((2.0, 0), (0.9, 1)):  # 5 m/s² and 0.5 m/s: 10.5 and 5.0 m/s
        _, counts, _ = repaired(([0, step, 2 * step], [10, 15.6, 10]))
        assert counts == ({"spikes": [1]} if spikes else {})


@pytest.mark.parametrize(("lasts", "spikes"), [(5, 6), (6, 0)])
def test_samples_between_a_jump_and_the_way_back_are_a_spike_if_it_comes_soon(lasts, spikes):
    high = [25.0] * (lasts + 1)
    clean, counts, jumps = repaired(second(10, 10, *high, 10, 10))
    assert counts == ({"spikes": [spikes]} if spikes else {})
    if not spikes:
        assert np.flatnonzero(jumps).tolist() == [1, 1 + len(high)]
    else:
        assert clean.speed_mps.tolist() == [10] * 4
        assert jumps is None


@pytest.mark.parametrize(("lasts", "spikes"), [(5.0, 2), (5.1, 0)])
def test_how_soon_a_way_back_comes_is_told_by_the_clock(lasts, spikes):
    _, counts, _ = repaired(([0, 1, 2, 2 + lasts, 3 + lasts], [10, 10, 35, 35, 10]))
    assert counts == ({"spikes": [2]} if spikes else {})


def test_two_jumps_the_same_way_are_no_spike():
    _, counts, jumps = repaired(second(5, 5, 18, 18, 31, 31))
    assert counts == {}
    assert jumps == [False, True, False, True, False, False]


@pytest.mark.parametrize(("size", "jump"), [(10.9, False), (11.1, True)])
def test_a_jump_is_more_than_tires_can_hold(size, jump):
    _, counts, jumps = repaired(second(5, 5, 5 + size, 5 + size, 5 + size))
    assert counts == {}
    assert jumps == ([False, True, False, False, False] if jump else None)
    _, _, longer = repaired(([0, 1, 2.2, 3], [5, 5, 5 + size, 5 + size]))  # 13 m/s in 1.2 s
    assert longer is None


def test_nothing_reaches_over_the_end_of_a_trip():
    _, counts, jumps = repaired(second(5, 5, 5), second(40, 40), second(5, 5))
    assert (counts, jumps) == ({}, None)


def test_speeds_out_of_reach_go_but_for_one_a_trip():
    clean, counts, _ = repaired(second(74.9, 75.1, 74.9), second(80, 80))
    assert counts["spikes"] == [1, 2]
    assert clean.starts.tolist() == [0, 2]
    assert clean.speed_mps.tolist() == [74.9, 74.9, 80]


def test_speeds_that_only_another_unit_reaches_are_counted_as_they_were_given():
    _, counts, _ = repaired(second(60, 60.1, 95, 95.1), second(61, 2))
    assert (counts["fast"], counts["fastest"]) == ([3, 1], [1, 0])


def test_a_crawl_at_rest_is_drift_from_five_seconds_on():
    def drift(*speeds, times=None):
        time = np.arange(float(len(speeds))) if times is None else np.asarray(times, float)
        found = drifting_steps(np.array([0]), time, np.asarray(speeds, float))
        return None if found is None else np.flatnonzero(found).tolist()

    assert drift(5, *[0.3] * 6, 5) == [1, 2, 3, 4, 5]
    assert drift(5, *[0.3] * 5, 5) is None
    assert drift(5, *[0.3] * 4, 5, times=[0, 1, 3, 5, 7, 9]) == [1, 2, 3]
    assert drift(*[0.49] * 6) == [0, 1, 2, 3, 4]
    assert drift(*[0.5] * 6) is None
    assert drift(*[0.0] * 6) is None
    assert drift(0.3, 0.3, 0.3, 0, 0.3, 0.3, 0.3) is None  # true standstill between


def test_drift_ends_with_its_trip():
    time, speed = np.r_[np.arange(4.0), np.arange(4.0)], np.full(8, 0.2)
    assert drifting_steps(np.array([0, 4]), time, speed) is None
    whole = drifting_steps(np.array([0]), np.arange(8.0), speed)
    assert whole.tolist() == [True] * 7 + [False]

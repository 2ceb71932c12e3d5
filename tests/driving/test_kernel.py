"""The sums of a trip, each worked out by hand or in closed form, and the limits at which a step counts otherwise."""

import numpy as np
import pytest

from tirelife.driving import kernel
from tirelife.driving.kernel import Runs, trip_sums
from tirelife.driving.profile import BAND_EDGES_MPS, Thresholds, coast_down
from tirelife.driving.sums import SUMS

LIMITS = Thresholds(2.0, 2.0, 3.0, 1.5)


def runs(*trips, **sides):
    """Trips of (time, speed); what is measured beside it is given over all samples."""
    starts = np.cumsum([0, *(len(t) for t, _ in trips[:-1])])
    time, speed = (np.concatenate([np.asarray(trip[k], float) for trip in trips]) for k in (0, 1))
    return Runs(starts, time, speed, **{name: np.asarray(values, float) for name, values in sides.items()})


def one(time, speed, limits=LIMITS, **sides):
    return {name: values[0] for name, values in trip_sums(runs((time, speed), **sides), limits).items()}


def steady(speed, seconds=10, **sides):
    return one(np.arange(seconds + 1.0), np.full(seconds + 1, float(speed)), **sides)


def test_a_ramp_is_integrated_exactly():
    # From 4 to 10 m/s in 1.25 s: a = 4.8 m/s²; the integral of vⁿ dt is (10ⁿ⁺¹ - 4ⁿ⁺¹) / ((n + 1) a).
    row = one([0.0, 1.25], [4.0, 10.0])
    a = 4.8
    want = {
        "drive_m": 8.75,
        "drive_m_v2": (10**4 - 4**4) / (4 * a),
        "drive_m_v4": (10**6 - 4**6) / (6 * a),
        "drive_m_a": (10**2 - 4**2) / 2,
        "drive_m_a2": a * (10**2 - 4**2) / 2,
        "drive_m_av2": (10**4 - 4**4) / 4,
        "aero_path_sum": (10**4 - 4**4) / (4 * a),
        "aero_sum": (10**4 - 4**4) / (4 * a) / 1.25,
        "power_sum": 7 * a,
        "work_sum": (10**2 - 4**2) / 2,
        "counted_s": 1.25,
        "moving_s": 1.25,
        "along_s_a2": 1.25 * a**2,
        "along_max": a,
        "accel_max": a,
        "duration_s": 1.25,
    }
    assert {name: row[name] for name in want} == pytest.approx(want, rel=1e-12)
    assert [row[name] for name in row if name.startswith("brake")] == [0.0] * 6
    back = one([0.0, 1.25], [10.0, 4.0])
    assert back["brake_m_v2"] == pytest.approx(want["drive_m_v2"])
    assert back["brake_m_v4"] == pytest.approx(want["drive_m_v4"])
    assert back["brake_m_a"] == pytest.approx(-want["drive_m_a"])
    assert back["brake_m_a2"] == pytest.approx(want["drive_m_a2"])
    assert (back["work_net"], back["work_sum"]) == pytest.approx((-42.0, 42.0))
    assert (back["along_min"], back["accel_min"], back["power_min"]) == pytest.approx((-a, -a, -7 * a))


def test_every_sum_is_there_and_no_other():
    assert set(one([0.0, 1.0], [5.0, 5.0])) == set(SUMS)
    assert trip_sums(Runs(np.zeros(0, np.int64), np.zeros(0), np.zeros(0)), LIMITS) == {}


def test_the_statistics_of_a_small_trip_by_hand():
    row = one(100 + np.arange(9.0), [0, 0, 3, 5, 5, 0, 0, 2, 0])
    # Steps: mean 0, 1.5, 4, 5, 2.5, 0, 1, 1 m/s; change 0, 3, 2, 0, -5, 0, 2, -2 m/s.
    want = {
        "samples": 9,
        "start_s": 100,
        "duration_s": 8,
        "path_m": 15,
        "speed_sum": 15,
        "speed2_sum": 9 + 25 + 25 + 4,
        "speed3_sum": 27 + 125 + 125 + 8,
        "speed_max": 5,
        "zero_samples": 5,
        "stops": 2,  # standing at the start is none, standing at the end is one
        "stop_longest_s": 2,
        "up_runs": 2,
        "down_runs": 2,
        "accel_max": 3,
        "accel_min": -5,
        "power_sum": 4.5 + 8 - 12.5 + 2 - 2,
        "power_size_sum": 4.5 + 8 + 12.5 + 2 + 2,
        "power_max": 8,
        "power_min": -12.5,
        "mean_sum": 15,
        "mean_max": 5,
        "moving_s": 4,  # a mean of 1 m/s is not yet moving
        # The mean of v³ over a ramp from u to v: (u + v)(u² + v²) / 4.
        "aero_sum": 27 / 4 + 8 * 34 / 4 + 125 + 125 / 4 + 8 / 4 + 8 / 4,
        "aero_max": 125,
    }
    assert {name: float(row[name]) for name in want} == pytest.approx(want)


def test_a_stop_lasts_until_the_next_sample_that_moves():
    row = one(np.arange(10.0), [5, 0, 0, 0, 4, 4, 0, 2, 2, 2])
    assert (row["stops"], row["stop_longest_s"]) == (2, 3)
    row = one(np.arange(6.0), [5, 5, 4, 0, 0, 0])
    assert (row["stops"], row["stop_longest_s"]) == (1, 2)


def test_what_brakes_is_beyond_coasting():
    coasting = float(coast_down(np.array([20.0]))[0])
    for share, phase in ((0.98, "drive"), (1.02, "brake")):
        half = share * coasting / 2
        row = one([0.0, 1.0], [20 + half, 20 - half])
        assert row[f"{phase}_m"] == pytest.approx(20)
        assert row["drive_m"] + row["brake_m"] == pytest.approx(20)


def test_distance_goes_to_the_band_of_the_mean_speed_of_its_step():
    edges = np.array(BAND_EDGES_MPS)
    for speed, band in zip((5.0, *edges, *(edges - 0.01)), (0, 1, 2, 3, 4, 0, 1, 2, 3), strict=True):
        row = steady(speed)
        shares = [row[f"band{i}_m"] for i in range(5)]
        assert shares[band] == pytest.approx(10 * speed)
        assert sum(shares) == pytest.approx(10 * speed)
    stop = one(np.arange(4.0), [40.0, 38.0, 36.0, 34.0])  # braked
    assert (stop["drive_m"], stop["band4_m"]) == (0, pytest.approx(111))


def start(*size):
    """A trip that speeds up by so much in each second."""
    return np.arange(len(size) + 1.0), 5 + np.concatenate([[0], np.cumsum(size)])


def test_runs_beyond_a_threshold_are_one_event_over_a_short_pause():
    for pause, events, peaks in (([0], 1, 4), ([0, 0], 2, 3 + 4)):
        row = one(*start(0, 3, *pause, 2.5, 4, 0))
        assert (row["hard_starts"], row["start_peaks"]) == (events, pytest.approx(peaks))
        assert row["hard_stops"] == 0
    assert one(*start(2.0, 2.0))["hard_starts"] == 0  # no more than the threshold
    merged = one(*start(0, 3, 0, 0, 3), Thresholds(2, 2, 3, merge_s=2.0))
    assert merged["hard_starts"] == 1  # a pause as long as that is still short
    back = one(*start(0, 6, 6, 6, -3, -5, 0, 0, -4))
    assert (back["hard_stops"], back["stop_peaks"]) == (2, pytest.approx(9))
    at_edge = runs(start(0, 3), start(3, 0))
    assert trip_sums(at_edge, LIMITS)["hard_starts"].tolist() == [1, 1]  # never over the end of a trip
    assert trip_sums(at_edge, LIMITS)["start_peaks"].tolist() == [3, 3]


def test_a_gap_counts_for_the_distance_and_for_no_moment():
    row = one([0, 1, 2.5, 4.1, 5.1, 8.1], [10.0] * 6)
    assert (row["gaps"], row["gap_s"], row["gap_longest_s"]) == (2, pytest.approx(4.6), pytest.approx(3.0))
    assert row["gap_m"] == pytest.approx(46)
    assert row["path_m"] == pytest.approx(81)
    assert row["drive_m"] == pytest.approx(35)
    assert row["counted_s"] == pytest.approx(3.5)


def test_a_jump_is_no_driving():
    row = one(np.arange(6.0), [5, 5, 5, 20, 20, 20])
    assert (row["jumps"], row["jump_s"], row["gaps"]) == (1, 1, 0)
    assert row["path_m"] == pytest.approx(5 + 5 + 20 + 20)
    assert (row["accel_max"], row["up_runs"], row["power_sum"], row["aero_max"]) == (0, 0, 0, 8000)
    assert row["counted_s"] == 4
    both = one([0, 1, 2, 3, 6, 7], [5, 5, 20, 20, 20, 20])
    assert (both["jumps"], both["gaps"], both["counted_s"]) == (1, 1, 3)


def test_a_receiver_at_rest_that_shows_a_crawl_adds_no_distance():
    row = one(np.arange(12.0), [6, 6, 6, 0, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 6, 6])
    assert (row["drift_s"], row["drift_m"]) == (5, pytest.approx(1.0))
    assert row["drive_m"] + row["brake_m"] == pytest.approx(row["path_m"] - 1.0)


def test_samples_taken_faster_than_the_clock_ticks_are_thinned_to_whole_seconds():
    # A receiver's noise of 0.4 m/s from sample to sample, at 5 Hz, is no acceleration; the distance is all of it.
    time = 0.2 * np.arange(51) + 7.4
    speed = np.where(np.arange(51) % 2, 10.4, 10.0)
    speed[[3, 8, 13, 18, 23, 28, 33, 38, 43, 48]] = 10.0  # what is read at 8.0, 9.0 ... 17.0
    row = one(time, speed)
    assert row["along_s_a2"] == pytest.approx(0, abs=1e-9)
    assert row["samples"] == 51
    assert row["counted_s"] == pytest.approx(10)
    assert row["drive_m"] == pytest.approx(np.trapezoid(speed, time))
    assert row["path_m"] == pytest.approx(np.trapezoid(speed, time))


@pytest.mark.parametrize(("step", "thinned"), [(0.59, True), (0.61, False)])
def test_a_trip_is_thinned_where_its_steps_are_short(step, thinned):
    time = step * np.arange(40)
    row = one(time, 10 + 0.3 * (np.arange(40) % 2))
    rough = 39 * step * (0.3 / step) ** 2
    assert (row["along_s_a2"] < 0.6 * rough) == thinned
    if not thinned:
        assert row["along_s_a2"] == pytest.approx(rough)


@pytest.mark.parametrize(("short", "thinned"), [(4, False), (6, True)])
def test_a_trip_is_thinned_where_most_of_its_steps_are_short(short, thinned):
    # Beside so many steps of half a second, five of one; speed goes up and down by 1 m/s from sample to sample.
    steps = [0.5] * short + [1.0] * 5
    time = np.concatenate([[0], np.cumsum(steps)])
    row = one(time, 10 + np.arange(len(time)) % 2)
    assert row["along_s_a2"] == pytest.approx(5.0 if thinned else 5.0 + short * 0.5 * 4)


def test_thinning_one_trip_leaves_the_next_and_a_gap_is_left_out_of_it():
    fast, plain = 0.5 * np.arange(21), np.arange(5.0)
    out = trip_sums(runs((fast, 10 + np.arange(21) % 2), (plain, [5, 6, 5, 6, 5])), LIMITS)
    assert out["along_s_a2"].tolist() == pytest.approx([0.0, 4.0])
    assert out["drive_m"] + out["brake_m"] == pytest.approx([10 * 10.5, 4 * 5.5])
    time = np.concatenate([fast, 12.5 + fast])
    row = one(time, np.full(42, 10.0))
    assert (row["gaps"], row["gap_s"], row["counted_s"]) == (1, 2.5, 20)
    assert row["drive_m"] == pytest.approx(200)


def test_lateral_acceleration_is_the_mean_over_each_step():
    row = one(np.arange(4.0), [10.0] * 4, lateral_mps2=[0, 2, 4, 8])
    # Means 1, 3, 6 over steps of 10 m.
    assert row["side_m_ay2"] == pytest.approx(10 * (1 + 9 + 36))
    assert row["side_s_ay2"] == pytest.approx(1 + 9 + 36)
    assert (row["side_m"], row["side_s"], row["side_max"]) == (30, 3, 6)
    assert (row["hard_turns"], row["turn_peaks"], row["side_wrong"]) == (1, 6, 0)
    longer = one([0, 1.25, 2.5], [10.0] * 3, lateral_mps2=[4, 4, 4])
    assert (longer["side_max"], longer["side_s_ay2"]) == (4, pytest.approx(2.5 * 16))
    at = one(np.arange(4.0), [10.0] * 4, lateral_mps2=[-3, -3, -3, -3])
    assert (at["hard_turns"], at["side_max"]) == (0, 3)
    beyond = one(np.arange(4.0), [10.0] * 4, lateral_mps2=[-3.1] * 4)
    assert (beyond["hard_turns"], beyond["turn_peaks"]) == (1, pytest.approx(3.1))


def test_lateral_accelerations_beyond_belief_are_counted_and_not_used():
    for size, wrong in ((12.0, 0), (12.1, 3), (np.inf, 3), (-np.inf, 3)):
        row = one(np.arange(4.0), [10.0] * 4, lateral_mps2=[size] * 4)
        assert row["side_wrong"] == wrong
        assert row["side_m"] == (0 if wrong else 30)
        assert row["side_max"] == (0 if wrong else 12)
    unknown = one(np.arange(4.0), [10.0] * 4, lateral_mps2=[1, 1, np.nan, 1])
    assert (unknown["side_m"], unknown["side_s"], unknown["side_wrong"]) == (10, 1, 0)


def test_lateral_acceleration_of_a_fast_sensor_is_that_of_whole_seconds():
    time = 0.5 * np.arange(9)
    row = one(time, [10.0] * 9, lateral_mps2=[0, 4, 0, 4, 0, 4, 0, 4, 0])
    assert row["side_s_ay2"] == pytest.approx(4 * 2.0**2)


def test_a_heading_turns_the_short_way_round_at_the_speed_driven():
    row = one(np.arange(4.0), [10.0] * 4, heading_deg=[350, 5, 20, 5])
    side = 10 * np.radians(15)
    assert row["side_s_ay2"] == pytest.approx(3 * side**2)
    assert (row["side_max"], row["side_m"]) == (pytest.approx(side), 30)
    for speed, known in ((2.0, 0.0), (2.1, 1.0)):  # below walking pace a heading points anywhere
        slow = one(np.arange(3.0), [speed] * 3, heading_deg=[0, 30, 60])
        assert slow["side_max"] == pytest.approx(known * speed * np.radians(30))
        assert slow["side_m"] == pytest.approx(2 * speed)
    unknown = one(np.arange(4.0), [10.0] * 4, heading_deg=[0, 0, np.inf, 0])
    assert unknown["side_m"] == 10
    longer = one([0, 1.25, 2.5], [8.0] * 3, heading_deg=[0, 10, 20])
    assert longer["side_max"] == pytest.approx(8 * np.radians(10) / 1.25)


def test_without_either_nothing_is_known_to_the_side():
    row = steady(10)
    assert [row[name] for name in row if name.startswith(("side", "turn")) or name == "hard_turns"] == [0] * 8
    assert row["slow_m"] == 0


def test_distance_at_parking_speed_is_weighed_by_its_speed():
    # (1 - v²/27)², 0 from the root of 27 m/s on.
    for speed, weight in ((2.0, (1 - 4 / 27) ** 2), (5.0, (2 / 27) ** 2), (5.2, 0.0)):
        row = steady(speed)
        assert row["parking_m"] == pytest.approx(10 * speed * weight)
        assert (row["slow_m"], row["steer_m"]) == (pytest.approx(row["parking_m"]), 0)


def test_turning_at_parking_speed_counts_as_its_share_of_full_lock_squared():
    # Full lock is a circle of 5.5 m; a car that turned by more than 0.25 rad/m would be the receiver's.
    for per_m, use, known in ((0.05, (0.05 * 5.5) ** 2, 1), (0.2, 1.0, 1), (0.24, 1.0, 1), (0.26, 0, 0)):
        row = steady(2, heading_deg=np.degrees(2 * per_m * np.arange(11)) % 360)
        assert row["steer_m"] == pytest.approx(row["parking_m"] * use)
        assert row["slow_m"] == pytest.approx(row["parking_m"] * (1 - known))


def test_turning_from_lateral_acceleration_sets_the_fall_of_the_road_aside():
    for side, squared in ((0.15, 0.0), (0.2, 0.0), (0.25, 0.25**2 - 0.04), (-0.25, 0.25**2 - 0.04)):
        row = steady(2, lateral_mps2=[side] * 11)
        assert row["steer_m"] == pytest.approx(row["parking_m"] * squared / 16 * 5.5**2)
        assert row["slow_m"] == 0
    # Where both are there the heading speaks, and where it is blank the sensor does.
    both = one(np.arange(3.0), [2.0] * 3, lateral_mps2=[0.25] * 3, heading_deg=[0, 0, np.nan])
    assert both["steer_m"] == pytest.approx(both["parking_m"] / 2 * (0.25**2 - 0.04) / 16 * 5.5**2)


def test_a_measured_acceleration_stands_in_place_of_the_change_of_speed():
    time, speed = np.arange(4.0), [10.0, 10.0, 10.0, 10.0]
    row = one(time, speed, longitudinal_mps2=[1, 3, 3, np.nan])
    assert row["drive_m_a"] == pytest.approx(10 * (2 + 3))
    assert row["drive_m_a2"] == pytest.approx(10 * (4 + 9))
    assert row["drive_m_av2"] == pytest.approx(1000 * (2 + 3))
    assert (row["along_max"], row["hard_starts"], row["start_peaks"]) == (3, 1, 3)
    assert row["accel_max"] == 0  # what is published is the speed's
    for size, wrong in ((12.0, 0), (-12.1, 3), (np.inf, 3)):
        odd = one(time, [10, 10.5, 11, 11.5], longitudinal_mps2=[size] * 4)
        assert odd["along_wrong"] == wrong
        assert odd["along_max"] == pytest.approx(0.5 if wrong else 12)
    assert steady(10)["along_wrong"] == 0


def test_accelerations_alone_give_events_and_no_distance():
    time = np.arange(8.0)
    row = one(
        time,
        np.full(8, np.nan),
        longitudinal_mps2=[0, 0, 4, 4, 0, 0, 0, 0],
        lateral_mps2=[0.0] * 7 + [np.nan],
    )
    assert (row["samples"], row["no_speed"], row["missing"]) == (8, 8, 0)
    assert (row["hard_starts"], row["start_peaks"]) == (1, 4)
    assert (row["drive_m"], row["path_m"]) == (0, 0)
    mixed = runs((time, np.full(8, np.nan)), (time, np.full(8, 5.0)), lateral_mps2=[1.0] * 16)
    assert trip_sums(mixed, LIMITS)["no_speed"].tolist() == [8, 0]
    # Where nothing was felt either, the trip is empty.
    bare = one(time, np.full(8, np.nan), lateral_mps2=[np.nan] * 8)
    assert [bare[name] for name in ("samples", "zero_samples", "no_speed", "missing")] == [0, 0, 0, 8]


def test_each_trip_is_reduced_by_itself_however_they_are_cut(monkeypatch):
    rng = np.random.default_rng(4)
    trips = [(np.arange(n + 0.0), np.abs(5 + np.cumsum(rng.normal(0, 1, n)))) for n in (7, 3, 40, 1, 12)]
    n = sum(len(t) for t, _ in trips)
    sides = {"lateral_mps2": rng.normal(0, 2, n), "heading_deg": rng.uniform(0, 20, n)}
    together = runs(*trips, **sides)
    whole = trip_sums(together, LIMITS)
    for k in range(5):
        alone = trip_sums(together.part(k, k + 1), LIMITS)
        assert {name: values[0] for name, values in alone.items()} == pytest.approx(
            {name: values[k] for name, values in whole.items()}, rel=1e-9, abs=1e-9
        )
    monkeypatch.setattr(kernel, "_ROWS", 15)
    cut = trip_sums(together, LIMITS)
    for name, values in whole.items():
        assert cut[name] == pytest.approx(values, rel=1e-9, abs=1e-9), name

"""The reduction of trips: properties, and samples that are wrong in every way recorders know."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.driving.recordings import cycle, smooth, trips_frame
from tirelife import InputError
from tirelife.driving import (
    MOMENTS,
    Thresholds,
    answer_matrix,
    combine,
    default_profile,
    profile_from_row,
    reduce_trips,
)
from tirelife.driving.faults import Sideways
from tirelife.driving.profile import EVENTS
from tirelife.driving.sums import FOUND
from tirelife.language import fault_words
from tirelife.logbook import BANDS

FIELDS = [*BANDS, *EVENTS[:2], *MOMENTS]


def one(frame, **more):
    return reduce_trips(frame, **more).trips.iloc[0]


def fields(row):
    return row[FIELDS].to_numpy(float)


def found(row):
    return {kind: row[kind] for kind in FOUND if row[kind]}


def test_constant_speed_by_hand():
    t = np.arange(101.0)
    row = one(trips_frame((t, np.full(101, 20.0))))
    assert row["distance_km"] == pytest.approx(2.0)
    assert row["share_40_55mph"] == 1.0  # 20 m/s is 44.7 mph
    assert row["drive_v2"] == pytest.approx(400)
    assert row["drive_v4"] == pytest.approx(160_000)
    assert row["drive_share"] == 1
    assert row[["drive_a", "drive_a2", "drive_av2", "brake_share", "brake_a2"]].tolist() == [0] * 5


def test_one_stop_by_hand():
    # 0 to 10 m/s at 2 m/s², 10 s at 10 m/s, to rest at 2.5 m/s²: 25 m, 100 m, 20 m.
    t = np.arange(20.0)
    v = np.concatenate([np.arange(0, 10, 2.0), np.full(10, 10.0), [10, 7.5, 5, 2.5, 0]])[:20]
    row = one(trips_frame((t, v)), thresholds=Thresholds(1.9, 2.4, 4))
    meters = 25 + 100 + 20
    assert row["distance_km"] * 1000 == pytest.approx(meters)
    # The integral of a² ds of a stop from V at A is A V²/2; of a ds, V²/2; of v² ds, V⁴/(4A); of a v² ds, V⁴/4.
    assert row["drive_a2"] * meters == pytest.approx(2.0 * 50)
    assert row["brake_a2"] * meters == pytest.approx(2.5 * 50)
    assert row["drive_a"] * meters == pytest.approx(50)
    assert row["brake_a"] * meters == pytest.approx(-50)
    assert row["brake_v2"] * meters == pytest.approx(10**4 / (4 * 2.5))
    assert row["drive_v2"] * meters == pytest.approx(10**4 / (4 * 2) + 100 * 100)
    assert row["brake_v4"] * meters == pytest.approx(10**6 / (6 * 2.5))
    assert row["brake_av2"] * meters == pytest.approx(-(10**4) / 4)
    assert row["brake_share"] * meters == pytest.approx(20)
    # Steps with a mean speed below 5.2 m/s: 2 m at 1, 6 m at 3, 10 m at 5 m/s up, 7.5 ... down; (1 - v²/27)².
    slow = [(1, 1), (3, 3), (5, 5), (3.75, 3.75), (1.25, 1.25)]
    assert row["slow_turn"] * meters == pytest.approx(sum(m * (1 - v * v / 27) ** 2 for m, v in slow))
    assert (row["hard_starts"], row["hard_stops"]) == (1, 1)
    assert row["hard_stops_per_100km"] == pytest.approx(1 / (meters / 1e5))


@pytest.mark.parametrize("cut", [1, 200, 611, 1199])
def test_splitting_a_trip_changes_nothing(cut):
    t, v = cycle("udds")
    whole = reduce_trips(trips_frame((t, v)))
    parts = reduce_trips(trips_frame((t[: cut + 1], v[: cut + 1]), (t[cut:], v[cut:])))
    assert fields(parts.vehicles.iloc[0]) == pytest.approx(
        fields(whole.vehicles.iloc[0]), rel=1e-12, abs=1e-12
    )
    assert parts.vehicles["distance_km"].iloc[0] == pytest.approx(
        whole.vehicles["distance_km"].iloc[0], rel=1e-14
    )
    # And the profiles of the parts combine to that of the whole.
    rows = parts.trips.assign(distance_km=parts.trips["counted_km"], source="trips", log_sd=0.2)
    moving = [profile_from_row(r) for r in rows.to_dict("records") if r["distance_km"] > 0]
    both = combine(moving)
    assert [getattr(both, f) for f in FIELDS] == pytest.approx(
        fields(whole.vehicles.iloc[0]), rel=1e-12, abs=1e-12
    )


@pytest.mark.parametrize("name", ["udds", "us06"])
def test_sampling_faster_along_straight_lines_changes_nothing(name):
    t, v = cycle(name)
    slow = one(trips_frame((t, v)))
    for hz in (5, 10):
        fine = np.arange(int(t[-1]) * hz + 1) / hz
        fast = one(trips_frame((fine, np.interp(fine, t, v))))
        assert fast["distance_km"] == pytest.approx(slow["distance_km"], rel=1e-12)
        assert fields(fast) == pytest.approx(fields(slow), rel=1e-9, abs=1e-12)
        assert found(fast) == {}


def test_sampling_rate_of_a_smooth_drive():
    # The stated bound: smooth driving within 1 % in every moment at 1, 5 and 10 Hz.
    slow = one(trips_frame(smooth(1)))
    for hz in (5, 10):
        fast = one(trips_frame(smooth(hz)))
        assert fast["distance_km"] == pytest.approx(slow["distance_km"], rel=1e-3)
        assert fast[list(MOMENTS)].to_numpy(float) == pytest.approx(
            slow[list(MOMENTS)].to_numpy(float), rel=0.01
        )


def test_noise_of_a_fast_receiver_is_not_acceleration():
    t, v = smooth(10)
    clean = one(trips_frame((t, v)))
    noisy = one(trips_frame((t, np.maximum(v + np.random.default_rng(1).normal(0, 0.05, len(t)), 0))))
    # Differences over 0.1 s would add 2 (0.05 / 0.1)² = 0.5 m²/s⁴ to a²; over a second it is 0.005.
    assert noisy["drive_a2"] + noisy["brake_a2"] == pytest.approx(
        clean["drive_a2"] + clean["brake_a2"], abs=0.01
    )


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=5, deadline=None, derandomize=True)
def test_order_of_rows_does_not_matter(seed):
    rng = np.random.default_rng(seed)
    trips = [(np.arange(60.0), np.abs(np.cumsum(rng.normal(0, 1, 60)))) for _ in range(4)]
    frame = trips_frame(*trips)
    plain, mixed = reduce_trips(frame), reduce_trips(frame.sample(frac=1, random_state=seed))
    same = [c for c in plain.trips.columns if c not in ("unsorted",)]
    pd.testing.assert_frame_equal(plain.trips[same], mixed.trips[same], rtol=1e-12)
    assert mixed.trips["unsorted"].sum() > 0
    assert "unsorted" in set(mixed.problems["kind"])


def test_events_are_runs_and_short_dips_do_not_split_them():
    t = np.arange(60.0)
    a = np.zeros(59)
    a[5:12] = 3.0
    a[8] = 1.0  # a dip of one second inside one start
    a[20:24] = -3.0
    a[27:30] = -3.0  # three seconds later: another stop
    v = np.concatenate([[0], np.cumsum(a)]) + 5
    row = one(trips_frame((t, v)))
    assert (row["hard_starts"], row["hard_stops"]) == (1, 2)
    assert one(trips_frame((t, v)), thresholds=Thresholds(merge_s=0))["hard_starts"] == 2
    assert one(trips_frame((t, v)), thresholds=Thresholds(merge_s=3))["hard_stops"] == 1
    assert one(trips_frame((t, v)), thresholds=Thresholds(3.5, 3.5, 4))["hard_starts"] == 0
    summary = reduce_trips(trips_frame((t, v)), Thresholds(2.0, 2.2, 3.3, 1.0))
    kept = summary.vehicles.filter(like="threshold_").iloc[0]
    assert kept.tolist() == [2.0, 2.2, 3.3, 1.0]


def test_gaps_are_bridged_for_distance_and_left_out_of_moments():
    t, v = cycle("hwfet")
    keep = (t < 300) | (t > 360)
    whole, gap = one(trips_frame((t, v))), one(trips_frame((t[keep], v[keep])))
    assert found(gap) == {"gaps": 1}
    assert (gap["gap_s"], gap["duration_s"]) == (62, 765)
    assert gap["gap_km"] == pytest.approx(62 * (v[299] + v[361]) / 2 / 1000)
    assert gap["counted_km"] == pytest.approx(gap["distance_km"] - gap["gap_km"])
    inside = (t >= 299) & (t <= 361)
    lost = np.trapezoid(v[inside], t[inside]) / 1000
    assert gap["counted_km"] == pytest.approx(whole["distance_km"] - lost)
    problem = reduce_trips(trips_frame((t[keep], v[keep]))).problems.iloc[0]
    assert (problem["kind"], problem["count"], problem["seconds"]) == ("gaps", 1, 62)


def test_a_step_is_a_gap_beyond_one_and_a_half_seconds():
    for step, gaps in ((1.45, 0), (1.55, 1)):
        t = np.concatenate([np.arange(50.0), 49 + step + np.arange(50.0)])
        assert one(trips_frame((t, np.full(100, 12.0))))["gaps"] == gaps


def test_repeated_and_blank_samples():
    t, v = cycle("udds")
    frame = trips_frame((t, v))
    plain = one(frame)
    doubled = one(pd.concat([frame, frame.iloc[100:150]]).sort_values("time_s", kind="stable"))
    assert found(doubled) == {"repeated": 50}
    assert fields(doubled) == pytest.approx(fields(plain), rel=1e-12)
    holed = frame.copy()
    holed.loc[500, "speed_mps"] = np.nan
    assert found(one(holed)) == {"missing": 1, "gaps": 1}
    holed["speed_mps"] = np.nan
    with pytest.raises(InputError, match="no trip can be used"):
        reduce_trips(holed)


@pytest.mark.parametrize(("length", "size"), [(1, 45), (3, 45), (1, 8), (1, -8)])
def test_spikes_are_dropped(length, size):
    t, v = cycle("udds")
    wrong = v.copy()
    wrong[250 : 250 + length] += size
    row, plain = one(trips_frame((t, wrong))), one(trips_frame((t, v)))
    assert row["spikes"] == length
    assert row["max_speed_mps"] == plain["max_speed_mps"]
    assert row["distance_km"] == pytest.approx(plain["distance_km"], rel=1e-3)
    assert row["gaps"] == 1  # the line across it is a gap, and said
    assert row["drive_a2"] == pytest.approx(plain["drive_a2"], rel=0.02)
    assert (row["hard_starts"], row["hard_stops"]) == (0, 0)
    out = v.copy()
    out[250] = 200.0
    assert one(trips_frame((t, out)))["spikes"] == 1


def test_speeds_out_of_reach_are_dropped_however_long():
    t, v = cycle("udds")
    wrong = v.copy()
    wrong[250:259] = 80.0  # nine seconds: longer than a spike between two jumps
    assert one(trips_frame((t, wrong)))["spikes"] == 9


def test_a_jump_that_stays_is_left_out():
    t = np.arange(100.0)
    v = np.where(t < 50, 5.0, 25.0)
    row = one(trips_frame((t, v)))
    assert found(row) == {"jumps": 1}
    assert row["drive_a2"] == 0
    assert row["hard_starts"] == 0
    assert row["distance_km"] * 1000 == pytest.approx(49 * 5 + 49 * 25)


def test_standstill_drift():
    t = np.arange(400.0)
    v = np.where((t > 50) & (t < 350), 0.0, 15.0)
    v = np.interp(t, [0, 40, 50, 350, 360, 399], [15, 15, 0, 0, 15, 15])
    drifting = v.copy()
    at_rest = v == 0
    drifting[at_rest] = np.random.default_rng(3).uniform(0.05, 0.4, at_rest.sum())
    plain, row = one(trips_frame((t, v))), one(trips_frame((t, drifting)))
    assert row["drift_s"] > 280
    assert row["drift_km"] == pytest.approx(0.067, abs=0.005)
    assert row["counted_km"] == pytest.approx(plain["counted_km"], rel=2e-3)
    assert row["slow_turn"] == pytest.approx(plain["slow_turn"], abs=2e-3)


def test_negative_speeds_are_counted():
    t, v = cycle("udds")
    row = one(trips_frame((t, np.where(v == 0, -0.01, v))))
    assert row["negative"] == (v == 0).sum()
    assert row["distance_km"] == pytest.approx(one(trips_frame((t, v)))["distance_km"])


@pytest.mark.parametrize(("factor", "unit"), [(3.6, "km/h"), (1 / 0.44704, "mph")])
def test_unit_slips_are_found(factor, unit):
    t, v = cycle("udds")
    with pytest.raises(InputError, match=f"speeds look like {unit}: rename the column"):
        reduce_trips(trips_frame((t, v * factor)))
    # One slipped trip of ten: named, and left out of the vehicle.
    trips = [(t, v)] * 9 + [(t, v * factor)]
    out = reduce_trips(trips_frame(*trips))
    assert list(out.trips["doubt"] != "") == [False] * 9 + [True]
    assert out.vehicles["trips_left_out"].iloc[0] == 1
    assert out.vehicles["distance_km"].iloc[0] == pytest.approx(9 * 11.990, abs=0.01)
    assert unit in fault_words(out.problems.set_index("kind").loc["left out", "code"])[0]


def test_units_in_the_column_name_are_converted():
    t, v = cycle("udds")
    frame = trips_frame((t, v))
    kmh = frame.assign(speed_kmh=frame["speed_mps"] * 3.6).drop(columns="speed_mps")
    assert fields(one(kmh)) == pytest.approx(fields(one(frame)), rel=1e-12)


def circle(hz=1, seconds=100, speed=10.0, radius=25.0):
    t = np.arange(seconds * hz + 1) / hz
    return t, np.full(len(t), speed), np.degrees(speed / radius * t) % 360


def test_lateral_acceleration_given_or_from_heading():
    t, v, heading = circle()
    side = 10.0**2 / 25
    given_ = one(trips_frame((t, v), lateral_mps2=-side))
    turned = one(trips_frame((t, v), heading_deg=heading))
    for row in (given_, turned):
        assert row["ay2"] == pytest.approx(side**2)
        assert row["lateral_share"] == 1
        assert row["hard_turns"] == 1
        assert row["hard_turns_per_100km"] == pytest.approx(100)
    assert one(trips_frame((t, v), lateral_g=side / 9.80665))["ay2"] == pytest.approx(side**2)
    fast_t, fast_v, fast_heading = circle(hz=10)
    assert one(trips_frame((fast_t, fast_v), heading_deg=fast_heading))["ay2"] == pytest.approx(side**2)


def test_driving_severity_number_of_constant_lateral_acceleration():
    # Veith 1986 (Tire Sci. Technol. 14(3)): the mean square lateral acceleration; 0.010 g² at 0.10 g, 0.040 at 0.20.
    t, v, _ = circle()
    for g, number in ((0.10, 0.010), (0.20, 0.040)):
        assert one(trips_frame((t, v), lateral_g=g))["ay2"] / 9.80665**2 == pytest.approx(number, rel=1e-12)


def test_vibration_of_a_fast_sensor_is_averaged_out():
    t, v, _ = circle(hz=10, seconds=600)
    noisy = 1.0 + np.random.default_rng(5).normal(0, 0.5, len(t))
    assert one(trips_frame((t, v), lateral_mps2=noisy))["ay2"] == pytest.approx(1.0, abs=0.06)


def test_no_lateral_acceleration_is_said_and_filled_with_typical_driving():
    t, v = cycle("hwfet")
    out = reduce_trips(trips_frame((t, v)))
    mix = out.trips.loc[0, list(BANDS)].astype(float)
    usual = answer_matrix()["ay2"]
    turns = default_profile().hard_turns_per_100km * usual["hard_turns_per_100km"]
    assert out.trips.loc[0, "ay2"] == pytest.approx(mix @ usual[list(BANDS)] + turns)
    assert np.isnan(out.trips.loc[0, "hard_turns_per_100km"])
    assert out.vehicles.loc[0, "note"] == Sideways.NONE
    known = reduce_trips(trips_frame((t, v), lateral_mps2=0.5))
    assert known.vehicles.loc[0, "note"] == ""
    assert known.vehicles.loc[0, "log_sd"] < out.vehicles.loc[0, "log_sd"]


def test_lateral_values_nobody_can_drive_are_left_out():
    t, v, _ = circle()
    side = np.full(len(t), 2.0)
    side[50] = 90.0
    row = one(trips_frame((t, v), lateral_mps2=side))
    assert row["side_wrong"] == 2
    assert row["ay2"] == pytest.approx(4.0, rel=0.02)


def test_vehicles_and_their_dates():
    t, v = cycle("udds")
    frame = pd.concat(
        [
            trips_frame((t, v), vehicle="A", date="2026-03-01"),
            trips_frame((t, v), (t, v), vehicle="B", date="2026-04-02"),
            trips_frame((t, v), vehicle="A", date="2026-05-09").assign(trip_id="T9"),
        ]
    )
    out = reduce_trips(frame).vehicles.set_index("vehicle_id")
    assert out.loc["A", "from_date"] == pd.Timestamp("2026-03-01")
    assert out.loc["A", "to_date"] == pd.Timestamp("2026-05-09")
    assert out["trips"].tolist() == [2, 2]
    assert out["distance_km"].tolist() == pytest.approx([23.98, 23.98], abs=0.01)
    # More trips, surer: the spread between trips shrinks with their number.
    many = reduce_trips(trips_frame(*[(t, v)] * 50)).vehicles.loc[0, "log_sd"]
    assert many < out.loc["A", "log_sd"]
    assert profile_from_row(out.loc["A"]).source == "trips"


def test_standing_trips_and_single_samples_are_kept_and_said():
    t, v = cycle("udds")
    out = reduce_trips(trips_frame((t, v), ([0, 1, 2], [0, 0, 0]), ([5], [3.0])))
    assert len(out.trips) == 3
    assert list(out.trips["doubt"] == "") == [True, False, False]
    assert out.vehicles.loc[0, "trips_left_out"] == 2
    slow = trips_frame((t[::5], v[::5]))
    with pytest.raises(InputError, match="more slowly than once in"):
        reduce_trips(slow)


def test_frames_handed_out_are_the_callers_own():
    out = reduce_trips(trips_frame(cycle("us06")))
    again = reduce_trips(trips_frame(cycle("us06")))
    out.trips.loc[0, "ay2"] = -1
    assert again.trips.loc[0, "ay2"] > 0

"""What lies ahead of tires that all is known of, worked out by hand, and of others by their law."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from tests.rates.standing import stands
from tirelife.outlook.ahead import CHUNK, LONGEST_KM, Course, by_vehicle, first_of
from tirelife.rates import COUNT, YEAR, scores
from tirelife.tread import Verdict

HALF = np.exp(0.25)  # of an axle ratio of 1/2 in the log: the front wears so much faster than the mean


def rows(values):
    """Draws that do not vary, as a value a tire."""
    values = np.asarray(values, dtype=float)
    assert np.ptp(values, axis=1).max() <= 1e-3 * np.abs(values).max()
    return values.mean(axis=1)


def turn(**known):
    """Columns of two tires, of which the first is of a set in turn, today on the car for 60 days more."""
    told = {"turn_on": 1.0, "turn_first": 60.0, "turn_mounted": YEAR / 2, "turn_pace": 1.0, **known}
    return {name: [value, np.nan] for name, value in told.items()}


WALKS = {"walk_log_sd": 0.5, "wander_log_sd": 0.3}
DATES = {"as_of": pd.Timestamp("2026-01-31"), "last_date": pd.Timestamp("2026-01-01")}


def test_distance_where_a_tire_stays_goes_by_its_axle_and_its_severity():
    state = stands(3, position=["LF", "LR", "SP"], at_axle=0.5, here=[1.0, 0.8, 1.0], there=[0.5, 1.0, 1.0])
    km, other = (rows(values) for values in Course(state).stays())
    # 40,000 km on an axle of mean wear; a spare's turns are on both axles alike.
    np.testing.assert_allclose(
        km, [40_000 / HALF, 40_000 * HALF / 0.8, 40_000 / ((HALF + 1 / HALF) / 2)], rtol=1e-5
    )
    np.testing.assert_allclose(other, [0.5 / HALF**2, HALF**2 / 0.8, 1.0], rtol=1e-5)
    less, _ = Course(state).stays(np.full((3, COUNT), 4.0, dtype=np.float32))
    np.testing.assert_allclose(rows(less), km / 2, rtol=1e-5)


def test_an_interval_that_is_kept_begins_today_and_none_is_never():
    course = Course(stands(2))
    due, every = course.turns(8_000.0)
    assert not due.any()
    assert (every == 8_000).all()
    assert np.isnan(course.turns(0.0)[1]).all()


@pytest.mark.parametrize("chance", [0.0, 0.3, 1.0])
def test_a_vehicle_is_rotated_as_often_as_the_chance_says(chance):
    due, every = Course(stands(chance=chance, interval_log_sd=0.3)).turns()
    assert np.isfinite(due).mean() == pytest.approx(chance, abs=0.01)
    np.testing.assert_array_equal(np.isfinite(due), np.isfinite(every))


@pytest.mark.parametrize("since", [1_000.0, 9_000.0, 14_000.0])
def test_the_interval_under_way_is_a_usual_one_that_has_not_ended(since):
    due, _ = Course(stands(chance=1.0, since_km=since, interval_log_sd=0.3)).turns()
    gone = norm.cdf(np.log(since / 10_000) / 0.3)
    for level in (0.1, 0.5, 0.9):
        want = 10_000 * np.exp(0.3 * norm.ppf(gone + (1 - gone) * level)) - since
        assert np.quantile(due, level) == pytest.approx(want, rel=0.08)
    assert due.min() >= 1.0
    never = Course(stands(chance=1.0, since_km=0.0, interval_log_sd=0.3)).turns()[0]
    assert np.log(never).std() == pytest.approx(0.3, rel=0.02)


def test_one_overdue_by_far_comes_soon_and_is_no_interval_of_the_past():
    due, _ = Course(stands(chance=1.0, since_km=1e6, interval_log_sd=0.1)).turns()
    assert (due == 1.0).all()


def test_later_intervals_are_drawn_about_the_usual_one_and_alike_for_all_tires_of_a_vehicle():
    state = stands(3, vehicle_id=["V1", "V1", "V2"], every_km=[10_000.0, 10_000.0, 5_000.0], chance=1.0,
                   every_log_sd=0.2, interval_log_sd=0.3, position=["LF", "RF", "LF"])  # fmt: skip
    due, every = Course(state).turns()
    np.testing.assert_allclose(np.log(every).mean(axis=1), np.log([10_000, 10_000, 5_000]), rtol=1e-5)
    np.testing.assert_allclose(np.log(every).std(axis=1), 0.2, rtol=1e-3)
    np.testing.assert_array_equal(due[0], due[1])
    assert np.quantile(due[0], 0.5) > np.quantile(due[2], 0.5) + 3_000


def fixed(count, *values):
    return tuple(np.full((count, COUNT), value, dtype=np.float32) for value in values)


def test_distance_ahead_is_run_on_both_axles_in_turn():
    course = Course(stands())
    # 5,000 km here; then 8,000 there wear as 4,000 here; the last of 40,000 by turns: 12,000 a pair of turns.
    km = course.distance(fixed(1, 40_000.0, 0.5), fixed(1, 5_000.0, 8_000.0))
    left = 40_000 - 5_000 - 2 * 12_000
    np.testing.assert_allclose(rows(km), [5_000 + 2 * 16_000 + 8_000 + (left - 4_000)], rtol=1e-5)
    stays = course.distance(fixed(1, 40_000.0, 0.5), fixed(1, np.nan, np.nan))
    np.testing.assert_allclose(rows(stays), [40_000])


def test_a_change_of_wear_here_and_there_moves_each_axles_distance():
    turns = fixed(1, 5_000.0, 8_000.0)
    course = Course(stands())
    half = course.distance(fixed(1, 10_000.0, 1.0), turns, *fixed(1, 2.0))
    np.testing.assert_allclose(rows(half), [5_000 + 0.0], rtol=1e-5)
    # Wear 0.8 here and 0.4 there: 12,500 km here, of which 7,500 km are left when it goes to the other axle, where
    # it lasts twice as long.
    other = course.distance(fixed(1, 10_000.0, 1.0), turns, *fixed(1, 0.8, 0.4))
    np.testing.assert_allclose(rows(other), [5_000 + 8_000 + (7_500 - 4_000)], rtol=1e-5)
    told = Course(stands(wear_here=0.8, wear_there=0.4)).distance(fixed(1, 10_000.0, 1.0), turns)
    np.testing.assert_allclose(told, other)


def test_a_spare_that_takes_its_turn_rests_the_set_and_one_that_lies_has_no_distance():
    state = stands(2, position=["LF", "SP"], spare_turns=True)
    assert (
        rows(Course(state).distance(fixed(2, 10_000.0, 1.0), fixed(2, np.nan, np.nan))).tolist()
        == [12_500] * 2
    )
    lies = Course(stands(2, position=["LF", "SP"])).distance(
        fixed(2, 10_000.0, 1.0), fixed(2, np.nan, np.nan)
    )
    assert rows(lies[:1]).tolist() == [10_000]
    assert np.isnan(lies[1]).all()


def test_read_at_its_limit_a_tire_has_nothing_left_and_where_next_to_no_wear_shows_nothing_is_told():
    course = Course(stands(3, verdict=[Verdict.AT_OR_UNDER, Verdict.NEAR, Verdict.OVER]))
    km = np.full((3, COUNT), 9_000.0)
    km[2, : COUNT // 2 + 1] = LONGEST_KM + 1
    found = course.certain(km)
    assert (found[0] == 0).all()
    assert (found[1] == 9_000).all()
    assert np.isnan(found[2]).all()
    km[2, : COUNT // 2 + 1] = LONGEST_KM
    assert np.isfinite(course.certain(km)[2]).all()
    km[2, : COUNT // 2] = LONGEST_KM + 1  # one half of them
    assert np.isfinite(course.certain(km)[2]).all()
    assert (km[0] == 9_000).all()


def test_depth_after_a_distance_is_worn_by_severity_and_axle():
    # 10,000 km at 1.2 on the front, where wear is HALF times the mean's; 1,000 km of them unread before today.
    state = stands(2, position=["LF", "LR"], at_axle=0.5, here=1.2, there=0.7, unread_km=1_000.0)
    depth = rows(Course(state).depth_after(np.full((2, 1), 10_000.0)))
    np.testing.assert_allclose(depth, 6 - 1e-4 * 12_000 * np.array([HALF, 1 / HALF]), rtol=1e-5)


def test_depth_after_a_rotation_is_worn_on_either_axle():
    # Due 9,000 km from today on, which is 1,000 km after the last odometer: 10,000 km here, then 4,000 there.
    state = stands(2, position=["LF", "LR"], at_axle=0.5, here=1.2, there=0.7, unread_km=1_000.0)
    course = Course(state)
    course.turns = lambda: fixed(2, 9_000.0, 8_000.0)
    depth = rows(course.depth_after(np.full((2, 1), 14_000.0)))
    here, there = 1.2 * 10_000, 0.7 * 4_000
    np.testing.assert_allclose(
        depth, 6 - 1e-4 * np.array([here * HALF + there / HALF, here / HALF + there * HALF]), rtol=1e-5
    )
    assert (course.get["unread_km"] == 1_000).all()


def test_a_spare_runs_half_of_its_share_on_either_axle_or_nothing():
    state = stands(2, position="SP", at_axle=0.5, here=1.2, spare_turns=[True, False])
    depth = rows(Course(state).depth_after(np.full((2, 1), 10_000.0)))
    each = 1.2 * 10_000 / 1.25 / 2
    np.testing.assert_allclose(depth, [6 - 1e-4 * each * (HALF + 1 / HALF), 6.0], rtol=1e-5)


def test_wear_that_bends_away_widens_the_depth_ahead():
    depth = Course(stands(bend_log_sd=0.1)).depth_after(np.full((1, 1), 10_000.0))
    assert np.log(6 - depth).std() == pytest.approx(0.1, rel=1e-3)
    # As in its distance left: a draw that wears faster has less.
    km = Course(stands(bend_log_sd=0.1)).level_distance()[0]
    assert np.corrcoef(km[0], depth[0])[0, 1] > 0.99


def test_days_are_distance_over_pace_as_sure_as_level_and_years_are():
    km = fixed(1, 36_525.0)[0]
    assert rows(Course(stands()).days(km)).tolist() == [pytest.approx(730.5)]
    assert rows(Course(stands()).days(km, fixed(1, 100.0)[0])).tolist() == [pytest.approx(365.25)]
    level = np.log(Course(stands(log_sd=0.2)).days(km) / 730.5)
    np.testing.assert_allclose(
        level[0], -0.2 * scores()[0]["level"], atol=1e-5
    )  # driven more, it is due sooner
    years = np.log(Course(stands(year_log_sd=0.3)).days(km) / 730.5)
    assert years.std() == pytest.approx(0.3 / np.sqrt(2), rel=0.02)  # the mean of two years
    both = np.log(Course(stands(year_log_sd=0.3, log_sd=0.2)).days(km) / 730.5)
    assert both.var() == pytest.approx(level.var() + years.var(), rel=1e-3)


def test_age_ends_a_tire_on_its_day():
    assert rows(Course(stands(age_days=400.0)).days(fixed(1, 36_525.0)[0])).tolist() == [400.0]


def test_days_of_a_set_in_turn_are_those_on_the_car():
    # 100 days of use, on the car for 60 more, then half a year in store, then 40.
    days = Course(stands(2, **turn())).days(fixed(2, 5_000.0)[0])
    np.testing.assert_allclose(rows(days), [100 + YEAR / 2, 100.0], rtol=1e-5)


def drawn(**known):
    """Days of 5,000 km for two tires, the change and the pace of the first's set known as told."""
    state = stands(2, **turn(**{"turn_sd": 0.0, "turn_pace_sd": 0.0, **known}), **WALKS, **DATES)
    return Course(state).days(fixed(2, 5_000.0)[0])


def test_the_day_of_the_change_and_the_sets_pace_are_drawn_where_they_are_known_so_far():
    change, share = scores()[0]["change"], scores()[0]["share"]
    np.testing.assert_allclose(rows(drawn()), [100 + YEAR / 2, 100.0], rtol=1e-5)
    # Off later, the set has done more of its 100 days, and comes back as much later.
    np.testing.assert_allclose(rows(drawn(turn_sd=5.0)), [100 + YEAR / 2, 100.0], rtol=1e-5)
    np.testing.assert_allclose(drawn(turn_on=0.0, turn_sd=5.0)[0], 160 + 5 * change, rtol=1e-4)
    pace = drawn(turn_on=0.0, turn_pace_sd=0.1)
    np.testing.assert_allclose(pace[0], 60 + 100 * np.exp(-0.1 * share), rtol=1e-4)
    np.testing.assert_allclose(pace[1], 100.0, rtol=1e-5)
    # No change comes before today.
    assert drawn(turn_on=0.0, turn_first=1.0, turn_sd=5.0)[0].min() == pytest.approx(100.0)


def test_a_set_in_turn_runs_its_share_and_its_vehicle_went_on_while_it_was_off():
    known = turn(turn_mounted=YEAR / 4, turn_pace=1.2, turn_sd=1.0, turn_pace_sd=0.1)
    ran = {"since_front_km": 400.0, "since_rear_km": 100.0, "here": 1.1}
    course = Course(stands(2, **known, **WALKS, **DATES, **ran))
    np.testing.assert_allclose(course.get["set_share"].ravel(), [0.3, 1.0], rtol=1e-6)
    # 30 days at 50 km and 1.1 reference km a km, of which the set ran 500.
    np.testing.assert_allclose(course.get["set_away"].ravel(), [30 * 55 - 500, 0.0], rtol=1e-6)
    np.testing.assert_allclose(course.get["walk_log_sd"].ravel(), [0.5, 0.0])
    np.testing.assert_allclose(course.get["wander_log_sd"].ravel(), [0.3, 0.0], rtol=1e-6)
    more = Course(stands(2, **known, **WALKS, **DATES, since_front_km=9_000.0))
    assert more.get["set_away"].ravel().tolist() == [0.0, 0.0]
    none = Course(stands(2, **{**known, "turn_on": np.nan}, **WALKS, **DATES))
    assert "set_share" not in none.get


def test_vehicles_count_up_and_a_part_of_them_from_nought():
    course = Course(stands(4, vehicle_id=["B", "B", "A", "C"], spare_turns=[False, True, True, False]))
    assert course.vehicle.tolist() == [0, 0, 1, 2]
    part = course.rows(slice(2, 4))
    assert part.vehicle.tolist() == [0, 1]
    assert part.spare_turns.tolist() == [True, False]
    assert len(part) == len(part.settled) == 2
    assert len(Course(stands(0)).vehicle) == 0


def test_the_first_of_a_vehicle_is_draw_by_draw_and_unknown_tires_do_not_count():
    km = np.array([[5.0, 1.0], [3.0, 4.0], [np.nan, np.nan], [np.nan, np.nan], [7.0, np.nan]])
    found = first_of(km, np.array([0, 0, 0, 1, 2]))
    assert found[0].tolist() == [3.0, 1.0]
    assert np.isnan(found[1:]).all()  # of the last only one draw is known: it is not
    assert first_of(np.empty((0, 2)), np.zeros(0, dtype=int)).shape == (0, 2)


@pytest.mark.parametrize("vehicles", [1, 130, 500])
def test_work_is_cut_between_vehicles_and_comes_back_in_order(vehicles):
    names = [f"V{i:03d}" for i in range(vehicles) for _ in range(4)]
    got = by_vehicle(
        stands(len(names), vehicle_id=names), lambda course, rows: (rows, len(course), course.vehicle)
    )
    at = 0
    for piece, count, vehicle in got:
        assert piece.start == at
        assert count == piece.stop - piece.start == len(vehicle)
        assert count % 4 == 0
        assert vehicle[0] == 0
        assert count < 2 * CHUNK + 4
        at = piece.stop
    assert at == len(names)
    assert all(count >= CHUNK for _, count, _ in got[:-1])
    assert by_vehicle(stands(0), lambda course, rows: 1) == []

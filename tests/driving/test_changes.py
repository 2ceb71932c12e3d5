import pytest

from tirelife import InputError
from tirelife.driving import default_profile, gentler, profile_from_answers, slower

FAST = profile_from_answers([0, 0, 0, 0, 1], 1, 2, 3)
MIXED = profile_from_answers([0.2, 0.2, 0.2, 0.2, 0.2], 1, 2, 3)


def test_cap_moves_the_fast_share_down():
    capped = slower(MIXED, cap_mps=65 * 0.44704)
    assert capped.shares == pytest.approx((0.2, 0.2, 0.2, 0.4, 0))
    # Speeds are even from 70 to 80 mph in the fastest band: all of them become 65, so v⁴ falls by
    # 65⁴ / mean(v⁴) = 65⁴ * 5 * 10 / (80⁵ - 70⁵) in that band.
    only = slower(FAST, cap_mps=65 * 0.44704)
    assert only.drive_v4 / FAST.drive_v4 == pytest.approx(65**4 * 50 / (80**5 - 70**5), rel=1e-4)
    assert only.drive_a2 == FAST.drive_a2


def test_a_cap_out_of_reach_changes_nothing():
    same = slower(MIXED, cap_mps=60)
    assert same.shares == pytest.approx(MIXED.shares)
    assert same.drive_v4 == pytest.approx(MIXED.drive_v4)


def test_slower_by_five_mph_on_fast_roads():
    eased = slower(MIXED, by_mps=5 * 0.44704)
    # A third of 55 to 70 is now below 60 but none below 55, half of 70 to 80 is now below 70.
    assert eased.shares == pytest.approx((0.2, 0.2, 0.2, 0.3, 0.1), abs=1e-3)
    assert eased.drive_v4 < MIXED.drive_v4
    assert eased.drive_v2 + eased.brake_v2 < MIXED.drive_v2 + MIXED.brake_v2


def test_gentler_scales_the_stop_part_with_g_and_the_corner_part_with_its_square():
    # driving-and-wear check 9: a stop from one speed at twice the g wears twice; check 7: a bend 10 % faster
    # has 1.21 times the lateral acceleration, and wears 1.464 times.
    p = default_profile()
    assert gentler(p, stops=2).brake_a2 == pytest.approx(2 * p.brake_a2)
    assert gentler(p, turns=1.1**2).ay2 == pytest.approx(1.4641 * p.ay2)
    assert gentler(p, starts=0.5).drive_a2 == pytest.approx(0.5 * p.drive_a2)
    assert gentler(p) == p
    assert gentler(p, stops=0.9).hard_stops_per_100km < p.hard_stops_per_100km
    assert gentler(p, stops=1.1).hard_stops_per_100km > p.hard_stops_per_100km


def test_changes_that_make_no_sense():
    with pytest.raises(InputError, match="either cap_mps or by_mps"):
        slower(MIXED)
    with pytest.raises(InputError, match="either cap_mps or by_mps"):
        slower(MIXED, cap_mps=20, by_mps=2)
    with pytest.raises(InputError, match="positive"):
        gentler(MIXED, stops=0)

import pytest

from tests.wear.cause.wheels import LOAD, ROLL, wheel
from tirelife.wear.cause.base import CAUSE, energy


def test_a_driven_wheel_takes_its_share_of_the_cars_rolling_and_others_their_own():
    # F² over N, on the pulled part of the way: half of the whole car's at the front, a rear wheel's own 1 % of load.
    assert energy(wheel(drive_share=0.8)) == pytest.approx((ROLL / 2) ** 2 * 0.8 / LOAD[True])
    assert energy(wheel(False, drive_share=0.8)) == pytest.approx(
        (0.01 * LOAD[False]) ** 2 * 0.8 / LOAD[False]
    )
    assert energy(wheel(False, "all", drive_share=1.0)) == pytest.approx((ROLL / 4) ** 2 / LOAD[False])


def test_it_holds_the_wear_that_needs_no_force_and_comes_with_no_habit():
    assert CAUSE.free == 1.0
    assert CAUSE.habit == ""
    assert not CAUSE.driver
    assert not CAUSE.goes_with_load

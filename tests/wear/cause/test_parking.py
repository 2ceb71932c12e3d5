import pytest

from tests.wear.cause.wheels import LOAD, wheel
from tirelife.driving import STEERED_SHARE
from tirelife.wear.cause.parking import CAUSE, FULL_LOCK_USE2, energy


def test_only_steered_wheels_pay_for_full_lock_in_proportion_to_load_and_distance():
    assert FULL_LOCK_USE2 == 1.25  # set on LEON-T D3.4: see the test of the proving-ground series
    got = energy(wheel(slow_turn=0.01))
    assert got == pytest.approx(1.25 * STEERED_SHARE * LOAD[True] * 0.01)
    assert energy(wheel(slow_turn=0.02)) == pytest.approx(2 * got)
    assert energy(wheel(False, slow_turn=0.01)) == 0


def test_it_is_known_less_surely_than_what_was_measured():
    assert CAUSE.log_sd > 0.9
    assert (CAUSE.habit, CAUSE.driver, CAUSE.goes_with_load) == ("parking", True, True)

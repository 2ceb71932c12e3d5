import pytest

from tests.wear.cause.wheels import LOAD, G, wheel
from tirelife.wear.cause.corners import CAUSE, energy


@pytest.mark.parametrize("front", [True, False])
def test_each_wheel_carries_side_force_in_proportion_to_its_load(front):
    # At 0.2 g on all of the way: F = 0.2 N, so F² / N is a twenty-fifth of the load (Veith 1986).
    assert energy(wheel(front, ay2=(0.2 * G) ** 2)) == pytest.approx(0.04 * LOAD[front])


def test_it_goes_with_load_and_the_drivers_turns():
    assert (CAUSE.habit, CAUSE.driver, CAUSE.goes_with_load) == ("turns", True, True)

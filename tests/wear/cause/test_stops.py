import pytest

from tests.wear.cause.wheels import DRAG, LOAD, ROLL, wheel
from tirelife.wear.cause.stops import CAUSE, energy


@pytest.mark.parametrize(("front", "share"), [(True, 0.35), (False, 0.15)])
def test_brakes_take_what_rolling_and_air_leave_of_the_slowing_down(front, share):
    # At 20 m/s and -3 m/s² over a twentieth of the way: share of m a + R + k v², squared, over load.
    part = {"brake_share": 0.05, "brake_v2": 0.05 * 400, "brake_v4": 0.05 * 160_000, "brake_a": 0.05 * -3,
            "brake_av2": 0.05 * -1_200, "brake_a2": 0.05 * 9}  # fmt: skip
    force = -3_000 + ROLL + DRAG * 400
    assert energy(wheel(front, **part)) == pytest.approx(0.05 * (share * force) ** 2 / LOAD[front])


def test_braking_more_gently_than_the_car_coasts_costs_nothing():
    less = {
        "brake_share": 0.0,
        "brake_v2": 0.0,
        "brake_v4": 0.0,
        "brake_a": -0.01,
        "brake_av2": 0.0,
        "brake_a2": 0.0,
    }
    assert energy(wheel(**less)) == 0
    assert (CAUSE.habit, CAUSE.driver) == ("stops", True)

import pytest

from tests.wear.cause.wheels import DRAG, LOAD, ROLL, wheel
from tirelife.wear.cause.speed import CAUSE, energy


def test_drag_costs_driven_wheels_what_it_adds_to_rolling_resistance():
    # (R + k v²)² less R², shared by two wheels; at a steady 30 m/s.
    got = energy(wheel(drive_v2=30.0**2, drive_v4=30.0**4))
    assert got == pytest.approx(((ROLL + DRAG * 900) ** 2 - ROLL**2) / 4 / LOAD[True])
    assert energy(wheel(False, drive_v2=900.0, drive_v4=810_000.0)) == 0
    assert energy(wheel(drive_v2=0.0, drive_v4=0.0)) == 0


def test_it_answers_to_the_drivers_speed():
    assert (CAUSE.habit, CAUSE.driver, CAUSE.goes_with_load) == ("speed", True, False)

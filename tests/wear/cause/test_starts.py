import pytest

from tests.wear.cause.wheels import DRAG, LOAD, ROLL, wheel
from tirelife.wear.cause.starts import CAUSE, energy


def test_speeding_up_costs_driven_wheels_what_it_adds_to_a_steady_pull():
    # (m a + R + k v²)² less (R + k v²)², at 20 m/s and 1 m/s².
    steady = ROLL + DRAG * 400
    got = energy(wheel(drive_a=1.0, drive_av2=400.0, drive_a2=1.0))
    assert got == pytest.approx(((1_000 + steady) ** 2 - steady**2) / 4 / LOAD[True])
    assert energy(wheel(False, drive_a=1.0, drive_av2=400.0, drive_a2=1.0)) == 0


def test_it_answers_to_the_drivers_starts():
    assert (CAUSE.habit, CAUSE.driver) == ("starts", True)

import math

import numpy as np
import pytest

from tests.wear.cause.wheels import LOAD, wheel
from tirelife.wear.cause.alignment import CAUSE, energy


@pytest.mark.parametrize("front", [True, False])
def test_each_wheel_of_an_axle_slips_by_half_of_its_toe(front):
    # 6.6 mm over a wheel of 660 mm is 0.573 degrees in all; a fifth of the load a degree of slip.
    half = math.degrees(math.atan(0.01)) / 2
    assert half == pytest.approx(0.2865, abs=1e-4)
    assert energy(wheel(front, toe_mm=6.6)) == pytest.approx(LOAD[front] * (0.2 * half) ** 2)
    assert energy(wheel(front, toe_mm=-6.6)) == pytest.approx(float(energy(wheel(front, toe_mm=6.6))))
    assert energy(wheel(front)) == 0
    assert energy(wheel(front, toe_mm=np.array([0.0, 6.6]))).shape == (2,)


def test_it_answers_to_toe_and_to_no_driver():
    assert (CAUSE.habit, CAUSE.driver, CAUSE.goes_with_load) == ("toe", False, True)

import numpy as np

from tirelife.wear.cause.pressure import CAUSE, of_whole


def test_low_pressure_adds_what_wear_is_over_that_at_the_placard():
    np.testing.assert_allclose(of_whole([1.0, 1.3, 0.9]), [0.0, 0.3, -0.1])
    assert of_whole(1.25) == 0.25


def test_it_multiplies_the_others_and_has_no_energy_of_its_own():
    assert CAUSE.energy is None
    assert CAUSE.of_whole is of_whole
    assert (CAUSE.habit, CAUSE.driver, CAUSE.free) == ("pressure", True, 0.0)

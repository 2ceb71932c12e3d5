import numpy as np
import pytest

from tirelife.inflation import beyond_published, life_share, pressure_wear
from tirelife.inflation.life import LIFE_PER_PSI
from tirelife.units import convert


def psi(value):
    return convert(np.asarray(value, dtype=float), "psi", "kpa")


def test_published_line():
    # NHTSA, FMVSS 138 FRIA, Tread Life: 68 % of the life at 17 psi against 35; 1.78 % per psi.
    assert float(life_share(psi(17), psi(35))) == pytest.approx(0.68, abs=1e-12)
    assert abs(LIFE_PER_PSI - 0.0178) < 5e-5
    # The same line as shares of life (facts 3.1); 26.25 psi is the 25 % warning threshold.
    at = [35, 32, 30, 28, 26.25, 24, 20, 17]
    printed = [1.000, 0.947, 0.911, 0.876, 0.844, 0.804, 0.733, 0.680]
    assert life_share(psi(at), psi(35)) == pytest.approx(printed, abs=0.0005)


def test_worked_mileage():
    # One psi low for the whole life of 45,000 miles costs about 800; 3.8 psi x 1.78 % = 6.76 % = 3,044 miles.
    assert 45_000 * (1 - float(life_share(psi(34), psi(35)))) == pytest.approx(800, abs=1)
    assert 45_000 * (1 - float(life_share(psi(30 - 3.8), psi(30)))) == pytest.approx(3044, rel=0.002)


def test_above_placard_is_neutral_and_said():
    assert life_share(psi([35, 40]), psi(35)).tolist() == [1.0, 1.0]
    assert not beyond_published(psi(40), psi(35))


def test_outside_the_published_range_is_said():
    assert beyond_published(psi([16.9, 17, 34, 40]), psi([35, 35, 35, 44])).tolist() == [
        True,
        False,
        False,
        True,
    ]
    # Above 35 psi the shortfall counts as a share of placard, so that half of any placard costs the same.
    assert float(life_share(psi(40), psi(80))) == pytest.approx(float(life_share(psi(17.5), psi(35))))
    assert (life_share(psi([0, 0]), psi([35, 110])) > 0).all()


def test_wear_is_the_inverse_and_scalar_equals_vector():
    cold = psi([20, 25, 30])
    assert (pressure_wear(cold, psi(35)) * life_share(cold, psi(35))) == pytest.approx(1.0)
    assert pressure_wear(cold, psi(35)).tolist() == [float(pressure_wear(c, psi(35))) for c in cold]

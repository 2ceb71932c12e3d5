import numpy as np
import pytest
from scipy.special import ndtri

from tirelife.outlook.crossing import PROBABILITIES
from tirelife.outlook.sets import first_due


@pytest.mark.parametrize("share", [0.0, 0.5, 0.9])
def test_first_of_four_against_simulation(share):
    rng = np.random.default_rng(8)
    middle, sd = np.log([2e4, 2.2e4, 4e4, 4.1e4]), np.array([0.1, 0.15, 0.2, 0.1])
    quantiles = np.exp(middle[:, None] + sd[:, None] * ndtri(np.array(PROBABILITIES)))
    z = np.sqrt(share) * rng.normal(size=(200_000, 1)) + np.sqrt(1 - share) * rng.normal(size=(200_000, 4))
    first = np.exp(middle + sd * z).min(axis=1)
    got = first_due(quantiles[None], np.array([share]))[0]
    # Log-straight beyond the outer quantiles: a lognormal is drawn exactly.
    np.testing.assert_allclose(got, np.quantile(first, PROBABILITIES), rtol=0.01)


def test_one_tire_is_its_own_set_and_none_is_unknown():
    one = 2e4 * np.exp(0.2 * ndtri(np.array(PROBABILITIES)))
    km = np.full((2, 4, 5), np.nan)
    km[0, 2] = one
    got = first_due(km, np.array([0.3, 0.3]))
    np.testing.assert_allclose(got[0], one, rtol=1e-6)
    assert np.isnan(got[1]).all()


def test_a_tire_at_the_limit_makes_the_set_due_now():
    km = np.tile(2e4 * np.exp(0.2 * ndtri(np.array(PROBABILITIES))), (1, 4, 1))
    km[0, 1] = 0.0
    assert first_due(km, np.array([0.5]))[0].max() == 0

"""Two normals of one number, against SciPy's."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from tirelife.rates.mixture import Mixture

TWO = Mixture((0.8, 0.2), (0.1, 2.0), (0.2, 0.5))


def test_quantiles_of_one_normal_are_its_own():
    levels = [0.01, 0.1, 0.5, 0.9, 0.99]
    np.testing.assert_allclose(
        Mixture((1.0,), (3.0,), (0.5,)).quantiles(levels), norm.ppf(levels, 3.0, 0.5), atol=1e-5
    )


@pytest.mark.parametrize("level", [1e-4, 0.1, 0.5, 0.8, 0.9, 0.9999])
def test_under_a_quantile_of_two_lies_as_much_as_it_says(level):
    def below(x):
        return 0.8 * norm.cdf(x, 0.1, 0.2) + 0.2 * norm.cdf(x, 2.0, 0.5) - level

    assert TWO.quantiles(level) == pytest.approx(brentq(below, -5, 8), abs=2e-4)


def test_its_middle_is_the_mean_over_both():
    assert TWO.middle == pytest.approx(0.8 * 0.1 + 0.2 * 2.0)


def test_its_spread_is_the_sd_of_a_normal_whose_eighty_per_cent_range_is_as_wide():
    assert Mixture((1.0,), (3.0,), (0.5,)).spread == pytest.approx(0.5, abs=1e-4)
    low, high = TWO.quantiles([0.1, 0.9])
    assert TWO.spread == pytest.approx((high - low) / (norm.ppf(0.9) - norm.ppf(0.1)), rel=1e-4)


def test_a_frame_of_it_is_it():
    frame = TWO.to_frame()
    assert frame.to_dict("list") == {"share": [0.8, 0.2], "mean": [0.1, 2.0], "sd": [0.2, 0.5]}
    assert Mixture.of_frame(frame) == TWO

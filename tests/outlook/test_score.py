import numpy as np
import pytest
import scoringrules

from tirelife.outlook.score import covered, crps_normal, interval_score


def test_crps_of_the_standard_normal_at_its_mean():
    # Closed form (sqrt(2) - 1) / sqrt(pi) = 0.23369497725510913.
    assert crps_normal(0.0, 0.0, 1.0) == pytest.approx((np.sqrt(2) - 1) / np.sqrt(np.pi), abs=1e-15)


def test_crps_anchor():
    # scoringrules 0.10.0: observation 1.3 under N(0.2, 2) scores 0.702844942047661.
    assert crps_normal(1.3, 0.2, 2.0) == pytest.approx(0.702844942047661, abs=1e-14)


def test_interval_score_anchor():
    # scoringrules 0.10.0: observation 5, range 1 to 4, alpha 0.1 scores 23.
    assert interval_score(5.0, 1.0, 4.0, level=0.9) == pytest.approx(23.0, abs=1e-12)


def test_scores_equal_scoringrules_on_random_input():
    rng = np.random.default_rng(11)
    y, mean, sd = rng.normal(0, 3, 200), rng.normal(0, 2, 200), rng.uniform(0.1, 4, 200)
    np.testing.assert_allclose(crps_normal(y, mean, sd), scoringrules.crps_normal(y, mean, sd), rtol=1e-12)
    low, high = mean - sd, mean + 2 * sd
    for level in (0.5, 0.8, 0.9):
        ours = interval_score(y, low, high, level)
        np.testing.assert_allclose(ours, scoringrules.interval_score(y, low, high, 1 - level), rtol=1e-12)


def test_a_range_holds_its_ends():
    assert covered([1, 2, 3, 4], [2, 2, 1, 0], [3, 3, 3, 3]).tolist() == [False, True, True, False]

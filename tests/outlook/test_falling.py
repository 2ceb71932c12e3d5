"""Values that never rise, against SciPy's isotonic regression."""

import numpy as np
import pytest
from scipy.optimize import isotonic_regression

from tirelife.outlook.later import falling


@pytest.mark.parametrize("seed", range(6))
def test_runs_and_means_are_those_of_isotonic_regression(seed):
    rng = np.random.default_rng(seed)
    values = np.round(
        np.linspace(8, 2, 5 + 3 * seed) + rng.normal(0, 1, 5 + 3 * seed), seed % 3
    )  # ties among them
    means, ends = falling(values)
    other = isotonic_regression(values, increasing=False)
    assert ends == other.blocks.tolist()
    np.testing.assert_allclose(np.repeat(means, np.diff(ends)), other.x, rtol=1e-13)

"""The normal law against SciPy's, in the middle and far out; few values and many alike."""

import subprocess
import sys

import numpy as np
import pytest
from scipy import special

from tirelife.normal import MANY, ndtr, ndtri


def test_the_distribution_function_is_that_of_scipy():
    x = np.concatenate(
        [np.linspace(-37, 37, 20001), np.sqrt(2) * np.array([-8, -1, 1, 8]), [0.0, -0.0, -1e-300]]
    )
    np.testing.assert_allclose(ndtr(x), special.ndtr(x), rtol=2e-13)
    np.testing.assert_array_equal(ndtr([np.inf, -np.inf, np.nan]), [1.0, 0.0, np.nan])
    assert ndtr(1.0).shape == ()
    assert ndtr(np.float32([1.0])).dtype == np.float32


def test_quantiles_are_those_of_scipy():
    p = np.concatenate(
        [np.linspace(0, 1, 20001)[1:-1], 10.0 ** np.arange(-300, 0, 7), [np.exp(-2), 1 - np.exp(-2), 1e-16]]
    )
    np.testing.assert_allclose(ndtri(p), special.ndtri(p), rtol=2e-14, atol=1e-15)
    np.testing.assert_array_equal(
        ndtri([0.0, 1.0, -0.1, 1.1, np.nan]), [-np.inf, np.inf, np.nan, np.nan, np.nan]
    )


def test_many_values_are_as_few():
    x = np.linspace(-9, 9, MANY)
    np.testing.assert_allclose(ndtr(x)[::999], ndtr(x[::999]), rtol=2e-14)
    assert ndtr(x.astype(np.float32)).dtype == np.float32
    p = np.linspace(0, 1, MANY)
    np.testing.assert_allclose(ndtri(p)[::999], ndtri(p[::999]), rtol=2e-14, atol=1e-15)
    np.testing.assert_array_equal(
        ndtri(np.append(p, [1.1, np.nan]))[[0, -3, -2, -1]], [-np.inf, np.inf, np.nan, np.nan]
    )


@pytest.mark.parametrize(("p", "quantile"), [(0.975, 1.959963985), (0.9, 1.281551566), (0.995, 2.575829304)])
def test_quantiles_of_the_tables(p, quantile):
    # Abramowitz and Stegun 1964, table 26.5, digits beyond theirs from memory.
    assert ndtri(p) == pytest.approx(quantile, abs=5e-10)
    assert ndtr(quantile) == pytest.approx(p, abs=1e-10)


def test_a_page_waits_for_no_scipy():
    code = (
        "import sys, tirelife.sheet.page, tirelife.outlook, tirelife.cli.sheet; print('scipy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"

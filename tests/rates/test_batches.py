"""Many small matrices at once, against numpy's own inverse, one by one."""

import numpy as np
import pytest

from tirelife.rates.batches import inverse, lower_inverse


@pytest.mark.parametrize("n", [1, 2, 8, 21])
def test_inverses_and_determinants_are_those_of_numpy(n):
    rng = np.random.default_rng(n)
    square = rng.normal(size=(40, 3, n, n))
    made = square @ square.swapaxes(-1, -2) + np.eye(n)
    found, log_det = inverse(made)
    np.testing.assert_allclose(found, np.linalg.inv(made), rtol=1e-8, atol=1e-10)
    assert log_det == pytest.approx(np.linalg.slogdet(made)[1].sum(), rel=1e-12)


def test_chunks_make_no_difference(monkeypatch):
    rng = np.random.default_rng(3)
    lower = np.tril(rng.normal(size=(11, 4, 4))) + 3 * np.eye(4)
    whole = lower_inverse(lower)
    monkeypatch.setattr("tirelife.rates.batches._CHUNK", 40)
    np.testing.assert_array_equal(lower_inverse(lower), whole)
    np.testing.assert_allclose(lower @ whole, np.broadcast_to(np.eye(4), lower.shape), atol=1e-12)


def test_what_is_not_positive_definite_is_refused():
    with pytest.raises(np.linalg.LinAlgError):
        inverse(np.array([[[1.0, 2.0], [2.0, 1.0]]]))

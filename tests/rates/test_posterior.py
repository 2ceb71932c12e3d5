"""A posterior stays a covariance whatever is done with it, and does what stepping by hand does."""

from pathlib import Path

import numpy as np
import pytest

from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook, path_depth
from tirelife.rates.joint import draw
from tirelife.rates.posterior import Posterior

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"


@pytest.fixture(scope="module")
def fitted():
    return Posterior.of_tires(fit_logbook(read_logbook(DEMO)).tires)


def factorised(posterior):
    """Cholesky of every row, scaled; a quantity that is known (variance 0) is given a tiny one."""
    cov = posterior.cov
    assert np.isfinite(cov).all()
    sd = np.sqrt(np.maximum(np.diagonal(cov, axis1=1, axis2=2), 1e-24))
    scaled = cov / sd[:, :, None] / sd[:, None, :] + 1e-9 * np.eye(4)
    np.linalg.cholesky(scaled)
    return posterior


def test_every_operation_leaves_a_covariance(fitted):
    factorised(fitted)
    rng = np.random.default_rng(3)
    front, rear = rng.uniform(0, 60_000, (2, len(fitted)))
    ran = factorised(fitted.run(front, rear, 0.1))
    factorised(ran.on_axle(0.5))
    factorised(ran.on_axle(-0.5).run(front, 0.0))
    factorised(ran.widened(3.0))
    factorised(fitted.widened(0.2).run(front, rear))
    factorised(ran.blurred(0.3, 0.4))
    factorised(ran.held(2.0, 4.0))
    factorised(ran.changed(0.7))
    factorised(Posterior.of_frame(ran.to_frame()))


def test_a_clipped_correlation_is_noticed(fitted):
    broken = Posterior(
        *(part.copy() for part in (fitted.mean, fitted.cov, fitted.wander, fitted.scatter, fitted.side))
    )
    broken.cov[:, 0, 1] = broken.cov[:, 1, 0] = 1.2 * np.sqrt(broken.cov[:, 0, 0] * broken.cov[:, 1, 1])
    with pytest.raises(np.linalg.LinAlgError):
        factorised(broken)


def test_there_and_back_on_the_axles_is_where_it_was(fitted):
    back = fitted.on_axle(0.5).on_axle(-0.5).on_axle(fitted.side)
    np.testing.assert_allclose(back.mean, fitted.mean, rtol=1e-12)
    np.testing.assert_allclose(back.cov, fitted.cov, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(back.wander, fitted.wander, rtol=1e-12)


def test_its_factor_gives_the_covariance_back(fitted):
    order = (2, 3, 1, 0)
    low = fitted.run(20_000.0, 10_000.0).factors(order)
    cov = fitted.run(20_000.0, 10_000.0).cov[:, order][:, :, order]
    np.testing.assert_allclose(low @ low.transpose(0, 2, 1), cov, rtol=1e-7, atol=1e-12)


def test_a_run_is_that_of_twenty_thousand_draws_stepped_through():
    mean = np.array([[6.0, np.log(1.1e-4), 0.4, 0.3]])
    root = np.array([[0.15, 0, 0, 0], [0.03, 0.06, 0, 0], [0.01, 0.02, 0.05, 0], [0.02, -0.03, 0, 0.05]])
    start = Posterior(mean, (root @ root.T)[None], np.array([1e-7]), np.array([2.0]), np.array([0.5]))
    after = start.run(9_000.0, 14_000.0)
    rng = np.random.default_rng(1)
    depth, log_rate, axle, q = (mean + rng.normal(size=(20_000, 4)) @ root.T).T
    # Kilometre by kilometre on each axle in turn, the log rate walking and the path scattering.
    step = 250.0
    first, walk = depth.copy(), np.zeros(20_000)
    for front in [True] * 36 + [False] * 56:
        clock = step * (1.0 if front else np.exp(-axle))
        walk += np.sqrt(1e-7 * clock) * rng.normal(size=20_000)
        run = clock + np.sqrt(2.0 * clock) * rng.normal(size=20_000)
        depth = path_depth(depth, np.exp(log_rate + walk) * (depth / first) ** q * run, q)
    now = np.stack([depth, log_rate + walk + q * np.log(depth / first), axle, q])
    np.testing.assert_allclose(after.mean[0], now.mean(axis=1), rtol=0.01, atol=0.02)
    np.testing.assert_allclose(after.sds()[0], now.std(axis=1), rtol=0.05)
    got = after.cov[0] / np.outer(after.sds()[0], after.sds()[0])
    np.testing.assert_allclose(got, np.corrcoef(now), atol=0.06)


def test_draws_have_the_posteriors_moments(fitted):
    drawn = draw(fitted, np.zeros(len(fitted), dtype=int), np.zeros(len(fitted)))
    level = fitted.on_axle(0.0)
    np.testing.assert_allclose(drawn.depth.mean(axis=1), level.mean[:, 0], atol=1e-5)
    np.testing.assert_allclose(drawn.depth.std(axis=1), level.sds()[:, 0], rtol=1e-5)
    np.testing.assert_allclose(np.log(drawn.rate).std(axis=1), level.sds()[:, 1], rtol=1e-5)
    both = np.mean((drawn.depth - level.mean[:, [0]]) * (np.log(drawn.rate) - level.mean[:, [1]]), axis=1)
    np.testing.assert_allclose(both, level.cov[:, 0, 1], atol=1e-7)


def test_tires_of_a_vehicle_lean_together_by_the_covariance_they_share(fitted):
    few = fitted.take(slice(0, 4))
    shared = 0.5 * few.on_axle(0.0).cov[:, 1, 1]
    drawn = draw(few, np.arange(4), shared)
    log_rate = np.log(drawn.rate)
    got = np.cov(log_rate, bias=True)[0, 1]
    assert got == pytest.approx(np.sqrt(shared[0] * shared[1]), rel=0.25)
    apart = np.cov(np.log(draw(few, np.arange(4), np.full(4, -1.0)).rate), bias=True)
    assert abs(apart[0, 1]) < got

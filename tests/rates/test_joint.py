"""Draws of tires against the law that they are drawn from: their points have its moments without error."""

import numpy as np
import pytest

from tests.rates.standing import stands
from tirelife.rates.joint import COUNT, Standing, bent_scores, draw, points, quantiles, scores
from tirelife.rates.mixture import Mixture
from tirelife.rates.posterior import Posterior

ROOT = np.array([[0.15, 0, 0, 0], [0.03, 0.06, 0, 0], [0.01, 0.02, 0.05, 0], [0.02, -0.03, 0.01, 0.05]])
MEAN = np.array([6.0, np.log(1.1e-4), 0.4, 0.3])


def alike(count, cov=ROOT @ ROOT.T):
    """So many tires of which the same is known, on an axle of mean wear."""
    none = np.zeros(count)
    return Posterior(np.tile(MEAN, (count, 1)), np.tile(cov, (count, 1, 1)), none, none, none)


def together(drawn):
    """Covariance of depth, log rate, log axle ratio and curvature, tire after tire."""
    of = (
        drawn.depth,
        np.log(drawn.rate),
        2 * np.log(drawn.half),
        np.broadcast_to(drawn.q, drawn.depth.shape),
    )
    rows = np.stack(of, axis=1).astype(float)
    return np.cov(rows.reshape(-1, COUNT), bias=True), rows.mean(axis=2)


def moments(values):
    """Mean and variance of draws, as numbers."""
    return values.astype(float).mean(axis=-1), values.astype(float).var(axis=-1)


def test_points_are_standard_in_every_direction():
    shared, own = points()
    table = np.vstack([*shared.values(), *(row for rows in own.values() for row in rows)])
    assert table.shape[1] == COUNT
    np.testing.assert_allclose(table @ table.T / COUNT, np.eye(len(table)), atol=1e-9)
    rng = np.random.default_rng(0)
    mix = rng.normal(size=(200, len(table)))
    mix[:, 12:] *= 0.2
    mix /= np.linalg.norm(mix, axis=1, keepdims=True)
    got = quantiles(mix @ table, [0.1, 0.25, 0.5, 0.75, 0.9])
    want = np.array([-1.2816, -0.6745, 0, 0.6745, 1.2816])
    assert np.sqrt(np.mean((got - want) ** 2, axis=0)).max() < 0.09


def test_each_point_has_its_mirror_image():
    shared, own = points()
    for values in (*shared.values(), *own.values()):
        np.testing.assert_array_equal(values[..., : COUNT // 2], -values[..., COUNT // 2 :])
    # Strata of the normal law: half a stratum from either end.
    assert np.abs(shared["vehicle"]).max() == pytest.approx(3.1, abs=0.25)
    assert all(values.dtype == np.float32 for part in scores() for values in part.values())
    np.testing.assert_allclose(scores()[1]["rate"], own["rate"], atol=1e-6)


def test_a_draw_of_one_tire_has_the_posteriors_mean_and_covariance():
    cov, mean = together(draw(alike(1), np.zeros(1, dtype=int), np.zeros(1)))
    np.testing.assert_allclose(mean[0], MEAN, atol=1e-5)
    np.testing.assert_allclose(cov, ROOT @ ROOT.T, atol=2e-6)


def test_what_tires_of_a_vehicle_share_is_what_their_draws_have_in_common():
    # Between two tires: log rates 0.003, depth with the other's log rate 0.0005, depths 0.008.
    two = np.tile([0.003, 0.0005, 0.008], (2, 1))
    cov, _ = together(draw(alike(2), np.array([0, 3]), two))
    np.testing.assert_allclose(cov[:4, :4], ROOT @ ROOT.T, atol=2e-6)
    assert cov[1, 5] == pytest.approx(0.003, abs=2e-6)
    assert cov[0, 5] == pytest.approx(0.0005, abs=2e-6)
    assert cov[1, 4] == pytest.approx(0.0005, abs=2e-6)
    assert cov[0, 4] == pytest.approx(0.008, abs=2e-6)
    # One vehicle has one ratio of its axles and one curvature.
    np.testing.assert_allclose(cov[2:4, 6:8], (ROOT @ ROOT.T)[2:, 2:], atol=2e-6)


def independent():
    """A covariance of depth and log rate alone: 0.04 mm², 0.005, correlation one half."""
    cov = np.zeros((4, 4))
    cov[0, 0], cov[1, 1] = 0.04, 0.005
    cov[0, 1] = cov[1, 0] = 0.5 * np.sqrt(0.04 * 0.005)
    return cov


def test_where_only_log_rates_are_told_depths_share_what_those_give_them():
    # A depth goes with its own log rate at 0.5 sqrt(0.04 / 0.005) mm, so with another's by that much less.
    slope = 0.5 * np.sqrt(0.04 / 0.005)
    for shared in (
        np.full(2, 0.002),
        np.array([[0.002, np.nan, 0.001]] * 2),
        np.array([[0.002, 0.001, np.nan]] * 2),
    ):
        cov, _ = together(draw(alike(2, independent()), np.array([0, 1]), shared))
        assert cov[1, 5] == pytest.approx(0.002, abs=2e-6)
        assert cov[0, 5] == pytest.approx(0.002 * slope, abs=2e-6)
        assert cov[0, 4] == pytest.approx(0.002 * slope**2, abs=2e-6)


@pytest.mark.parametrize(("told", "share"), [(-0.01, 0.0), (0.05, 0.98)])
def test_no_more_is_shared_than_there_is_and_no_less_than_nothing(told, share):
    cov, _ = together(draw(alike(2, independent()), np.array([0, 1]), np.full(2, told)))
    assert cov[1, 5] == pytest.approx(share * 0.005, abs=2e-6)
    np.testing.assert_allclose(cov[:2, :2], independent()[:2, :2], atol=2e-6)


def test_tires_of_which_all_is_known_do_not_vary():
    drawn = draw(alike(1, np.zeros((4, 4))), np.zeros(1, dtype=int), np.zeros(1))
    assert np.ptp(drawn.depth) == np.ptp(drawn.rate) == np.ptp(drawn.half) == np.ptp(drawn.q) == 0
    assert drawn.half[0, 0] == pytest.approx(np.exp(0.2))
    assert drawn.rate[0, 0] == pytest.approx(1.1e-4, rel=1e-6)


def test_curvatures_of_different_laws_are_drawn_each_from_its_own():
    plain, turned = points()[0]["q"], points()[0]["q"][::-1]
    drawn = draw(alike(2), np.array([0, 1]), np.zeros(2), np.stack([plain, turned]))
    sd = np.sqrt((ROOT @ ROOT.T)[3, 3])
    # Given the axles' ratio a part of it is the vehicle's; the rest is each tire's law.
    on_axle = (ROOT @ ROOT.T)[3, 2] / (ROOT @ ROOT.T)[2, 2]
    rest = drawn.q - 0.3 - on_axle * (2 * np.log(drawn.half) - 0.4)
    left = np.sqrt(sd**2 - on_axle**2 * (ROOT @ ROOT.T)[2, 2])
    np.testing.assert_allclose(rest, left * np.stack([plain, turned]), atol=1e-5)


def test_points_of_one_normal_are_the_normal_points():
    np.testing.assert_allclose(bent_scores(Mixture((1.0,), (0.4,), (0.2,))), points()[0]["q"], atol=0.003)
    two = bent_scores(Mixture((0.5, 0.5), (0.0, 1.0), (0.01, 0.01)))
    # Half of them lie about either mean, each half a unit from the middle; Z80 = 1.2816.
    assert (np.abs(np.abs(two) - 0.5 / (1.0 / (2 * 1.2816))) < 0.15).all()
    assert (two > 0).mean() == 0.5


def test_quantiles_are_hazens():
    # Hazen 1914: the k-th of n stands for (k - 1/2) / n; numpy has it as a method.
    values = np.random.default_rng(3).normal(size=(3, COUNT))
    levels = [0.1, 0.25, 0.5, 0.777, 0.999]
    np.testing.assert_allclose(
        quantiles(values, levels), np.quantile(values, levels, axis=1, method="hazen").T, atol=1e-12
    )
    assert quantiles(np.array([[1.0, 2.0]]), [0.25, 0.5, 0.75]).tolist() == [[1.0, 1.5, 2.0]]


def test_a_quantile_beyond_all_distances_is_infinite_and_one_of_the_unknown_is_unknown():
    values = np.tile(np.arange(COUNT, dtype=float), (3, 1))
    values[0, -100:] = np.inf
    values[1, 7] = np.nan
    found = quantiles(values, [0.5, 0.9])
    assert found[0].tolist() == [255.5, np.inf]
    assert np.isnan(found[1]).all()
    assert found[2, 1] == pytest.approx(0.9 * COUNT - 0.5)
    assert quantiles(np.empty((0, COUNT)), [0.5]).shape == (0, 1)


def test_a_tire_has_a_seat_by_its_position_and_a_side_by_its_axle():
    standing = Standing(stands(5, position=["LF", "RF", "LR", "RR", "SP"]))
    assert len(standing) == 5
    assert len(set(standing.seat)) == 5
    assert standing.front.ravel().tolist() == [1, 1, -1, -1, 0]
    assert np.isnan(standing.shared).all()
    standing.take(slice(1, 3))
    assert len(standing) == len(standing.shared) == len(standing.posterior) == len(standing.get["here"]) == 2
    assert standing.front.ravel().tolist() == [1, -1]
    assert Standing(stands(0)).depth().shape == (0, COUNT)


def test_shared_columns_are_read_where_they_are():
    told = Standing(stands(2, shared_cov=0.1, shared_both_mm=0.2, shared_depth_mm2=0.3))
    assert told.shared.tolist() == [[0.1, 0.2, 0.3]] * 2


def test_distance_since_is_weighed_by_the_axle_that_it_was_run_on():
    # Wear at the front is exp(0.6 / 2) times that of an axle of mean wear, at the rear as many times less.
    standing = Standing(stands(at_axle=0.6, since_front_km=4_000.0, since_rear_km=1_000.0))
    _, run, walked = standing.drawn()
    np.testing.assert_allclose(run, 4_000 * np.exp(0.3) + 1_000 * np.exp(-0.3), rtol=1e-6)
    assert not walked.any()
    _, more, _ = standing.drawn(500.0, 300.0)
    np.testing.assert_allclose(more - run, 500 * np.exp(0.3) + 300 * np.exp(-0.3), rtol=1e-4)


@pytest.mark.parametrize(("position", "times"), [("LF", np.exp(0.3)), ("RR", np.exp(-0.3)), ("SP", 0.0)])
def test_what_the_odometer_ran_unread_is_run_where_the_tire_is(position, times):
    standing = Standing(stands(position=position, at_axle=0.6, unread_km=2_000.0, here=1.5, log_sd=0.2))
    _, run, _ = standing.drawn()
    want = 3_000 * times * np.exp(0.2 * points()[0]["level"])
    np.testing.assert_allclose(run[0] if times else run.ravel(), want if times else 0.0, rtol=1e-5)


def test_the_log_rate_walks_and_the_distance_with_it():
    # Of a random walk of variance w a km over x: its end w x, its integral w x³ / 3, both together w x² / 2.
    w, x = 4e-7, 20_000.0
    standing = Standing(stands(at_wander_per_km=w, since_front_km=x))
    at, run, walked = standing.drawn()
    assert moments(walked)[1] == pytest.approx(w * x, rel=1e-5)
    assert np.mean((run - x) * walked) == pytest.approx(w * x**2 / 2, rel=1e-4)
    depth = standing.depth()
    mean, var = moments(depth)
    assert mean == pytest.approx(6 - 1e-4 * x, rel=1e-5)
    assert var == pytest.approx(1e-8 * w * x**3 / 3, rel=1e-3)
    assert np.ptp(at.depth) == 0


def test_the_path_scatters_with_the_distance():
    standing = Standing(stands(at_scatter_km=90.0, since_rear_km=10_000.0, position="LR"))
    mean, var = moments(standing.depth())
    assert mean == pytest.approx(5.0, rel=1e-5)
    assert var == pytest.approx(1e-8 * 90 * 10_000, rel=1e-3)


def test_a_bent_path_falls_as_its_exponent_has_it():
    # q = 1: wear in proportion to what is left, so the depth decays.
    standing = Standing(stands(at_q=1.0, since_front_km=30_000.0))
    np.testing.assert_allclose(standing.depth(), 6 * np.exp(-1e-4 * 30_000 / 6), rtol=1e-5)
    bare = Standing(stands(at_depth=-0.4, since_front_km=0.0))
    np.testing.assert_allclose(bare.depth(), -0.4, atol=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_tires_of_a_vehicle_walk_together_as_far_as_the_share_says(share):
    standing = Standing(stands(2, position=["LF", "RR"], walk_share=share))
    walk = standing.mixed("walked").astype(float)
    np.testing.assert_allclose(walk @ walk.T / COUNT, [[1, share], [share, 1]], atol=1e-5)
    other = standing.mixed("walked", np.full((2, 1), 0.6)).astype(float)
    assert np.mean(other[0] * other[1]) == pytest.approx(0.6, abs=1e-5)


def test_how_far_rates_walk_is_drawn_where_it_is_not_known():
    plain = Standing(stands(at_wander_per_km=4e-7, walk_share=0.25))
    wander, share = plain.walks()
    assert wander.tolist() == [[np.float32(4e-7)]]
    assert share.tolist() == [[0.25]]
    doubted = Standing(
        stands(at_wander_per_km=4e-7, walk_share=0.25, walk_log_sd=0.5, wander_log_sd=0.2),
        ("walk_log_sd", "wander_log_sd"),
    )
    wander, share = doubted.walks()
    of_car = 0.25 * np.exp(2 * 0.5 * points()[0]["walk_spread"])
    own = 0.75 * np.exp(2 * 0.2 * points()[0]["wander_spread"])
    np.testing.assert_allclose(wander[0], 4e-7 * (of_car + own), rtol=1e-5)
    np.testing.assert_allclose(share[0], of_car / (of_car + own), rtol=1e-5)


def test_tires_of_one_fit_have_one_law_of_their_curvature():
    assert Standing(stands(3)).bend().shape == (1, COUNT)
    two = Standing(
        stands(2, q_mean_0=[0.0, 0.3], q_mean_1=[0.5, 0.3], q_share_0=[0.5, 1.0], q_share_1=[0.5, 0.0])
    )
    bend = two.bend()
    assert bend.shape == (2, COUNT)
    np.testing.assert_allclose(bend[0], bent_scores(Mixture((0.5, 0.5), (0.0, 0.5), (0.1, 0.1))))
    np.testing.assert_allclose(bend[1], points()[0]["q"], atol=0.003)
    assert Standing(stands(0)).bend().shape == (0, COUNT)

"""A block's covariance inverted by parts, against the dense matrix inverted by NumPy."""

from dataclasses import replace

import numpy as np
import pytest

from tests.rates.made import frames
from tests.rates.test_blocks import VALUES as NAMED
from tests.rates.test_blocks import made, real
from tests.rates.test_likelihood import VALUES, dense
from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import common_of, design_of, kernels_of, own_of, prior_of, split
from tirelife.rates.likelihood import evaluate
from tirelife.rates.moments import block_moments, root_of
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.wearing import initial_state, linearize

USUAL = np.array(list(NAMED.values()))
OWN = np.array([[0.03, 0.05, 0.01], [0.02, 0.04, -0.01], [0.0, 0.0, 0.0]])


def model(own):
    blocks, columns = made()
    slope = columns.slope * 1e-4  # mm a km
    return (replace(blocks, own=OWN) if own else blocks), replace(columns, slope=slope)


def whole(blocks, part, columns, values, b):
    """V of one block's real rows, their design and response, and which of the part's rows they are."""
    at = [(k, w) for k, w, _ in real(part, b)]
    k, w = np.array(at, dtype=int).reshape(-1, 2).T
    x, z = design_of(part, columns)[b, k, w], common_of(part, columns)[b, k, w, -1]
    v = x @ prior_of(blocks, part, columns, values)[b] @ x.T
    own = own_of(part, columns, values)[b]
    seen = part.occasion[b, k, w]
    v += values[1] * (seen[:, None] == seen)
    v += np.where(k[:, None] == k, own[k[:, None], w[:, None], w], 0.0)
    return v, x, z, (k, w)


@pytest.mark.parametrize("own", [False, True], ids=["alike", "own"])
@pytest.mark.parametrize("still", [False, True], ids=["wandering", "still"])
def test_what_follows_from_the_inverse_is_that_of_the_dense_matrix(own, still):
    blocks, columns = model(own)
    values = USUAL.copy()
    if still:
        values[2:4] = 0.0
    for part in split(blocks):
        for keep, wandering in ((False, False), (True, True)):
            found = block_moments(blocks, part, columns, values, keep, wandering)
            log_det = square = 0.0
            for b in range(len(part.block)):
                v, x, z, at = whole(blocks, part, columns, values, b)
                if not len(z):
                    continue
                inverse = np.linalg.inv(v)
                log_det += np.linalg.slogdet(v)[1]
                square += z @ inverse @ z
                np.testing.assert_allclose(found.solved[b][at], inverse @ z, rtol=1e-6, atol=1e-8)
                np.testing.assert_allclose(found.weighted[b][at], inverse @ x, rtol=1e-6, atol=1e-7)
                np.testing.assert_allclose(found.cross[b], x.T @ inverse @ x, rtol=1e-6, atol=1e-7)
                np.testing.assert_allclose(found.right[b], x.T @ inverse @ z, rtol=1e-6, atol=1e-7)
                np.testing.assert_allclose(found.precision[b][at], np.diag(inverse), rtol=1e-8)
            assert found.log_det == pytest.approx(log_det)
            assert found.square == pytest.approx(square)
            assert (found.wander is None) == (not wandering)
            assert (found.detail is None) == (not keep)


def test_pieces_of_the_inverse_are_kept_for_the_gradient():
    blocks, columns = model(True)
    for part in split(blocks):
        kept = block_moments(blocks, part, columns, USUAL, True).detail
        for b in range(len(part.block)):
            v, x, z, (k, w) = whole(blocks, part, columns, USUAL, b)
            if not len(z):
                continue
            inverse = np.linalg.inv(v)
            own = np.where(k[:, None] == k, kept.own[b][k[:, None], w[:, None], w], 0.0)
            np.testing.assert_allclose(
                own - kept.shared[b][k, w] @ kept.shared[b][k, w].T, inverse, rtol=1e-6, atol=1e-7
            )
            visit = (part.occasion[b, k, w][:, None] == np.arange(part.occasions)) * 1.0
            assert kept.of_visits[b] == pytest.approx(np.trace(visit.T @ inverse @ visit))
            np.testing.assert_allclose(kept.visits[b], visit.T @ inverse @ x, rtol=1e-6, atol=1e-7)
        scatter, drift = kernels_of(part, columns)
        np.testing.assert_array_equal(kept.scatter, scatter)
        np.testing.assert_array_equal(kept.drift, drift)


def test_rows_bear_on_the_wandering_at_their_units_end():
    blocks, columns = model(False)
    for part in split(blocks):
        held = block_moments(blocks, part, columns, USUAL).wander
        for b in range(len(part.block)):
            v, x, z, (k, w) = whole(blocks, part, columns, USUAL, b)
            if not len(z):
                continue
            inverse = np.linalg.inv(v)
            for unit in set(k):
                mine = k == unit
                rows = part.rows[b, unit, w[mine]]
                s, end = columns.clock[rows], columns.clock[rows].max()
                # A Wiener path, and the integral of a walk, at s and at the end; and the walk itself there.
                state = np.zeros((len(z), 2))
                state[mine, 0] = -columns.slope[rows] * (USUAL[2] * s + USUAL[3] * s**2 * (3 * end - s) / 6)
                state[mine, 1] = -columns.slope[rows] * USUAL[3] * s**2 / 2
                np.testing.assert_allclose(held.state[b, unit][w[mine]], state[mine], rtol=1e-9)
                np.testing.assert_allclose(held.held[b, unit], x.T @ inverse @ state, rtol=1e-6, atol=1e-9)
                np.testing.assert_allclose(
                    held.within[b, unit], state.T @ inverse @ state, rtol=1e-6, atol=1e-12
                )


@pytest.mark.parametrize("own", [False, True], ids=["alike", "own"])
def test_the_root_squared_is_the_covariance_of_what_rows_share(own):
    blocks, columns = model(own)
    for part in split(blocks):
        root = root_of(blocks, part, columns, USUAL)
        r, seen = root.scale.shape[1], part.occasions
        prior = prior_of(blocks, part, columns, USUAL)[:, : r - seen, : r - seen]  # the last ones do not vary
        want = np.zeros((len(part.block), r, r))
        want[:, np.arange(seen), np.arange(seen)] = USUAL[1]
        want[:, seen:, seen:] = prior
        one = np.broadcast_to(np.eye(r), want.shape)
        np.testing.assert_allclose(root.after(root.after(one)), want, atol=1e-12)
        np.testing.assert_allclose(root.after(one), root.after(one).transpose(0, 2, 1), atol=1e-14)
        some = np.random.default_rng(1).normal(size=want.shape)
        some = some + some.transpose(0, 2, 1)
        half = root.after(one)
        np.testing.assert_allclose(root.around(some), half @ some @ half, atol=1e-10)


def test_blocks_that_vary_alike_have_a_diagonal_root():
    blocks, columns = model(False)
    values = USUAL.copy()
    values[6] = 0.0  # nothing that a vehicle's tires have in common
    part = split(blocks)[0]
    root = root_of(blocks, part, columns, values)
    one = np.broadcast_to(np.eye(root.scale.shape[1]), (len(part.block), *[root.scale.shape[1]] * 2))
    np.testing.assert_array_equal(root.after(one), one * root.scale[:, None, :])
    np.testing.assert_allclose(root.around(one), root.after(one) ** 2)


def test_without_noise_there_is_no_inverse():
    blocks, columns = model(False)
    values = USUAL.copy()
    values[[0, 2, 3]] = 0.0
    part = split(blocks)[-1]
    with pytest.raises(np.linalg.LinAlgError):
        block_moments(blocks, part, replace(columns, doubt=0 * columns.doubt), values, False, False)


@pytest.mark.parametrize(("q", "own"), [(0.0, False), (0.4, False), (0.0, True)])
def test_the_bias_of_linearization_is_the_slope_of_half_the_log_determinant(q, own):
    # Tierney and Kadane 1986: Laplace's approximation has -log|H| / 2, and |V| = |R| |H| |G|
    visits, tires, vehicles = frames(vehicles=2, visits=4, seed=4)
    blocks, data, priors, _, _ = assemble(
        visits, tires.assign(vehicle_id=tires["tire_id"].str[:5]), vehicles, PUBLISHED
    )
    if own:
        blocks = replace(blocks, own=OWN[:2])
    state = replace(initial_state(blocks, data, priors), bend=q)
    share = np.ones(len(data.response))
    columns, _ = linearize(blocks, data, state, share)

    def half_log_det(moved):
        there, _ = linearize(blocks, data, moved, share)
        there = replace(there, habit=columns.habit, slope=columns.slope, clock=columns.clock)
        return np.linalg.slogdet(dense(blocks, there, VALUES)[0])[1] / 2

    found = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision, gradient=False)
    by_bend = 0.0
    for moments in found.moments:
        part, k = moments.part, moments.part.units.shape[1]
        # the bias is stored as it acts on the answer, (I - X' V^-1 X G) of the slope
        back = np.eye(moments.cross.shape[1]) - moments.cross @ moments.prior
        slope = np.linalg.solve(back, moments.bias[..., None])[..., 0]
        for b, block in enumerate(part.block):
            unit, step = part.units[b, 1], 1e-5
            at = {
                "start": (2, unit, state.start),
                "rate": (3, unit, state.rate),
                "axle": (2 * k, block, state.axle),
            }
            for name, (place, index, values) in at.items():
                one = np.zeros(len(values))
                one[index] = step
                up, down = (half_log_det(replace(state, **{name: values + sign * one})) for sign in (1, -1))
                # near enough where paths bend: the slope of the columns is taken to first order
                assert slope[b, place] == pytest.approx(
                    (up - down) / (2 * step), rel=1e-3 if q == 0 else 0.03, abs=1e-3 if q == 0 else 5e-3
                )
        by_bend += slope[:, -1].sum()
    up, down = (half_log_det(replace(state, bend=q + sign * 1e-4)) for sign in (1, -1))
    assert by_bend == pytest.approx((up - down) / 2e-4, rel=0.03, abs=0.02)

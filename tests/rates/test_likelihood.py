"""The engine against the same model written out as one dense normal law."""

from dataclasses import replace

import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import VARIANCES, split
from tirelife.rates.likelihood import evaluate, posterior
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.wearing import initial_state, linearize

VALUES = np.array([0.02, 0.015, 90.0, 4e-7, 0.01, 0.006, 0.05, 0.02, 8e-7])


@pytest.fixture(scope="module", params=[False, True], ids=["alike", "own"])
def model(request):
    visits, tires, vehicles = frames(vehicles=5, visits=4, groups=(0.0, 0.2), seed=4)
    rng = np.random.default_rng(0)
    visits = visits[rng.random(len(visits)) < 0.75]  # ragged: tires missed at visits
    visits = visits[visits["tire_id"] != "V0001-3"]  # and one never read
    visits = visits.assign(depth_se_mm=rng.uniform(0.08, 0.15, len(visits)))
    tires = tires.assign(vehicle_id=tires["tire_id"].str[:5])
    blocks, data, priors, _, _ = assemble(visits, tires, vehicles, PUBLISHED)
    if request.param:  # each vehicle has variances of its own besides, the last one none
        root = np.random.default_rng(2).normal(0, 0.15, (len(blocks.axle_fixed), 2, 2))
        root[-1] = 0.0
        square = root @ root.transpose(0, 2, 1)
        blocks = replace(blocks, own=np.column_stack([square[:, 0, 0], square[:, 1, 1], square[:, 0, 1]]))
    columns, _ = linearize(blocks, data, initial_state(blocks, data, priors), np.ones(len(data.response)))
    # The dense law takes the columns as given: nothing turns with the rates.
    return blocks, replace(columns, turn=0 * columns.turn), priors


def own_of(blocks, block):
    """What a block's log rate and axle ratio vary by beyond the common variances, and what both share."""
    return (0.0, 0.0, 0.0) if blocks.own is None else blocks.own[block]


def dense(blocks, columns, variances):
    """Covariance of all rows given the fixed effects, and their design, row by row."""
    noise, visit, scatter, drift, start, unit, block, axle, habit = variances
    n, p = len(blocks.row_unit), blocks.fixed
    v, x = np.zeros((n, n)), np.zeros((n, p + 1))
    for i in range(n):
        a = blocks.row_unit[i]
        x[i, blocks.start_fixed[a]] += columns.start[i]
        for term, value in zip(blocks.unit_fixed[a], blocks.unit_value[a], strict=True):
            x[i, term] += columns.rate[i] * value
        x[i, blocks.axle_fixed[blocks.unit_block[a]]] += columns.axle[i]
        x[i, blocks.bend_fixed] += columns.bend[i]
        for j in range(n):
            b = blocks.row_unit[j]
            if blocks.unit_block[a] != blocks.unit_block[b]:
                continue
            rate, ratio, both = own_of(blocks, blocks.unit_block[a])
            v[i, j] += (block + rate) * columns.rate[i] * columns.rate[j]
            v[i, j] += (axle + ratio) * columns.axle[i] * columns.axle[j]
            v[i, j] += both * (columns.rate[i] * columns.axle[j] + columns.axle[i] * columns.rate[j])
            v[i, j] += (
                habit * blocks.block_km[blocks.unit_block[a]] * columns.habit[:, i] @ columns.habit[:, j]
            )
            if blocks.row_occasion[i] == blocks.row_occasion[j]:
                v[i, j] += visit
            if a == b:
                s, t = sorted((columns.clock[i], columns.clock[j]))
                both = columns.slope[i] * columns.slope[j]
                v[i, j] += both * (scatter * s + drift * s**2 * (3 * t - s) / 6)
                v[i, j] += (start + blocks.start_extra[a]) * columns.start[i] * columns.start[j]
                v[i, j] += unit * columns.rate[i] * columns.rate[j]
            if i == j:
                v[i, j] += noise * columns.noise_ratio[i]
    return v, x[:, :p], columns.response[:-1]


def criterion(blocks, columns, priors, variances):
    """-2 log of the density of the rows with the fixed effects integrated over their law."""
    v, x, z = dense(blocks, columns, variances)
    total = v + x @ np.diag(1 / priors.precision) @ x.T
    left = z - x @ priors.mean
    return np.linalg.slogdet(2 * np.pi * total)[1] + left @ np.linalg.solve(total, left)


def test_criterion_is_the_normal_density(model):
    blocks, columns, priors = model
    found = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision)
    assert found.criterion == pytest.approx(criterion(blocks, columns, priors, VALUES), abs=1e-6)


@pytest.mark.parametrize("j", range(len(VARIANCES)), ids=VARIANCES)
def test_gradient_is_the_slope_of_the_criterion(model, j):
    blocks, columns, priors = model
    found = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision)
    step = np.zeros(len(VARIANCES))
    step[j] = 1e-5 * VALUES[j]
    up, down = (criterion(blocks, columns, priors, VALUES + s * step) for s in (1, -1))
    assert found.gradient[j] == pytest.approx((up - down) / (2 * step[j]), rel=1e-4, abs=1e-4 / VALUES[j])


def test_information_is_the_average_information(model):
    # Gilmour, Thompson and Cullis, Biometrics 51, 1995: y' P K P K P y
    blocks, columns, priors = model
    found = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision)
    v, x, z = dense(blocks, columns, VALUES)
    inverse = np.linalg.inv(v)
    cov = np.linalg.inv(x.T @ inverse @ x + np.diag(priors.precision))
    project = inverse - inverse @ x @ cov @ x.T @ inverse
    beta = cov @ (x.T @ inverse @ z + priors.precision * priors.mean)
    alpha = inverse @ (z - x @ beta)
    sides = []
    for j in range(len(VARIANCES)):
        one = np.zeros(len(VARIANCES))
        one[j] = 1.0
        kernel = dense(blocks, columns, one)[0] - dense(blocks, columns, one * 0)[0]
        sides.append(kernel @ alpha)
    expected = np.array([[a @ project @ b for b in sides] for a in sides])
    assert found.information == pytest.approx(expected, rel=1e-6)


def test_fixed_effects_and_predictions_that_leave_a_row_out(model):
    blocks, columns, priors = model
    found = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision, gradient=False)
    v, x, z = dense(blocks, columns, VALUES)
    inverse = np.linalg.inv(v)
    cov = np.linalg.inv(x.T @ inverse @ x + np.diag(priors.precision))
    assert found.cov == pytest.approx(cov, rel=1e-6, abs=1e-12)
    assert found.mean == pytest.approx(cov @ (x.T @ inverse @ z + priors.precision * priors.mean), abs=1e-9)
    units = posterior(blocks, columns, VALUES, found)
    total = v + x @ np.diag(1 / priors.precision) @ x.T
    row = 7
    others = np.delete(np.arange(len(z)), row)
    weights = np.linalg.solve(total[np.ix_(others, others)], total[others, row])
    left = z - x @ priors.mean
    assert units.residual[row] == pytest.approx(left[row] - weights @ left[others], abs=1e-8)
    assert units.residual_var[row] == pytest.approx(total[row, row] - weights @ total[others, row], rel=1e-7)


def test_posterior_of_a_tire_is_the_conditional_law(model):
    blocks, columns, priors = model
    found = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision, gradient=False)
    units = posterior(blocks, columns, VALUES, found)
    _, _, scatter, drift, start, unit, block, axle, habit = VALUES
    v, x, z = dense(blocks, columns, VALUES)
    law = np.diag(1 / priors.precision)
    total = v + x @ law @ x.T
    for a in (2, 5):
        p = blocks.fixed
        # (start, log rate, log axle ratio, curvature, 3 of the walk, wander, drift): fixed part, and covariance
        # with the rows
        part = np.zeros((9, p + 1))
        part[0, blocks.start_fixed[a]] = 1
        np.add.at(part[1], blocks.unit_fixed[a], blocks.unit_value[a])
        part[2, blocks.axle_fixed[blocks.unit_block[a]]] = 1
        part[3, blocks.bend_fixed] = 1
        part = part[:, :p]
        mine = np.flatnonzero(blocks.row_unit == a)
        end = columns.clock[mine[-1]] if len(mine) else 0.0
        with_rows = np.zeros((9, len(z)))
        far = habit * blocks.block_km[blocks.unit_block[a]]
        rate, ratio, both = own_of(blocks, blocks.unit_block[a])
        for i in range(len(z)):
            b = blocks.row_unit[i]
            if blocks.unit_block[b] != blocks.unit_block[a]:
                continue
            with_rows[1, i] = (block + rate) * columns.rate[i] + both * columns.axle[i]
            with_rows[2, i] = (axle + ratio) * columns.axle[i] + both * columns.rate[i]
            with_rows[4:7, i] = far * columns.habit[:, i]
            if a == b:
                s = columns.clock[i]
                with_rows[0, i] = (start + blocks.start_extra[a]) * columns.start[i]
                with_rows[1, i] += unit * columns.rate[i]
                with_rows[7, i] = -columns.slope[i] * (scatter * s + drift * s**2 * (3 * end - s) / 6)
                with_rows[8, i] = -columns.slope[i] * drift * s**2 / 2
        own = np.diag(
            [
                start + blocks.start_extra[a],
                unit + block + rate,
                axle + ratio,
                0,
                far,
                far,
                far,
                scatter * end + drift * end**3 / 3,
                drift * end,
            ]
        )
        own[7, 8] = own[8, 7] = drift * end**2 / 2
        own[1, 2] = own[2, 1] = both
        cross = with_rows + part @ law @ x.T
        weights = np.linalg.solve(total, cross.T).T
        expected = own + part @ law @ part.T - weights @ cross.T
        assert units.joint[a] == pytest.approx(expected, rel=1e-5, abs=1e-9)
        mean = part @ priors.mean + weights @ (z - x @ priors.mean)
        got = [units.start[a], units.rate[a], units.axle[blocks.unit_block[a]], found.mean[blocks.bend_fixed]]
        got += units.habit[blocks.unit_block[a]].tolist()
        assert [*got, *units.wander[a]] == pytest.approx(mean, rel=1e-6, abs=1e-9)


def test_padding_and_the_order_of_blocks_change_nothing(model, monkeypatch):
    blocks, columns, priors = model
    once = evaluate(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision)
    monkeypatch.setattr("tirelife.rates.blocks._CHUNK_BYTES", 1)
    parts = split(blocks)
    assert len(parts) == 5
    apart = evaluate(blocks, parts, columns, VALUES, priors.mean, priors.precision)
    assert apart.criterion == pytest.approx(once.criterion, abs=1e-8)
    assert apart.gradient == pytest.approx(once.gradient, rel=1e-8)

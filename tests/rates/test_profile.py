"""The likelihood along one variance against whole evaluations."""

import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import VARIANCES, split
from tirelife.rates.likelihood import evaluate
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.profile import profile
from tirelife.rates.wearing import averaged, estimate, initial_state, linearize

VALUES = np.array([0.02, 0.015, 90.0, 4e-7, 0.01, 0.006, 0.05, 0.02, 8e-7])


@pytest.fixture(scope="module")
def model():
    visits, tires, vehicles = frames(vehicles=6, visits=4, groups=(0.0, 0.2), seed=9)
    visits = visits[np.random.default_rng(1).random(len(visits)) < 0.8]
    blocks, data, priors, _, _ = assemble(
        visits, tires.assign(vehicle_id=tires["tire_id"].str[:5]), vehicles, PUBLISHED
    )
    return blocks, data, priors


@pytest.mark.parametrize("j", range(len(VARIANCES)), ids=VARIANCES)
def test_criteria_are_those_of_evaluations_one_by_one(model, j):
    blocks, data, priors = model
    columns, _ = linearize(blocks, data, initial_state(blocks, data, priors), np.ones(len(data.response)))
    values = VALUES[j] * np.array([0.01, 1.0, 30.0])
    found = profile(blocks, split(blocks), columns, VALUES, priors.mean, priors.precision, j, values)
    whole = []
    for value in values:
        variances = VALUES.copy()
        variances[j] = value
        whole.append(
            evaluate(blocks, split(blocks), columns, variances, priors.mean, priors.precision).criterion
        )
    assert found == pytest.approx(whole, abs=1e-6)
    assert np.ptp(whole) > 1e-3


def test_a_variance_that_readings_leave_open_is_averaged_and_the_others_stay(model):
    blocks, data, priors = model
    found = estimate(blocks, data, priors)
    drift, noise = VARIANCES.index("drift"), VARIANCES.index("noise")
    said = averaged(blocks, found, (noise, drift))
    others = np.arange(len(VARIANCES)) != drift
    assert said.variances[others] == pytest.approx(found.variances[others], rel=1e-12)
    # Mean over law and likelihood, on a finer grid than its own.
    center, sd = priors.log_variance_mean[drift], priors.log_variance_sd[drift]
    grid = np.linspace(center - 3 * sd, center + 3 * sd, 61)
    criteria = profile(
        blocks, split(blocks), found.columns, found.variances, found.priors.mean, found.priors.precision, drift,
        np.exp(grid),
    )  # fmt: skip
    weight = np.exp(-0.5 * (criteria - criteria.min() + ((grid - center) / sd) ** 2))
    mean = (weight @ grid) / weight.sum()
    assert np.log(said.variances[drift]) == pytest.approx(mean, abs=0.1 * sd)
    assert said.log_sd[drift] == pytest.approx(np.sqrt(weight @ (grid - mean) ** 2 / weight.sum()), rel=0.15)


def test_an_estimate_goes_on_where_one_under_other_laws_ended(model):
    blocks, data, priors = model
    first = estimate(blocks, data, priors)
    again = estimate(blocks, data, priors, after=first)
    assert again.rounds < first.rounds
    assert np.log(again.variances) == pytest.approx(np.log(first.variances), abs=0.05)

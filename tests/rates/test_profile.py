"""The likelihood along one variance against whole evaluations."""

import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import SPREADS, split
from tirelife.rates.likelihood import evaluate
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.profile import profile
from tirelife.rates.wearing import averaged, begin, estimate, straighten

VARIANCES = np.array([0.02, 0.015, 90.0, 4e-7, 0.01, 0.006, 0.05, 0.02, 8e-7])


@pytest.fixture(scope="module")
def model():
    visits, tires, vehicles = frames(vehicles=6, visits=4, groups=(0.0, 0.2), seed=9)
    visits = visits[np.random.default_rng(1).random(len(visits)) < 0.8]
    blocks, data, laws, _, _ = assemble(
        visits, tires.assign(vehicle_id=tires["tire_id"].str[:5]), vehicles, PUBLISHED
    )
    return blocks, data, laws


@pytest.mark.parametrize("j", range(len(SPREADS)), ids=SPREADS)
def test_criteria_are_those_of_evaluations_one_by_one(model, j):
    blocks, data, laws = model
    columns, _ = straighten(blocks, data, begin(blocks, data, laws), np.ones(len(data.response)))
    values = VARIANCES[j] * np.array([0.01, 1.0, 30.0])
    found = profile(blocks, split(blocks), columns, VARIANCES, laws.mean, laws.precision, j, values)
    whole = []
    for value in values:
        spreads = VARIANCES.copy()
        spreads[j] = value
        whole.append(evaluate(blocks, split(blocks), columns, spreads, laws.mean, laws.precision).criterion)
    assert found == pytest.approx(whole, abs=1e-6)
    assert np.ptp(whole) > 1e-3


def test_a_variance_that_readings_leave_open_is_averaged_and_the_others_stay(model):
    blocks, data, laws = model
    found = estimate(blocks, data, laws)
    drift, noise = SPREADS.index("drift"), SPREADS.index("noise")
    said = averaged(blocks, found, (noise, drift))
    others = np.arange(len(SPREADS)) != drift
    assert said.spreads[others] == pytest.approx(found.spreads[others], rel=1e-12)
    # Mean over law and likelihood, on a finer grid than its own.
    center, sd = laws.spread_mean[drift], laws.spread_sd[drift]
    grid = np.linspace(center - 3 * sd, center + 3 * sd, 61)
    criteria = profile(
        blocks, split(blocks), found.columns, found.spreads, found.laws.mean, found.laws.precision, drift,
        np.exp(grid),
    )  # fmt: skip
    weight = np.exp(-0.5 * (criteria - criteria.min() + ((grid - center) / sd) ** 2))
    mean = (weight @ grid) / weight.sum()
    assert np.log(said.spreads[drift]) == pytest.approx(mean, abs=0.1 * sd)
    assert said.log_sd[drift] == pytest.approx(np.sqrt(weight @ (grid - mean) ** 2 / weight.sum()), rel=0.15)


def test_an_estimate_goes_on_where_one_under_other_laws_ended(model):
    blocks, data, laws = model
    first = estimate(blocks, data, laws)
    again = estimate(blocks, data, laws, after=first)
    assert again.rounds < first.rounds
    assert np.log(again.spreads) == pytest.approx(np.log(first.spreads), abs=0.05)

"""Rounds in which paths are linearized at given variances: where they begin, and where nothing wanders."""

from dataclasses import replace

import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import split
from tirelife.rates.curvature import fix_bend
from tirelife.rates.likelihood import evaluate, posterior
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.wearing import estimate, initial_state, linearize, posterior_modes, subset


@pytest.fixture(scope="module")
def model():
    # a fleet that wears half as fast again as the prior holds, and two readings that are far off
    visits, tires, vehicles = frames(vehicles=60, visits=5, seed=31, rate=7.5e-5)
    visits.loc[[40, 700], "depth_mm"] += 1.5
    blocks, data, priors, _, _ = assemble(
        visits, tires.assign(vehicle_id=tires["tire_id"].str[:5]), vehicles, PUBLISHED
    )
    priors = fix_bend(blocks, priors, 0.0)
    found = estimate(*subset(blocks, data, np.arange(0, 60, 2)), priors)
    return blocks, data, replace(priors, precision=found.priors.precision), found


def test_two_rounds_from_what_some_vehicles_taught_come_as_near_to_the_end_as_three_from_the_laws(model):
    blocks, data, priors, found = model
    end = posterior_modes(blocks, data, priors, found.variances, rounds=15)
    sd = np.sqrt(end[1].joint[:, 1, 1])

    def away(**how):
        units = posterior_modes(blocks, data, priors, found.variances, **how)[1]
        return np.abs(units.rate - end[1].rate) / sd

    learned, plain, short = away(rounds=2, mean=found.mean), away(rounds=3), away(rounds=2)
    assert np.median(learned) <= 1.1 * np.median(plain)
    assert np.quantile(learned, 0.99) <= 1.1 * np.quantile(plain, 0.99)
    assert short.max() > 2 * learned.max()  # far-off readings pull in full


def test_where_nothing_wanders_the_short_way_gives_what_the_long_one_does(model):
    blocks, data, priors, found = model
    variances = found.variances.copy()
    variances[[2, 3]] = 0.0
    columns, _ = linearize(blocks, data, initial_state(blocks, data, priors), np.ones(len(data.response)))
    given = blocks, split(blocks), columns, variances, priors.mean, priors.precision
    short, long = evaluate(*given, False, False), evaluate(*given, False, True)
    assert short.criterion == pytest.approx(long.criterion, abs=1e-6)  # held effects weigh 1e8
    by = [posterior(blocks, columns, variances, one) for one in (short, long)]
    for name in ("start", "rate", "axle", "residual", "residual_var"):
        np.testing.assert_allclose(getattr(by[0], name), getattr(by[1], name), rtol=1e-8, atol=1e-10)

"""Rounds in which paths are straightened at given variances: where they begin, and where nothing wanders."""

from dataclasses import replace

import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import split
from tirelife.rates.curvature import hold_bend
from tirelife.rates.likelihood import evaluate, posterior
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.wearing import begin, estimate, settle, straighten, take


@pytest.fixture(scope="module")
def model():
    # a fleet that wears half as fast again as the prior holds, and two readings that are far off
    visits, tires, vehicles = frames(vehicles=60, visits=5, seed=31, rate=7.5e-5)
    visits.loc[[40, 700], "depth_mm"] += 1.5
    blocks, data, laws, _, _ = assemble(
        visits, tires.assign(vehicle_id=tires["tire_id"].str[:5]), vehicles, PUBLISHED
    )
    laws = hold_bend(blocks, laws, 0.0)
    found = estimate(*take(blocks, data, np.arange(0, 60, 2)), laws)
    return blocks, data, replace(laws, precision=found.laws.precision), found


def test_two_rounds_from_what_some_vehicles_taught_come_as_near_to_the_end_as_three_from_the_laws(model):
    blocks, data, laws, found = model
    end = settle(blocks, data, laws, found.spreads, rounds=15)
    sd = np.sqrt(end[1].joint[:, 1, 1])

    def away(**how):
        units = settle(blocks, data, laws, found.spreads, **how)[1]
        return np.abs(units.rate - end[1].rate) / sd

    learned, plain, short = away(rounds=2, mean=found.mean), away(rounds=3), away(rounds=2)
    assert np.median(learned) <= 1.1 * np.median(plain)
    assert np.quantile(learned, 0.99) <= 1.1 * np.quantile(plain, 0.99)
    assert short.max() > 2 * learned.max()  # far-off readings pull in full


def test_where_nothing_wanders_the_short_way_gives_what_the_long_one_does(model):
    blocks, data, laws, found = model
    spreads = found.spreads.copy()
    spreads[[2, 3]] = 0.0
    columns, _ = straighten(blocks, data, begin(blocks, data, laws), np.ones(len(data.response)))
    given = blocks, split(blocks), columns, spreads, laws.mean, laws.precision
    short, long = evaluate(*given, False, False), evaluate(*given, False, True)
    assert short.criterion == pytest.approx(long.criterion, abs=1e-6)  # held effects weigh 1e8
    by = [posterior(blocks, columns, spreads, one) for one in (short, long)]
    for name in ("start", "rate", "axle", "away", "away_var"):
        np.testing.assert_allclose(getattr(by[0], name), getattr(by[1], name), rtol=1e-8, atol=1e-10)

"""Readings round the tire: likelihoods against SciPy, and what they tell."""

import numpy as np
import pandas as pd
import pytest
from scipy.linalg import helmert
from scipy.stats import multivariate_normal

from tirelife.tread.around import _lowered, _scatter, read_round, spot_likelihoods

GROOVES = ["outer", "outer_mid", "center", "inner_mid", "inner"]


def by_scipy(depth, var, load=None, shift=None):
    """Log likelihood of the spots' contrasts, which do not hold the groove means."""
    contrasts = helmert(len(depth)) @ (depth if shift is None else depth - shift)
    cover = var * np.eye(depth.shape[1]) + (0 if load is None else np.outer(load, load))
    return multivariate_normal(np.zeros(depth.shape[1]), cover).logpdf(contrasts).sum()


@pytest.mark.parametrize("load", [np.ones(5) * 0.6, np.array([1.0, 0.6, 0, 0, 0]) * 1.3, np.zeros(5)])
def test_cups_have_the_likelihood_of_a_normal_with_a_common_departure(load):
    rng = np.random.default_rng(1)
    depth = rng.normal(6, 0.5, (6, 5))
    left = depth - depth.mean(axis=0)
    constant = 0.5 * 5 * 5 * np.log(2 * np.pi)
    assert _scatter(left, 0.04, load) - constant == pytest.approx(by_scipy(depth, 0.04, load), abs=1e-8)


def test_flat_spots_have_the_likelihood_of_one_lower_spot():
    rng = np.random.default_rng(2)
    depth = rng.normal(6, 0.3, (6, 3))
    depth[2] -= 1.5
    left = depth - depth.mean(axis=0)
    low = np.array([0.5, 1.5])
    shapes = np.vstack([np.eye(6), np.eye(6) + 0.6 * np.roll(np.eye(6), 1, axis=1)])
    ours = _lowered(left, 0.09, low, shapes) - 0.5 * 5 * 3 * np.log(2 * np.pi)
    for i, shape in enumerate(shapes):
        for j, amount in enumerate(low):
            shift = np.outer(-amount * shape, np.ones(3))
            assert ours[i, j] == pytest.approx(by_scipy(depth, 0.09, shift=shift), abs=1e-8)


def table(offsets, grooves=GROOVES):
    return pd.DataFrame(6 + np.outer(offsets, np.ones(len(grooves))), columns=grooves)


def test_what_the_spots_say():
    assert spot_likelihoods(table([0, 0.05, -0.05, 0, 0, 0.05]), 0.2)["none"] == 1
    cups = spot_likelihoods(table([0, -1.0, 0.1, -0.9, 0, -1.1]), 0.2)
    assert cups["cupping"] == 1
    assert cups["none"] < 1e-6
    flat = spot_likelihoods(table([0, 0, -1.5, 0, 0.05, 0]), 0.2)
    assert flat["flat_spot"] == 1
    assert flat["cupping"] < 0.3


def test_a_flat_spot_may_reach_two_spots():
    found = spot_likelihoods(table([0, -1.3, -0.8, 0, 0.05, 0]), 0.2)
    assert found["flat_spot"] > found["cupping"]


def test_cups_at_one_edge_are_cups():
    depth = table([0.0] * 6)
    depth["outer"] += [0, -1.2, 0, -1.0, 0, -1.3]
    depth["outer_mid"] += [0, -0.6, 0, -0.5, 0, -0.6]
    found = spot_likelihoods(depth, 0.2)
    assert found["cupping"] == 1
    assert found["flat_spot"] < 0.01


def test_cups_at_places_that_do_not_line_up_are_not_slanted():
    # Two dips in each groove, at any places: with cups that line up alone, three in ten were taken for diagonal wear.
    rng, right = np.random.default_rng(12), []
    for _ in range(40):
        depth = rng.normal(7.0, 0.25, (8, 5))
        for groove in range(5):
            depth[rng.choice(8, 2, replace=False), groove] -= rng.uniform(1.5, 2.5, 2)
        found = spot_likelihoods(pd.DataFrame(depth, columns=GROOVES, index=range(1, 9)), 0.25)
        right.append(found["cupping"] > found["diagonal_wear"])
    assert np.mean(right) >= 0.9


def test_ups_and_downs_that_step_steadily_across_the_tread_are():
    # As many bands in every groove, a little further round in each than in the one before.
    rng, right = np.random.default_rng(13), []
    for _ in range(40):
        bands, shear = rng.integers(2, 5), rng.choice([-1, 1]) * rng.uniform(0.25, 0.6)
        place = 2 * np.pi * np.arange(8)[:, None] / 8 + shear * np.array([1, 0.5, 0, -0.5, -1])
        depth = 6.0 + 0.8 * np.cos(bands * place + rng.uniform(0, 6.28)) + rng.normal(0, 0.25, (8, 5))
        found = spot_likelihoods(pd.DataFrame(depth, columns=GROOVES, index=range(1, 9)), 0.25)
        right.append(found["diagonal_wear"] > found["cupping"])
    assert np.mean(right) >= 0.9


def test_how_deep_cups_would_be():
    depth = table([0.0] * 6)
    depth["outer"] += [0, -1.6, 0, -1.5, 0, -1.7]
    depth["inner"] += [0, -1.5, 0, -1.6, 0, -1.6]
    dips = read_round(depth, 0.2)[1]
    assert dips[[0, 4]].min() > 0.5  # 0.88 as the spots differ
    assert dips[2] < 0.2
    assert read_round(None, 0.2)[1].tolist() == [0.0] * 5


@pytest.mark.parametrize("spots", [None, table([0.0])])
def test_nothing_to_go_by(spots):
    assert set(spot_likelihoods(spots, 0.2).values()) == {1.0}


@pytest.mark.parametrize(
    "dips", [(0.0, 0.0, 0.0, 0.9, 1.5), (0.3, 0.6, 0.9, 1.2, 1.5), (0.0, 0.0, 0.0, 0.3, 1.5)]
)
def test_cups_at_the_inner_edge_are_read_as_at_the_outer(dips):
    rng = np.random.default_rng(14)
    depth = 6 + rng.normal(0, 0.1, (6, 5)) - np.outer([0, 1, 0, 1, 0, 1], dips)
    (inner, deep), (outer, other) = (
        read_round(pd.DataFrame(one, columns=GROOVES, index=range(1, 7)), 0.2)
        for one in (depth, depth[:, ::-1])
    )
    assert inner == pytest.approx(outer, rel=1e-6)
    assert deep == pytest.approx(other[::-1], rel=1e-6)
    assert deep[4] > 1.5 * deep[2]

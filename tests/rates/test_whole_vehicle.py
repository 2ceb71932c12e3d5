"""The joint law of a vehicle's tires against the fit's own, tire by tire."""

from itertools import combinations

import numpy as np
import pytest

from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook
from tirelife.rates.fit import solve_logbook
from tirelife.rates.joint import SHARED_COLUMNS, draw
from tirelife.rates.posterior import LEVEL, Posterior
from tirelife.rates.whole_vehicle import together


@pytest.fixture(scope="module")
def demo():
    book = read_logbook("data_synthetic/logbook")
    return book, fit_logbook(book), solve_logbook(book)


def on_road(book):
    path = book.stretches
    return path[path["open"] & path["position"].isin(["LF", "RF", "LR", "RR"])].groupby("vehicle_id")[
        "tire_id"
    ]


def test_each_tire_of_it_is_the_fits_own(demo):
    book, fit, found = demo
    tires = fit.tires.set_index("tire_id")
    for vehicle, ids in on_road(book):
        ids = ids.tolist()
        joint = together(found, str(vehicle), ids)
        rows = tires.loc[ids].reset_index()
        one = Posterior.of_tires(rows).on_axle(LEVEL)
        np.testing.assert_allclose(joint.mean[:4], rows["depth_mm"], rtol=1e-9)
        np.testing.assert_allclose(joint.mean[4:8], one.mean[:, 1], rtol=1e-9)
        # The curvature is held in the joint law; what it adds to a tire's is taken off.
        own = one.cov - one.cov[:, :, [3]] * one.cov[:, [3], :] / one.cov[:, [3], [3]][:, None]
        for i in range(4):
            at = [i, 4 + i, 8]
            scale = np.sqrt(np.outer(np.diag(own[i])[:3], np.diag(own[i])[:3]))
            np.testing.assert_allclose(joint.cov[np.ix_(at, at)] / scale, own[i, :3, :3] / scale, atol=1e-4)
        assert np.linalg.eigvalsh(joint.cov).min() > 0


def test_tires_of_a_vehicle_vary_together_and_a_stranger_is_refused(demo):
    book, fit, found = demo
    vehicle, ids = next(iter(on_road(book)))
    joint = together(found, vehicle, ids.tolist())
    rates = joint.cov[4:8, 4:8]
    assert (rates / np.sqrt(np.outer(np.diag(rates), np.diag(rates))) > 0.1).all()
    assert together(found, "nobody", ids.tolist()) is None
    other = fit.tires.loc[fit.tires["vehicle_id"] != vehicle, "tire_id"].iloc[0]
    assert together(found, vehicle, [*ids.tolist()[:3], other]) is None


def test_a_calibrated_spread_leaves_the_depths_alone(demo):
    book, _, found = demo
    vehicle, ids = next(iter(on_road(book)))
    joint = together(found, vehicle, ids.tolist())
    ratio = np.diag(joint.widened(1.5).cov) / np.diag(joint.cov)
    np.testing.assert_allclose(ratio, [1.0] * 4 + [2.25] * 5)


def likeness(cov, pairs, scale):
    """Mean correlation over pairs of tires: of depths, of depth with the other's log rate, of log rates."""
    both = cov / np.outer(scale, scale)
    kinds = ((0, 0), (0, 4), (4, 0), (4, 4))
    dd, dr, rd, rr = (np.mean([both[i + a, j + b] for i, j in pairs]) for a, b in kinds)
    return dd, (dr + rd) / 2, rr


def test_draws_of_a_vehicles_tires_vary_together_as_the_joint_law_has_it(demo):
    # Depths once shared but what the rates gave them; a set's tires, those that had gone before counted in.
    book, fit, found = demo
    tires, off = fit.tires.set_index("tire_id"), []
    pairs = list(combinations(range(4), 2))
    for vehicle, ids in on_road(book):
        rows = tires.loc[ids].reset_index()
        one = Posterior.of_tires(rows)
        drawn = draw(one, np.arange(4), rows[list(SHARED_COLUMNS)].to_numpy(float))
        level, scale = one.on_axle(LEVEL), one.on_axle(LEVEL).sds()[:, [0, 1]].T.ravel()
        got = np.cov(np.vstack([drawn.depth, np.log(drawn.rate)]).astype(float), bias=True)
        by_bend = (
            level.cov[:, [0, 1], 3].T.ravel() / level.sds()[0, 3]
        )  # held in the joint law, and one for all
        want = together(found, str(vehicle), ids.tolist()).cov[:8, :8] + np.outer(by_bend, by_bend)
        off.append(np.subtract(likeness(got, pairs, scale), likeness(want, pairs, scale)))
    assert np.abs(off).max() < 0.2  # pairs of one vehicle differ, and are drawn as if they did not
    assert np.median(np.abs(off), axis=0).max() < 0.025
    assert np.abs(np.mean(off, axis=0)).max() < 0.03

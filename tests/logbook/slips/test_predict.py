"""What a visit should read by a vehicle's others, held against a law that is built up from its causes."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from tests.logbook.slips import made
from tirelife.logbook import Slip
from tirelife.logbook.slips.depths import odds_alone
from tirelife.logbook.slips.predict import (
    MOST,
    OVERLAP,
    Law,
    Left,
    law_of,
    learn,
    leave_out,
    mean_of,
    windows,
)

WEAR, SCALE = 1e-4, 1.3


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    return made.visits(tmp_path_factory.mktemp("predict") / "log", made.log(cars=1, visits=4))


def from_causes(visits):
    """Covariance of a car's readings, a column a cause: what each leaves in each reading [mm]."""
    run = visits.run.ravel() * WEAR
    far = np.repeat((visits.km - visits.km[0]) * WEAR, 4)
    tire = np.tile(np.arange(4), len(visits))
    visit = np.repeat(np.arange(len(visits)), 4)
    columns = [
        np.sqrt(0.4) * 0.25 * np.ones(len(run)),
        0.15 * run,
    ]  # the new depth of a set, the vehicle's rate
    for step in np.unique(far)[1:]:  # the vehicle's rate wanders as it runs
        columns.append(0.15 * np.sqrt(0.3 * (step - max(far[far < step]))) * (far >= step))
    for one in range(4):
        own = tire == one
        columns += [np.sqrt(0.6) * 0.25 * own, 0.2 * run * own]
        before = 0.0
        for step in run[own]:
            columns.append(0.2 * np.sqrt(0.3 * (step - before)) * (own & (run >= step)))
            before = step
    columns += [0.12 * (visit == v) for v in range(len(visits))]
    # Two grooves of 0.25 mm each, and a gauge of 0.1 mm, half of whose rounding the grooves share.
    columns += list(np.sqrt(0.25**2 / 2 + 0.1**2 / 12 * 0.75) * np.eye(len(run)))
    cause = np.array(columns)
    return cause.T @ cause


def test_each_visit_is_what_the_others_say_by_the_normal_law(log):
    cov, none = from_causes(log), np.zeros(len(log), dtype=bool)
    left = leave_out(log, Law(WEAR, 8.0, scale=SCALE), none, ~none)
    depth, mean = log.depth.ravel(), 8.0 - WEAR * log.run.ravel()
    for v in range(len(log)):
        own = np.repeat(np.arange(len(log)), 4) == v
        weight = np.linalg.solve(cov[np.ix_(~own, ~own)], cov[np.ix_(~own, own)]).T
        expected = mean[own] + weight @ (depth - mean)[~own]
        spread = cov[np.ix_(own, own)] - weight @ cov[np.ix_(~own, own)]
        assert left.expected[v] == pytest.approx(expected, abs=1e-9)
        assert np.linalg.inv(left.precision[v]) == pytest.approx(SCALE**2 * spread, rel=1e-6, abs=1e-9)


def test_a_visit_left_out_says_nothing_of_the_others(log):
    none, third = np.zeros(len(log), dtype=bool), np.arange(len(log)) == 2
    law = Law(WEAR, 8.0)
    spoilt = deeper(log, third, 3.0)
    clean, left = (leave_out(one, law, third, ~none).expected for one in (log, spoilt))
    assert left[~third] == pytest.approx(clean[~third], abs=1e-9)
    assert np.abs(leave_out(spoilt, law, none, ~none).expected - clean)[~third].max() > 0.3


def deeper(visits, which, by):
    return replace(visits, depth=visits.depth + by * which[:, None])


def test_the_odds_of_a_visit_ten_times_too_deep_are_those_of_two_normal_laws(log):
    none = np.zeros(len(log), dtype=bool)
    law = Law(WEAR, 8.0)
    # Near a tenth of what is expected, so that the odds are moderate and no other slip says anything.
    left = leave_out(log, law, none, ~none)
    tenfold = replace(log, depth=np.where(np.arange(len(log))[:, None] == 1, log.depth / 10, log.depth))
    note, odds = odds_alone(tenfold, law, Left(left.expected, left.precision / 60), "mm")[1]
    normal = multivariate_normal(left.expected[1], 60 * np.linalg.inv(left.precision[1]))
    wide = multivariate_normal(left.expected[1], 9 * 60 * np.linalg.inv(left.precision[1]))
    typed = np.logaddexp(
        np.log(499 / 500) + normal.logpdf(tenfold.depth[1]), np.log(1 / 500) + wide.logpdf(tenfold.depth[1])
    )
    slipped = normal.logpdf(tenfold.depth[1] * 10) + 4 * np.log(10) + np.log(1 / 200)
    assert note.code is Slip.TENFOLD
    assert odds == pytest.approx(slipped - typed, abs=0.02)


def test_the_wear_of_a_log_and_its_start_are_learned(tmp_path):
    visits = made.visits(tmp_path / "log", made.log(cars=8))
    law, left = learn(visits)
    # 0.6 mm each 6,000 km, up to 14 % more by vehicle, a few percent towards a usual tire's; tires of 8 mm.
    assert law.wear == pytest.approx(1.07e-4, rel=0.05)
    assert law.start == 8.0
    assert 0.5 < law.scale < 1.0  # readings of this log lie closer than usual ones
    assert np.abs(visits.depth - left.expected).max() < 0.35
    assert mean_of(visits, law, np.array([0])) == pytest.approx(8 - law.wear * 6_000)
    assert law_of(visits).scale == 1.0


@pytest.mark.parametrize("length", [1, MOST, MOST + 1, 40])
def test_each_visit_is_judged_in_one_window(length):
    vehicle = np.repeat([3, 4, 7], [2, length, 5])
    judged = np.concatenate([index[own] for index, own in windows(vehicle)])
    assert sorted(judged) == list(range(len(vehicle)))
    for index, own in windows(vehicle):
        assert index.shape[1] <= MOST
        assert all(len(set(vehicle[row])) == 1 for row in index)
        begins = np.array([row[0] == 0 or vehicle[row[0] - 1] != vehicle[row[0]] for row in index])
        assert (own.argmax(axis=1) == np.where(begins, 0, OVERLAP)).all()


def test_twenty_one_visits_are_judged_in_two_windows_that_share_three():
    # Twelve at a time: a window goes back three visits, so that what comes next is held against something.
    ((index, own),) = windows(np.zeros(21, dtype=int))
    assert index.tolist() == [list(range(12)), list(range(9, 21))]
    assert own.sum(axis=1).tolist() == [12, 9]

import numpy as np
import pytest

from tests import habit_ideal as ideal
from tests.habit_fleets import CAUSES, Fleet, simulate


@pytest.fixture(scope="module")
def exact(tmp_path_factory):
    """Twelve cars whose bends wear three times, all but their own levels and tires as good as exactly known."""
    folder = tmp_path_factory.mktemp("exact")
    fleet = Fleet(12, {"corners": 3.0}, error=1e-3, gauge_mm=0.01, visit_mm=0.01, visits=5)
    return simulate(folder, fleet, seed=4), ideal.read(folder, fleet)


def test_depths_answer_to_a_cars_own_as_their_differences_say(exact):
    _, log = exact
    rng = np.random.default_rng(2)
    n, factor = len(log.drive), rng.normal(0, 0.5, (1, len(CAUSES)))
    z = 0.2 * rng.standard_normal((1, n, 14)) + np.append(np.zeros(10), np.full(4, 8.0))
    level = np.full((1, 2), -9.3 - 3.5)
    _, by = ideal._jacobian(log, z, factor, level)
    for i in range(14):
        step = np.zeros(14)
        step[i] = 1e-5
        high, low = (ideal._jacobian(log, z + s, factor, level)[0] for s in (step, -step))
        assert by[..., i] == pytest.approx((high - low) / 2e-5, rel=2e-3, abs=1e-4)


def test_where_all_is_known_the_best_learner_finds_every_tires_rate_and_gain(exact):
    truth, log = exact
    rng = np.random.default_rng(3)
    true = np.log([3.0 if cause == "corners" else 1.0 for cause in CAUSES])
    found = ideal.learn(log, np.zeros(len(CAUSES)), rng, true, chains=10, rounds=12)
    rate = truth.set_index("tire_id")["rate"]
    got = ideal.rates(log, found, rng)
    assert got.to_numpy() == pytest.approx(np.log(rate.reindex(got.index)).to_numpy(), abs=0.03)
    for lever, ratio in ideal.gains(log, found, rng).items():
        gain = np.log1p(-truth[f"gain_{lever}"].to_numpy().reshape(-1, 4))[:, [0, 2]]
        assert np.median(ratio, axis=0) == pytest.approx(gain, abs=0.003)


def test_the_best_learner_finds_a_cause_that_wears_three_times(tmp_path):
    fleet = Fleet(24, {"corners": 3.0})
    simulate(tmp_path, fleet, seed=2)
    log, sd = ideal.read(tmp_path, fleet), np.full(len(CAUSES), 0.9)
    found = ideal.learn(log, sd, np.random.default_rng(5), chains=24, rounds=30)
    beside = found.log_factor - np.median(found.log_factor, axis=1, keepdims=True)
    low, middle, high = np.quantile(beside[:, CAUSES.index("corners")], [0.01, 0.5, 0.99])
    assert low < np.log(3.0) < high
    assert middle > 0.5
    assert 0.1 < found.taken < 0.6

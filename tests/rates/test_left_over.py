"""What is left between vehicles against each habit: a factor that is off shows, a learned one does not."""

import pytest

from tests.habit_fleets import Fleet, simulate
from tirelife.logbook import read_logbook
from tirelife.rates import fit as fits
from tirelife.rates import fit_logbook
from tirelife.wear import RECORDS


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    folder = tmp_path_factory.mktemp("corners")
    simulate(folder, Fleet(60, {"corners": 3.0}, error=0.1), seed=11)
    return read_logbook(folder)


def by_habit(fit):
    rows = fit.checks[fit.checks["check"].str.startswith("left-between")]
    return rows.set_index(rows["check"].str.removeprefix("left-between: "))


def test_a_factor_that_is_held_wrong_shows_and_a_learned_one_does_not(book, monkeypatch):
    learned = by_habit(fit_logbook(book))
    assert len(learned) == sum(cause.driver for cause in RECORDS)
    assert learned["passed"].all()
    monkeypatch.setattr(fits, "learn_causes", lambda book, visits, tires, prior, most: (prior.factors, None))
    held = by_habit(fit_logbook(book)).loc["corners"]
    assert not held["passed"]
    assert held["value"] > 3
    assert held["advice"] == "fit-cause-more"


def test_few_vehicles_are_not_asked(tmp_path):
    simulate(tmp_path, Fleet(6), seed=3)
    assert by_habit(fit_logbook(read_logbook(tmp_path))).empty

"""Visits of a log as the rule of slips takes them, and the rule as plain numbers."""

import json

import numpy as np
import pandas as pd
import pytest

from tests.outlook.folders import one_car
from tirelife.logbook import read_logbook
from tirelife.outlook.asking import slip_rule, visits_of_log
from tirelife.units import INCH_32ND_MM


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    visits = [("2024-06-01", 15_000, 9.0), ("2025-01-01", 20_000, 8.25), ("2025-06-01", 24_000, 7.5)]
    return read_logbook(one_car(tmp_path_factory.mktemp("asking"), visits))


def test_a_visit_has_its_car_day_and_distance_and_its_wheels_their_depths(book):
    found = visits_of_log(book)
    assert found.vehicle.tolist() == [0, 0, 0]
    assert found.day.tolist() == [
        (pd.Timestamp(day) - pd.Timestamp(0)).days for day in ("2024-06-01", "2025-01-01", "2025-06-01")
    ]
    np.testing.assert_allclose(found.km, np.array([15_000, 20_000, 24_000]) * 1.609344)
    assert found.depth.shape == (3, 4)
    np.testing.assert_allclose(found.depth[0], 9 * INCH_32ND_MM)
    np.testing.assert_allclose(found.new, 10 * INCH_32ND_MM)
    np.testing.assert_allclose(found.run[1], 10_000 * 1.609344)
    # Three of five grooves were read at each wheel, and a tire is one over its visits.
    assert found.grooves.tolist() == [[3] * 4] * 3
    assert np.isfinite(found.cells).sum(axis=2).tolist() == [[3] * 4] * 3
    assert found.counts.sum() == 36
    assert (found.life == found.life[0]).all()
    assert len(set(found.life[0])) == 4
    # 8.25 is neither a whole nor a half of 1/32 in.
    assert found.off_halves.tolist() == [0.0, 12.0, 0.0]
    assert found.readings.tolist() == [12.0] * 3
    assert not found.moved.any()


def test_a_wheel_that_was_not_read_is_a_blank(tmp_path):
    depths = [
        ("2024-06-01", 15_000, "V1", "RR", "center", 9.0),
        ("2024-06-01", 15_000, "V1", "LF", "outer", 8.0),
    ]
    found = visits_of_log(read_logbook(one_car(tmp_path, [], depths=depths)))
    np.testing.assert_allclose(found.depth[0] / INCH_32ND_MM, [8.0, np.nan, np.nan, 9.0])
    assert (found.life[0] >= 0).tolist() == [True, False, False, True]
    assert found.grooves[0].tolist() == [1, 0, 0, 1]
    assert found.run[0, 1] == 0


def test_a_log_in_which_nothing_was_read_has_no_visits_and_the_usual_rule(tmp_path):
    bare = read_logbook(one_car(tmp_path, []))
    assert visits_of_log(bare) is None
    assert slip_rule(bare) == slip_rule()


def test_the_rule_is_plain_numbers_and_learns_from_the_log(book):
    usual, learned = slip_rule(), slip_rule(book)
    assert json.loads(json.dumps(usual)) == usual
    assert set(usual) == set(learned)
    assert usual["units"] == {"mm": 1.0, "32nds": pytest.approx(25.4 / 32)}
    assert usual["usual"] == 0.5
    # Of three visits two were read in halves: two and a half of four.
    assert learned["usual"] == pytest.approx(2.5 / 4)
    assert usual["law"]["start"] == 8.0
    assert learned["law"] != usual["law"]

"""Odometers against those before and after, by hand."""

import numpy as np
import pytest

from tirelife.logbook import Slip
from tirelife.logbook.slips.odometers import judge_odometers
from tirelife.logbook.slips.road import Points, road_of

EVERY = 100.0


def points(km):
    """A car that ran 50 km a day, read each hundred days."""
    return Points(np.zeros(len(km), int), EVERY * np.arange(len(km)), np.asarray(km, float))


STEADY = [50_000 + 5_000 * k for k in range(8)]


def test_a_steady_car_is_where_its_neighbours_say():
    road = road_of(points(STEADY))
    assert road.said()[:, 1:-1] == pytest.approx(np.tile(STEADY[1:-1], (3, 1)))
    # 7 steady stretches beside 30 of 0.4 (our assumptions), over a month's and a hundred days' length; 40 km a reading.
    month = np.sqrt(30 / 37) * 0.4
    assert road.sd[:, 1:-1] == pytest.approx(np.hypot(40, month * 50 * np.sqrt(100 * 130 / 2)))
    assert road.spread()[1:-1] == pytest.approx(road.sd[0, 1] / np.sqrt(2))
    assert judge_odometers(points(STEADY), "km", np.array(["V1"])) == {}


@pytest.mark.parametrize(
    ("wrong", "code"),
    [(165_000, Slip.ODOMETER_DIGIT), (round(65_000 / 1.609344), Slip.ODOMETER_UNIT), (68_000, None)],
)
def test_a_reading_off_is_named(wrong, code):
    km = [*STEADY[:3], wrong, *STEADY[4:]]
    found = judge_odometers(points(km), "km", np.array(["V1"]))
    assert {i: note.code for i, note in found.items()} == ({3: code} if code else {})


def test_what_was_asked_and_stands_is_not_asked_again():
    km = [*STEADY[:3], 165_000, *STEADY[4:]]
    sure = np.arange(8) == 3
    assert judge_odometers(points(km), "km", np.array(["V1"]), sure) == {}

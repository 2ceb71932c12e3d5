"""Odometers against those before and after, by hand."""

import numpy as np
import pytest

from tirelife.logbook import Slip
from tirelife.logbook.slips.odometers import judge_odometers, judge_tables
from tirelife.logbook.slips.road import Points, road_of

EVERY = 100.0


def points(km, day=None):
    """A car that ran 50 km a day, read each hundred days if no days are given."""
    day = EVERY * np.arange(len(km)) if day is None else day
    return Points(np.zeros(len(km), int), day, np.asarray(km, float))


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


@pytest.mark.parametrize(("factor", "told"), [(1 / 1.609344, {1: "mi"}), (1.0, {})])
def test_a_table_in_miles_is_told_by_the_days_between_those_of_another(factor, told):
    # A car that runs 50 km a day, read each hundred days for one table and 70 days after that for the other.
    day = np.r_[EVERY * np.arange(8), EVERY * np.arange(1, 7) + 70]
    table = np.repeat([0, 1], [8, 6])
    km = (1_000 + 50 * day) * np.where(table == 1, factor, 1.0)
    order = np.argsort(day)
    found = judge_tables(points(km[order], day[order]), table[order], "km")
    assert {one: dict(note.values)["unit"] for one, note in found.items()} == told
    assert {note.code for note in found.values()} <= {Slip.TABLE_DISTANCE}

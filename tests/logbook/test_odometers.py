"""Odometers that can be used: the line between the others in place of each that is doubted."""

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook.codes import Found
from tirelife.logbook.odometers import _not_rising, usable_km

DAYS = pd.to_datetime(["2023-03-14", "2023-09-02", "2024-03-20", "2024-10-15", "2025-04-12", "2025-11-10"])


def used(km, unit="km"):
    return usable_km(pd.DataFrame({"vehicle_id": "a", "date": DAYS, "odometer_km": km}), unit)


def test_what_rises_is_used_as_it_is_read_and_what_was_not_read_stays_unknown():
    km = [41_230.0, 52_100.0, np.nan, 77_000.0, 88_900.0, 100_100.0]
    np.testing.assert_array_equal(used(km), km)


@pytest.mark.parametrize("typed", [660_000.0, 8_490.0, 48_490.0])
def test_a_slip_gives_way_to_the_line_between_its_neighbors(typed):
    km = [41_230.0, 52_100.0, 63_900.0, 77_000.0, typed, 98_100.0]
    days = (DAYS - DAYS[0]).days.to_numpy(float)
    line = np.interp(days[4], days[[3, 5]], [77_000.0, 98_100.0])
    assert used(km) == pytest.approx([*km[:4], line, km[5]])


def test_after_an_instrument_was_replaced_the_distance_goes_on():
    # Three readings of either instrument, at 60 and at 60.8 km a day; which of them stand, nobody can tell.
    gone = np.diff(used([41_230.0, 52_100.0, 63_900.0, 300.0, 11_900.0, 23_800.0]))
    days = np.diff((DAYS - DAYS[0]).days.to_numpy(float))
    assert np.all((gone / days > 55) & (gone / days < 68))


def test_a_leap_is_told_between_the_good_readings_beside_it_and_the_last_has_none_after():
    km = [1_000.0, 2_000.0, 500_000.0, 500_100.0, 900_000.0]
    known = pd.DataFrame({"vehicle": 0, "day": [0, 20, 21, 40, 41], "km": km})
    middle, last = _not_rising(known)[2], _not_rising(known)[4]
    assert middle == (Found.ODOMETER_AHEAD, 2_000.0, 500_100.0, 500_000.0)
    assert last[:2] == (Found.ODOMETER_AHEAD, 500_100.0)
    assert np.isnan(last[2])
    assert set(_not_rising(known)) == {2, 4}

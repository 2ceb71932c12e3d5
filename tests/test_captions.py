"""Names of months and signs of numbers for the axes of charts, in a language and its units."""

import pytest

from tirelife.captions import time_locale

MONTHS = {f"month-{i}": f"{'abcdefghijkl'[i - 1]}month {i}" for i in range(1, 13)}
SAY = MONTHS | {"point-us": ".", "group-us": ",", "point-metric": ",", "group-metric": "."}


def test_months_stand_in_their_order_and_are_cut_to_three_letters():
    time = time_locale(SAY, "us")["time"]
    assert time["months"] == list(MONTHS.values())
    assert time["shortMonths"][::11] == ["amo", "lmo"]


@pytest.mark.parametrize(("units", "signs"), [("us", (".", ",")), ("metric", (",", "."))])
def test_signs_of_numbers_are_those_of_the_units(units, signs):
    number = time_locale(SAY, units)["number"]
    assert (number["decimal"], number["thousands"]) == signs
    assert number["grouping"] == [3]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_all_that_a_locale_needs_is_there(units):
    # d3-time-format and d3-format, README: what locale definitions hold; a week has seven days.
    found = time_locale(SAY, units)
    time = {"dateTime", "date", "time", "periods", "days", "shortDays", "months", "shortMonths"}
    assert set(found["time"]) == time
    assert set(found["number"]) == {"decimal", "thousands", "grouping", "currency"}
    sizes = [len(found["time"][name]) for name in ("periods", "days", "shortDays", "months", "shortMonths")]
    assert sizes == [2, 7, 7, 12, 12]
    assert len(found["number"]["currency"]) == 2

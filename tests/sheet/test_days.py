"""A day in words, in the reader's order."""

from datetime import date

import pytest

from tirelife import InputError
from tirelife.sheet.days import DATE_ORDERS, day_said, in_order
from tirelife.sheet.language import texts


def test_a_day_is_said_in_each_order_with_its_month_in_words():
    said = [day_said(date(2026, 12, 4), order, texts()) for order in DATE_ORDERS]
    assert said == ["December 4, 2026", "4 December 2026", "2026 December 4"]
    assert day_said(date(2026, 1, 4), "dmy", texts("es")) == "4 de enero de 2026"


def test_another_order_is_refused_and_names_those_there_are():
    with pytest.raises(InputError, match=r"unknown date order 'ydm'.*mdy, dmy, ymd"):
        day_said(date(2026, 1, 4), "ydm", texts())


def test_readers_of_us_units_have_the_month_first():
    assert (in_order("us"), in_order("metric")) == ("mdy", "dmy")

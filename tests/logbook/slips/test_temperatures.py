"""Temperatures of visits against the seasons of the log."""

import numpy as np
import pytest

from tirelife.logbook.slips.temperatures import season_of


def test_the_seasons_of_a_log_are_found_and_what_is_far_off_tells_nothing():
    day = np.arange(0, 1095, 15)
    truth = 12 - 10 * np.cos(2 * np.pi * day / 365.25)
    celsius = truth + np.where(np.arange(len(day)) % 2, 2.0, -2.0)
    celsius[5] = 60.0  # typed in Fahrenheit
    expected, sd = season_of(day, celsius)
    assert expected == pytest.approx(truth, abs=0.5)
    # 1.48 of the median of what is off, 2 degrees, and never under 3 (our assumption).
    assert sd == pytest.approx(3.0, abs=0.3)


def test_with_few_visits_a_usual_year_stands_for_the_log():
    expected, sd = season_of(np.arange(0, 230, 10), np.full(23, 25.0))
    assert (set(expected), sd) == ({13.0}, 11.0)

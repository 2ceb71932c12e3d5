"""Temperatures of visits against the seasons of the log."""

import numpy as np
import pytest

from tests.logbook.slips import made
from tirelife.logbook.slips.temperatures import judge_temperatures, season_of


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


def test_the_odds_of_fahrenheit_are_those_of_two_normal_laws(tmp_path):
    # 59 in a column of Celsius, which in Fahrenheit is 15 °C; a usual year has 13 °C, give or take 11.
    tables = made.log(cars=1)
    one = tables["depths"].drop_duplicates("position")[["date", "vehicle_id", "position"]]
    tables["pressures"] = one.assign(pressure_kpa=230.0, state="cold", ambient_c=59.0)
    book = made.parsed(tmp_path / "log", tables)
    notes, records, visit = judge_temperatures(book["pressures"], np.array(["V1"], dtype=object))
    # One visit in 20 is in the other unit; as typed, one in 1,000 is off by a law 1.7 times as wide.
    typed = 0.999 * np.exp(-0.5 * (46 / 11) ** 2) + 0.001 / 1.7 * np.exp(-0.5 * (46 / 11 / 1.7) ** 2)
    fahrenheit = 5 / 9 * np.exp(-0.5 * (2 / 11) ** 2)
    assert dict(notes[0].values) == {"odds": pytest.approx(fahrenheit / typed / 20), "unit": "f"}
    assert (records.tolist(), visit.tolist()) == ([0, 1, 2, 3], [0] * 4)

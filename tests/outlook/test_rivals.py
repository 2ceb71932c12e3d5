"""The simple rules that a forecast has to beat, against reference libraries."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tirelife.outlook import rivals
from tirelife.outlook.rivals import fleet_mean, straight_lines

KM, DEPTH = np.array([0.0, 10e3, 20e3, 35e3]), np.array([8.0, 6.9, 6.1, 4.2])


@pytest.fixture
def known(monkeypatch):
    """Tire A: new at 8 mm and read three times; B: new and read once; C: read once; D: never."""
    visits = pd.DataFrame(
        {"tire_id": ["A", "A", "A", "B", "C", ""], "tire_km": [*KM[1:], 5e3, 6e3, 7e3],
         "depth_mm": [*DEPTH[1:], 7.0, 6.0, 1.0]}
    )  # fmt: skip
    monkeypatch.setattr(rivals, "tire_visits", lambda book: visits)
    return SimpleNamespace(
        tires=pd.DataFrame({"tire_id": list("ABCD"), "new_depth_mm": [8.0, 8.0, np.nan, 8.0]})
    )


def lines(known, *later):
    return straight_lines(known, pd.DataFrame(later, columns=["tire_id", "tire_km"]))


def test_a_line_goes_through_the_new_depth_and_the_readings(known):
    mean, _ = lines(known, ("A", 50e3), ("B", 10e3), ("A", 0.0))
    fit = stats.linregress(KM, DEPTH)
    assert mean == pytest.approx([fit.intercept + fit.slope * 50e3, 6.0, fit.intercept])


def test_its_spread_is_that_of_a_new_reading(known):
    # Any text on regression: s² (1 + 1/n + (x - mean)² / Sxx), n - 2 degrees of freedom.
    _, sd = lines(known, ("A", 50e3))
    fit = stats.linregress(KM, DEPTH)
    rest = DEPTH - fit.intercept - fit.slope * KM
    wide = np.sqrt(rest @ rest / 2 * (1 + 1 / 4 + (50e3 - KM.mean()) ** 2 / ((KM - KM.mean()) ** 2).sum()))
    assert sd[0] * stats.norm.ppf(0.9) == pytest.approx(wide * stats.t.ppf(0.9, 2))


def test_without_a_line_there_is_no_answer_and_through_two_points_no_spread(known):
    mean, sd = lines(known, ("B", 10e3), ("C", 9e3), ("D", 9e3), ("E", 9e3))
    assert np.isfinite(mean).tolist() == [True, False, False, False]
    assert np.isnan(sd).all()


def test_readings_that_agree_to_the_last_digit_are_a_micrometre_apart(monkeypatch):
    visits = pd.DataFrame({"tire_id": "A", "tire_km": [10e3, 20e3], "depth_mm": [7.0, 6.0]})
    monkeypatch.setattr(rivals, "tire_visits", lambda book: visits)
    book = SimpleNamespace(tires=pd.DataFrame({"tire_id": ["A"], "new_depth_mm": [8.0]}))
    mean, sd = lines(book, ("A", 10e3))
    assert mean == pytest.approx([7.0])
    assert sd[0] == pytest.approx(1e-3 * np.sqrt(4 / 3) * stats.t.ppf(0.9, 1) / stats.norm.ppf(0.9))


def fit(rates):
    tires = pd.DataFrame({"straight_line_mm_per_1000km": rates})
    visits = pd.DataFrame({"tire_id": ["A", "B", "A"], "depth_mm": [7.0, 5.0, 6.0]})
    return SimpleNamespace(frames={"tires": tires, "visits": visits})


def test_the_fleets_mean_wears_every_tire_from_its_last_reading():
    later = pd.DataFrame({"tire_id": ["A", "B", "C"]})
    mean, sd = fleet_mean(fit([0.1, 0.2, np.nan]), later, np.array([10e3, 20e3, 10e3]), 0.3)
    assert mean[:2] == pytest.approx([6.0 - 1.5, 5.0 - 3.0])
    assert np.isnan(mean[2])
    # Rates spread by 0.05, and what was read and will be both err by 0.3.
    assert sd == pytest.approx(np.sqrt([0.25 + 0.18, 1.0 + 0.18, 0.25 + 0.18]))


def test_a_fleet_of_which_no_rate_is_known_has_none():
    mean, sd = fleet_mean(fit([np.nan]), pd.DataFrame({"tire_id": ["A"]}), np.array([1.0]), 0.3)
    assert np.isnan([*mean, *sd]).all()

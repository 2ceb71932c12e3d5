"""Pressures of a visit as a whole, held against two normal laws written out."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import multivariate_normal

from tests.logbook.slips import made
from tirelife.logbook import Slip
from tirelife.logbook.slips import pressures
from tirelife.logbook.slips.pressures import judge_pressures

FOUND = np.array([222.0, 214.0, 226.0, 218.0])  # placard 230 all round


def asked(folder, readings, state="cold", unit="kpa"):
    """Notes by the visit's number; readings are a row a visit of one car."""
    rows = [
        {"date": f"2025-{1 + k:02d}-15", "vehicle_id": "V1", "position": p, f"pressure_{unit}": value, "state": state}
        for k, visit in enumerate(readings) for p, value in zip(made.WHEELS, visit, strict=True)
    ]  # fmt: skip
    book = made.parsed(folder, {**made.log(cars=1), "pressures": pd.DataFrame(rows)})
    ids = book["vehicles"].text["vehicle_id"].words
    judged, records, visit = judge_pressures(book["pressures"], book["vehicles"], ids)
    assert len(records) == len(visit) == len(rows)
    return {one.visit: one for one in judged}


@pytest.fixture
def usual(monkeypatch):
    """Spreads as assumed, whatever the log shows: 18 kPa a visit, 15 a wheel."""
    monkeypatch.setattr(pressures, "_spreads", lambda *_: (18.0, 15.0))


def log_odds(found, meant, jacobian):
    """Of a visit meant against as typed: 10 kPa under the placard is usual, one visit in 1,000 off by twice as much."""
    cov = 15.0**2 * np.eye(4) + 18.0**2
    usual, wide = (multivariate_normal(np.full(4, 220.0), k * cov) for k in (1, 4))
    typed = np.logaddexp(np.log(0.999) + usual.logpdf(found), np.log(0.001) + wide.logpdf(found))
    return np.log(1 / 100) + usual.logpdf(meant) + 4 * np.log(jacobian) - typed


def test_the_odds_of_absolute_pressures_are_those_of_two_normal_laws(tmp_path, usual):
    typed = FOUND + 101.0
    found = asked(tmp_path / "log", [FOUND, typed, FOUND])
    assert {k: one.note.code for k, one in found.items()} == {1: Slip.ABSOLUTE}
    assert found[1].odds == pytest.approx(log_odds(typed, typed - 101.325, 1.0), abs=1e-6)
    assert dict(found[1].note.values)["meant"] == f"{np.mean(typed - 101.325):.4g}"


@pytest.mark.parametrize(("other", "kpa"), [("psi", 6.894757), ("bar", 100.0)])
def test_the_odds_of_another_unit_are_those_of_two_normal_laws(tmp_path, usual, other, kpa):
    typed = np.round(FOUND / kpa, 1)
    one = asked(tmp_path / "log", [FOUND, FOUND, typed])[2]
    assert (one.note.code, dict(one.note.values)["unit"]) == (Slip.PRESSURE_UNIT, other)
    assert one.odds == pytest.approx(log_odds(typed, typed * kpa, kpa), rel=1e-5)


def test_a_tire_warm_from_the_road_is_no_slip_and_a_low_one_neither(tmp_path, usual):
    assert asked(tmp_path / "warm", [FOUND + 30], state="highway") == {}
    assert asked(tmp_path / "low", [FOUND - np.array([0, 0, 90, 0])]) == {}
    # Warm by 30 kPa is usual, so that 101 on top of it tells as much as of a cold tire.
    warm = asked(tmp_path / "both", [FOUND + 30 + 101], state="highway")[0]
    assert warm.odds == pytest.approx(log_odds(FOUND + 101, FOUND + 101 - 101.325, 1.0), abs=1e-6)


def test_spreads_are_learned_from_the_middle_of_a_log_and_never_under_a_gauges_error():
    rng = np.random.default_rng(5)
    visit = np.repeat(np.arange(2_000), 4)
    gap = rng.normal(0, 20, 2_000)[visit] + rng.normal(0, 10, 8_000)
    gap[:400] += 101.0  # a visit in twenty is absolute
    n = np.bincount(visit)
    lean, wheel = pressures._spreads(gap, visit, n)
    # Of a visit's mean: its own 20 kPa and half of a wheel's 10; of a wheel about the mean, √(3/4) of 10.
    assert lean == pytest.approx(np.hypot(20, 5), rel=0.08)
    assert wheel == pytest.approx(10 * np.sqrt(0.75), rel=0.05)
    assert pressures._spreads(np.zeros(8_000), visit, n) == (8.0, 8.0)

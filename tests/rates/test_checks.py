"""Whether to trust a fit: what each failed check makes of the verdict, and checks of readings and tires by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.codes import Severity
from tirelife.rates.advice import Advice, Check
from tirelife.rates.checks import _readings, _tires, judge, unsolved
from tirelife.rates.verdict import FitReason, Trust


def checks(*rows):
    """(code, value, passed) a row."""
    made = [
        {"check": "c", "value": v, "limit": 0.1, "passed": p, "advice": "", "code": c, "about": ""}
        for c, v, p in rows
    ]
    return pd.DataFrame(made)


@pytest.mark.parametrize(
    ("code", "value", "trust"),
    [
        (FitReason.UNSOLVED, 0.0, Trust.REFUSED),
        (FitReason.OFF_ITS_READINGS, 0.3, Trust.REFUSED),
        (FitReason.OUT_OF_SCALE, 1.0, Trust.REFUSED),
        (FitReason.GRADIENT, 2.0, Trust.ROUGH),
        (FitReason.GRADIENT, 2.01, Trust.REFUSED),
        (FitReason.RANGES_LOST, 1.0, Trust.ROUGH),
        (FitReason.RANGES_LOST, 1.01, Trust.REFUSED),  # of ten tires a tenth
        (FitReason.FAR_READINGS, 0.2, Trust.ROUGH),
        (FitReason.BENDS, 9.0, Trust.GOOD),
        (FitReason.ODD_TIRES, 9.0, Trust.GOOD),
    ],
)
def test_what_a_failed_check_makes_of_the_verdict(code, value, trust):
    verdict = judge(checks((code, value, False)), 10)
    assert verdict.trust is trust
    (note,) = verdict.reasons
    assert (note.code, note.value("value"), note.value("limit")) == (code, value, 0.1)


def test_what_passed_or_has_no_code_is_no_reason():
    assert judge(checks((FitReason.UNSOLVED, 0.0, True), ("", 0.0, False)), 10).reasons == ()


def test_further_reasons_and_the_gravest_first():
    verdict = judge(checks((FitReason.OUT_OF_SCALE, 1.0, False)), 10, FitReason.SECOND_START, FitReason.BENDS)
    assert [note.severity for note in verdict.reasons] == [Severity.WARNING, Severity.DOUBT, Severity.NOTE]


def test_a_fit_that_could_not_be_solved():
    table = unsolved()
    assert table["passed"].tolist() == [False]
    assert table["advice"].tolist() == [Advice.UNSOLVED.value]
    assert judge(table, 4).refused


def readings(off, outliers=0, noise=0.04, visit=0.01):
    flags = np.arange(len(off)) < outliers
    visits = pd.DataFrame({"standardized": off, "outlier": flags})
    found = SimpleNamespace(estimate=SimpleNamespace(variances=np.array([noise, visit])))
    return {row[0]: row for row in _readings(found, {"visits": visits})}


def test_far_readings_are_those_beyond_three_and_two_may_be():
    calm = np.resize([-1.0, 1.0], 100)
    for far, passed in ((2, True), (3, False)):
        off = calm.copy()
        off[:far] = 3.1
        value, limit, good = readings(off)[Check.FAR_SHARE][1:4]
        assert (value, limit, good) == (far / 100, 0.02, passed)
    off = calm.copy()
    off[:3] = 3.0  # at three is not beyond it
    assert readings(off)[Check.FAR_SHARE][1] == 0.0


def test_skew_of_what_is_within_four():
    one_sided = np.r_[np.full(40, -0.5), np.full(10, 2.0)]
    # Two points, a fifth at one: skew is (1 - 2 p) / sqrt(p (1 - p)) = 1.5.
    assert readings(one_sided)[Check.SKEW][1] == pytest.approx(1.5)
    assert not readings(one_sided)[Check.SKEW][3]
    assert readings(one_sided / 2)[Check.SKEW][1] == pytest.approx(1.5)  # a shape: of no size
    assert readings(np.r_[one_sided, 50.0])[Check.SKEW][1] == pytest.approx(1.5)
    assert np.isnan(readings(one_sided[-20:])[Check.SKEW][1])  # too few to tell
    assert readings(one_sided[-20:])[Check.SKEW][3]


@pytest.mark.parametrize(("count", "passed"), [(1, True), (2, False)])
def test_one_outlier_in_a_hundred(count, passed):
    assert readings(np.resize([-1.0, 1.0], 199), outliers=count)[Check.OUTLIERS][3] is passed


@pytest.mark.parametrize(("visit", "passed"), [(0.09, True), (0.0901, False)])
def test_visits_that_lean_by_more_than_one_and_a_half_errors(visit, passed):
    assert readings(np.resize([-1.0, 1.0], 30), visit=visit)[Check.VISIT_EFFECT][3] is passed


def test_no_readings_no_checks():
    assert readings(np.zeros(0)) == {}


def tires(belongs, rates=None, left=None, depth=5.0):
    count = len(belongs)
    names = [f"T{i}" for i in range(count)]
    table = pd.DataFrame({"tire_id": names})
    if left is not None:
        table["left"] = left
    found = SimpleNamespace(
        names=SimpleNamespace(table=table),
        units=SimpleNamespace(own=np.array(rates if rates else [0.0] * count), effect=np.array([0.3])),
        blocks=SimpleNamespace(unit_block=np.zeros(count, dtype=int)),
    )
    frame = pd.DataFrame({"tire_id": names, "belongs": belongs, "visits": 3, "depth_mm": depth})
    return _tires(found, frame)


def test_odd_tires_are_named_up_to_three():
    (row,) = tires([True, False, False])
    assert (row[1], row[3], row[6]) == (2.0, False, "T1, T2")
    (many,) = tires([False] * 4)
    assert many[6] == "T0, T1, T2, …"
    assert tires([True])[0][3]


def test_tires_that_left_early_are_held_against_the_rest():
    # Means 1.1 and 0.1, variances 0.01 each of three: a gap of 1 over sqrt(2 * 0.01 / 3) is 12.2 errors.
    rates = [1.0, 1.1, 1.2, 0.0, 0.1, 0.2]
    left = [True] * 3 + [False] * 3
    row = tires([True] * 6, rates, left)[1]
    assert row[1] == pytest.approx(1 / np.sqrt(0.02 / 3))
    assert not row[3]
    assert row[4] is Advice.EARLY_FASTER
    assert tires([True] * 6, rates[::-1], left)[1][4] is Advice.EARLY_SLOWER
    assert np.isnan(tires([True] * 6, rates, left, depth=3.5)[1][1])  # worn: none left early
    assert np.isnan(tires([True] * 5, rates[:5], left[:5])[1][1])

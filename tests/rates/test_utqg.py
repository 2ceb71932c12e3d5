"""49 CFR 575.104: the formulas are from memory (confidence high); sources read are named beside the checks."""

import numpy as np
import pytest

from tirelife.errors import InputError
from tirelife.rates.utqg import (
    BASE_RATE,
    course_adjustment,
    nine_point_rate,
    projected_miles,
    treadwear_grade,
    treadwear_index,
    two_point_rate,
)


def test_published_grade_example():
    # NHTSA interpretation 10811 (1995): 5,000 miles gives P = 16.67, so the tire is graded 00
    assert treadwear_index(5000) == pytest.approx(16.67, abs=0.005)
    assert treadwear_grade(treadwear_index(5000)) == 0


@pytest.mark.parametrize("miles", [5_000.0, 45_000.0, 124_800.0])
def test_older_and_newer_grade_formula_agree(miles):
    # 402 = 30,000 x 1.34 / 100; base rate frozen at 1.34 by 61 FR 47437 (1996)
    assert treadwear_index(miles) == pytest.approx(miles * 100 / 30_000, abs=1e-9)


@pytest.mark.parametrize(("index", "grade"), [(399.99, 380), (400, 400), (416, 400), (19.99, 0), (20, 20)])
def test_grades_are_cut_to_the_lower_20(index, grade):
    assert treadwear_grade(index) == grade


MILES = np.arange(0, 6401, 800)


def test_a_straight_test_by_both_methods():
    depths = 320 - 4.0 * np.arange(9)
    nine = nine_point_rate(MILES, depths)
    two = two_point_rate(depths[0], depths[-1])
    assert (nine.reference_mils, nine.rate) == pytest.approx((320, 5), abs=1e-9)
    assert (two.reference_mils, two.rate) == (320, 5)
    miles = projected_miles(nine.reference_mils, nine.rate * course_adjustment([1.34] * 4))
    assert miles == pytest.approx(52_400, abs=0.01)
    assert treadwear_index(miles) == pytest.approx(174.67, abs=0.005)
    assert treadwear_grade(treadwear_index(miles)) == 160


@pytest.mark.parametrize(
    ("reference", "rate", "monitors", "base", "adjustment", "adjusted", "miles", "index", "grade"),
    [  # worked from the formulas, unpublished: self-consistency only
        (320, 5.0, 1.34, 1.34, 1.0000, 5.0000, 52_400, 174.67, 160),
        (310, 8.0, 5.36, 1.34, 0.2500, 2.0000, 124_800, 416.00, 400),
        (300, 6.0, 7.0, 6.0, 0.8571, 5.1429, 47_077.8, 702.65, 700),
        (330, 4.0, 6.7, 1.34, 0.2000, 0.8000, 335_800, 1_119.33, 1_100),
    ],
)
def test_chains_of_arithmetic(reference, rate, monitors, base, adjustment, adjusted, miles, index, grade):
    factor = course_adjustment([monitors] * 4, base)
    assert factor == pytest.approx(adjustment, abs=5e-5)
    assert rate * factor == pytest.approx(adjusted, abs=5e-5)
    far = projected_miles(reference, rate * factor)
    assert far == pytest.approx(miles, abs=0.05)
    assert treadwear_index(far, base) == pytest.approx(index, abs=0.005)
    assert treadwear_grade(treadwear_index(far, base)) == grade


def test_the_base_rate_moves_a_grade_only_through_the_break_in():
    def index(base):
        return treadwear_index(projected_miles(320, 5 * course_adjustment([1.34], base)), base)

    # 800 x (6.5 - 1.34) / 402
    assert index(6.5) - index(BASE_RATE) == pytest.approx(10.27, abs=0.005)


def test_projection_of_the_handbook_numbers():
    # Y0 320 mils, Y' 6.45 mils per 1,000 miles: 40,800 miles (formula from memory)
    assert projected_miles(320, 6.45) == pytest.approx(40_800, abs=1e-6)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: projected_miles(320, 0.0),
        lambda: course_adjustment([0.0, 0.0]),
        lambda: two_point_rate(320, 288, 0.0),
        lambda: treadwear_grade(-1.0),
        lambda: treadwear_grade(float("nan")),
    ],
)
def test_what_cannot_be_is_refused(bad):
    with pytest.raises(InputError):
        bad()

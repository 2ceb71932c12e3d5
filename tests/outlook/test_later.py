"""What came after a day: readings that fall but for their errors, and where they passed a limit."""

import itertools

import numpy as np
import pytest

from tirelife.normal import ndtri
from tirelife.outlook.later import _passed, falling, reading_quantiles


def test_readings_that_fall_stay():
    values, ends = falling(np.array([5.0, 4.0, 2.0]))
    assert values.tolist() == [5.0, 4.0, 2.0]
    assert ends == [0, 1, 2, 3]


def test_readings_that_rise_are_pooled_at_their_mean():
    values, ends = falling(np.array([5.0, 2.0, 4.0, 1.0]))
    assert values.tolist() == [5.0, 3.0, 1.0]
    assert ends == [0, 1, 3, 4]
    values, ends = falling(np.array([1.0, 2.0, 3.0]))
    assert (values.tolist(), ends) == ([2.0], [0, 3])


def test_equal_readings_are_one():
    assert falling(np.array([2.0, 2.0]))[1] == [0, 2]


def test_nearest_by_least_squares_against_all_ways_to_part_the_readings():
    rng = np.random.default_rng(4)
    for _ in range(20):
        read = rng.normal(size=6)
        best = np.inf
        for cuts in itertools.product([0, 1], repeat=5):
            ends = [0, *(i + 1 for i, cut in enumerate(cuts) if cut), 6]
            means = [read[a:b].mean() for a, b in itertools.pairwise(ends)]
            if all(a >= b for a, b in itertools.pairwise(means)):
                fitted = np.concatenate(
                    [[m] * (b - a) for m, (a, b) in zip(means, itertools.pairwise(ends), strict=True)]
                )
                best = min(best, float(((read - fitted) ** 2).sum()))
        means, ends = falling(read)
        fitted = np.concatenate(
            [[m] * (b - a) for m, (a, b) in zip(means, itertools.pairwise(ends), strict=True)]
        )
        assert float(((read - fitted) ** 2).sum()) == pytest.approx(best)


AT = np.array([[0.0, 100.0, 200.0, 300.0], [0.0, 10.0, 30.0, 50.0]])  # km, days


def test_a_limit_is_passed_on_the_line_between_readings():
    # From 4 mm at 100 km to 2 mm at 200: 2.5 mm at 175 km, three quarters of the way from day 10 to 30.
    passed = _passed(AT, np.array([6.0, 4.0, 2.0, 1.0]), 2.5)
    assert passed.tolist() == [175.0, 25.0]


def test_a_limit_that_is_met_is_passed_and_one_that_is_not_is_none():
    assert _passed(AT, np.array([6.0, 4.0, 2.0, 1.0]), 2.0).tolist() == [200.0, 30.0]
    assert _passed(AT, np.array([6.0, 4.0, 3.0, 2.0]), 1.9) is None
    assert _passed(AT, np.array([6.0, 4.0, 3.0, 2.0]), 2.0).tolist() == [300.0, 50.0]
    assert _passed(AT, np.array([1.0, 0.9, 0.8, 0.7]), 2.0).tolist() == [0.0, 0.0]


def test_one_reading_under_it_may_be_the_gauges():
    # 1.8 and then 3.4: together 2.6 at 150 km, and from there to 1.0 at 300 km the limit at 2 is 3/8 on.
    passed = _passed(AT, np.array([6.0, 1.8, 3.4, 1.0]), 2.0)
    assert passed[0] == pytest.approx(150 + 150 * 0.6 / 1.6)


def test_what_a_gauge_will_read_is_blurred_by_a_normal_law():
    levels = (0.1, 0.5, 0.9)
    found = reading_quantiles(np.full((2, 4), 5.0), 0.3, levels)
    assert found.shape == (2, 3)
    assert found[0, 1] == pytest.approx(5.0, abs=0.03)
    # Sixteen points of the law, so within one of their steps.
    assert found[0] == pytest.approx(5 + 0.3 * ndtri(np.array(levels)), abs=0.05)
    assert reading_quantiles(np.empty((0, 4)), 0.3, levels).shape == (0, 3)
    assert reading_quantiles(np.array([[5.0]]), 0.0, levels).tolist() == [[5.0] * 3]

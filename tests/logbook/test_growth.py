"""The fewest readings that explain a depth that grows, or an odometer that goes back."""

from itertools import combinations, pairwise

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from tirelife.logbook.growth import GAUGE_TOLERANCE, _longest_fall, find_growth, swapped_with
from tirelife.logbook.odometers import _longest_rise, _not_rising


def fits(values):
    return all(b <= a + GAUGE_TOLERANCE for a, b in pairwise(values))


@given(st.lists(st.integers(0, 40).map(lambda n: n / 4), min_size=1, max_size=9))
@settings(max_examples=150, deadline=None)
def test_the_longest_fall_is_the_longest(values):
    kept = _longest_fall(np.array(values))
    assert fits([values[i] for i in kept])
    longer = range(len(kept) + 1, len(values) + 1)
    assert not any(
        fits([values[i] for i in some]) for n in longer for some in combinations(range(len(values)), n)
    )


@given(st.lists(st.integers(0, 60).map(float), min_size=1, max_size=10))
@settings(max_examples=150, deadline=None)
def test_the_longest_rise_never_falls_by_more_than_its_slack(values):
    kept = _longest_rise(np.array(values))
    rise = [values[i] for i in kept]
    assert all(b >= a - 1 for a, b in pairwise(rise))
    strict = range(len(kept) + 1, len(values) + 1)
    # No longer run that never falls at all.
    assert not any(
        all(values[a] <= values[b] for a, b in pairwise(some))
        for n in strict
        for some in combinations(range(len(values)), n)
    )


def test_a_low_slip_is_blamed_and_not_what_follows():
    mean = np.array([[8.0], [3.0], [7.5], [7.0], [6.5]])
    before, after, odd = find_growth(np.zeros(5, dtype=int), np.arange(5), mean)
    assert odd.ravel().tolist() == [False, True, False, False, False]
    assert before[1, 0] == 8.0
    assert after[1, 0] == 7.5


def test_one_division_of_a_gauge_is_no_growth():
    mean = np.array([[6.35], [6.35 + 0.79375], [6.35 + 1.5875]])
    assert find_growth(np.zeros(2, dtype=int), np.arange(2), mean[:2])[2].sum() == 0
    assert find_growth(np.zeros(2, dtype=int), np.arange(2), mean[[0, 2]])[2].sum() == 1


def test_grooves_and_tires_are_apart_and_gaps_are_passed_over():
    mean = np.array([[8.0, 4.0], [np.nan, 3.5], [9.5, np.nan], [5.0, 5.0]])
    tire = np.array([0, 0, 0, 1])
    _, _, odd = find_growth(tire, np.array([0, 1, 2, 3]), mean)
    assert odd.tolist() == [[False, False], [False, False], [True, False], [False, False]]


def test_a_steady_odometer_is_never_doubted():
    rng = np.random.default_rng(4)
    day = np.sort(rng.integers(0, 3000, 200))
    known = pd.DataFrame({"vehicle": 0, "day": day, "km": day * 40.0})
    assert _not_rising(known) == {}


def test_two_tires_are_swapped_where_each_reading_fits_in_the_others_place_and_not_in_its_own():
    # Two tires of a car, read together; 8.5 and 5.5 stand in each other's place at the second visit.
    tire, moment = np.repeat([0, 1], 3), np.tile(np.arange(3), 2)
    mean = np.array([[9.0], [5.5], [8.0], [6.2], [8.5], [4.8]])
    before, after, odd = find_growth(tire, moment, mean)
    at = odd.nonzero()
    car = np.zeros(6, dtype=int)
    assert at[0].tolist() == [1, 4]
    assert swapped_with(tire, car, moment, mean, before, after, at).tolist() == [4, 1]
    # At the last visit there is nothing after to fit.
    last = np.array([[9.0], [8.5], [4.8], [6.2], [5.5], [8.0]])
    before, after, odd = find_growth(tire, moment, last)
    assert odd.nonzero()[0].tolist() == [5]
    assert swapped_with(tire, car, moment, last, before, after, odd.nonzero()).tolist() == [2]
    # A tire that had 4.9 mm before did not show 5.5, more than half a millimeter over it.
    worn = np.array([[9.0], [5.5], [8.0], [4.9], [8.5], [4.8]])
    before, after, odd = find_growth(tire, moment, worn)
    assert swapped_with(tire, car, moment, worn, before, after, odd.nonzero()).tolist() == [-1, -1]

"""Which tire was where, and when: against a plain search through the records."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tirelife.logbook.chain import DAY, Chain, distinct, moments, tire_at


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 2), st.integers(0, 2)), min_size=1, max_size=30))
@settings(max_examples=60, deadline=None)
def test_distinct_numbers_combinations_in_order(rows):
    columns = [np.array(column) for column in zip(*rows, strict=True)]
    code, first = distinct(*columns)
    seen = list(dict.fromkeys(rows))
    assert code.tolist() == [seen.index(row) for row in rows]
    assert first.tolist() == [rows.index(row) for row in seen]


def test_distinct_copes_with_numbers_too_large_to_combine():
    big = np.array([2**40, 0, 2**40, 5])
    code, first = distinct(big, big, big)
    assert code.tolist() == [0, 1, 0, 2]
    assert first.tolist() == [0, 1, 3]


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_tire_at_agrees_with_a_plain_search(data):
    entries, tire = [], 0
    for place in range(3):
        start = data.draw(st.integers(100, 110))
        for _ in range(data.draw(st.integers(0, 3))):
            end = start + data.draw(st.integers(1, 20))
            entries.append((tire, 0, place, start * DAY, end * DAY))
            tire, start = tire + 1, end + data.draw(st.integers(0, 5))
    if not entries:
        return
    columns = [np.array(column) for column in zip(*entries, strict=True)]
    chain = Chain(np.arange(len(entries)), columns[0], columns[1], columns[2], columns[3], columns[4])
    for place in range(3):
        for day in range(95, 180):
            asked = np.zeros(1, dtype=int), np.array([place]), np.array([day * DAY + 5])
            there = [
                i
                for i, (_, _, p, start, end) in enumerate(entries)
                if p == place and start // DAY <= day <= end // DAY
            ]
            found = tire_at(chain, *asked)[0]
            assert (found in there) if there else (found == -1)
            if there:  # on a day of a move: the newest as left, the oldest as found
                assert found == there[-1]
                assert tire_at(chain, *asked, as_found=True)[0] == there[0]


def test_a_reading_without_an_odometer_is_the_last_of_its_day():
    assert moments(np.array([3]), np.array([np.nan])).tolist() == [4 * DAY - 1]
    assert moments(np.array([3]), np.array([12.4])).tolist() == [3 * DAY + 12]


def test_records_are_told_apart_where_a_day_is_not_known():
    days = np.array([np.iinfo(np.int64).min, 2**61, 2**61, np.iinfo(np.int64).min])
    code, first = distinct(days, np.array([0, 0, 1, 0]))
    assert (code.tolist(), first.tolist()) == ([0, 1, 2, 0], [0, 1, 2])


def test_an_odometer_beyond_what_a_day_holds_stays_within_its_day():
    assert moments(np.array([3, 3]), np.array([2.0 * DAY, -5.0])).tolist() == [4 * DAY - 1, 3 * DAY]

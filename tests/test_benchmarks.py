"""Benchmarks come in two sizes, and a small one takes no large one's place in the table."""

import pandas as pd
import pytest

from tests.benchmarks import __main__ as benchmarks


def test_without_a_name_the_small_size_is_measured_and_all_of_them_whole():
    small = benchmarks.chosen([], whole=False, small=False)
    whole = benchmarks.chosen([], whole=True, small=False)
    assert {"start", "fit", "forecast", "sheet", "trips"} <= set(small) < set(whole)
    assert set(whole) == set(benchmarks.MODULES)
    assert not set(small) & {"damage", "fuzz"}  # hours
    assert benchmarks.chosen(["fit"], whole=False, small=False)["fit"].__name__ == "run"
    assert benchmarks.chosen(["fit"], whole=False, small=True)["fit"].__name__ == "small"
    with pytest.raises(SystemExit, match="no small size: damage"):
        benchmarks.chosen(["damage"], whole=False, small=True)


def test_a_small_run_keeps_the_rows_of_a_large_one():
    before = pd.DataFrame(
        {"benchmark": ["fit", "fit", "sheet"], "name": ["a, 10", "a, 1,000", "page"], "figure": [1, 2, 3]}
    )
    now = pd.DataFrame({"benchmark": ["fit"], "name": ["a, 10"], "figure": [9]})
    assert benchmarks.together(before, now, whole=False)["figure"].tolist() == [2, 3, 9]
    assert benchmarks.together(before, now, whole=True)["figure"].tolist() == [3, 9]

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


def test_a_break_on_a_further_line_of_a_table_is_asked_of_those_that_import_it():
    from tests.benchmarks import mutants

    path = mutants.TOP / "tirelife" / "outlook" / "scores.py"
    text = path.read_text(encoding="utf-8").splitlines()
    line = next(i for i, words in enumerate(text, 1) if "32_186.88" in words)
    one = next(b for b in mutants.breaks(path) if b.line == line)
    traced = {
        str(path.relative_to(mutants.TOP)): {min(mutants._statement(one))}
    }  # its first line, at the import
    own = mutants.mirror(path)
    every = [mutants.Reached("tests/other.py", 0.1, traced), mutants.Reached(own, 1.0, traced)]
    assert mutants.asked(one, every) == [own, "tests/other.py"]

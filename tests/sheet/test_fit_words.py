"""A fit's tables in words: the numbers of the fit, in one unit system, cut to what their ranges support."""

import math

import pandas as pd
import pytest

from tests.rates.test_reporting import made
from tirelife import read_logbook
from tirelife.groups import Costs, compare_groups, savings
from tirelife.groups import cost_table as costs_of
from tirelife.sheet import group_tables as words
from tirelife.sheet.fit_words import check_table, fit_tables, per_depth, ranged
from tirelife.terminal.table import framed


def test_wear_is_said_as_distance_for_a_step_of_the_gauge():
    # 0.124 mm a 1,000 km: 1 mm in 8,065 km; 1/32 in (0.79375 mm) in 6,401 km, 3,978 miles
    assert per_depth(0.124, "metric") == pytest.approx(8064.5, abs=0.1)
    assert per_depth(0.124, "us") == pytest.approx(3977.6, abs=0.5)
    assert math.isnan(per_depth(0.0, "us"))
    table = fit_tables(made(), "us")["How fast tires wear"]
    # 0.113 and 0.135 mm: 4,365 and 3,654 miles a 32nd, in steps of 50, a tenth of their difference at most
    assert table.to_numpy().tolist() == [["An average tire", "4,000", "3,650 to 4,350"]]


def test_no_table_has_a_raw_name_or_two_systems_of_units():
    for units, other in (("us", " km"), ("metric", "32nd")):
        for title, table in fit_tables(made(), units).items():
            assert table.shape[1] <= 8
            text = framed(table)
            assert other not in text, title
            assert "_" not in text
            assert "log_sd" not in text


def test_assumed_is_told_from_what_the_log_says():
    shape = fit_tables(made(), "us")["Depth when new, and the shape of the path"]
    assert shape["From"].tolist() == ["assumed"]
    scatter = fit_tables(made(), "us")["How much it scatters"]
    assert scatter["From"].tolist() == ["the log", "the log"]
    # 0.08 in the logarithm is 8.3 %; a range that is not known is said to be so
    assert scatter.iloc[1].tolist()[1:4] == ["8.3", "not known", "%"]


def test_a_zero_has_no_sign():
    assert ranged(20.0, 0.4, 46.0, sign=True) == ("+20", "0 to +46")


def test_checks_that_failed_come_first():
    table = check_table(made(passed=False).checks)
    assert table["Passed"].tolist() == ["no", "no", "yes"]
    # A check that passed asks for nothing.
    assert [bool(text) for text in table["What to do"]] == [True, True, False]
    assert len(check_table(made(passed=False).checks, failed=True)) == 2


@pytest.fixture(scope="module")
def compared():
    book = read_logbook("data_synthetic/logbook")
    return book, compare_groups(book, "driver_group")


def test_groups_stand_in_the_order_of_wear_with_their_own_numbers(compared):
    book, found = compared
    table = words.group_table(found, book.units)
    rates = found.groups.set_index("group")["rate_mm_per_1000km"]
    assert table["Group"].tolist() == rates.sort_values(ascending=False).index.tolist()
    for group, said in zip(table["Group"], table["Miles a 32nd, adjusted"], strict=True):
        assert float(said.replace(",", "")) == pytest.approx(per_depth(rates[group], "us"), rel=0.02)
    pairs = words.pair_table(found)
    assert pairs["Adjusted, times"].tolist() == [f"{r:.2f}" for r in found.pairs["ratio"]]
    why = words.why_table(found)
    assert why["All of it"].str.split(" ").str[0].tolist() == pairs["Adjusted, times"].tolist()


def test_money_is_that_of_the_comparison(compared):
    book, found = compared
    costs = costs_of(found, Costs(20, 25))
    said = words.cost_table(costs, book.units).iloc[0, 2]
    assert float(said) == pytest.approx(
        costs["cost_per_1000km"].iloc[0] * 1.609344, abs=0.1
    )  # rounded by its range
    saved = words.saving_table(savings(book, found, Costs(20, 25)))
    most = [float(one.replace(",", "")) for one in saved["Saved a year"]]
    assert most == sorted(most, reverse=True)
    assert words.saving_table(pd.DataFrame()).empty

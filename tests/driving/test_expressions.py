"""Flags, neighbours and running values mean the same whatever is not known and however the rows lie."""

import narwhals as nw
import pandas as pd
import polars as pl
import pytest

from tirelife.driving.expressions import flag, lag, lead, one, running

ROWS = {
    "vehicle_id": ["A", "B", "A", "A", "B", "A"],
    "trip_id": ["1", "1", "1", "2", "1", "1"],
    "t": [2.0, 0.0, 0.0, 5.0, 1.0, 1.0],
    "v": [7.0, 1.0, 3.0, 9.0, 4.0, 5.0],
}


@pytest.fixture(params=[pd.DataFrame, pl.DataFrame], ids=["pandas", "polars"])
def table(request):
    return nw.from_native(request.param(ROWS))


def test_not_known_is_no():
    table = nw.from_native(pl.DataFrame({"x": [1.0, None, 3.0]}))
    out = table.with_columns(a=flag(nw.col("x") > 2), b=one(nw.col("x") > 2))
    assert out["a"].to_list() == [0, 0, 1]
    assert out["b"].to_list() == [0.0, 0.0, 1.0]


def test_neighbours_are_those_of_the_same_trip_in_order_of_time(table):
    out = table.with_columns(before=lag("v"), after=lead("v"))
    assert out["before"].fill_null(-1).fill_nan(-1).to_list() == [5, -1, -1, -1, 1, 3]
    assert out["after"].fill_null(-1).fill_nan(-1).to_list() == [-1, 4, 5, -1, -1, 7]


def test_the_order_of_samples_of_one_time_may_be_told(table):
    same = table.with_columns(t=nw.lit(0.0)).with_columns(before=lag("v", ["t", "v"]))
    assert same["before"].fill_null(-1).fill_nan(-1).to_list() == [5, -1, -1, -1, 1, 3]


def test_a_running_value_begins_anew_with_each_trip(table):
    out = table.with_columns(most=running(nw.col("v").cum_sum()))
    assert out["most"].to_list() == [15, 1, 3, 9, 5, 8]

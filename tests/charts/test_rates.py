"""Wear rates with ranges, as data."""

import pandas as pd
import pytest

from tirelife import InputError
from tirelife.charts import term_ranges

ESTIMATES = pd.DataFrame(
    {
        "term": ["line Alder", "line Birch"],
        "estimate": [0.18, 0.21],
        "lower": [0.14, 0.16],
        "upper": [0.235, 0.26],
        "unit": "32nds per 1000 miles",
    }
)


def test_each_term_is_drawn_on_its_range_and_said_in_words():
    drawn = term_ranges(ESTIMATES).to_dict()
    rows = next(iter(drawn["datasets"].values()))
    assert [(r["term"], r["lower"], r["upper"]) for r in rows] == [
        ("line Alder", 0.14, 0.235),
        ("line Birch", 0.16, 0.26),
    ]
    assert "line Birch: 0.21, 0.16 to 0.26" in drawn["description"]
    assert drawn["layer"][0]["encoding"]["x"]["title"] == "32nds per 1000 miles"


def test_terms_of_several_units_or_none_are_refused():
    with pytest.raises(InputError, match="rows of one unit"):
        term_ranges(ESTIMATES.assign(unit=["ratio", "32nds per 1000 miles"]))
    with pytest.raises(InputError, match="at least one"):
        term_ranges(ESTIMATES.iloc[:0])

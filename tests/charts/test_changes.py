"""Changes in pairs, as data."""

import pytest

from tests.charts import frames
from tests.charts.test_drawings import values
from tirelife import charts


def test_pairs_hold_before_and_after_in_miles():
    rows = values(charts.change_pairs(frames.changes()).to_dict())
    assert rows[0]["before_mi"] == pytest.approx(18000 / 1.609344)
    assert rows[0]["after_mi"] == pytest.approx(19400 / 1.609344)
    assert rows[0]["said"] == "+900 miles, 1 month"


def test_lines_go_from_before_to_after_and_over_the_range_of_the_latter_in_the_order_of_rows():
    spec = charts.change_pairs(frames.changes(), "metric").to_dict()
    ends = [
        (layer["encoding"]["x"]["field"], layer["encoding"]["x2"]["field"]) for layer in spec["layer"][:2]
    ]
    assert ends == [("before_km", "after_km"), ("after_low_km", "after_high_km")]
    assert [row["change"] for row in values(spec)][:4] == frames.changes()["change"].tolist()
    assert "Half the hard turns: +1,600 miles, 2 months" in spec["description"]
    assert values(spec)[0]["before_km"] == 18_000

"""Causes that sum to the whole, as data."""

import pandas as pd
import pytest

from tests.charts import frames
from tests.charts.test_drawings import values
from tirelife import charts
from tirelife.errors import InputError


def test_causes_sum_to_the_whole_or_are_refused():
    spec = charts.wear_causes(frames.causes()).to_dict()
    last = [row["to"] for row in values(spec) if row["cause"] == "Alignment"]
    assert last == pytest.approx([1, 1, 1, 1])  # of two labels, in bars and in numbers
    for label in ("Front", "Rear"):
        steps = [(row["from"], row["to"]) for row in values(spec) if row["label"] == label][:5]
        assert [start for start, _ in steps[1:]] == pytest.approx([end for _, end in steps[:-1]])
    with pytest.raises(InputError, match="two labels at the most"):
        charts.wear_causes(
            pd.concat([frames.causes(), frames.causes().query("label == 'Front'").assign(label="Spare")])
        )
    with pytest.raises(InputError, match="sum to 1"):
        charts.wear_causes(frames.causes().assign(share=0.3))


def test_a_share_below_nought_is_refused_and_rounding_is_not():
    some = frames.causes().query("label == 'Front'")
    with pytest.raises(InputError, match="sum to 1"):
        charts.wear_causes(some.assign(share=[1.1, -0.1, 0.0, 0.0, 0.0]))
    spec = charts.wear_causes(some.assign(share=[1.0, -5e-10, 0.0, 0.0, 5e-7])).to_dict()
    assert min(row["share"] for row in values(spec)) == 0
    assert "Rolling and road 100%" in spec["description"]


def test_two_labels_have_a_fill_and_a_column_each_and_causes_keep_their_order():
    spec = charts.wear_causes(frames.causes().iloc[::-1], width=300).to_dict()
    bars = spec["layer"][0]
    assert bars["encoding"]["color"]["scale"]["domain"] == ["Rear", "Front"]
    assert bars["encoding"]["y"]["sort"][0] == "Alignment"
    assert [layer["encoding"]["x"]["value"] for layer in spec["layer"][1:]] == [344, 388]
    rows = [row for row in values(spec) if row["label"] == "Rear"][:5]
    assert (rows[0]["cause"], rows[0]["from"]) == ("Alignment", 0)

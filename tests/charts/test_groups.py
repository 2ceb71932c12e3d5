import numpy as np
import pandas as pd
import pytest

from tirelife.charts.groups import group_parts, group_ratios, monthly_budget
from tirelife.errors import InputError

PAIRS = pd.DataFrame(
    {
        "group": ["day", "day"], "other": ["night", "call"], "raw_ratio": [1.3, 0.9], "ratio": [1.1, 0.8],
        "lower": [0.95, 0.7], "upper": [1.27, 0.92], "family_lower": [0.92, 0.67], "family_upper": [1.31, 0.95],
        "told_apart": [True, False],
    }
)  # fmt: skip
WHY = pd.DataFrame(
    {
        "group": "day", "other": "night", "part": ["total", "speed", "not explained"], "ratio": [1.2, 1.1, 1.09],
        "lower": [1.0, 1.0, 0.9], "upper": [1.4, 1.2, 1.3],
    }
)  # fmt: skip
BUDGET = pd.DataFrame(
    {
        "from_date": pd.to_datetime(["2026-11-01", "2026-12-01"]), "expected": [1.9, 4.0], "lower": [0.0, 2.0],
        "upper": [4.0, 6.0],
    }
)  # fmt: skip


@pytest.mark.parametrize(
    "chart",
    [group_ratios(PAIRS), group_parts(WHY), monthly_budget(BUDGET)],
    ids=["ratios", "parts", "budget"],
)
def test_a_chart_carries_units_and_words_and_renders(chart):
    import vl_convert

    spec = chart.to_dict()
    assert len(spec["description"]) > 60
    assert "(ratio)" in str(spec) or "(number)" in str(spec)
    assert vl_convert.vegalite_to_svg(spec).count("<path") > 3


def rows(chart):
    return [row for data in chart.to_dict()["datasets"].values() for row in data]


def test_ratios_are_drawn_as_given_raw_beside_adjusted():
    drawn = [r for r in rows(group_ratios(PAIRS)) if "pair" in r]
    assert [r["pair"] for r in drawn] == ["day / night", "day / call"]
    assert [(r["raw_ratio"], r["ratio"], r["lower"], r["family_upper"]) for r in drawn] == [
        (1.3, 1.1, 0.95, 1.31),
        (0.9, 0.8, 0.7, 0.95),
    ]
    assert [r["kind"] for r in drawn] == ["told apart", "not told apart"]
    assert "day / call: raw 0.90, adjusted 0.80, 0.70 to 0.92" in group_ratios(PAIRS).to_dict()["description"]


def test_pairs_without_a_ratio_are_left_to_words():
    assert len([r for r in rows(group_ratios(PAIRS.assign(ratio=[np.nan, 0.8]))) if "pair" in r]) == 1
    with pytest.raises(InputError, match="nothing to draw"):
        group_ratios(PAIRS.assign(ratio=np.nan))


def test_parts_are_of_one_pair():
    assert "speed 1.10, 1.00 to 1.20" in group_parts(WHY).to_dict()["description"]
    with pytest.raises(InputError, match="one pair of groups"):
        group_parts(pd.concat([WHY, WHY.assign(other="call")]))


def test_budget_sums_up():
    assert "6 in all" in monthly_budget(BUDGET).to_dict()["description"]


@pytest.mark.parametrize(
    ("draw", "frame", "column"),
    [(group_ratios, PAIRS, "family_lower"), (group_parts, WHY, "part"), (monthly_budget, BUDGET, "upper")],
)
def test_a_missing_column_is_named(draw, frame, column):
    with pytest.raises(InputError, match=f"lacks {column}"):
        draw(frame.drop(columns=column))

"""Every chart that the package has: what a screen reader says of it, units on its axes, a finding as its title."""

import pandas as pd
import pytest

from tests.charts import frames, test_backtests, test_drawings, test_fitted, test_rates
from tirelife import charts

PAIRS = pd.DataFrame(
    {"group": ["a"], "other": ["b"], "raw_ratio": [1.3], "ratio": [1.2], "lower": [1.1], "upper": [1.3],
     "family_lower": [1.05], "family_upper": [1.4], "told_apart": [True]}
)  # fmt: skip
WHY = pd.DataFrame({"group": "a", "other": "b", "part": ["total", "stops"], "ratio": [1.2, 1.3],
                    "lower": [1.0, 1.1], "upper": [1.4, 1.5]})  # fmt: skip
MONTHS = pd.DataFrame(
    {"from_date": pd.to_datetime(["2026-07-01"]), "expected": 1.5, "lower": 0.0, "upper": 3.0}
)
DRAWN = {
    "change_pairs": lambda: test_drawings.DRAWN["changes"]("us"),
    "depth_path": lambda: test_drawings.DRAWN["depth"]("us"),
    "distance_lives": lambda: charts.distance_lives(test_backtests.LIVES, "us"),
    "fitted_paths": lambda: test_fitted.DRAWN["paths"]("us"),
    "group_parts": lambda: charts.group_parts(WHY),
    "group_ratios": lambda: charts.group_ratios(PAIRS),
    "miles_by_speed": lambda: test_fitted.DRAWN["speeds"]("us"),
    "monthly_budget": lambda: charts.monthly_budget(MONTHS),
    "pressure_history": lambda: charts.pressure_history(test_fitted.PRESSURES, "us", title="One was low"),
    "reliability_curves": lambda: charts.reliability_curves(test_backtests.CURVES),
    "replacement_windows": lambda: charts.replacement_windows(frames.windows(), frames.AS_OF),
    "residuals": lambda: test_fitted.DRAWN["residuals"]("us"),
    "rotation_effect": lambda: test_fitted.DRAWN["turned"]("us"),
    "term_ranges": lambda: charts.term_ranges(test_rates.ESTIMATES),
    "tread_profiles": lambda: test_drawings.DRAWN["profiles"]("us"),
    "vehicles_in_order": lambda: test_fitted.DRAWN["wear"]("us"),
    "wear_causes": lambda: test_drawings.DRAWN["causes"]("us"),
}
UNDER_A_SENTENCE = {"change_pairs", "depth_path", "monthly_budget", "replacement_windows", "term_ranges",
                    "tread_profiles", "vehicles_in_order", "wear_causes"}  # fmt: skip
"""Charts that stand under a heading and a sentence of their page, or beside words of their own."""
NO_CHARTS = {"POSITION_NAMES", "finish", "in_notebook", "require_columns", "shown"}


def test_no_chart_of_the_package_is_left_out():
    assert set(DRAWN) == set(charts.__all__) - NO_CHARTS


@pytest.mark.parametrize("name", DRAWN)
def test_it_has_a_description_a_unit_on_each_axis_and_says_its_finding(name):
    spec = DRAWN[name]().to_dict()
    assert len(spec["description"]) > 60
    axes = []
    for channels in test_drawings.every(spec, "encoding"):
        for axis in ("x", "y"):
            title = channels.get(axis, {}).get("title")
            title = (
                channels.get(axis, {}).get("axis", {}).get("title", title)
                if isinstance(channels.get(axis, {}).get("axis"), dict)
                else title
            )
            if title:
                axes.append(" ".join(title) if isinstance(title, list) else title)
    assert axes
    whole = {
        "Date of the reading",
        "Day of the reading",
        "32nds per 1000 miles",
    }  # a date, and a unit by itself
    assert [t for t in axes if "(" not in t and t not in whole] == []
    if name not in UNDER_A_SENTENCE:
        assert len(spec["title"]) > 8

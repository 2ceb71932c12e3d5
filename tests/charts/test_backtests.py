"""Forecasts of earlier days beside what came later, as data."""

import numpy as np
import pandas as pd
import pytest
import vl_convert

from tirelife import InputError, charts

LIVES = pd.DataFrame(
    {
        "tire_id": ["A", "A", "B"],
        "removal_mm": [1.5875, 1.5875, 3.175],
        "km_left_p10": [16093.44, 1609.344, 8046.72],
        "km_left_p50": [24140.16, 3218.688, 9656.064],
        "km_left_p90": [32186.88, 4828.032, 11265.408],
        "true_km": [28968.192, 8046.72, 9656.064],
    }
)
AT = np.arange(1, 10) / 10
CURVES = pd.concat(
    pd.DataFrame(
        {
            "target": t,
            "promised": AT,
            "found": AT + off,
            "lower": AT - 0.08,
            "upper": AT + 0.08,
            "forecasts": 40,
        }
    )
    for t, off in (("depth", 0.02), ("distance", 0.09))
)


def rows(spec):
    return [row for data in spec["datasets"].values() for row in data]


def test_lives_are_drawn_in_shown_units_from_left_to_right():
    spec = charts.distance_lives(LIVES, "us").to_dict()
    drawn = [r for r in rows(spec) if "mi_left_p50" in r]
    assert [r["mi_left_p50"] for r in drawn] == pytest.approx([15_000, 2_000, 6_000])
    assert [r["true_mi"] for r in drawn] == pytest.approx([18_000, 5_000, 6_000])
    assert len({r["life"] for r in drawn}) == 2
    assert "3 forecasts of the distance left of 2 tires" in spec["description"]
    assert "2 of the 80 percent ranges hold it" in spec["description"]
    x = spec["layer"][0]["encoding"]["x"]
    assert x["scale"]["domain"] == [pytest.approx(20_000), 0]
    assert x["title"] == "Distance that was left (miles)"
    assert vl_convert.vegalite_to_svg(spec).count("<path") > 3
    assert (
        charts.distance_lives(LIVES, "metric")
        .to_dict()["layer"][0]["encoding"]["x"]["title"]
        .endswith("(km)")
    )
    with pytest.raises(InputError, match="no tire was seen to wear out"):
        charts.distance_lives(LIVES.iloc[:0], "us")


def test_curves_stand_in_their_band_a_panel_a_target():
    spec = charts.reliability_curves(CURVES).to_dict()
    assert "mean depth: inside; distance: outside" in spec["description"]
    assert spec["facet"]["sort"] == ["mean depth", "distance"]
    assert {r["target"] for r in rows(spec)} == {"mean depth", "distance"}
    assert vl_convert.vegalite_to_svg(spec).count("<path") > 3
    with pytest.raises(InputError, match="at least one row"):
        charts.reliability_curves(CURVES.iloc[:0])

"""Readings beside the fit, vehicles in order and pressures, as data."""

import numpy as np
import pandas as pd
import pytest
import vl_convert

from tirelife import InputError, charts

DAY = pd.Timestamp("2026-03-01")
VISITS = pd.DataFrame(
    {
        "vehicle_id": ["V1", "V1", "V2"],
        "tire_id": ["A", "A", "B"],
        "date": [DAY, DAY + pd.Timedelta(days=90), DAY],
        "odometer_km": [16093.44, 32186.88, 1609.344],
        "depth_mm": [7.9375, 6.35, 7.14375],
        "fitted_mm": [7.9375, 6.35, 7.14375],
        "standardized": [0.5, -3.0, 1.0],
        "outlier": [False, True, False],
    }
)
WEAR = pd.DataFrame(
    {
        "vehicle_id": ["V2", "V1"],
        "ratio": [1.2, 0.9],
        "lower": [1.1, 0.8],
        "upper": [1.3, 1.0],
        "odd": [True, False],
    }
)
PRESSURES = pd.DataFrame(
    {
        "label": ["Left front", "Left front"],
        "date": [DAY, DAY + pd.Timedelta(days=30)],
        "cold_kpa": [206.842719, 227.526991],
        "set_kpa": [220.632233, np.nan],
        "placard_kpa": [220.632233, 220.632233],
    }
)
SPEEDS = pd.DataFrame(
    {"label": ["under 25 mph", "over 25 mph"], "percent": [30.0, 70.0], "usual_percent": [11.0, 89.0]}
)
TURNED = pd.DataFrame(
    {
        "label": ["Left front", "Left rear"],
        **{f"stays_km_p{p}": [8046.72 * k, 16093.44 * k] for p, k in ((10, 1.0), (50, 1.2), (90, 1.5))},
        **{f"turns_km_p{p}": [9656.064 * k, 14484.096 * k] for p, k in ((10, 1.0), (50, 1.2), (90, 1.5))},
    }
)
DRAWN = {
    "speeds": lambda u: charts.miles_by_speed(SPEEDS, title="Most of it fast"),
    "turned": lambda u: charts.rotation_effect(TURNED, u, title="Rotated, the first lasts longer"),
    "paths": lambda u: charts.fitted_paths(VISITS, u),
    "residuals": lambda u: charts.residuals(VISITS, "odometer_km", u),
    "days": lambda u: charts.residuals(VISITS, "date", u),
    "wear": lambda u: charts.vehicles_in_order(WEAR),
    "pressure": lambda u: charts.pressure_history(PRESSURES, u),
}


def rows(spec):
    return [row for data in spec["datasets"].values() for row in data]


@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_chart_says_what_it_shows_and_renders(name, units):
    spec = DRAWN[name](units).to_dict()
    assert len(spec["description"]) > 60
    assert vl_convert.vegalite_to_svg(spec).count("<path") > 3


def test_paths_are_drawn_a_panel_a_vehicle_in_shown_units():
    spec = charts.fitted_paths(VISITS, "us").to_dict()
    assert [r["odometer_mi"] for r in rows(spec)] == pytest.approx([10_000, 20_000, 1_000])
    assert rows(spec)[0]["depth_32nds"] == pytest.approx(10.0)
    assert "3 readings, of which 1 count less" in spec["description"]
    with pytest.raises(InputError, match="1 to 24 vehicles"):
        charts.fitted_paths(VISITS.iloc[:0], "us")


def test_residuals_say_how_many_lie_inside():
    spec = charts.residuals(VISITS, "odometer_km", "metric").to_dict()
    assert "67% lie inside two standard errors" in spec["description"]
    with pytest.raises(InputError, match="against 'speed'"):
        charts.residuals(VISITS, "speed", "us")

import numpy as np
import pandas as pd
import pytest

from tests.rates.made import frames
from tirelife.rates import fit_rates, path_depth
from tirelife.rates.posterior import Posterior


def test_known_curves():
    # dD/dx = -r (D / D0)^q has closed forms at q = 0, 1 and 2
    worn = np.array([0.0, 1.0, 3.0])
    assert path_depth(8.0, worn) == pytest.approx(8 - worn)
    assert path_depth(8.0, worn, 1.0) == pytest.approx(8 * np.exp(-worn / 8))
    assert path_depth(8.0, worn, 2.0) == pytest.approx(8 / (1 + worn / 8))
    assert path_depth(8.0, worn, 1e-9) == pytest.approx(8 - worn, abs=1e-6)


@pytest.mark.parametrize("q", [-0.5, 0.3, 0.99999999, 1.7])
def test_curve_solves_its_equation(q):
    x = np.linspace(0, 4, 4001)
    depth = path_depth(9.0, x, q)
    slope = np.gradient(depth, x)[1:-1]
    assert slope == pytest.approx(-((depth[1:-1] / 9) ** q), rel=1e-5)


def test_growth_is_wear_backwards():
    assert path_depth(
        path_depth(8.0, 2.0, 0.7), -2.0 * (path_depth(8.0, 2.0, 0.7) / 8) ** 0.7, 0.7
    ) == pytest.approx(8)


def ahead(tires, km):
    """Mean and sd of the depth after so much further on the axle that each tire is on."""
    front = tires["position"].isin(["LF", "RF"]).to_numpy()
    ran = Posterior.of_tires(tires.reset_index()).run(np.where(front, km, 0.0), np.where(front, 0.0, km))
    return ran.mean[:, 0], ran.sds()[:, 0]


def test_no_distance_no_change():
    fit = fit_rates(*frames(vehicles=3))
    mean, sd = ahead(fit.tires, np.zeros(12))
    assert mean == pytest.approx(fit.tires["depth_mm"].to_numpy(), abs=1e-9)
    assert sd == pytest.approx(fit.tires["depth_sd_mm"].to_numpy(), rel=1e-9)


def test_held_back_readings_lie_where_the_fit_says():
    visits, tires, vehicles = frames(vehicles=80, visits=9, scatter=60.0, seed=31, rotate=None)
    day = sorted(visits["date"].unique())[6]
    fit = fit_rates(visits[visits["date"] <= day], tires, vehicles)
    last = visits[visits["date"] == visits["date"].max()].set_index("tire_id")
    found = fit.tires.set_index("tire_id")
    mean, sd = ahead(found, (last["reference_km"] - found["reference_km"]).reindex(found.index).to_numpy())
    noise = fit.components.set_index("term")["estimate"]
    wide = np.hypot(sd, np.hypot(noise["reading"], noise["visit"]))
    off = np.abs(last["depth_mm"].reindex(found.index).to_numpy() - mean) / wide
    assert np.mean(off < 1.2816) == pytest.approx(
        0.8, abs=0.07
    )  # vehicles share much: 80 of them, not 320 tires
    assert np.mean(off < 1.6449) == pytest.approx(0.9, abs=0.05)


def test_nine_points_of_the_textbook():
    # Tamhane and Dunlop 2000, Table 10.1: five readings in, the last four are what came; a line through the five
    # reads 150 to 45 mils where 204.83 to 150.33 came
    miles = np.arange(0, 33, 4) * 1609.344
    mils = np.array([394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33])
    visits = pd.DataFrame(
        {
            "vehicle_id": "V", "tire_id": "T", "position": "LF", "depth_mm": mils * 0.0254, "odometer_km": miles,
            "date": pd.date_range("2024-01-01", periods=9, freq="60D"), "reference_km": miles,
            "reference_front_km": miles, "reference_rear_km": 0.0,
        }
    )  # fmt: skip
    tires = pd.DataFrame({"tire_id": ["T"], "tire_line": ["A"], "new_depth_mm": [394.33 * 0.0254]})
    vehicles = pd.DataFrame({"vehicle_id": ["V"], "drive": ["front"]})
    fit = fit_rates(visits.head(5), tires, vehicles)
    mean, sd = ahead(pd.concat([fit.tires] * 4), miles[5:] - miles[4])
    assert (np.abs(mean - mils[5:] * 0.0254) < 1.6449 * sd).all()
    line = np.polyval(np.polyfit(miles[:5], mils[:5], 1), miles[5:])
    assert np.abs(mean / 0.0254 - mils[5:]).max() < 0.5 * np.abs(line - mils[5:]).max()
    assert fit.q > 0.15  # it bends, though five points cannot say how much
    whole = fit_rates(visits, tires, vehicles)
    assert 0.8 < whole.q < 1.8  # an exponential (q = 1, r2 0.993 on the logs) or more
    # least squares over start, rate and exponent of all nine: q = 1.64, standard error 0.11 (scipy 1.17)
    assert abs(whole.q - 1.64) < 1.2816 * np.hypot(whole.tires["q_sd"].iloc[0], 0.11)
    check = whole.checks.set_index("check").loc["curvature"]
    assert not check["passed"]
    assert check["advice"] == "fit-bends-slows"

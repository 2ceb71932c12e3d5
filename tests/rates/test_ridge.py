"""Readings that cannot tell a deeper start from a faster rate."""

import warnings

import numpy as np
import pandas as pd
import pytest

from tests.rates.made import frames
from tirelife.rates import fit_rates

MM = 25.4 / 32


def read_once(vehicles, gauge=None, sd=0.4, miles=5000.0, seed=1):
    """A fleet whose tires, 10/32 when new, were all read once, at about 8/32 and at one distance."""
    rng = np.random.default_rng(seed)
    names = [f"V{v:04d}" for v in range(vehicles)]
    places = ["LF", "RF", "LR", "RR"]
    depth = 8.0 + sd * rng.normal(size=4 * vehicles)
    if gauge:
        depth = np.round(depth / gauge) * gauge
    km = miles * 1.609344
    visits = pd.DataFrame(
        {
            "vehicle_id": np.repeat(names, 4), "position": places * vehicles, "date": pd.Timestamp("2025-03-01"),
            "odometer_km": km, "tire_km": km, "depth_mm": depth * MM, "reference_km": km,
        }
    )  # fmt: skip
    visits["tire_id"] = visits["vehicle_id"] + visits["position"]
    front = visits["position"].str[1] == "F"
    visits["reference_front_km"], visits["reference_rear_km"] = np.where(front, km, 0), np.where(front, 0, km)
    tires = pd.DataFrame({"tire_id": visits["tire_id"], "tire_line": "A", "new_depth_mm": 10 * MM})
    return visits, tires, pd.DataFrame({"vehicle_id": names, "drive": "front", "driver_group": ""})


def miles_left(fit):
    tires = fit.tires
    return (tires["depth_mm"] - 2 * MM) / np.exp(tires["log_wear"]) / 1.609344


@pytest.mark.parametrize(
    ("vehicles", "gauge", "sd"), [(300, None, 0.4), (300, 0.5, 0.4), (300, 1.0, 0.4), (100, None, 0.0)]
)
def test_a_fleet_read_once_at_one_distance(vehicles, gauge, sd):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        fit = fit_rates(*read_once(vehicles, gauge, sd))
    assert fit.checks.set_index("check").loc["converged", "passed"]
    # arithmetic: 2/32 gone in 5,000 miles, 6/32 left
    assert miles_left(fit).median() == pytest.approx(15_000, rel=0.02)
    assert np.isfinite(fit.tires[["depth_sd_mm", "log_wear_sd"]]).all(axis=None)
    assert fit.tires["depth_mm"].median() == pytest.approx(8 * MM, abs=0.03)
    start = fit.estimates.set_index("term").loc["new depth less stated, A"]
    assert (start["estimate"], start["source"]) == (pytest.approx(0.0, abs=1e-6), "prior")
    assert start["std_error"] == pytest.approx(0.15, rel=1e-3)


def test_where_distances_tell_a_start_is_still_found():
    read, tires, vehicles = frames(vehicles=40, visits=6, seed=3, lines=(0.0,))
    fit = fit_rates(read, tires.assign(new_depth_mm=8.4), vehicles)  # 8.0 mm in truth
    start = fit.estimates.set_index("term").loc["new depth less stated, Line A"]
    assert start["source"] == "fitted"
    assert start["estimate"] == pytest.approx(-0.4, abs=0.12)


@pytest.mark.parametrize("km", [(8000.0, 8000.0), (6000.0, 9000.0)])
def test_lines_read_once_each_do_not_run_away(km):
    fleets = [read_once(150, miles=far / 1.609344, seed=i) for i, far in enumerate(km)]
    for i, (visits, tires, vehicles) in enumerate(fleets):
        for frame in (visits, tires, vehicles):
            for name in ("tire_id", "vehicle_id"):
                if name in frame:
                    frame[name] = f"{i}" + frame[name]
        tires["tire_line"] = f"L{i}"
    fit = fit_rates(*(pd.concat(part, ignore_index=True) for part in zip(*fleets, strict=True)))
    assert fit.checks.set_index("check").loc["converged", "passed"]
    rate = fit.tires.groupby(fit.tires["tire_id"].str[0])["log_wear"].median()
    assert np.exp(rate).to_numpy() == pytest.approx(2 * MM / np.array(km), rel=0.05)

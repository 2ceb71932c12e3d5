"""The fit of a comparison: vehicles to spare, the ratio that would have been seen, and ratios of groups."""

import math

import numpy as np
import pandas as pd
import pytest

from tirelife.groups.design import build_design
from tirelife.groups.fitting import detectable_ratio, fit_groups, group_ratio, spare_vehicles


def tires(per_group=4, effect=0.2, groups=("a", "b")):
    rows = []
    for g, group in enumerate(groups):
        for car in range(per_group):
            for i, off in enumerate((0.02, -0.02)):
                rate = g * effect + (0.05 if car % 2 else -0.05) + off
                rows.append((group, f"{group}{car}", rate, 0.01, "front", float(i)))
    names = ["driver_group", "vehicle_id", "log_rate", "se_log", "drive", "front_share"]
    return pd.DataFrame(rows, columns=names)


def test_vehicles_to_spare_are_those_beyond_the_coefficients_between_them():
    frame = tires()
    design = build_design(frame, "driver_group", [])
    assert spare_vehicles(design, frame["vehicle_id"].to_numpy(object)) == 8 - 2
    axle = build_design(frame, "driver_group", ["axle"])  # varies within cars, so it costs none
    assert spare_vehicles(axle, frame["vehicle_id"].to_numpy(object)) == 8 - 2
    few = tires(1)
    assert spare_vehicles(build_design(few, "driver_group", []), few["vehicle_id"].to_numpy(object)) == 0


def test_a_balanced_ratio_is_that_of_the_means():
    fitted = fit_groups(tires(effect=0.2), "driver_group", [])
    ratio, low, high, se, df = group_ratio(fitted, fitted.design.contrast("b", "a"), None, 0.95)
    assert ratio == pytest.approx(math.exp(0.2))
    assert low * high == pytest.approx(ratio**2)
    assert math.log(high / ratio) / se == pytest.approx(2.447, abs=0.002)  # t at 0.975 with 6 df, any table
    assert df == pytest.approx(6.0, abs=0.01)  # eight cars less two groups
    # Means of cars at -0.05 and 0.05: variance 0.01 / 3 within a group, two groups of four.
    assert se == pytest.approx(math.sqrt(2 * (0.01 / 3) / 4), rel=1e-3)
    assert fitted.across


def test_no_vehicles_to_spare_no_ratio():
    fitted = fit_groups(tires(1), "driver_group", [])
    assert fitted.spare_vehicles == 0
    assert np.isnan(group_ratio(fitted, fitted.design.contrast("b", "a"), None, 0.95)).all()


def test_groups_that_share_cars_are_not_across():
    frame = tires()
    frame["vehicle_id"] = frame["vehicle_id"].str[1:]
    assert not fit_groups(frame, "driver_group", []).across


def test_the_ratio_that_would_have_been_seen():
    # With many degrees of freedom t is normal: (1.96 + 0.8416) standard errors (both quantiles from any table).
    assert detectable_ratio(0.1, 1e6, 1.959964) == pytest.approx(
        math.exp(0.1 * (1.959964 + 0.841621)), rel=1e-4
    )
    assert detectable_ratio(0.1, 1e6, 1.959964, power=0.5) == pytest.approx(math.exp(0.1959964), rel=1e-4)


def test_the_ratio_with_few_degrees_of_freedom_against_draws():
    rng = np.random.default_rng(8)
    shift = math.log(detectable_ratio(1.0, 5.0, 2.5706))
    draws = (rng.standard_normal(400_000) + shift) / np.sqrt(rng.chisquare(5.0, 400_000) / 5)
    assert (draws > 2.5706).mean() == pytest.approx(0.8, abs=0.003)  # 0.0006 is one standard error


@pytest.mark.parametrize("bad", [(0.0, 5.0, 2.0), (float("nan"), 5.0, 2.0), (0.1, float("inf"), 2.0)])
def test_what_is_not_known_gives_none(bad):
    assert math.isnan(detectable_ratio(*bad))

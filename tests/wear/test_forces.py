"""Forces on a wheel, by hand."""

from dataclasses import asdict

import numpy as np
import pandas as pd
import pytest

from tirelife.wear import Vehicle
from tirelife.wear.forces import AIR_DENSITY, C0, CE, Wheel, forces

CAR = {"drive": "front", "mass_kg": 1_000.0, "front_load_share": 0.6, "front_brake_share": 0.7,
       "rolling_resistance": 0.01, "drag_area_m2": 0.5}  # fmt: skip
G = 9.80665


@pytest.mark.parametrize(
    ("drive", "front", "pull"),
    [("front", True, 0.5), ("front", False, 0.0), ("rear", True, 0.0), ("rear", False, 0.5), ("all", True, 0.25),
     ("all", False, 0.25)],
)  # fmt: skip
def test_driven_wheels_share_the_drive_and_all_the_brakes_and_the_load(drive, front, pull):
    got, brake, load, roll, drag = forces({**CAR, "drive": drive}, front)
    assert got == pull
    assert brake == pytest.approx(0.35 if front else 0.15)
    assert load == pytest.approx(1_000 * G * (0.3 if front else 0.2))
    assert roll == pytest.approx(0.01 * 1_000 * G)
    assert drag == pytest.approx(0.5 * 1.2 * 0.5)  # of which v² makes newtons


def test_many_vehicles_at_once_are_each_what_it_is_alone():
    cars = [Vehicle(), Vehicle.of_drive("rear"), Vehicle("all", 2_100.0)]
    many = forces(pd.DataFrame([asdict(car) for car in cars]), [True, False, True])
    for i, car in enumerate(cars):
        for whole, one in zip(many, forces(asdict(car), i != 1), strict=True):
            assert whole[i] == pytest.approx(float(one))


def test_a_wheel_knows_its_load_its_car_and_its_driving():
    moments = {"drive_v2": 400.0, "drive_v4": 200_000.0, "drive_a": 0.1, "drive_av2": 30.0, "drive_a2": 0.2}
    wheel = Wheel(moments, CAR, True)
    assert wheel.load == pytest.approx(2_941.995)
    assert wheel.mass == 1_000
    assert wheel.moment("drive_v2") == 400
    # (m a + R + k v²)² = R² + what air makes of it + what inertia does.
    roll, drag = 98.0665, 0.3
    assert wheel.air("drive") == pytest.approx(2 * roll * drag * 400 + drag**2 * 200_000)
    assert wheel.inertia("drive") == pytest.approx(1e6 * 0.2 + 2 * 1_000 * (roll * 0.1 + drag * 30))
    v, a = 20.0, 0.5
    steady = Wheel({"x_v2": v**2, "x_v4": v**4, "x_a": a, "x_av2": a * v**2, "x_a2": a**2}, CAR, True)
    assert roll**2 + steady.air("x") + steady.inertia("x") == pytest.approx(
        (1_000 * a + roll + drag * v**2) ** 2
    )


def test_only_the_ratio_of_both_coefficients_matters_and_it_is_that_of_the_source():
    # HDM-4, passenger cars, recalled: 0.02616 dm³ per 1000 km and 0.00204 dm³/MJ.
    assert (C0, CE) == (0.02616, 0.00204)
    assert np.isclose(AIR_DENSITY, 1.2)

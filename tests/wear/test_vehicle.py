from dataclasses import asdict, replace

import numpy as np
import pytest

from tests.wear.books import make_book
from tirelife.driving import default_profile
from tirelife.errors import InputError
from tirelife.wear import Vehicle, causes_at_wheel, severity, vehicle_log_sd, vehicle_of, vehicle_table
from tirelife.wear.vehicle import RANGES

VEHICLES = """vehicle_id,drive,placard_front_psi,placard_rear_psi,mass_lb,front_load_share
A,rear,35,30,4000,
B,front,35,30,,0.63
"""


def test_blanks_are_filled_by_drive_and_named(tmp_path):
    table = vehicle_table(make_book(tmp_path, vehicles=VEHICLES))
    assert table.loc["A", "mass_kg"] == pytest.approx(4000 * 0.45359237)
    assert table.loc["A", "front_load_share"] == Vehicle.of_drive("rear").front_load_share
    assert table.loc["B", "mass_kg"] == Vehicle().mass_kg
    assert table.loc["B", "front_load_share"] == 0.63
    assert "front_load_share" in table.loc["A", "assumed"]
    assert "mass_kg" not in table.loc["A", "assumed"]
    assert "mass_kg" in table.loc["B", "assumed"]


def test_one_vehicle(tmp_path):
    book = make_book(tmp_path, vehicles=VEHICLES)
    assert vehicle_of(book, "A").drive == "rear"
    with pytest.raises(InputError, match="vehicle 'Z' is not in the vehicles table"):
        vehicle_of(book, "Z")


def test_defaults_lie_in_their_ranges():
    for drive in ("front", "rear", "all"):
        car = Vehicle.of_drive(drive)
        assert all(low <= getattr(car, name) <= high for name, (low, high) in RANGES.items())
    with pytest.raises(InputError, match="drive is 'tracked'"):
        Vehicle.of_drive("tracked")


def test_an_electric_car_brakes_on_its_driven_wheels(tmp_path):
    # Motors brake the wheels that they drive: 60 % of all braking, from memory; the rest 70/30 by the brakes.
    book = make_book(
        tmp_path,
        vehicles="vehicle_id,drive,placard_front_psi,placard_rear_psi,electric\n"
        "A,all,35,30,yes\nF,front,35,30,yes\nR,rear,35,30,yes\nP,front,35,30,no\n",
    )
    share = vehicle_table(book)["front_brake_share"]
    assert share.to_dict() == pytest.approx({"F": 0.88, "R": 0.28, "A": 0.58, "P": 0.70})
    stops = {
        car: severity(default_profile(), vehicle_of(book, car))["stops"].to_dict() for car in ("F", "R", "P")
    }
    assert stops["R"]["LR"] > stops["P"]["LR"]
    assert stops["R"]["LF"] < stops["P"]["LF"] < stops["F"]["LF"]


def test_an_unknown_drag_area_is_off_by_a_quarter_of_its_range_over_cars_and_light_trucks():
    # From 0.50 to 1.20 m², taken to hold 95 % of them: four standard deviations of 0.175 m².
    driven, car, front, step = asdict(default_profile()), Vehicle(), np.array([True, False]), 1e-5

    def log_severity(drag_area_m2):
        other = asdict(replace(car, drag_area_m2=drag_area_m2))
        return np.log(sum(causes_at_wheel(driven, other, front, 1.0, 0.0).values()))

    slope = (log_severity(car.drag_area_m2 + step) - log_severity(car.drag_area_m2 - step)) / (2 * step)
    got = vehicle_log_sd(driven, asdict(car), front, 0.0, {"drag_area_m2": True})
    assert got == pytest.approx(0.175 * np.abs(slope), rel=1e-4)
    assert (got > 1e-3).any()

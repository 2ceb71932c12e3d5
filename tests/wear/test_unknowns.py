from dataclasses import asdict, replace

import numpy as np
import pytest

from tests.wear.books import VEHICLES, make_book
from tirelife.driving import default_profile, profile_from_answers
from tirelife.wear import Vehicle, causes_at_wheel, severity_log_sd, stretch_severity, vehicle_log_sd
from tirelife.wear.energy import CAUSES
from tirelife.wear.unknowns import FIGURE_SD, SIZE_EXPONENT
from tirelife.wear.vehicle import RANGES

FRONT = np.array([True, True, False, False])
DRIVEN = asdict(profile_from_answers((0.1, 0.2, 0.3, 0.3, 0.1), 2, 4, 6))
TOE = np.array([3.0, 3.0, 2.0, 2.0])
EVERY = dict.fromkeys(FIGURE_SD, True)


def log_severity(vehicle):
    # A heavier vehicle carries larger tires; a mass that is not known is that of a vehicle on its own tires.
    whole = sum(causes_at_wheel(DRIVEN, asdict(vehicle), FRONT, 1.2, TOE).values())
    return np.log(whole) - SIZE_EXPONENT * np.log(vehicle.mass_kg)


@pytest.mark.parametrize("drive", ["front", "rear", "all"])
@pytest.mark.parametrize("name", list(FIGURE_SD))
def test_derivatives_agree_with_differences(drive, name):
    car = Vehicle.of_drive(drive)
    step = 1e-5 * getattr(car, name)
    high, low = (log_severity(replace(car, **{name: getattr(car, name) + s})) for s in (step, -step))
    expected = np.abs(high - low) / (2 * step) * FIGURE_SD[name]
    got = vehicle_log_sd(DRIVEN, asdict(car), FRONT, TOE, {name: True})
    assert got == pytest.approx(expected, abs=1e-9)


def test_agrees_with_vehicles_drawn_at_random():
    # 4,000 cars, every figure normal about its default with its own standard deviation; first order against that.
    rng = np.random.default_rng(3)
    drawn = {n: rng.normal(getattr(Vehicle(), n), sd, 4000) for n, sd in FIGURE_SD.items()}
    cars = {n: np.clip(v, *RANGES[n])[:, None] for n, v in drawn.items()} | {"drive": "front"}
    whole = sum(causes_at_wheel(DRIVEN, cars, FRONT, 1.0, TOE).values())
    spread = np.log(whole / cars["mass_kg"] ** SIZE_EXPONENT).std(axis=0)
    assert vehicle_log_sd(DRIVEN, asdict(Vehicle()), FRONT, TOE, EVERY) == pytest.approx(spread, rel=0.2)


def test_known_figures_add_nothing_and_unknown_ones_add_in_squares():
    car = asdict(Vehicle())
    assert vehicle_log_sd(DRIVEN, car, FRONT, TOE, dict.fromkeys(FIGURE_SD, False)).tolist() == [0.0] * 4
    each = [vehicle_log_sd(DRIVEN, car, FRONT, TOE, {n: True}) ** 2 for n in FIGURE_SD]
    assert vehicle_log_sd(DRIVEN, car, FRONT, TOE, EVERY) ** 2 == pytest.approx(np.sum(each, axis=0))


def test_a_logbook_that_gives_the_figures_is_surer(tmp_path):
    given = VEHICLES.replace(
        "placard_rear_psi\n", "placard_rear_psi,mass_lb,front_load_share,drag_area_m2,rolling_resistance,"
        "front_brake_share\n"
    ).replace("A,front,35,30", "A,front,35,30,3306.934,0.60,0.75,0.010,0.70")  # fmt: skip
    (tmp_path / "blank").mkdir()
    (tmp_path / "given").mkdir()
    blank = stretch_severity(make_book(tmp_path / "blank")).set_index("position")
    sure = stretch_severity(make_book(tmp_path / "given", vehicles=given)).set_index("position")
    assert sure["severity"].to_numpy() == pytest.approx(blank["severity"].to_numpy(), rel=1e-6)
    more = blank["severity_log_sd"] ** 2 - sure["severity_log_sd"] ** 2
    added = vehicle_log_sd(asdict(default_profile()), asdict(Vehicle()), FRONT, 0.0, EVERY)
    order = ["LF", "RF", "LR", "RR"]
    assert more[order].to_numpy() == pytest.approx(added**2, rel=1e-4)
    assert (added > 0.02).all()
    plain = severity_log_sd({c: sure[c] for c in CAUSES}, default_profile().log_sd)
    assert sure["severity_log_sd"].to_numpy() == pytest.approx(plain, rel=1e-9)

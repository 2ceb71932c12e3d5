from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from tests.fleets import WELL, simulate
from tests.outlook.folders import one_car
from tirelife.logbook import read_logbook
from tirelife.outlook.rotation_ahead import (
    BETWEEN_LOG_SD,
    USUAL_LOG_SD,
    lasting,
    rotation_ahead,
    through_rotations,
)

PLACES = ("LF", "RF", "LR", "RR")
CROSS = {"LF": "LR", "RF": "RR", "LR": "RF", "RR": "LF"}  # forward cross


def rotated(folder, odometers, last):
    place = {f"T{i}": p for i, p in enumerate(PLACES)}
    mounts = [("2024-01-01", 10_000, "V1", t, p) for t, p in place.items()]
    for i, miles in enumerate(odometers):
        place = {t: CROSS[p] for t, p in place.items()}
        mounts += [(f"2024-{2 + i:02d}-01", miles, "V1", t, p) for t, p in place.items()]
    return read_logbook(one_car(folder, [], mounts=mounts, odometer=[("2025-01-01", "V1", last)]))


def test_the_interval_is_what_the_log_shows(tmp_path):
    table = rotation_ahead(rotated(tmp_path, [15_000, 20_000, 25_000], 27_000))
    assert len(table) == 4
    assert (table["every_km"] / 1.609344).tolist() == pytest.approx([5000] * 4)
    assert (table["since_km"] / 1.609344).tolist() == pytest.approx([2000] * 4)
    assert (table["moves"] == 12).all()
    assert sorted(table["axle"]) == ["front", "front", "rear", "rear"]


def test_a_car_never_rotated_over_many_usual_intervals_hardly_will_be(tmp_path):
    # 10,000 km is usual: 27,000 km without a change speak against it, 2,000 km say nothing.
    long = rotation_ahead(rotated(tmp_path / "long", [], 27_000))["chance"]
    short = rotation_ahead(rotated(tmp_path / "short", [], 11_000))["chance"]
    assert (long < 0.1).all()
    assert short.between(0.4, 0.6).all()


def test_a_long_overdue_rotation_is_hardly_expected(tmp_path):
    seen = rotation_ahead(rotated(tmp_path / "seen", [15_000, 20_000], 22_000))["chance"]
    overdue = rotation_ahead(rotated(tmp_path / "over", [15_000], 60_000))["chance"]
    assert (seen > 0.9).all()
    assert (overdue < 0.05).all()


def test_the_fleet_teaches_whether_a_new_car_will_be_rotated(tmp_path):
    def chance(rotation):
        folder = tmp_path / str(rotation)
        simulate(folder, replace(WELL, vehicles=8, rotation=rotation), 2)
        for name, row in (
            ("vehicles", "NEW,front,32,32\n"),
            ("tires", "".join(f"N{p},Line A,10\n" for p in PLACES)),
            ("mounts", "".join(f"2025-05-01,1000,NEW,N{p},{p}\n" for p in PLACES)),
            ("odometer", "2025-06-01,NEW,1500\n"),
        ):
            with (folder / f"{name}.csv").open("a") as file:
                file.write(row)
        table = rotation_ahead(read_logbook(folder))
        return float(table.loc[table["vehicle_id"] == "NEW", "chance"].iloc[0])

    assert chance("forward_cross") > 0.85
    assert chance(None) < 0.35


def test_a_side_to_side_swap_is_no_change_of_axle(tmp_path):
    mounts = [("2024-01-01", 10_000, "V1", "T0", "LF"), ("2024-01-01", 10_000, "V1", "T1", "RF")]
    mounts += [("2024-05-01", 15_000, "V1", "T0", "RF"), ("2024-05-01", 15_000, "V1", "T1", "LF")]
    book = read_logbook(one_car(tmp_path, [], mounts=mounts, odometer=[("2025-01-01", "V1", 20_000)]))
    table = rotation_ahead(book)
    assert (table["moves"] == 0).all()
    assert (table["since_km"] / 1.609344).tolist() == pytest.approx([10_000] * 2)


def test_distance_through_rotations_against_stepping_kilometre_by_kilometre():
    rng = np.random.default_rng(5)
    for _ in range(40):
        due, every, ratio = rng.uniform(10, 90), rng.uniform(20, 90), rng.uniform(0.3, 3)
        target = rng.uniform(5, 900)
        worn, x = 0.0, 0
        while worn < target:  # wear per km is 1 here, `ratio` on the other axle
            turn = -1 if x < due else int((x - due) // every)
            worn += 0.01 * (1.0 if turn % 2 else ratio)
            x += 0.01
        got = through_rotations(*(np.array(v) for v in ([[target]], [[due]], [[every]], [[ratio]])))
        assert got[0, 0] == pytest.approx(x, abs=0.2)


def test_equal_axles_change_nothing_and_no_interval_changes_nothing():
    km = np.array([[1.0, 1e3, 1e5]])
    same = through_rotations(km, *(np.array([[v]]) for v in (500.0, 8000.0, 1.0)))
    np.testing.assert_allclose(same, km)
    none = through_rotations(km, *(np.array([[v]]) for v in (np.nan, np.nan, 0.5)))
    np.testing.assert_allclose(none, km)


def fleet_of(folder, every, cars=30):
    """Cars rotated after so many miles each time; ``every(car, time)``."""
    mounts, ends = [], []
    for v in range(cars):
        place = {f"T{v}-{i}": p for i, p in enumerate(PLACES)}
        at = 10_000
        mounts += [("2024-01-01", at, f"V{v}", t, p) for t, p in place.items()]
        for i in range(3):
            at += every(v, i)
            place = {t: CROSS[p] for t, p in place.items()}
            mounts += [(f"2024-{2 + i:02d}-01", at, f"V{v}", t, p) for t, p in place.items()]
        ends.append(("2025-01-01", f"V{v}", at + 2000))
    fleet = {"vehicles": [(f"V{v}", "front", 32, 32) for v in range(cars)]}
    fleet["tires"] = [(f"T{v}-{i}", "Line A", 10) for v in range(cars) for i in range(4)]
    return rotation_ahead(read_logbook(one_car(folder, [], mounts=mounts, odometer=ends, **fleet)))


def test_a_fleet_teaches_how_far_intervals_and_vehicles_differ(tmp_path):
    rng = np.random.default_rng(8)
    own = np.exp(rng.normal(0, 0.3, 30))
    noise = np.exp(rng.normal(0, 0.02, (30, 3)))
    alike = fleet_of(tmp_path / "alike", lambda v, i: round(6000 * noise[v, i]))
    apart = fleet_of(tmp_path / "apart", lambda v, i: round(6000 * own[v] * noise[v, i]))
    wide = fleet_of(tmp_path / "wide", lambda v, i: round(6000 * noise[v, i] ** 20))
    # Before the log 0.35 and 0.25; 30 vehicles and 90 intervals tell either to a fifth.
    assert (alike["interval_log_sd"] < 0.03).all()
    assert (alike["every_log_sd"] < 0.02).all()
    assert (apart["interval_log_sd"] < 0.03).all()
    assert np.log(apart["every_km"]).std() == pytest.approx(np.log(own).std(), rel=0.05)
    assert wide["interval_log_sd"].iloc[0] == pytest.approx(0.4, rel=0.2)


def test_where_nothing_was_seen_the_usual_spreads_answer(tmp_path):
    table = rotation_ahead(rotated(tmp_path, [], 12_000))
    assert table["interval_log_sd"].tolist() == pytest.approx([USUAL_LOG_SD] * 4, rel=0.06)
    assert table["every_log_sd"].tolist() == pytest.approx([BETWEEN_LOG_SD] * 4, rel=0.06)


def test_a_car_of_a_regular_fleet_that_is_late_once_has_not_stopped():
    # Alike to 1 in 10,000, no interval of the log says that one may take a third longer.
    # Of twenty intervals one is like any fleet's: 0.05 times the normal law at ln(4/3) over 0.43.
    assert lasting(8000.0, 6000.0, 1e-4, 1e-4) == pytest.approx(
        0.05 * norm.sf(np.log(4 / 3) / 0.43012), rel=1e-4
    )
    assert lasting(6.0, 6000.0, 0.01, 0.01) == pytest.approx(1.0)
    assert 0 < lasting(600_000.0, 6000.0, 1e-4, 1e-4) < 1e-6

"""What each position did to its tires, when tires are moved."""

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import POSITIONS, make_book, read_depths
from tirelife.logbook import GROOVES
from tirelife.tread import Weak, measured_toe, weigh_causes, wheel_histories

OUTER = np.array([1.8, 0.8, 0.2, 0.0, 0.0])


def readings(by_tire, on, date, km):
    """All four tires where they are on a day."""
    parts = [
        read_depths(
            dict(zip(GROOVES, np.round(by_tire[tire], 1).tolist(), strict=True)), position=p, date=date, km=km
        )
        for p, tire in on.items()
    ]
    return pd.concat(parts)


def rotating_car(folder, visits=4, every_km=8000, measured="before"):
    """A car with toe-in in front: at each visit its tires are read, and then swapped front to rear."""
    on = {p: f"T-{p}" for p in POSITIONS}
    depth = {tire: np.full(5, 8.0) for tire in on.values()}
    mounts = [("2025-01-01", 10_000, t, p) for p, t in on.items()]
    parts = []
    for i in range(visits):
        day, km = pd.Timestamp("2025-01-01") + pd.Timedelta(days=100 * (i + 1)), 10_000 + every_km * (i + 1)
        for p, tire in on.items():
            depth[tire] = depth[tire] - (0.7 + OUTER * 0.6 if p in ("LF", "RF") else 0.5)
        if measured == "before":
            parts.append(readings(depth, on, day, km))
        on = {"LF": on["LR"], "RF": on["RR"], "LR": on["LF"], "RR": on["RF"]}
        mounts += [(day.strftime("%Y-%m-%d"), km, t, p) for p, t in on.items()]
        if measured == "after":
            parts.append(readings(depth, on, day, km))
    mounts = pd.DataFrame(mounts, columns=["date", "odometer_km", "tire_id", "position"]).assign(
        vehicle_id="V1"
    )
    return make_book(folder, pd.concat(parts), mounts=mounts)


@pytest.mark.parametrize("measured", ["before", "after"])
def test_a_moved_pattern_stays_with_the_axle_that_made_it(tmp_path, measured):
    # The last visit shows worn outer edges on all four tires; only the front axle made them.
    book = rotating_car(tmp_path, measured=measured)
    wheels = wheel_histories(book)["V1"]
    for position in ("LF", "RF"):
        change = wheels[position].wheel.depth_mm
        assert change[0] - change[4] < -2.0
    for position in ("LR", "RR"):
        change = wheels[position].wheel.depth_mm
        assert abs(change[0] - change[4]) < 0.3
    causes = weigh_causes(book)
    top = causes.drop_duplicates("position").set_index("position")["cause"]
    assert top.to_dict() == {"LF": "toe_in", "RF": "toe_in", "LR": "even_wear", "RR": "even_wear"}


def test_all_tires_that_ran_on_a_position_count(tmp_path):
    wheels = wheel_histories(rotating_car(tmp_path))["V1"]
    assert set(wheels["LF"].tires) == {"T-LF", "T-LR"}
    assert wheels["LF"].run_km == pytest.approx(4 * 8000)
    assert wheels["LF"].wheel.wear_mm == pytest.approx(4 * (0.7 + 0.6 * OUTER.mean()), abs=0.4)


def test_old_wear_does_not_count(tmp_path):
    near = wheel_histories(rotating_car(tmp_path), look_back_km=10_000)["V1"]["LF"]
    assert near.run_km == pytest.approx(2 * 8000)


def test_a_first_visit_is_wear_since_new(tmp_path):
    book = make_book(tmp_path, read_depths({"outer": 5.0, "center": 6.5, "inner": 6.5}))
    wheel = wheel_histories(book)["V1"]["LF"]
    assert wheel.wheel.wear_mm == pytest.approx(2.0)
    assert wheel.from_date == pd.Timestamp("2025-01-01")
    assert wheel.weak is None


def test_a_pattern_is_laid_to_where_the_tire_ran(tmp_path):
    mounts = pd.DataFrame(
        {
            "date": ["2025-01-01", "2025-06-01"],
            "odometer_km": [10_000, 18_000],
            "vehicle_id": "V1",
            "tire_id": "T1",
            "position": ["LF", "LR"],
        }
    )
    depths = read_depths(
        {"outer": 5.0, "center": 6.5, "inner": 6.5}, position="LR", date="2025-06-20", km=19_000
    )
    wheel = wheel_histories(make_book(tmp_path, depths, mounts=mounts))["V1"]
    assert set(wheel) >= {"LF"}  # the wear is the left front's: that is where the tire ran
    assert wheel["LF"].wheel.depth_mm[0] < wheel["LF"].wheel.depth_mm[4]
    assert abs(wheel["LR"].wheel.depth_mm[0] - wheel["LR"].wheel.depth_mm[4]) < 0.2
    assert wheel["LR"].weak is Weak.LITTLE_WORN


def test_pressure_counts_by_distance_and_only_where_read(tmp_path):
    depths = pd.concat([read_depths({"center": 6.0}, position=p) for p in ("LF", "LR")])
    pressures = pd.DataFrame(
        {
            "date": ["2025-01-02", "2025-06-30"],
            "vehicle_id": "V1",
            "position": "LF",
            "pressure_kpa": [184, 184],
            "state": "cold",
        }
    )
    wheels = wheel_histories(make_book(tmp_path, depths, pressures=pressures))["V1"]
    assert wheels["LF"].wheel.pressure_ratio == pytest.approx(0.8, abs=0.01)
    assert np.isnan(wheels["LR"].wheel.pressure_ratio)
    # Against a placard that is assumed, from these very readings, they say nothing.
    unstated = pd.DataFrame(
        {"vehicle_id": ["V1"], "drive": ["front"], "placard_front_kpa": [np.nan], "placard_rear_kpa": [220]}
    )
    (tmp_path / "unstated").mkdir()
    book = make_book(tmp_path / "unstated", depths, pressures=pressures, vehicles=unstated)
    assert np.isnan(wheel_histories(book)["V1"]["LF"].wheel.pressure_ratio)


def test_angles_as_last_measured(tmp_path):
    alignment = pd.DataFrame(
        {
            "date": ["2025-03-01", "2025-06-01"],
            "odometer_km": [12_000, 18_000],
            "vehicle_id": "V1",
            "axle": "front",
            "toe_mm": [0.5, 4.0],
            "camber_left_deg": [-0.5, 1.5],
            "camber_right_deg": [-0.5, -0.4],
        }
    )
    book = make_book(tmp_path, read_depths({"center": 6.0}), alignment=alignment)
    assert measured_toe(book) == {"V1": {"front": 4.0}}
    assert wheel_histories(book)["V1"]["LF"].wheel.camber_deg == 1.5


def test_spots_at_the_last_reading_are_kept(tmp_path):
    cups = [6.0, 5.0, 6.1, 5.1, 6.0, 5.0]
    book = make_book(tmp_path, read_depths({g: cups for g in GROOVES}, position="LR"))
    assert wheel_histories(book)["V1"]["LR"].wheel.spots.shape == (6, 5)


def test_a_spare_that_never_ran_says_nothing(tmp_path):
    mounts = pd.DataFrame(
        {
            "date": "2025-01-01",
            "odometer_km": 10_000,
            "vehicle_id": "V1",
            "tire_id": ["T1", "T2"],
            "position": ["LF", "SP"],
        }
    )
    depths = pd.concat([read_depths({"outer": 6.0, "inner": 7.0}, p) for p in ("LF", "SP")])
    assert set(wheel_histories(make_book(tmp_path, depths, mounts=mounts))["V1"]) == {"LF"}
    alone = make_book(tmp_path / "alone", depths[depths["position"] == "SP"], mounts=mounts)
    assert wheel_histories(alone)["V1"] == {}


def test_what_a_tire_brought_from_another_car_is_not_laid_to_this_one(tmp_path):
    vehicles = pd.DataFrame(
        {"vehicle_id": ["V1", "V2"], "drive": "front", "placard_front_kpa": 230, "placard_rear_kpa": 220}
    )
    mounts = pd.DataFrame(
        {
            "date": ["2024-01-01", "2024-12-20", "2025-01-01"],
            "odometer_km": [50_000, 70_000, 10_000],
            "vehicle_id": ["V2", "V2", "V1"],
            "tire_id": "T1",
            "position": ["LF", "OFF", "LF"],
        }
    )
    worn = {"outer": 4.0, "center": 6.0, "inner": 6.2}
    later = {g: d - 1.0 for g, d in worn.items()}
    depths = pd.concat(
        [read_depths(worn, date="2025-01-05", km=10_100), read_depths(later, date="2025-09-01", km=22_000)]
    )
    book = make_book(tmp_path, depths, mounts=mounts, vehicles=vehicles)
    wheel = wheel_histories(book)["V1"]["LF"].wheel
    assert abs(wheel.depth_mm[0] - wheel.depth_mm[4]) < 0.3
    assert wheel.wear_mm == pytest.approx(1.0, abs=0.1)


def test_the_order_of_the_readings_does_not_matter(tmp_path):
    parts = [
        read_depths(
            dict(zip(GROOVES, np.round(7 - OUTER * k, 1).tolist(), strict=True)),
            p,
            f"2025-0{3 + k}-01",
            14_000 + 3000 * k,
        )
        for k in range(3)
        for p in POSITIONS
    ]
    one = pd.concat(parts)
    two = one.sample(frac=1.0, random_state=2)
    left, right = (weigh_causes(make_book(tmp_path / n, d)) for n, d in (("a", one), ("b", two)))
    pd.testing.assert_frame_equal(left, right, rtol=1e-9)


def test_a_doubtful_reading_counts_less(tmp_path):
    # The outer edge of the last visit is typed 2 mm deeper than at the visit before: the logbook doubts it.
    visits = [
        read_depths(
            {"outer": 7.0 - k, "center": 7.0 - k, "inner": 7.0 - k},
            "LF",
            f"2025-0{3 + 2 * k}-01",
            13_000 + 5000 * k,
        )
        for k in range(3)
    ]
    plain = make_book(tmp_path / "plain", pd.concat(visits))
    visits[2].loc[visits[2]["groove"] == "outer", "depth_mm"] = 8.0
    slip = make_book(tmp_path / "slip", pd.concat(visits))
    assert (slip.depths["doubt"] != "").any()
    clean, odd = (wheel_histories(b)["V1"]["LF"].wheel for b in (plain, slip))
    assert abs(odd.depth_mm[0] - odd.depth_mm[2]) < 0.7
    assert abs(clean.depth_mm[0] - clean.depth_mm[2]) < 0.05

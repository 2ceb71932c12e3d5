"""Roads that fall to a side: which edges they wear, what tells them from angles, and what is asked first.

Chevrolet 1942-47: wear as of excess camber comes of "excess positive camber or high crowned roads". Chevrolet truck
service manual 1967, p. 10-2: side wear may be from incorrect camber, underinflation, "high cambered roads" or fast
corners; the first two are the most common, camber is corrected first, and for such roads there is no correction.
"""

import numpy as np
import pytest

from tirelife.driving import default_profile
from tirelife.errors import InputError
from tirelife.tread import Step, Wheel, checks_first, correction_factors, next_steps, weigh_wheels
from tirelife.tread.history import WheelHistory
from tirelife.tread.patterns import CAUSE_NAMES

OUTER = np.array([5.1, 5.4, 5.7, 5.9, 6.0])
PLACES = ("LF", "RF", "LR", "RR")


def wheels(**depths):
    return {
        p: Wheel(np.array(depths.get(p, np.full(5, 6.0)), float), np.full(5, 0.03), 2.5, pressure_ratio=1.0)
        for p in PLACES
    }


def chances(car, drive="front", **options):
    return weigh_wheels(car, drive, **options).groupby(["position", "cause"])["probability"].sum()


RIGHT = wheels(LF=OUTER[::-1], RF=OUTER, LR=OUTER[::-1], RR=OUTER)


def test_the_low_side_wears_outside_and_the_other_inside():
    found = chances(RIGHT)
    assert all(found[p, "road_crown"] > 0.5 for p in PLACES)
    table = weigh_wheels(RIGHT, "front")
    table = table[table["cause"] == "road_crown"].drop_duplicates("position").set_index("position")
    assert table["side"].to_dict() == {"LF": "inner", "RF": "outer", "LR": "inner", "RR": "outer"}
    # Both wheels of an axle low outside are no road's, and roads fall to the right more often than to the left.
    assert chances(wheels(LF=OUTER, RF=OUTER))["LF", "road_crown"] < 0.05
    left = chances(wheels(LF=OUTER, RF=OUTER[::-1], LR=OUTER, RR=OUTER[::-1]))
    assert left["LF", "road_crown"] < found["LF", "road_crown"]
    swapped = {"road_crown right": 0.004, "road_crown left": 0.02}  # a country that drives on the left
    assert chances(RIGHT, odds=swapped)["LF", "road_crown"] == pytest.approx(
        left["LF", "road_crown"], rel=1e-6
    )


def test_an_axle_speaks_for_the_other():
    alone = chances({p: RIGHT[p] for p in ("LF", "RF")})["RF", "road_crown"]
    assert chances(RIGHT)["RF", "road_crown"] > alone


def test_what_the_driver_says_counts():
    said = [chances(RIGHT, roads=roads)["RF", "road_crown"] for roads in ("level", "", "crowned")]
    assert said == sorted(said)
    assert said[2] - said[0] > 0.2
    with pytest.raises(InputError, match="unknown roads 'hilly': use one of crowned, level"):
        weigh_wheels(RIGHT, "front", roads="hilly")


def test_the_force_up_a_slope_is_small_beside_that_of_turns():
    # Statics: a slope of s asks for s g. A fall of 2 to 4 % (common practice, no source).
    squares = [(fall * 9.80665) ** 2 / default_profile().ay2 for fall in (0.02, 0.04)]
    assert squares == pytest.approx([0.12, 0.48], abs=0.01)


def test_angles_are_measured_first_where_they_are_likelier_and_roads_are_asked_about_beside_that():
    car = wheels(RF=[4.4, 4.9, 5.3, 5.7, 6.0])
    table = weigh_wheels(car, "rear").assign(vehicle_id="V", tires="", evidence="")
    found = table[table["position"] == "RF"].groupby("cause")["probability"].sum()
    assert found["camber"] > found["road_crown"] > 0
    first = checks_first(table, car)
    table["next_check"] = table["position"].map(first)
    assert first["RF"] in (Step.ANGLES, Step.FEEL)
    steps = next_steps(table, "rear")
    assert Step.ANGLES in set(steps["step"])
    more = table.assign(probability=np.where(table["cause"] == "road_crown", 0.2, table["probability"]))
    order = [step for step in next_steps(more.assign(next_check=Step.ANGLES), "rear")["step"]]
    assert order.index(Step.ROADS) < order.index(Step.ANGLES)  # cheapest first, and the angles all the same
    told = next_steps(more.assign(next_check=Step.ANGLES), "rear", roads="crowned")["step"]
    assert Step.ROADS not in set(told)
    assert Step.ANGLES in set(told)


def test_roads_are_asked_about_where_they_are_likeliest_and_never_for_an_even_tread():
    assert checks_first(weigh_wheels(RIGHT, "front"), RIGHT)["RF"] == Step.ROADS
    told = checks_first(weigh_wheels(RIGHT, "front", roads="crowned"), RIGHT, roads="crowned")
    assert told["RF"] in (Step.ROADS, Step.ANGLES)
    even = wheels()
    assert set(checks_first(weigh_wheels(even, "front"), even).values()) == {Step.NOTHING}


def test_there_is_no_correction_for_a_road():
    car = wheels(RF=OUTER)
    table = weigh_wheels(car, "front").assign(vehicle_id="V")
    day = np.datetime64("2026-01-01")
    known = {"V": {p: WheelHistory(p, w, day, day, 1e4, ("T",), None) for p, w in car.items()}}
    rows = correction_factors(table, known, {"V": "front"})
    assert "camber" in set(rows["cause"])
    assert not {"road_crown", "even_wear", "normal_shoulder_wear"} & set(rows["cause"])
    assert CAUSE_NAMES["road_crown"] == "crowned roads"


def test_more_load_than_the_tires_may_carry_comes_first():
    # TM 9-2320-361-24-1, WP 0006: overload is the first thing checked on uneven wear.
    car = wheels(LR=OUTER[::-1], RR=OUTER[::-1])
    over = {p: Wheel(w.depth_mm, w.variance_mm2, w.wear_mm, load_ratio=1.1) for p, w in car.items()}
    assert set(checks_first(weigh_wheels(over, "rear"), over).values()) == {Step.LOAD}
    # Chevrolet 1942-47, Fig. 8: the inside rows of an overloaded rear axle, as from camber alone.
    found = weigh_wheels(over, "rear")
    assert found[found["position"] == "LR"].iloc[0]["cause"] == "overload"

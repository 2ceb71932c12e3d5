"""Which check goes first at a wheel: the cheapest that tells its likely causes apart, at hand-set probabilities."""

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import GROOVES
from tirelife.positions import ROAD
from tirelife.tread import Finding, Step, Wheel, checks_first
from tirelife.tread.checks import OWN, apart, chances
from tirelife.tread.patterns import CAUSE_NAMES

VARIANCE = np.full(5, 0.04)
EVEN = np.full(5, 5.0)


def asked(found=(), cornering=float("nan"), roads="", grooves=5, chance=None, **wheel):
    """The first check at the left front wheel, its grooves read once unless told otherwise."""
    variance = np.where(np.arange(5) < grooves, 0.04, np.nan)
    wheels = {"LF": Wheel(EVEN, variance, 3.0, **wheel)}
    table = pd.DataFrame(
        [("LF", *one) for one in chance.items()], columns=["position", "cause", "probability"]
    )
    findings = [Finding("LF", kind) for kind in found]
    return checks_first(table, wheels, findings, cornering=cornering, roads=roads)["LF"]


def first_of(wheel=None, roads="", **chance):
    wheels = {"LF": wheel or Wheel(np.full(5, 5.0), VARIANCE, 3.0)}
    rows = [("LF", cause, p) for cause, p in chance.items()]
    table = pd.DataFrame(rows, columns=["position", "cause", "probability"])
    return checks_first(table, wheels, roads=roads)["LF"]


def test_the_likeliest_causes_own_free_check_goes_before_another_s():
    wheels = {"LF": Wheel(np.array([5.0, 5.0, 4.0, 5.0, 5.0]), VARIANCE, 3.0)}

    def first(**chance):
        rows = [("LF", cause, p) for cause, p in chance.items()]
        return checks_first(pd.DataFrame(rows, columns=["position", "cause", "probability"]), wheels)["LF"]

    assert first(high_pressure=0.8, toe_in=0.18, even_wear=0.02) == "check pressure"
    assert first(high_pressure=0.99, camber=0.18, even_wear=0.0) == "check pressure"  # camber acts beside it
    assert first(toe_in=0.8, high_pressure=0.18, even_wear=0.02) == "feel the tread"
    assert first(camber=0.95, low_pressure=0.93) == "check pressure"  # both act: the cheaper check first
    assert first(camber=0.95, low_pressure=0.15) == "measure angles"


def test_even_wear_and_normal_shoulders_are_no_rivals():
    # Neither is a fault: what is left beside both is too little to ask for anything.
    assert first_of(even_wear=0.5, normal_shoulder_wear=0.25, low_pressure=0.09, overload=0.08) == "nothing"
    assert (
        first_of(even_wear=0.4, normal_shoulder_wear=0.2, low_pressure=0.3, overload=0.08) == "check pressure"
    )


def test_causes_that_one_check_settles_are_weighed_together():
    assert first_of(toe_in=0.3, camber=0.3, high_pressure=0.35, even_wear=0.05) == "feel the tread"
    assert first_of(high_pressure=0.35, camber=0.3, even_wear=0.35) == "check pressure"
    # None of them by itself likelier than a tenth, and so little together that an even tread is left alone.
    assert first_of(even_wear=0.8, toe_in=0.06, camber=0.07, low_pressure=0.05) == "nothing"
    assert first_of(even_wear=0.8, toe_in=0.11, camber=0.03, low_pressure=0.05) != "nothing"


def test_roads_are_asked_about_once():
    assert first_of(even_wear=0.45, road_crown=0.4, camber=0.05) == "ask about roads"
    assert first_of(even_wear=0.45, road_crown=0.4, camber=0.05, roads="level") == "nothing"


def test_what_was_not_read_round_the_tread_does_not_ask_for_a_check():
    spots = pd.DataFrame(np.full((6, 5), 5.0), columns=GROOVES, index=range(1, 7))
    read = Wheel(np.full(5, 5.0), VARIANCE, 3.0, spots)
    chance = {"even_wear": 0.6, "cupping": 0.3, "low_pressure": 0.05}
    assert first_of(**chance) == "nothing"
    assert first_of(read, **chance) == "feel the tread"


def spots(rows=6):
    return pd.DataFrame(np.full((rows, 5), 5.0), columns=GROOVES, index=range(1, rows + 1))


def test_every_cause_has_a_check_of_its_own():
    assert set(OWN) == set(CAUSE_NAMES)


@pytest.mark.parametrize(
    ("check", "one", "other", "told"),
    [
        (Step.PRESSURE, "low_pressure", "high_pressure", True),  # the gauge reads low, or high
        (Step.PRESSURE, "low_pressure", "camber", True),
        (Step.PRESSURE, "camber", "toe_in", False),
        (Step.ANGLES, "toe_in", "diagonal_wear", False),  # both are toe
        (Step.ANGLES, "toe_in", "toe_out", True),
        (Step.ANGLES, "camber", "toe_out", True),
        (Step.ROADS, "road_crown", "camber", True),
        (Step.LOAD, "overload", "low_pressure", True),
        (Step.AROUND, "cupping", "diagonal_wear", True),
        (Step.FEEL, "even_wear", "camber", False),
        (Step.FEEL, "toe_in", "camber", True),
        (Step.LOOK, "toe_in", "camber", False),  # a step that tells nothing
    ],
)
def test_a_check_tells_causes_apart_that_come_out_differently(check, one, other, told):
    assert apart(check, one, other) is apart(check, other, one) is told


def test_chances_are_summed_over_the_sides_that_a_cause_may_wear():
    table = pd.DataFrame(
        [("LF", "camber", "outer", 0.2), ("LF", "even_wear", "", 0.5), ("RF", "camber", "inner", 0.1),
         ("LF", "camber", "inner", 0.3)], columns=["position", "cause", "side", "probability"],
    )  # fmt: skip
    assert chances(table) == {"LF": {"camber": 0.5, "even_wear": 0.5}, "RF": {"camber": 0.1}}


def test_load_beyond_what_the_tires_may_carry_goes_before_all():
    camber = {"camber": 0.9, "even_wear": 0.1}
    assert asked(chance=camber, load_ratio=1.01) == Step.LOAD
    assert asked(chance=camber, load_ratio=1.01, grooves=1) == Step.LOAD
    assert asked(chance=camber, load_ratio=1.0) != Step.LOAD


def test_one_groove_tells_nothing_unless_something_was_felt():
    chance = {"even_wear": 0.3, "camber": 0.7}
    assert asked(chance=chance, grooves=1) == Step.READ_MORE
    assert asked(chance=chance, grooves=2) != Step.READ_MORE
    assert asked(chance={"even_wear": 0.9}, grooves=1, found=["cups"]) == Step.WHEEL
    assert asked(chance={"even_wear": 0.9}, grooves=1, found=["smooth"]) == Step.READ_MORE


@pytest.mark.parametrize(
    ("kind", "step"),
    [
        ("feathered_edge", Step.ANGLES), ("diagonal", Step.ANGLES), ("cups", Step.WHEEL),
        ("flat_spot", Step.WHEEL), ("rounded_shoulder", Step.TURNS),
    ],
)  # fmt: skip
def test_what_was_felt_on_an_even_tread_asks_for_its_own_check(kind, step):
    assert asked(chance={"even_wear": 0.9, "camber": 0.1}, found=[kind]) == step


def test_an_even_tread_is_left_alone_unless_a_fault_is_likely_enough():
    # From 0.75 on it is even; below, it takes a check that finds a fault one time in four.
    assert asked(chance={"even_wear": 0.76, "low_pressure": 0.3}) == Step.NOTHING
    assert asked(chance={"even_wear": 0.74, "low_pressure": 0.3}) == Step.PRESSURE
    assert asked(chance={"even_wear": 0.6, "low_pressure": 0.26}) == Step.PRESSURE
    assert asked(chance={"even_wear": 0.6, "low_pressure": 0.24}) == Step.NOTHING
    # Angles are never argued against from a tenth on.
    assert asked(chance={"even_wear": 0.9, "camber": 0.1}) == Step.ANGLES
    assert asked(chance={"even_wear": 0.9, "camber": 0.09}) == Step.NOTHING
    assert asked(chance={"normal_shoulder_wear": 0.9, "camber": 0.09}) == Step.NOTHING
    assert asked(chance={"even_wear": 1.0}) == Step.NOTHING


def test_of_even_wear_and_a_fault_the_cheapest_check_that_tells_them_apart_goes_first():
    assert asked(chance={"even_wear": 0.6, "toe_in": 0.4}) == Step.FEEL
    assert asked(chance={"even_wear": 0.6, "toe_in": 0.4}, found=["smooth"]) == Step.ANGLES
    known = {"even_wear": 0.6, "low_pressure": 0.4}
    assert asked(chance=known, pressure_ratio=0.8) == Step.PRESSURE  # its own check, where none is left
    assert asked(chance={"even_wear": 0.5, "hard_cornering": 0.4, "toe_in": 0.05}) == Step.FEEL


def test_a_cause_likelier_than_even_is_told_from_its_nearest_rival():
    chance = {"low_pressure": 0.5, "overload": 0.4, "even_wear": 0.1}
    assert asked(chance=chance) == Step.PRESSURE
    assert asked(chance=chance, pressure_ratio=0.8) == Step.LOAD
    # The rival has to be likely: from a tenth on.
    toe = {"camber": 0.7, "toe_in": 0.1, "even_wear": 0.2}
    assert asked(chance=toe | {"even_wear": 0.05}) == Step.FEEL
    assert asked(chance={"camber": 0.7, "toe_in": 0.09}) == Step.ANGLES


def test_causes_too_likely_to_be_rivals_act_together():
    # Whose chances sum to more than 1.2 are both at work; each has its check, the cheaper first.
    assert asked(chance={"camber": 0.6, "toe_in": 0.59}) == Step.FEEL
    assert asked(chance={"camber": 0.62, "toe_in": 0.6}) == Step.ANGLES
    assert asked(chance={"camber": 0.8, "low_pressure": 0.76}) == Step.PRESSURE
    assert asked(chance={"camber": 0.8, "low_pressure": 0.74}) == Step.ANGLES
    assert asked(chance={"camber": 0.91, "toe_in": 0.2}) == Step.ANGLES  # as good as sure: no rival left
    assert asked(chance={"camber": 0.89, "toe_in": 0.2}) == Step.FEEL


def test_what_is_known_is_not_asked_for_again():
    chance = {"hard_cornering": 0.5, "overload": 0.4}
    assert asked(chance=chance) == Step.TURNS
    assert asked(chance=chance, cornering=2.0) == Step.FEEL
    assert asked(chance=chance, cornering=2.0, found=["heel_and_toe"]) == Step.LOAD
    assert asked(chance=chance, cornering=2.0, found=["heel_and_toe"], load_ratio=0.9) == Step.TURNS
    cups = {"cupping": 0.5, "diagonal_wear": 0.4}
    assert asked(chance=cups, found=["cups"]) == Step.WHEEL  # felt, and likeliest: told apart already
    assert asked(chance=cups, spots=spots()) == Step.FEEL
    assert asked(chance=cups, spots=spots(), found=["smooth"]) == Step.ANGLES
    slight = {"even_wear": 0.2, "cupping": 0.8}
    assert asked(chance=slight, spots=spots(1)) == Step.NOTHING  # one spot is no turn
    assert asked(chance=slight, spots=spots(2)) == Step.FEEL
    road = {"road_crown": 0.5, "camber": 0.4}
    assert asked(chance=road) == Step.ROADS
    assert asked(chance=road, roads="crowned") == Step.ANGLES


def test_a_road_is_no_rival_of_what_can_be_mended():
    # Camber 0.45 and a crowned road 0.4: a question about roads would tell them apart, and mends nothing.
    assert asked(chance={"camber": 0.45, "road_crown": 0.4, "toe_in": 0.1}) == Step.FEEL
    assert asked(chance={"camber": 0.45, "road_crown": 0.4}) == Step.ANGLES


def test_unread_cups_leave_the_even_tread_their_share():
    # Cups 0.2, unread: even wear is 0.58 of the 0.8 that is left, 0.725, and of 0.7 it is 0.829.
    chance = {"even_wear": 0.58, "low_pressure": 0.26}
    assert asked(chance=chance | {"cupping": 0.2}) == Step.PRESSURE
    assert asked(chance=chance | {"cupping": 0.2, "diagonal_wear": 0.05, "flat_spot": 0.05}) == Step.NOTHING
    # At most nine tenths are taken for unread: 0.06 of a tenth is 0.6, and not 0.06 of 0.05.
    assert asked(chance={"even_wear": 0.06, "low_pressure": 0.26, "cupping": 0.95}) == Step.PRESSURE


def test_each_wheel_has_its_own_and_findings_are_of_their_wheel():
    wheels = {p: Wheel(EVEN, VARIANCE, 3.0) for p in ROAD}
    rows = [
        ("LF", "even_wear", 0.9),
        ("RF", "low_pressure", 0.9),
        ("LR", "even_wear", 0.9),
        ("RR", "even_wear", 1.0),
    ]
    table = pd.DataFrame(rows, columns=["position", "cause", "probability"])
    assert checks_first(table, wheels, [Finding("LR", "cups")]) == {
        "LF": Step.NOTHING, "RF": Step.PRESSURE, "LR": Step.WHEEL, "RR": Step.NOTHING,
    }  # fmt: skip
    toe = pd.DataFrame([("LF", "even_wear", 0.6), ("LF", "toe_in", 0.4)], columns=list(table))
    felt = {at: checks_first(toe, wheels, [Finding(at, "smooth")])["LF"] for at in ("LF", "RF")}
    assert felt == {"LF": Step.ANGLES, "RF": Step.FEEL}

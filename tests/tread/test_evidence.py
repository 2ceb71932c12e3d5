"""What speaks for or against a cause at a wheel: which facts are named, and where a difference begins to be one."""

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import GROOVES
from tirelife.tread import Finding, Wheel
from tirelife.tread.evidence import Seen, evidence
from tirelife.tread.history import WheelHistory

DAY = pd.Timestamp("2025-01-01")
EVEN = (6.0, 6.0, 6.0, 6.0, 6.0)
Z95 = 1.959964  # of the normal law; the module rounds to 1.96


def history(depths=EVEN, sd=0.1, position="LF", **more):
    more.setdefault("wear_mm", 3.0)
    wheel = Wheel(np.array(depths, float), np.full(5, sd**2), **more)
    return WheelHistory(position, wheel, DAY, DAY, 1000.0, ("T1",), None)


def said(cause, wheel=None, drive="front", toe=None, found=(), beside=None, position="LF", **more):
    known = {position: wheel or history(position=position)}
    if beside is not None:
        known["RF"] = beside
    return evidence(cause, position, known, drive, toe or {}, found, **more)


def codes(notes):
    return [note.code for note in notes]


def about(notes, code):
    (one,) = [note for note in notes if note.code is code]
    return dict(one.values)


def test_no_gauge_error_is_stated_that_no_gauge_has():
    # A position whose tires were never read before they came: the covariance is the prior's, not the gauge's.
    wheel = Wheel(np.array([-3.0, -3, -3, -3, -3]), np.eye(5) * 9.0, 3.0)
    day = pd.Timestamp("2025-01-01")
    history = WheelHistory("LF", wheel, day, day, 1000.0, ("T1",), None)
    for cause in ("even_wear", "toe_in", "low_pressure"):
        for note in evidence(cause, "LF", {"LF": history}, "front", {}, ()):
            assert note.code in (Seen.NOT_TOLD, Seen.NO_PRESSURE), (cause, note)


def spots(table):
    return pd.DataFrame(table, columns=GROOVES[: len(table[0])], index=range(1, len(table) + 1))


@pytest.mark.parametrize("cause", ["toe_in", "toe_out", "camber", "road_crown"])
def test_an_edge_is_told_of_both_wheels_of_an_axle(cause):
    notes = said(cause, history((4.0, 5.0, 6.0, 6.0, 6.0)), beside=history((6, 6, 6, 5, 4), position="RF"))
    parts = [dict(note.values) for note in notes if note.code is Seen.DIFFERENT]
    assert [(part["component"], part.get("position", "")) for part in parts] == [
        ("edges", ""),
        ("edges", "RF"),
    ]
    assert parts[0]["apart_mm"] < 0 < parts[1]["apart_mm"]  # the inner edge lost more
    assert len(codes(said(cause))) == len(notes) - 1


def test_a_difference_counts_beyond_what_the_gauge_leaves_open():
    # Least squares of a profile on level, tilt, crown and dip; each groove is off by 0.1 mm.
    for size, code in ((0.4, Seen.DIFFERENT), (0.1, Seen.SAME)):
        (note,) = said("toe_in", history((6 - size, 6 - size / 2, 6.0, 6 + size / 2, 6 + size)))
        assert note.code is code
        values = dict(note.values)
        assert values["component"] == "edges"
        assert 0.1 < values["bound_mm"] < 0.4
        assert ("apart_mm" in values) == (code is Seen.DIFFERENT)
    worse = about(said("toe_in", history(sd=0.2)), Seen.SAME)["bound_mm"]
    assert worse == pytest.approx(2 * about(said("toe_in", history()), Seen.SAME)["bound_mm"])


def test_two_grooves_at_the_edges_give_the_error_of_their_difference():
    nan = np.nan
    edges = history((5.0, nan, nan, nan, 6.0), sd=0.3)
    values = about(said("toe_in", edges), Seen.DIFFERENT)
    assert abs(values["apart_mm"]) == pytest.approx(1.0)
    assert values["bound_mm"] == pytest.approx(Z95 * 0.3 * np.sqrt(2), rel=1e-4)
    # Known no better than 2.5 mm is not known: 1.96 sd sqrt(2).
    for sd, code in ((0.89, Seen.SAME), (0.92, Seen.NOT_TOLD)):
        assert codes(said("toe_in", history((5.0, nan, nan, nan, 6.0), sd=sd))) == [code]
    assert codes(said("toe_in", history((5.0, nan, nan, nan, nan)))) == [Seen.NOT_READ]


@pytest.mark.parametrize(
    ("apart", "code"),
    [(0.30, Seen.INSIDE_GAUGE), (0.31, Seen.INSIDE_EVEN), (0.60, Seen.INSIDE_EVEN), (0.63, Seen.BEYOND_EVEN)],
)
def test_the_largest_difference_is_held_against_the_gauge_and_then_against_even_treads(apart, code):
    # Outer against outer middle after 3 mm of wear: gauge 2 (0.11)², each groove 2 (0.06 + 0.06)², crown
    # (0.75 (0.12 + 0.15))², tilt (0.25 (0.12 + 0.12))²: 0.0976 mm², 0.61 mm at 95 %.
    notes = said("even_wear", history((6.0, 6.0 - apart, 5.9, 5.9, 5.9), sd=0.11))
    values = about(notes, code)
    assert values["apart_mm"] == pytest.approx(apart)
    assert values["bound_mm"] == pytest.approx(Z95 * 0.11 * np.sqrt(2), rel=1e-4)
    assert len(notes) == 1


def test_even_treads_differ_more_the_more_they_have_worn():
    worn, new = (codes(said("even_wear", history((6.0, 5.2, 6.0, 6.0, 6.0), wear_mm=w))) for w in (8.0, 0.0))
    assert (worn, new) == ([Seen.INSIDE_EVEN], [Seen.BEYOND_EVEN])


def test_errors_that_grooves_share_cancel_in_a_difference():
    shared = Wheel(np.array([6.0, 6.0, 6.0, 6.0, 5.8]), np.full((5, 5), 1.0) + np.eye(5) * 0.0025, 3.0)
    known = {"LF": WheelHistory("LF", shared, DAY, DAY, 1000.0, ("T1",), None)}
    values = dict(evidence("even_wear", "LF", known, "front", {}, ())[0].values)
    assert values["bound_mm"] == pytest.approx(Z95 * 0.05 * np.sqrt(2), rel=1e-4)


def test_one_groove_has_no_difference():
    nan = np.nan
    assert codes(said("even_wear", history((nan, nan, 6.0, nan, nan)))) == [Seen.ONE_GROOVE]
    two = about(said("even_wear", history((nan, 5.0, nan, 6.0, nan), wear_mm=0.0)), Seen.BEYOND_EVEN)
    assert two["apart_mm"] == 1.0
    far = said("even_wear", history((nan, 5.0, nan, 6.0, nan), sd=1.0))
    assert about(far, Seen.NOT_TOLD) == {"component": "largest"}


def test_angles_that_were_measured_are_told_where_they_matter():
    toe = {"front": 4.0}
    for cause in ("toe_in", "toe_out", "diagonal_wear"):
        assert about(said(cause, toe=toe), Seen.TOE) == {"toe_mm": 4.0}
        assert Seen.TOE not in codes(said(cause, toe={"rear": 4.0}))
    assert Seen.TOE not in codes(said("camber", toe=toe))
    leaning = history(camber_deg=-1.5)
    assert about(said("camber", leaning), Seen.CAMBER) == {"camber_deg": -1.5}
    assert Seen.CAMBER not in codes(said("toe_in", leaning))
    assert Seen.CAMBER not in codes(said("camber"))


@pytest.mark.parametrize(
    "cause", ["low_pressure", "high_pressure", "normal_shoulder_wear", "hard_cornering", "overload"]
)
def test_pressure_is_told_of_all_that_wears_as_it_does(cause):
    notes = said(cause, history(pressure_ratio=0.8))
    assert about(notes, Seen.PRESSURE) == {"ratio": 0.8}
    assert Seen.NO_PRESSURE in codes(said(cause))
    parts = [dict(note.values)["component"] for note in notes if note.code is Seen.SAME]
    assert parts[:2] == ["crown", "dip"]


def test_turns_roads_and_load_are_told_of_their_causes_or_said_not_to_be_known():
    assert about(said("hard_cornering", cornering=2.0), Seen.TURNS) == {"ratio": 2.0}
    assert Seen.NO_TURNS in codes(said("hard_cornering"))
    assert about(said("road_crown", roads="level"), Seen.ROADS) == {"roads": "level"}
    assert Seen.NO_ROADS in codes(said("road_crown"))
    assert about(said("overload", history(load_ratio=1.1)), Seen.LOAD) == {"ratio": 1.1}
    assert Seen.NO_LOAD in codes(said("overload"))
    others = {*codes(said("camber", history(load_ratio=1.1), cornering=2.0, roads="level"))}
    assert not others & {Seen.TURNS, Seen.ROADS, Seen.LOAD, Seen.NO_TURNS, Seen.NO_ROADS, Seen.NO_LOAD}


def test_what_runs_round_a_tread_that_was_not_read_round():
    for cause in ("cupping", "diagonal_wear", "flat_spot"):
        assert codes(said(cause))[0] is Seen.NOT_ROUND


def test_cups_are_told_by_the_mean_of_each_spot():
    table = spots([[6.0, 5.0], [5.0, 4.0], [6.4, 5.4]])
    values = about(said("cupping", history(spots=table, reading_sd_mm=0.2)), Seen.ROUND)
    assert (values["low_mm"], values["high_mm"]) == (pytest.approx(4.5), pytest.approx(5.9))
    assert (values["spots"], values["single"]) == (3, False)
    assert values["bound_mm"] == pytest.approx(Z95 * 0.2 / np.sqrt(2), rel=1e-4)


def test_what_runs_slantwise_is_told_by_single_grooves_less_their_own_means():
    # Outer low at spot 1, inner low at spot 2: the means of the spots are alike.
    table = spots([[5.0, 4.0], [6.0, 3.0]])
    values = about(said("diagonal_wear", history(spots=table, reading_sd_mm=0.2)), Seen.ROUND)
    assert (values["low_mm"], values["high_mm"]) == (pytest.approx(4.0), pytest.approx(5.0))
    assert (values["spots"], values["single"]) == (2, True)
    assert values["bound_mm"] == pytest.approx(Z95 * 0.2, rel=1e-4)


def test_a_flat_spot_is_told_by_how_far_it_lies_below_the_others():
    table = spots([[6.0, 6.0], [4.0, 4.4], [5.0, 5.0], [6.1, 6.1]])
    values = about(said("flat_spot", history(spots=table, reading_sd_mm=0.1)), Seen.LOWEST)
    assert values["spot"] == 2
    assert values["below_mm"] == pytest.approx((6.0 + 5.0 + 6.1) / 3 - 4.2)
    assert values["bound_mm"] == pytest.approx(Z95 * 0.1 / np.sqrt(2), rel=1e-4)


@pytest.mark.parametrize(
    ("drive", "position", "code"),
    [("front", "LF", Seen.DRIVEN), ("rear", "LF", Seen.FREE), ("all", "LF", Seen.DRIVEN),
     ("front", "LR", Seen.FREE), ("rear", "LR", Seen.DRIVEN)],
)  # fmt: skip
def test_whether_the_axle_is_driven_is_told_of_cups_and_of_slantwise_wear(drive, position, code):
    axle = "front" if position == "LF" else "rear"
    for cause in ("cupping", "diagonal_wear"):
        assert about(said(cause, drive=drive, position=position), code) == {"axle": axle}
    assert codes(said("flat_spot", drive=drive, position=position)) == [Seen.NOT_ROUND]


def test_what_was_felt_at_the_wheel_is_told_of_every_fault():
    found = [Finding("LF", "feathered_edge", "inward"), Finding("RF", "cups")]
    for cause in ("toe_in", "cupping", "overload"):
        assert about(said(cause, found=found), Seen.FOUND) == {
            "kind": "feathered_edge",
            "direction": "inward",
        }
    assert Seen.FOUND not in codes(said("even_wear", found=found))

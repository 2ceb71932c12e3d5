"""Named patterns, drawn from handbook descriptions, are read correctly, and probabilities hold.

TM 9: US Army TM 9-2610-200-14, p. 2-12. TM 5: TM 5-3820-256-24-3, section c. Villager: 1997 Mercury Villager
service text. The words are theirs; the depths in mm are ours.
"""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.tread.cases import make_cases
from tests.tread.score import reliability, score, summary
from tirelife.errors import InputError
from tirelife.logbook import GROOVES
from tirelife.tread import Finding, Wheel, weigh_wheels

EVEN = (6.0, 6.0, 6.0, 6.0, 6.0)
OUTER = (4.2, 5.4, 5.9, 6.0, 6.0)
INNER = OUTER[::-1]


def wheel(depths, sd=0.2, **options):
    options.setdefault("wear_mm", 3.0)
    return Wheel(np.array(depths, float), np.full(5, sd**2), **options)


def car(front=(EVEN, EVEN), rear=(EVEN, EVEN), **options):
    return dict(zip(("LF", "RF", "LR", "RR"), (wheel(d, **options) for d in (*front, *rear)), strict=True))


def chances(wheels, drive="front", **options):
    return weigh_wheels(wheels, drive, **options).groupby(["position", "cause"])["probability"].sum()


def likeliest(wheels, drive="front", **options):
    table = weigh_wheels(wheels, drive, **options)
    return table.drop_duplicates("position").set_index("position")["cause"].to_dict()


def round_the_tire(offsets, grooves=GROOVES):
    return pd.DataFrame(
        6.0 + np.outer(offsets, np.ones(len(grooves))), columns=grooves, index=range(1, len(offsets) + 1)
    )


@pytest.mark.parametrize(
    ("front", "cause"),
    [
        (((4.3, 5.0, 6.0, 5.0, 4.3), (4.4, 5.1, 6.0, 5.0, 4.3)), "low_pressure"),  # TM 9: both shoulders
        (
            ((5.2, 4.4, 6.0, 4.4, 5.2), (5.2, 4.3, 6.0, 4.4, 5.3)),
            "low_pressure",
        ),  # the ribs next to the edges first
        (((6.0, 5.1, 4.2, 5.1, 6.0), (6.0, 5.0, 4.3, 5.0, 6.0)), "high_pressure"),  # TM 9: center
        ((OUTER, INNER[::-1]), "toe_in"),  # Villager: outer edges of both fronts
        ((INNER, INNER), "toe_out"),
    ],
)
def test_patterns_of_both_front_tires(front, cause):
    found = likeliest(car(front))
    assert found["LF"] == found["RF"] == cause
    assert found["LR"] == found["RR"] == "even_wear"


@pytest.mark.parametrize(
    ("depths", "side"), [((4.4, 4.9, 5.3, 5.7, 6.0), "outer"), ((6.0, 5.7, 5.3, 4.9, 4.4), "inner")]
)
def test_one_side_of_one_tire_is_camber(depths, side):
    # TM 9: wear on one side, a wheel that leans.
    table = weigh_wheels(car((depths, EVEN)), "front")
    top = table[table["position"] == "LF"].iloc[0]
    assert (top["cause"], top["side"]) == ("camber", side)
    assert likeliest(car((depths, EVEN)))["RF"] == "even_wear"


def test_shoulders_of_all_four_with_the_pressure_right_are_normal_for_some_radials():
    # TM 5, c: normal on certain radials if even on both sides all round.
    worn = (4.8, 5.7, 6.0, 5.7, 4.8)
    found = likeliest(car((worn, worn), (worn, worn), pressure_ratio=1.0))
    assert set(found.values()) == {"normal_shoulder_wear"}
    low = likeliest(car((worn, worn), (worn, worn), pressure_ratio=0.72))
    assert set(low.values()) == {"low_pressure"}


def test_cups_on_a_free_rolling_wheel():
    # Villager: cupping, often on wheels that are not driven.
    wheels = car()
    wheels["LR"] = wheel(EVEN, spots=round_the_tire([0, -1.1, -0.1, -1.0, 0.1, -0.9]))
    wheels["RR"] = wheel(EVEN, spots=round_the_tire([0, 0.1, -0.1, 0, 0.05, 0]))
    found = likeliest(wheels)
    assert (found["LR"], found["RR"]) == ("cupping", "even_wear")


def test_one_low_spot_is_a_flat_spot():
    # Villager: flat spot, a locked brake.
    wheels = car()
    wheels["LF"] = wheel(EVEN, spots=round_the_tire([0, 0, -1.6, 0.05, 0, -0.05]))
    assert likeliest(wheels)["LF"] == "flat_spot"


def test_unread_around_the_tread_cups_stay_at_their_odds():
    few = chances(car())
    assert few["LR", "cupping"] == pytest.approx(0.07, abs=0.03)
    assert few["LF", "cupping"] < few["LR", "cupping"] / 2  # the driven axle


def test_one_spot_tells_as_little_of_cups_as_none():
    one = chances(car((OUTER, EVEN), spots=round_the_tire([0.0])))
    pd.testing.assert_series_equal(one, chances(car((OUTER, EVEN))))


def test_cups_are_expected_where_wheels_are_not_driven():
    spots = round_the_tire([0, -0.5, 0.1, -0.35, 0, -0.3])
    at = {"LF": wheel(EVEN, spots=spots), "RF": wheel(EVEN)}
    free, driven = (chances(at, drive)["LF"] for drive in ("rear", "front"))
    assert free["cupping"] / free["even_wear"] > 2 * driven["cupping"] / driven["even_wear"]


def test_differences_inside_the_gauges_error_are_even_wear():
    found = chances(car(((6.2, 6.0, 5.9, 6.1, 5.9), (5.9, 6.1, 6.0, 5.9, 6.1)), sd=0.3))
    assert min(found[w, "even_wear"] for w in ("LF", "RF", "LR", "RR")) > 0.8


def test_a_coarser_gauge_is_trusted_less():
    front = ((5.0, 5.7, 5.9, 6.0, 6.0), (5.1, 5.6, 6.0, 6.0, 6.0))
    fine, coarse = (chances(car(front, sd=sd))["LF", "toe_in"] for sd in (0.1, 0.5))
    assert fine > coarse + 0.3


def test_three_grooves_are_enough_for_the_main_patterns():
    nan = np.nan
    assert likeliest(car(((4.2, nan, 5.9, nan, 6.0), (4.3, nan, 5.8, nan, 6.0))))["LF"] == "toe_in"
    assert likeliest(car(((6.0, nan, 4.3, nan, 6.0), (6.0, nan, 4.2, nan, 6.0))))["RF"] == "high_pressure"


def test_mirrored_patterns_give_mirrored_answers():
    roads = {"road_crown right": 0.02, "road_crown left": 0.02}  # roads fall to the right more often
    alike = {
        "toe_out front": 0.10,
        "hard_cornering front": 0.0,
        "overload front": 0.0,
        **roads,
    }  # turns wear the outside more
    one = chances(car(((4.6, 5.5, 5.9, 6.0, 6.1), (4.9, 5.6, 6.0, 6.0, 6.0))), odds=roads)
    two = chances(car(((6.1, 6.0, 5.9, 5.5, 4.6), (6.0, 6.0, 6.0, 5.6, 4.9))), odds=alike)
    assert two["LF", "toe_out"] == pytest.approx(
        chances(car(((4.6, 5.5, 5.9, 6.0, 6.1), (4.9, 5.6, 6.0, 6.0, 6.0))), odds=alike)["LF", "toe_in"]
    )
    assert one["LF", "toe_in"] > 0.5
    swapped = chances(car(((4.9, 5.6, 6.0, 6.0, 6.0), (4.6, 5.5, 5.9, 6.0, 6.1))), odds=roads)
    assert swapped["RF", "toe_in"] == pytest.approx(one["LF", "toe_in"])


@pytest.mark.parametrize(("direction", "cause"), [("inward", "toe_in"), ("outward", "toe_out")])
def test_feathered_edges_tell_toe(direction, cause):
    # Villager: high edges toward the vehicle's center mean excess toe-in, away from it toe-out.
    before = chances(car())
    after = chances(car(), findings=[Finding("LF", "feathered_edge", direction)])
    assert before["LF", cause] < 0.05
    assert after["LF", cause] > 0.4
    assert after["RF", cause] == pytest.approx(after["LF", cause])  # toe is the axle's
    other = {"toe_in": "toe_out", "toe_out": "toe_in"}[cause]
    assert after["LF", other] < 0.05


def test_feathering_parts_toe_from_camber():
    # The same worn inner edges on both fronts: toe-out, or both wheels leaning in.
    front = (INNER, INNER)
    plain = chances(car(front))
    felt = chances(car(front), findings=[Finding("RF", "feathered_edge", "outward")])
    assert felt["LF", "camber"] < plain["LF", "camber"]


def test_what_was_measured_counts():
    front = ((5.3, 5.8, 6.0, 6.0, 6.0), (5.4, 5.8, 6.0, 6.0, 6.0))
    plain = chances(car(front))["LF", "toe_in"]
    assert chances(car(front), toe_mm={"front": 5.0})["LF", "toe_in"] > plain
    assert chances(car(front), toe_mm={"front": 0.5})["LF", "toe_in"] < plain
    leaning = car((OUTER, EVEN))
    leaning["LF"] = wheel(OUTER, camber_deg=2.0)
    assert chances(leaning)["LF", "camber"] > chances(car((OUTER, EVEN)))["LF", "camber"]


def test_driven_wheels_with_excess_toe_can_wear_the_center():
    # Villager: center wear, excess toe on drive wheels.
    front = ((5.8, 5.2, 4.6, 5.2, 5.8), (5.8, 5.1, 4.6, 5.2, 5.8))
    ratio = {"pressure_ratio": 0.98}
    driven, free = (chances(car(front, **ratio), drive)["LF"] for drive in ("front", "rear"))
    assert driven["toe_in"] + driven["toe_out"] > 2 * (free["toe_in"] + free["toe_out"])


def test_rounded_outside_shoulders_with_the_pressure_right_are_hard_cornering():
    # Chevrolet shop manual 1942-47: the outside shoulder is rounded, of rear tires too; G6: both shoulders.
    worn = (4.3, 5.4, 6.0, 5.8, 5.2)
    right = {"pressure_ratio": 1.0}
    plain = chances(car((worn, worn), **right), cornering=2.5)
    assert plain["LF", "hard_cornering"] > 0.8
    assert (
        chances(car((worn, worn), **right), cornering=0.4)["LF", "hard_cornering"]
        < plain["LF", "hard_cornering"]
    )
    assert likeliest(car((worn, worn), pressure_ratio=0.75))["LF"] == "low_pressure"
    felt = [Finding("LF", "rounded_shoulder")]
    bare = car((worn, worn))
    assert chances(bare, findings=felt)["LF", "hard_cornering"] > chances(bare)["LF", "hard_cornering"]


def test_too_much_load_is_told_by_the_load():
    # TM 9, p. 2-12: too much load flexes a tire as too little air does.
    worn = (4.8, 5.5, 6.0, 5.5, 4.6)
    rear = car(rear=(worn, worn), pressure_ratio=1.0, load_ratio=1.05)
    assert likeliest(rear)["LR"] == "overload"
    assert chances(car(rear=(worn, worn), pressure_ratio=1.0, load_ratio=0.7))["LR", "overload"] < 0.05


def test_two_causes_at_once_are_both_named():
    worn = (3.4, 4.9, 6.0, 5.4, 4.9)  # low pressure and toe-in
    found = chances(car((worn, worn), pressure_ratio=0.75))
    assert found["LF", "low_pressure"] > 0.8
    assert found["LF", "toe_in"] > 0.5


def test_no_more_can_be_laid_to_a_cause_than_has_worn_off():
    front = ((5.2, 5.7, 6.0, 6.0, 6.0), (5.3, 5.7, 6.0, 6.0, 6.0))
    new, worn = (chances(car(front, wear_mm=w))["LF", "toe_in"] for w in (0.1, 3.0))
    assert np.isfinite(new)
    assert new != pytest.approx(worn)


def test_probabilities_are_probabilities():
    table = weigh_wheels({"LR": wheel(EVEN)}, "all")
    assert table["probability"].between(0, 1).all()
    assert set(table["position"]) == {"LR"}
    alone = table.groupby("cause")["probability"].sum()
    assert alone["even_wear"] + alone.drop("even_wear").sum() >= 1 - 1e-9


@pytest.mark.parametrize(
    ("wheels", "drive"), [({}, "front"), ({"XX": wheel(EVEN)}, "front"), ({"LF": wheel(EVEN)}, "track")]
)
def test_what_makes_no_sense_is_refused(wheels, drive):
    with pytest.raises(InputError):
        weigh_wheels(wheels, drive)


@pytest.mark.long
def test_probabilities_hold_on_200_labelled_cars_with_gauge_noise():
    # The whole reliability table is printed by tests/benchmarks/tread.py.
    scored = score(make_cases(200))
    found = summary(scored)
    assert found["top-1 accuracy"] > 0.90
    assert found["Brier score"] < 0.25 * found["Brier score of base rates"]
    assert found["expected calibration error"] < 0.06
    table = reliability(scored)
    sure = table[table["count"] >= 40]
    # The four wheels of a car share its cause, so a bin holds a quarter as many independent cases.
    error = 3 * np.sqrt(sure["stated"] * (1 - sure["stated"]) / (sure["count"] / 4))
    assert len(sure) >= 5
    assert ((sure["stated"] - sure["found"]).abs() < error + 0.02).all()


def test_probabilities_hold_on_three_grooves_read_once_with_a_coarse_gauge():
    scored = score(make_cases(100, seed=7, grooves=3, spots=1, step_mm=25.4 / 32))
    found = summary(scored)
    assert found["top-1 accuracy"] > 0.80
    assert found["expected calibration error"] < 0.10
    assert found["Brier score"] < 0.5 * found["Brier score of base rates"]


@st.composite
def wheels_of_any_kind(draw):
    positions = draw(st.lists(st.sampled_from(["LF", "RF", "LR", "RR"]), min_size=1, max_size=4, unique=True))
    out = {}
    for position in positions:
        depth = np.array(draw(st.lists(st.floats(0, 25), min_size=5, max_size=5)))
        read = np.array(draw(st.lists(st.booleans(), min_size=5, max_size=5)))
        sd = draw(st.sampled_from([0.001, 0.05, 0.2, 5.0]))
        spots = None
        if draw(st.booleans()):
            low = draw(st.lists(st.floats(0, 20), min_size=2, max_size=7))
            spots = round_the_tire(low, GROOVES[: draw(st.integers(1, 5))])
        out[position] = Wheel(
            np.where(read, depth, np.nan),
            np.where(read, sd**2, np.nan),
            draw(st.sampled_from([np.nan, 0.0, 0.3, 6.0])),
            spots,
            sd,
            draw(st.sampled_from([np.nan, 0.01, 0.8, 1.0, 40.0])),
            draw(st.sampled_from([np.nan, -20.0, 0.0, 20.0])),
        )
    return out


@settings(max_examples=60, deadline=None)
@given(
    wheels_of_any_kind(),
    st.sampled_from(["front", "rear", "all"]),
    st.sampled_from([np.nan, -100.0, 0.0, 100.0]),
)
def test_anything_legal_gets_finite_probabilities(wheels, drive, toe):
    table = weigh_wheels(wheels, drive, toe_mm={"front": toe, "rear": toe})
    assert table["probability"].between(0, 1 + 1e-12).all()
    at = table.groupby("position")["probability"].sum()
    assert (at >= 1 - 1e-9).all()

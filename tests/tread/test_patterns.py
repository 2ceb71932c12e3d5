"""The numbers of the model of wear patterns hold together, and say what their handbooks say."""

import numpy as np
import pytest

from tirelife.tread import Finding, Wheel, weigh_wheels
from tirelife.tread import patterns as p
from tirelife.tread.signs import KINDS

SHAPES = {"high": p.CENTER, "low": p.LOW, "shoulders": p.SHOULDERS, "cornering": p.CORNERING, "overload": p.OVERLOAD,
          "toe": p.TOE, "camber": p.CAMBER, "crown": p.ROAD_CROWN}  # fmt: skip


@pytest.mark.parametrize("name", SHAPES)
def test_shares_of_a_causes_shapes_are_the_whole_and_its_worst_rib_is_its_unit(name):
    assert sum(shape.share for shape in SHAPES[name]) == pytest.approx(1)
    worst = {min(shape.depth) for shape in SHAPES[name]}
    assert worst == {-0.6 if name == "crown" else -1.0}  # roads take less than other causes
    assert max(max(shape.depth) for shape in SHAPES[name]) == 0  # nothing grows


def mean(name):
    return sum(shape.share * np.array(shape.depth) for shape in SHAPES[name])


def test_shapes_wear_the_ribs_that_the_handbooks_name():
    # TM 9-2610-200-14, p. 2-12: high pressure the center, low pressure both shoulders, either side alike.
    for name in ("high", "low", "shoulders"):
        assert all(shape.depth == shape.depth[::-1] for shape in SHAPES[name])
    assert mean("high").argmin() == 2
    assert mean("low").argmax() == mean("shoulders").argmax() == 2
    # Normal wear of some radials is of the shoulders (TM 5-3820-256-24-3), low pressure of the ribs beside them too.
    assert mean("shoulders")[1] > mean("low")[1]
    # Chevrolet 1942-47: turns round the outside shoulder, an overloaded rear axle wears the inside.
    assert mean("cornering").argmin() == 0
    assert mean("overload").argmin() == 4
    for name in ("toe", "camber", "crown"):  # one edge, and less and less across the tread
        assert all((np.diff(shape.depth) >= 0).all() and shape.depth[4] == 0 for shape in SHAPES[name])


def test_what_was_found_at_filling_stations_is_expected_of_an_axle():
    # NHTSA press release 46-01: 27 % of cars have a tire 8 psi low, 13 % two or more. Odds of one axle, against none.
    one, both = 2 * p.ODDS["low_pressure one"], p.ODDS["low_pressure both"]
    others = 2 * p.ODDS["high_pressure one"] + p.ODDS["high_pressure both"]
    share = (one + both) / (1 + one + both + others)
    assert 1 - (1 - share) ** 2 == pytest.approx(0.27, abs=0.04)
    assert p.ODDS["low_pressure both"] > 2 * p.ODDS["low_pressure one"] > 2 * p.ODDS["high_pressure one"]


def test_odds_that_handbooks_order():
    # Villager service text: cups come to wheels that are not driven; trade text: slantwise wear too.
    for cause in ("cupping", "diagonal_wear"):
        assert all(p.ODDS[f"{cause} free {n}"] > 4 * p.ODDS[f"{cause} driven {n}"] for n in ("both", "one"))
    assert p.ODDS["overload rear"] > p.ODDS["overload front"]
    assert p.ODDS["hard_cornering front"] > p.ODDS["hard_cornering rear"]
    assert p.ODDS["road_crown right"] > p.ODDS["road_crown left"]
    assert all(odds >= 1 for name, odds in p.ODDS.items() if name.endswith("axles"))
    assert all(0 < odds < 0.2 for name, odds in p.ODDS.items() if " on " not in name and " with " not in name)


def test_names_that_refer_to_causes_are_theirs():
    causes = set(p.CAUSE_NAMES)
    assert set(p.NEEDS_ANGLES) | set(p.NOT_TO_MEND) | set(p.MISSED) <= causes
    assert set(p.NOT_A_FAULT) < set(p.NOT_TO_MEND)
    assert not set(p.NEEDS_ANGLES) & set(p.NOT_TO_MEND)
    assert all(any(name.startswith(cause) for cause in (*causes, "toe felt only")) for name in p.ODDS)
    for table in (*p.SIGNS.values(), *p.ROADS.values(), p.PRESSURE_RATIO, p.LOG_CORNERING, p.LOAD_RATIO):
        assert set(table) - {"", "none"} <= causes
    assert {name.split()[0] for name in p.SIGNS} <= set(KINDS)


def test_chances_are_chances_and_a_finding_speaks_for_its_cause():
    for table in (*p.SIGNS.values(), *p.ROADS.values()):
        assert all(0 < chance < 1 for chance in table.values())
    for name, table in p.SIGNS.items():
        likeliest = max(table, key=table.get)
        assert (likeliest == "") == (name == "smooth")
    # High edges toward the middle mean toe-in, away from it toe-out (Villager service text).
    inward, outward = p.SIGNS["feathered_edge inward"], p.SIGNS["feathered_edge outward"]
    assert inward["toe_in"] == outward["toe_out"] > 20 * inward["toe_out"] == 20 * outward["toe_in"]
    both = p.SIGNS["feathered_edge"]  # a direction that was not noted: either
    assert both["toe_in"] == pytest.approx(inward["toe_in"] + outward["toe_in"])
    assert both["camber"] == pytest.approx(inward["camber"] + outward["camber"])
    assert both[""] == pytest.approx(inward[""] + outward[""])


def test_measured_angles_and_pressures_lie_to_their_own_side():
    none = {name: table["none"][0] for name, table in (("toe", p.TOE_MM), ("camber", p.CAMBER_DEG))}
    assert p.TOE_MM["toe_out"][0] < none["toe"] < p.TOE_MM["toe_in"][0]
    assert p.CAMBER_DEG["inner"][0] < none["camber"] < p.CAMBER_DEG["outer"][0]
    ratio = {name: mean for name, (mean, _) in p.PRESSURE_RATIO.items()}
    assert ratio["low_pressure"] < min(v for k, v in ratio.items() if k != "low_pressure")
    assert ratio["high_pressure"] > max(v for k, v in ratio.items() if k != "high_pressure")
    assert p.LOAD_RATIO["overload"][0] > 1 > p.LOAD_RATIO["none"][0]
    assert p.LOG_CORNERING["hard_cornering"][0] > p.LOG_CORNERING["none"][0]


def test_depths_that_a_cause_may_have_taken_cover_its_own_spread():
    assert (np.diff(p.AMPLITUDES) > 0).all()
    assert (np.diff(p.AROUND_MM) > 0).all()
    assert (np.diff(p.FLAT_MM) > 0).all()
    z = np.log(p.AMPLITUDES[[0, -1]] / p.AMPLITUDE_MEDIAN) / p.AMPLITUDE_LOG_SD
    assert z[0] < -1.645
    assert z[1] > 1.645


def test_toe_of_driven_wheels_wears_the_center_and_either_side_alike():
    depth = p.DRIVEN_TOE_CENTER.depth
    assert depth == depth[::-1]
    assert depth[2] == -1  # its worst rib is its unit
    assert np.diff(depth[2:]) == pytest.approx(0.4)  # in even steps


def lone_wheel(odds, findings=()):
    """Causes of one wheel, not driven, whose gauge tells nothing, where none but some are possible."""
    wheels = {"LF": Wheel(np.full(5, 6.0), np.full(5, 1e12))}
    only = {name: 0.0 for name in p.ODDS if " with " not in name} | odds
    return weigh_wheels(wheels, "rear", findings=findings, odds=only).groupby("cause")["probability"].sum()


def test_diagonal_wear_is_three_times_as_likely_where_toe_is():
    # Odds 0.1 for toe and 0.04 for diagonal wear: weights of neither, toe, diagonal wear and both are
    # 1, 0.1, 0.04 and 3 x 0.1 x 0.04 = 0.012, together 1.152.
    found = lone_wheel({"toe_in front": 0.1, "diagonal_wear free both": 0.04})
    assert found["toe_in"] == pytest.approx((0.1 + 0.012) / 1.152)
    assert found["diagonal_wear"] == pytest.approx((0.04 + 0.012) / 1.152)


def test_cups_that_were_seen_make_cupping_thirty_times_as_likely():
    # Seen on 60 of 100 wheels with cupping, and on 2 without: odds of 0.05 become 1.5.
    odds = {"cupping free both": 0.05}
    assert lone_wheel(odds)["cupping"] == pytest.approx(0.05 / 1.05)
    assert lone_wheel(odds, [Finding("LF", "cups")])["cupping"] == pytest.approx(1.5 / 2.5)

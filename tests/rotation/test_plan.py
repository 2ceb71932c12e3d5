import pytest

from tirelife.errors import InputError
from tirelife.language import LANGUAGES
from tirelife.rotation import PATTERNS, Plan, Refusal, Why, after, legality, moves, parse_plan, pattern
from tirelife.rotation.worth import RULES, Standing
from tirelife.sheet.language import sentences
from tirelife.tread import Verdict

CARS = {p: p for p in ("LF", "RF", "LR", "RR")}
FIVE = {**CARS, "SP": "SP"}


def codes(verdict):
    return [note.code for note in verdict.notes]


@pytest.mark.parametrize(
    ("name", "order"),
    # facts/standards-and-trade.md section 6, permutation checks: forward and rearward cross are 4-cycles, X and
    # front-to-rear two 2-cycles, five-tire a 5-cycle.
    [
        ("forward cross", 4),
        ("rearward cross", 4),
        ("X", 2),
        ("front-to-rear", 2),
        ("side-to-side", 2),
        ("five-tire forward cross", 5),
        ("five-tire rearward cross", 5),
    ],
)
def test_order_of_each_pattern_is_the_first_power_that_is_the_identity(name, order):
    plan = PATTERNS[name]
    tires = {p: p for p in plan.positions}
    assert plan.order == order
    assert after(plan, tires, order) == tires
    assert all(after(plan, tires, k) != tires for k in range(1, order))


def test_forward_and_rearward_cross_undo_each_other():
    assert after(PATTERNS["rearward cross"], after(PATTERNS["forward cross"], CARS)) == CARS


def test_forward_cross_takes_every_tire_through_every_corner():
    seen = [after(PATTERNS["forward cross"], CARS, k) for k in range(4)]
    assert all({s[p] for s in seen} == set(CARS) for p in CARS)


def test_forward_cross_is_the_move_of_the_treadwear_grading_convoy():
    # 49 CFR 575.104 (e)(2), from memory, high: each front tire to the same side of the rear axle, each rear tire to the
    # opposite side of the front axle.
    assert dict(PATTERNS["forward cross"].goes_to) == {"LF": "LR", "RF": "RR", "LR": "RF", "RR": "LF"}


def test_rearward_cross_takes_the_driven_axle_straight_and_crosses_the_other():
    # tire-maker safety site: drive axle straight to the free-rolling axle, free-rolling axle crossed to the drive axle.
    assert dict(PATTERNS["rearward cross"].goes_to) == {"LR": "LF", "RR": "RF", "LF": "RR", "RF": "LR"}


def test_spare_enters_at_the_right_rear():
    for name in ("five-tire forward cross", "five-tire rearward cross"):
        assert dict(PATTERNS[name].goes_to)["SP"] == "RR"


@pytest.mark.parametrize("name", ["forward cross", "rearward cross", "X", "side-to-side"])
def test_directional_tires_may_not_change_sides(name):
    assert codes(legality(PATTERNS[name], directional=True)) == [Refusal.DIRECTIONAL]


def test_directional_tires_may_go_front_to_rear():
    assert legality(PATTERNS["front-to-rear"], directional=True).allowed


def test_directional_tire_through_the_spare_may_not_come_back_on_the_other_side():
    crossing = parse_plan("LF>SP,SP>RR,RR>LF")
    same_side = parse_plan("RF>SP,SP>RR,RR>RF")
    assert not legality(crossing, directional=True).allowed
    assert legality(same_side, directional=True).allowed


def test_different_sizes_stay_on_their_axle():
    sizes = {"LF": "225/45R18", "RF": "225/45R18", "LR": "255/40R18", "RR": "255/40R18"}
    verdict = legality(PATTERNS["front-to-rear"], sizes=sizes)
    assert not verdict.allowed
    assert codes(verdict) == [Refusal.SIZES]
    assert verdict.notes[0].value("sizes") == "225/45R18, 255/40R18"
    assert legality(PATTERNS["side-to-side"], sizes=sizes).allowed


def test_directional_and_different_sizes_leave_no_pattern():
    sizes = {"LF": "a", "RF": "a", "LR": "b", "RR": "b"}
    assert not any(legality(p, directional=True, sizes=sizes).allowed for p in PATTERNS.values())


def test_temporary_spare_takes_no_turn():
    verdict = legality(PATTERNS["five-tire forward cross"], temporary_spare=True)
    assert codes(verdict) == [Refusal.TEMPORARY_SPARE]
    assert legality(PATTERNS["forward cross"], temporary_spare=True).allowed


def test_spare_of_another_size_is_refused():
    sizes = {**dict.fromkeys(CARS, "205/55R16"), "SP": "125/80R15"}
    assert codes(legality(PATTERNS["five-tire forward cross"], sizes=sizes)) == [Refusal.SPARE_SIZE]


def test_a_tire_at_or_near_its_limit_is_named_and_so_is_a_place_without_one():
    verdicts = {"LF": Verdict.AT_OR_UNDER, "RR": Verdict.NEAR, "LR": Verdict.OVER}
    held = legality(PATTERNS["X"], verdicts=verdicts).notes
    assert [(n.code, n.value("position")) for n in held] == [
        (Refusal.AT_LIMIT, "LF"), (Refusal.NEAR_LIMIT, "RR"),
    ]  # fmt: skip
    assert legality(parse_plan("RF>LR,LR>RF"), verdicts=verdicts).allowed  # those two stay where they are
    missing = legality(PATTERNS["five-tire forward cross"], logged=["LF", "RF", "LR", "RR"]).notes
    assert [(n.code, n.value("position")) for n in missing] == [(Refusal.NOT_LOGGED, "SP")]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_refusal_and_reason_has_words_of_its_own_and_every_refusal_a_standing(language):
    for kind in (Refusal, Why):
        said = sentences(kind.__name__, language)
        assert set(said) == {code.value for code in kind}
        assert len(set(said.values())) == len(said)
    assert set(Refusal) - set(RULES) == {Refusal.NOT_LOGGED}  # that is no rule of the trade
    assert all(isinstance(rule.standing, Standing) for rule in RULES.values())


def test_moves_are_written_wheel_by_wheel_with_the_new_places_pressure():
    out = moves(
        PATTERNS["rearward cross"],
        {"LF": "T1", "RF": "T2", "LR": "T3", "RR": "T4"},
        {"LF": 240.0, "RF": 240.0, "LR": 220.0, "RR": 220.0},
    )
    assert out["from_position"].tolist() == ["LF", "RF", "LR", "RR"]
    assert out["to_position"].tolist() == ["RR", "LR", "LF", "RF"]
    assert out["set_to_kpa"].tolist() == [220.0, 220.0, 240.0, 240.0]
    assert out["tire_id"].tolist() == ["T1", "T2", "T3", "T4"]


def test_moves_without_a_placard_leave_the_pressure_unknown():
    assert moves(PATTERNS["five-tire forward cross"])["set_to_kpa"].isna().all()


def test_moves_as_text_are_known_by_their_trade_name():
    assert parse_plan("LF>RR, RR>LF, RF>LR, LR>RF", 7000.0) == pattern("X", 7000.0)
    assert pattern("forward_cross").name == pattern("Forward Cross").name == "forward cross"


def test_idle_spare_is_named_so():
    assert parse_plan("LF>RR, RR>LF, RF>LR, LR>RF, SP>SP").name == "X, spare stays"


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("zigzag", "no rotation pattern is called 'zigzag'"),
        ("LF>RR,RF>RR", "does not send every wheel to a place of its own"),
        ("LF>RR", "does not send every wheel to a place of its own"),
        ("LF>XX,XX>LF", "names a position that is not one of"),
        ("LF>RR>LF", "Write each as FROM>TO"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(text, part):
    with pytest.raises(InputError, match=part.replace("(", r"\(")):
        parse_plan(text)


def test_interval_must_be_a_distance():
    with pytest.raises(InputError, match="the interval must be more than 0"):
        Plan("x", PATTERNS["X"].goes_to, 0.0)

"""Rotation in lines: what is told of plans, in which order, and how the moves are said."""

from tirelife.advice import Kind
from tirelife.terminal.rotate import rotation_text


def plan(name, middle, allowed=True, **changes):
    return {
        "plan": name, "allowed": allowed, "reason": "" if allowed else "tires run one way only",
        "interval_mi": 6000.0, "life_mi_p10": middle - 5000, "life_mi_p50": middle, "life_mi_p90": middle + 5000,
        "chance_shorter": 1.0, "of_bound": 0.9, "axle_difference_32nds": 1.24, "order": 2,
    } | changes  # fmt: skip


def answer(**changes):
    chosen = plan("forward cross", 30_400)
    return {
        "vehicle_id": "V1", "drive": "front", "drive_assumed": False, "urgent": [], "near": [], "fit": {"trust": "good", "reasons": []},
        "decision": [{"words": "Rotate the tires.", "do": "rotate"}], "as_of": "2026-03-14",
        "units": {"distance": "mi", "depth": "32nds", "pressure": "psi"}, "removal_depth": 2.0,
        "set": [{"tire_id": "T1", "position": "LF", "depth_now_32nds": 6.26, "wear_32nds_per_1000mi": None}],
        "plans": [plan("side to side", 25_000, of_bound=None), chosen, plan("X", 99_000, allowed=False)],
        "first_mi": 1500.0, "asked": False, "chosen": chosen, "bound": 33_600.0, "why": [{"words": "It evens."}],
        "usual": None, "moves": [{"words": "left front goes to left rear", "tire_id": "T1", "set_to_psi": 33.04}],
        "cautions": ["Torque the nuts."], "rule": "",
    } | changes  # fmt: skip


def test_the_longest_plan_leads_and_what_is_not_allowed_is_said_below():
    said = rotation_text(answer())
    assert said.index("forward cross") < said.index("side to side") < said.index("Not allowed, X: tires run")
    assert "99,000" not in said


def test_distances_are_rounded_by_their_ranges():
    # A fifth of 10,000 miles is 2,000, and no step is wider than 1,000.
    row = next(x for x in rotation_text(answer()).splitlines() if x.startswith("forward cross"))
    assert row.split()[2:8] == ["6,000", "30,000", "25,000", "to", "35,000", "90%"]
    assert row.split()[8] == "1.2"
    assert "more than 34,000 miles" in rotation_text(answer())


def test_a_share_that_is_not_known_is_a_dash_and_a_range_of_one_value_one_value():
    same = plan("side to side", 25_000, of_bound=None, life_mi_p10=25_000, life_mi_p90=25_000)
    said = rotation_text(answer(plans=[same]))
    row = next(x for x in said.splitlines() if x.startswith("side to side"))
    assert row.split()[3:] == ["6,000", "25,000", "25,000", "-", "1.2"]


def test_a_plan_is_a_tie_only_between_never_and_surely_shorter():
    def tie(chance):
        return "not told from the longest" in rotation_text(
            answer(plans=[plan("A", 1000, chance_shorter=chance)])
        )

    assert [tie(c) for c in (0, 0.3, 1.0)] == [False, True, False]


def test_tires_that_stay_have_no_moves():
    said = rotation_text(answer(chosen=plan("none", 30_000, order=1)))
    assert "most worth: the tires stay where they are" in said
    assert "its moves" not in said
    moved = rotation_text(answer())
    assert "most worth: forward cross, every 6,000 miles" in moved
    assert "  left front goes to left rear (T1); set to 33.0 psi cold" in moved


def test_a_plan_asked_for_and_one_that_waits_say_so():
    assert "\nas asked: forward cross, every" in rotation_text(answer(asked=True))
    waits = answer(decision=[{"words": "Leave them.", "do": Kind.LEAVE}])
    assert "\nwhen rotation is due, most worth: forward cross" in rotation_text(waits)


def test_the_first_rotation_is_now_or_ahead_or_not_known():
    assert "The first rotation: in 1,500 miles, when it is due." in rotation_text(answer())
    assert "The first rotation: now." in rotation_text(answer(first_mi=0.0))
    assert "The first rotation" not in rotation_text(answer(first_mi=None))


def test_pressures_and_depths_that_are_not_known():
    move = {"words": "left front stays", "tire_id": "T1", "set_to_psi": None}
    said = rotation_text(answer(moves=[move]))
    assert "  left front stays (T1); set to its placard pressure" in said
    row = next(x for x in said.splitlines() if x.startswith("T1"))
    assert row.split() == ["T1", "left", "front", "6.3", "-"]


def test_kilometres_and_kpa():
    units = {"distance": "km", "depth": "mm", "pressure": "kpa"}
    far = {k.replace("_mi", "_km").replace("_32nds", "_mm"): v for k, v in plan("A", 40_000).items()}
    tire = {"tire_id": "T1", "position": "LF", "depth_now_mm": 5.04, "wear_mm_per_1000km": 0.126}
    move = {"words": "left front stays", "tire_id": "T1", "set_to_kpa": 230.4}
    said = rotation_text(
        answer(
            units=units, plans=[far], chosen=far, set=[tire], moves=[move], removal_depth=1.6, first_km=None
        )
    )
    assert "set to 230 kPa cold" in said
    assert "14 March 2026: km left in the set, to 1.6 mm" in said
    row = next(x for x in said.splitlines() if x.startswith("T1"))
    assert row.split()[-2:] == ["5.0", "0.13"]


def test_a_drive_that_nobody_told_is_said_to_be_assumed():
    words = "The log does not say which wheels are driven"
    assert words in rotation_text(answer(drive_assumed=True)).replace("\n", " ")
    assert words not in rotation_text(answer()).replace("\n", " ")

"""What the tread says, in lines and for a program: limits, rounding and what is left out, from answers by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.advice import Action, Decision, Kind, Reason
from tirelife.codes import Note, Severity
from tirelife.logbook import GROOVES
from tirelife.terminal.tread import CAUTIONS, tread_answer, tread_text
from tirelife.tread import CAUSE_NAMES, Seen, Step, Verdict, Weak, Why

DAY = pd.Timestamp("2026-09-30")
N32, MI = 0.79375, 1.609344
PARTS = ("level", "tilt", "crown", "dip", "around")


def row(**changes):
    """A wheel as the tread room gives it, its depths in 32nds."""
    base = {
        "position": "LF", "tire_id": "T1", "date": DAY, "least_mm": 5.0 * N32, "bias_mm": 0.5 * N32, "least_groove": "outer_mid",
        "shallowest_mm": 5.25 * N32, "shallowest_groove": "outer", "reason": "", "doubt": "", "verdict": Verdict.OVER,
        "now_at": "LF", **{f"{g}_mm": 6.0 * N32 for g in GROOVES}, "inner_mm": np.nan,
        **{f"{p}_mm": 2.0 * N32 for p in PARTS}, **{f"{p}_se_mm": 0.1 * N32 for p in PARTS}, "around_mm": np.nan, "around_se_mm": np.nan,
    }  # fmt: skip
    return base | changes


def limit(**changes):
    return SimpleNamespace(
        **{"rule": "", "depth_mm": 2 * N32, "advised_mm": np.nan, "source": "", "standing": ""} | changes
    )


def reading(*wheels, **changes):
    wheels = pd.DataFrame(list(wheels or [row()]))
    base = {
        "vehicle_id": "V1", "drive": "front", "wheels": wheels, "limits": {p: limit() for p in wheels["position"]},
        "histories": {}, "causes": pd.DataFrame(columns=["position"]), "gains": pd.DataFrame(columns=["position", "ratio"]),
        "steps": pd.DataFrame(), "decision": None, "notes": [], "gauges": pd.DataFrame(), "corrections": pd.DataFrame(),
    }  # fmt: skip
    return SimpleNamespace(**base | changes)


def book(units="us", assumed="", **tire):
    tires = pd.DataFrame([{"tire_id": "T1", "made_week": "", "codes": ""} | tire])
    vehicles = pd.DataFrame({"vehicle_id": ["V1"], "assumed": [assumed]})
    return SimpleNamespace(units=units, as_of=DAY, tires=tires, vehicles=vehicles)


def said(*wheels, of=None, **changes):
    return tread_text(tread_answer(reading(*wheels, **changes), of or book()))


def only(text, part):
    (line,) = [line for line in text.splitlines() if part in line]
    return line


def test_depths_are_corrected_and_the_raw_one_is_with_the_gauge_s_bias():
    (wheel,) = tread_answer(reading(), book())["wheels"]
    assert (wheel["read_32nds"], wheel["read_raw_32nds"], wheel["gauge_bias_32nds"]) == (5.0, 5.5, 0.5)
    assert wheel["shallowest_32nds"] == 5.25
    assert wheel["profile_32nds"] == {**dict.fromkeys(GROOVES, 6.0), "inner": None}
    metric = tread_answer(reading(), book("metric"))["wheels"][0]
    assert metric["read_mm"] == pytest.approx(5 * N32)
    assert metric["removal_depth_mm"] == pytest.approx(2 * N32)
    assert wheel["advised_depth_32nds"] is None


def test_a_profile_is_told_groove_by_groove_its_parts_with_twice_their_error():
    text = said()
    assert "outer 6.0   outer mid 6.0   center 6.0   inner mid 6.0" in text
    assert "inner 6.0" not in text
    # 1.96 errors of 0.1 are 0.2; what is not known has no line.
    assert only(text, "center less edges").split() == ["crown", "2.0", "±", "0.2", "center", "less", "edges"]
    assert "spread from spot to spot" not in text
    assert only(text, "single reading").split()[:2] == ["least", "5.0"]
    wide = said(row(tilt_se_mm=1.0 * N32))
    assert "± 2.0" in only(wide, "outer less inner")


def test_a_reading_at_its_limit_says_by_whose_rule_and_any_other_the_rule_alone():
    down = row(verdict=Verdict.AT_OR_UNDER, least_mm=1.5 * N32)
    told = limit(source="49 CFR 393.75", standing="law", rule="all tires")
    (wheel,) = tread_answer(reading(down, limits={"LF": told}), book())["wheels"]
    assert wheel["worn_out"]
    assert wheel["removal_note"].startswith(
        "Left front: 1.5 32nds in the outer_mid groove, at or under the removal depth of 2.0 32nds (49 CFR 393.75)."
    )
    assert wheel["removal_source"] == "49 CFR 393.75 (law)"
    (over,) = tread_answer(reading(limits={"LF": told}), book())["wheels"]
    assert not over["worn_out"]
    assert over["removal_note"].startswith("All tires. Limits differ")
    assert tread_answer(reading(), book())["wheels"][0]["removal_note"].startswith("No limit is known here.")
    assert over["removal_source"] != ""
    assert tread_answer(reading(), book())["wheels"][0]["removal_source"] == ""


def test_a_wheel_at_its_limit_whose_tire_is_not_known_is_to_be_inspected():
    down = row(verdict=Verdict.AT_OR_UNDER)
    assert tread_answer(reading(down), book())["pattern"] == []
    bare = tread_answer(reading(down | {"tire_id": ""}), book())["pattern"]
    assert [(one["step"], one["where"], one["why"]) for one in bare] == [("inspect now", "LF", "at-or-under")]
    assert tread_answer(reading(row(tire_id="")), book())["pattern"] == []
    assert "tire not known, read September 30, 2026" in said(row(tire_id=""))


def test_rotating_is_the_decision_s_alone_to_say():
    steps = pd.DataFrame(
        [
            {"step": Step.ANGLES, "where": "front", "note": Note(Why.ANGLES, values=(("first", "toe"),))},
            {"step": "rotate", "where": "front", "note": Note(Why.EVEN)},
        ]
    )
    pattern = tread_answer(reading(steps=steps), book())["pattern"]
    assert [(one["step"], one["why"]) for one in pattern] == [(str(Step.ANGLES), Why.ANGLES.value)]
    assert f"  {str(Step.ANGLES).capitalize()}, front: Have toe, then camber measured" in said(steps=steps)


def cause(probability, name="toe-in", side="outer"):
    evidence = [Note(Seen.NO_TURNS)]
    return {
        "position": "LF", "cause": name, "side": side, "probability": probability, "evidence": evidence,
        "next_check": Step.ANGLES.value,
    }  # fmt: skip


def test_causes_are_told_from_one_in_twenty_with_the_edge_they_wear():
    one, other = list(CAUSE_NAMES)[:2]
    causes = pd.DataFrame([cause(0.05, one), cause(0.0499, other, "")])
    text = said(causes=causes)
    assert f"     5%  {CAUSE_NAMES[one]} (outer edge): no driving was recorded. Have the angles" in text
    assert f"{CAUSE_NAMES[other]}:" not in text
    (wheel,) = tread_answer(reading(causes=causes), book())["wheels"]
    assert [c["name"] for c in wheel["causes"]] == [f"{CAUSE_NAMES[one]} (outer edge)", CAUSE_NAMES[other]]
    elsewhere = causes.assign(position="RR")
    assert tread_answer(reading(causes=elsewhere), book())["wheels"][0]["causes"] == []


def test_a_correction_is_told_where_it_buys_more_than_half_a_hundredth_for_its_wheel():
    name = next(iter(CAUSE_NAMES))
    gains = pd.DataFrame(
        [
            {"position": p, "cause": name, "ratio": ratio, "expected_ratio": 1.1, "groove_now": "outer_mid", "groove_then": "center"}
            for p, ratio in (("LF", 1.0051), ("LF", 1.005), ("RF", 2.0))
        ]
    )  # fmt: skip
    (wheel,) = tread_answer(reading(gains=gains), book())["wheels"]
    assert [one["distance_ratio"] for one in wheel["if_corrected"]] == [1.0051]
    assert "goes 1.01 times as far from here (outer mid groove first now)." in said(gains=gains)


def test_where_a_tire_is_now_is_told_if_that_is_another_place():
    assert "; now" not in said()
    assert "; now off this car" in said(row(now_at=""))
    assert "; now the spare" in said(row(now_at="SP"))
    assert "; now at the right rear" in said(row(now_at="RR"))
    assert "; now" not in said(row(now_at="RR", tire_id=""))


def test_a_pattern_is_of_the_days_that_its_tires_ran_here():
    past = SimpleNamespace(
        from_date=DAY - pd.Timedelta(days=30), to_date=DAY, tires=("T1", "T0"), weak=next(iter(Weak))
    )
    text = said(histories={"LF": past})
    assert "  Wear here from August 31, 2026 to September 30, 2026:" in text
    assert "  Its tires have worn little here so far." in text
    assert "  No tire that was read has run here yet." in said()
    past.weak = None
    (wheel,) = tread_answer(reading(histories={"LF": past}), book())["wheels"]
    assert wheel["pattern_note"] == ""
    assert wheel["pattern_tires"] == ["T1", "T0"]


def gauge(**changes):
    return {
        "gauge_id": "D1", "bias": 0.3 * N32, "repeatability": 0.1 * N32, "comparisons": 3, "off": False, "overdue": False,
        "kind": "depth", "worst": 0.0, "last_date": DAY,
    } | changes  # fmt: skip


@pytest.mark.parametrize(
    ("bias", "words"), [(0.3, "Gauge D1 reads 0.30 deep; that"), (-0.25, "Gauge D1 reads 0.25 shallow; that")]
)
def test_a_gauge_s_bias_is_told_with_its_side_and_what_it_asks_for(bias, words):
    assert words in said(gauges=pd.DataFrame([gauge(bias=bias * N32)]))
    assert "Gauge D1" not in said(gauges=pd.DataFrame([gauge(bias=0.0)]))
    assert "Gauge D1: " in said(gauges=pd.DataFrame([gauge(bias=0.0, overdue=True)]))
    (told,) = tread_answer(reading(gauges=pd.DataFrame([gauge(bias=bias * N32)])), book())["gauges"]
    assert told["bias_32nds"] == pytest.approx(bias)
    assert told["repeatability_32nds"] == pytest.approx(0.1)


def correction(position="LF", **changes):
    far = dict(zip(("p10", "p50", "p90"), (1000 * MI, 2000 * MI, 4000 * MI), strict=True))
    return {
        "change": "Toe set", "position": position, "cause": "toe", "probability": 0.6,
        **{f"km_gained_{p}": km for p, km in far.items()}, **{f"months_gained_{p}": 3.0 for p in far},
    } | changes  # fmt: skip


def test_what_a_correction_buys_is_told_by_tire_and_for_the_set_which_has_no_one_cause():
    table = pd.DataFrame([correction(), correction("set"), correction("RF", km_gained_p50=np.nan)])
    rows = tread_answer(reading(corrections=table), book())["corrections"]
    assert [(one["position"], one["probability"]) for one in rows] == [("LF", 0.6), ("set", None)]
    assert rows[0]["mi_gained_p50"] == pytest.approx(2000)
    text = said(corrections=table)
    # A range of 3,000 miles: steps of 200; no range: two figures.
    assert "  Toe set, left front: 2,000 miles (1,000 to 4,000), 3.0 months (3.0 to 3.0)" in text
    assert "  Toe set, the set: 2,000 miles" in text
    metric = said(corrections=table, of=book("metric"))
    assert " km (" in only(metric, "Toe set, left front")
    assert tread_answer(reading(), book())["corrections"] == []


def test_the_age_of_a_tire_is_told_by_its_code_or_that_it_cannot_be():
    def age(**tire):
        return tread_answer(reading(), book(**tire))["wheels"][0]["age"]

    assert age() == ""
    assert age(made_week="nan") == ""
    # Made in week 25 of 2016, more than ten years before the 30 September 2026; 2025 asks for nothing.
    assert "ten years" in age(made_week="2516").lower()
    assert age(made_week="2525") == ""
    assert age(made_week="2516", codes="made_week:week-unread") == (
        "its date code 2516 is doubtful: read it on the sidewall"
    )
    assert "9916" in age(made_week="9916")
    assert tread_answer(reading(row(tire_id="T9")), book(made_week="2516"))["wheels"][0]["age"] == ""


def test_the_head_says_the_drive_the_day_and_the_unit_in_the_reader_s_order():
    assert "V1, front drive, as of September 30, 2026; depths in 32nds, corrected" in said()
    assert "V1, front drive, as of 30 September 2026; depths in mm, corrected" in said(of=book("metric"))
    assert "V1, front drive (assumed: the log does not say), as of" in said(
        of=book(assumed="placard_front, drive")
    )
    assert "(assumed" not in said(of=book(assumed="placard_front"))


def test_cautions_close_every_answer():
    assert said().splitlines()[-len(CAUTIONS) :] == [f"  {text}" for text in CAUTIONS]
    assert tread_answer(reading(), book())["cautions"] == list(CAUTIONS)


def test_what_to_do_is_numbered_from_one_as_the_decision_has_it():
    look = Action(Kind.LOOK, Severity.NOTE, reasons=(Note(Reason.SERVICE, values=(("days", 90.0),)),))
    both = Decision("V1", DAY, (Action(Kind.INSPECT, Severity.URGENT, ("LF",)), look))
    rows = tread_answer(reading(decision=both), book())["next"]
    assert [(one["order"], one["do"]) for one in rows] == [(1, "inspect-now"), (2, "next-look")]
    text = said(decision=both)
    assert "\n  1. Have a qualified person look at the left front" in text
    assert "\n  2. Have the tread read again at the next service, within 3 months." in text
    assert tread_answer(reading(), book())["next"] == []

"""Rotate or leave: the rules in their order, each at both sides of its limit."""

import pandas as pd
import pytest

from tirelife.advice import Facts, RotationFacts, Settings, TireFacts
from tirelife.advice.record import Kind, Reason
from tirelife.advice.rotating import rotation, rotation_due, usual_way
from tirelife.codes import Note

DAY = pd.Timestamp("2026-09-30")
EVEN = {
    "since_km": 8000.0, "every_km": 8000.0, "now_km": 50_000.0, "due_km": 50_000.0, "never_km": 50_000.0,
    "now_over_due": 0.5, "due_over_never": 0.5, "now_over_never": 0.5,
}  # fmt: skip


def facts(tires=None, **turn):
    four = {place: TireFacts(6.0) for place in ("LF", "RF", "LR", "RR")} if tires is None else tires
    return Facts("V1", "front", DAY, 50.0, {}, four, rotation=RotationFacts(**{**EVEN, **turn}))


def said(known, replaced=(), angles=False):
    action = rotation(known, Settings(), set(replaced), angles)
    return action.kind, [note.code for note in action.reasons]


@pytest.mark.parametrize(
    ("since", "due"), [(6000.0, True), (5999.0, False), (float("nan"), True), (9000.0, True)]
)
def test_due_from_three_quarters_of_the_interval_on(since, due):
    known = facts(since_km=since)
    assert rotation_due(known) is due
    want = (Kind.ROTATE, [Reason.AS_USUAL]) if due else (Kind.LEAVE, [Reason.NOT_DUE])
    assert said(known) == want


def test_the_usual_way_is_from_today_where_it_is_due():
    turn = {"now_km": 1.0, "now_over_never": 0.1, "due_km": 2.0, "due_over_never": 0.2}
    assert usual_way(facts(**turn)) == (1.0, 0.1)
    assert usual_way(facts(since_km=0.0, **turn)) == (2.0, 0.2)
    assert usual_way(facts(since_km=0.0, assumed="every", **turn)) == (1.0, 0.1)


def test_nothing_known_worn_replaced_and_refused_stand_before_all_else():
    assert said(facts(tires={})) == (Kind.LEAVE, [Reason.NOT_KNOWN])
    worn = {"LF": TireFacts(1.5, at_limit=True), "RF": TireFacts(6.0), "RR": TireFacts(2.0, near_limit=True)}
    action = rotation(facts(tires=worn), Settings(), {"LF"}, False)
    assert [note.value("position") for note in action.reasons] == ["LF", "RR"]
    assert said(facts(), replaced=["LF"]) == (Kind.LEAVE, [Reason.REPLACE_FIRST])
    refused = facts(refused=Note(Reason.SIZES_DIFFER))
    assert said(refused) == (Kind.LEAVE, [Reason.SIZES_DIFFER])
    assert said(refused, replaced=["LF"]) == (Kind.LEAVE, [Reason.REPLACE_FIRST])


@pytest.mark.parametrize(
    ("never", "chance", "leaves"),
    [(52_600.0, 0.05, True), (52_400.0, 0.05, False), (52_600.0, 0.11, False), (52_600.0, 0.1, True)],
)
def test_never_has_to_beat_the_usual_by_five_percent_nine_times_in_ten(never, chance, leaves):
    known = facts(never_km=never, now_over_never=chance)
    assert said(known) == ((Kind.LEAVE, [Reason.SHORTENS]) if leaves else (Kind.ROTATE, [Reason.AS_USUAL]))


@pytest.mark.parametrize(
    ("now", "chance", "rotates"), [(52_600.0, 0.9, True), (52_400.0, 0.9, False), (52_600.0, 0.89, False)]
)
def test_so_has_rotating_before_it_is_due(now, chance, rotates):
    known = facts(since_km=0.0, now_km=now, now_over_due=chance)
    assert said(known) == ((Kind.ROTATE, [Reason.LENGTHENS]) if rotates else (Kind.LEAVE, [Reason.NOT_DUE]))


def test_angles_come_first():
    assert said(facts(), angles=True) == (Kind.ROTATE, [Reason.CORRECT_FIRST, Reason.AS_USUAL])
    assert said(facts(since_km=0.0), angles=True) == (Kind.LEAVE, [Reason.NOT_DUE])


def test_what_a_what_if_takes_for_granted():
    assert said(facts(assumed="every", since_km=0.0)) == (Kind.ROTATE, [Reason.AS_ASSUMED])
    shorter = {"never_km": 60_000.0, "now_over_never": 0.01}
    assert said(facts(assumed="none", **shorter)) == (Kind.LEAVE, [Reason.AS_ASSUMED])
    better = facts(assumed="none", now_km=60_000.0, now_over_never=0.95)
    (note,) = rotation(better, Settings(), set(), False).reasons
    assert (note.value("rotate_km"), note.value("stay_km")) == (60_000.0, 50_000.0)
    unsure = facts(assumed="none", now_km=60_000.0, now_over_never=0.5)
    (note,) = rotation(unsure, Settings(), set(), False).reasons
    assert note.value("rotate_km") == 50_000.0

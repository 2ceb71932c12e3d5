"""A decision as a record: its order, and what is asked of it."""

import math

import pandas as pd
import pytest

from tirelife.advice.record import Action, Decision, Kind, Reason, Scope, Soon, WouldChange, in_order
from tirelife.codes import Note, Severity

DAY = pd.Timestamp("2026-06-01")


def decision(*actions):
    return Decision("V1", DAY, actions)


def test_the_most_urgent_comes_first_and_equals_in_the_order_of_kinds():
    rotate, replace = Action(Kind.ROTATE, Severity.NOTE), Action(Kind.REPLACE, Severity.WARNING)
    inspect, look = Action(Kind.INSPECT, Severity.URGENT), Action(Kind.LOOK, Severity.NOTE)
    leak = Action(Kind.LEAK, Severity.WARNING)
    assert in_order([look, rotate, replace, inspect, leak]) == (inspect, leak, replace, rotate, look)
    first, second = Action(Kind.REPLACE, Severity.NOTE, ("LF",)), Action(Kind.REPLACE, Severity.NOTE, ("RR",))
    assert in_order([second, first]) == (second, first)  # as they came
    assert in_order([]) == ()


def test_it_is_as_urgent_as_its_most_urgent_action():
    assert (
        decision(Action(Kind.LOOK, Severity.NOTE), Action(Kind.LEAK, Severity.WARNING)).severity
        is Severity.WARNING
    )
    assert decision().severity is Severity.NOTE
    one = decision(Action(Kind.LEAK, Severity.WARNING), Action(Kind.LOOK, Severity.NOTE))
    assert one.headline is one.actions[0]
    assert [a.kind for a in one.of(Kind.LOOK)] == [Kind.LOOK]
    assert one.of(Kind.ROTATE) == ()
    assert math.isnan(one.first_chance)


@pytest.mark.parametrize(
    ("reasons", "may"),
    [((Reason.NOT_DUE,), True), ((Reason.AS_ASSUMED,), True), ((Reason.REPLACE_FIRST,), False), ((), False),
     ((Reason.REPLACE_FIRST, Reason.NOT_DUE), True)],
)  # fmt: skip
def test_tires_that_are_left_because_it_is_not_due_may_be_rotated(reasons, may):
    leave = Action(Kind.LEAVE, Severity.NOTE, reasons=tuple(Note(reason) for reason in reasons))
    assert decision(leave).may_rotate is may
    other = Action(Kind.LEAVE, Severity.NOTE, reasons=(Note(Reason.SIZES_DIFFER),))
    assert not decision(leave, other).may_rotate
    assert decision(Action(Kind.ROTATE, Severity.NOTE)).may_rotate


def test_a_reason_is_had_by_its_code():
    action = Action(
        Kind.REPLACE, Severity.NOTE, reasons=(Note(Reason.DUE, values=(("km", 1.0),)), Note(Reason.AGE))
    )
    assert action.has(Reason.DUE)
    assert action.has(Reason.AGE)
    assert not action.has(Reason.AT_LIMIT)


def test_its_frame_has_a_row_an_action_with_codes_of_why():
    found = decision(
        Action(
            Kind.REPLACE, Severity.URGENT, ("LF", "RF"), Soon.NOW, (Note(Reason.AT_LIMIT, values=(("depth_mm", 1.5),)), Note(Reason.MATCH_AXLE)),
            Scope.PAIR, DAY, change=(Note(WouldChange.FOUND_SOUND),),
        ),
        Action(Kind.LOOK, Severity.NOTE),
    )  # fmt: skip
    rows = found.frame()
    assert rows.iloc[0].tolist() == [
        "V1", 1, "replace", "urgent", "LF RF", "now", Scope.PAIR.value, DAY, "at-limit(depth_mm=1.5); match-axle", "found-sound",
    ]  # fmt: skip
    assert rows.iloc[1].drop("by").tolist() == ["V1", 2, "next-look", "note", "", "plan", "", "", ""]
    assert pd.isna(rows.loc[1, "by"])
    assert decision().frame().columns.tolist() == rows.columns.tolist()

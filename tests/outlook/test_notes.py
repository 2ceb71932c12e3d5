"""What limits each tire and what is said of it, from rows of which all is known."""

import numpy as np
import pandas as pd
import pytest

from tirelife.codes import Severity
from tirelife.outlook.notes import NoteCode, codes_of, limits_and_notes, plain_notes
from tirelife.tread import Verdict

TODAY = pd.Timestamp("2026-06-01")
STATE = {
    "groove": "inner", "verdict": Verdict.OVER, "position": "LF", "visits": 3, "as_of": TODAY,
    "last_date": TODAY - pd.Timedelta(days=30), "fits": True, "mean_depth_mm": 5.0, "new_depth_mm": 8.0,
    "limit_mm": 2.0, "log_wear": -9.0, "q": 0.0, "bend": 0.0, "reason": "", "odometer_km": 1e4,
    "age_end": TODAY + pd.DateOffset(years=20), "age_assumed": False, "age_years": 10.0,
}  # fmt: skip
RESULT = {
    "km_left_p50": 20_000.0, "date_p50": TODAY + pd.Timedelta(days=400), "date_p90": TODAY + pd.Timedelta(days=600),
}  # fmt: skip


def said(**changes):
    """Limit and notes of one tire, as it usually is but for what is told."""
    state = pd.DataFrame([{**STATE, **{k: v for k, v in changes.items() if k not in RESULT}}])
    result = pd.DataFrame([{**RESULT, **{k: v for k, v in changes.items() if k in RESULT}}])
    limits, notes = limits_and_notes(state, result)
    return limits[0], notes.iloc[0]


def codes(**changes):
    return codes_of(said(**changes)[1])


def test_a_sound_tire_is_limited_by_its_groove_and_nothing_is_said():
    assert said() == ("inner", ())


@pytest.mark.parametrize(
    ("changes", "code", "severity"),
    [
        ({"verdict": Verdict.AT_OR_UNDER, "km_left_p50": 0.0}, NoteCode.READ_AT_LIMIT, Severity.URGENT),
        ({"km_left_p50": 0.0}, NoteCode.AT_LIMIT, Severity.URGENT),
        ({"verdict": Verdict.NEAR}, NoteCode.READ_NEAR_LIMIT, Severity.WARNING),
        ({"fits": False}, NoteCode.DOES_NOT_FIT, Severity.WARNING),
        ({"visits": 0, "last_date": pd.NaT}, NoteCode.NEVER_READ, Severity.NOTE),
        ({"visits": 1}, NoteCode.ONE_VISIT, Severity.NOTE),
        ({"last_date": TODAY - pd.Timedelta(days=366)}, NoteCode.STALE, Severity.DOUBT),
        ({"date_p90": pd.NaT}, NoteCode.FAR_AHEAD, Severity.NOTE),
        ({"odometer_doubted": True}, NoteCode.ODOMETER_DOUBTED, Severity.DOUBT),
        ({"bend": 0.23}, NoteCode.SPEEDING, Severity.DOUBT),
        ({"bend": -0.23}, NoteCode.SLOWING, Severity.NOTE),
    ],
    ids=lambda value: value.value if isinstance(value, NoteCode) else "",
)
def test_each_finding_is_said_once_with_how_much_it_matters(changes, code, severity):
    notes = said(**changes)[1]
    assert [(note.code, note.severity, note.values) for note in notes] == [(code, severity, ())]


@pytest.mark.parametrize(
    "changes",
    [{"km_left_p50": 0.1}, {"visits": 2}, {"last_date": TODAY - pd.Timedelta(days=365)}, {"odometer_doubted": False},
     {"bend": 0.22}, {"bend": -0.22}, {"turn_on": np.nan}],
)  # fmt: skip
def test_a_shade_less_is_not_said(changes):
    assert codes(**changes) == ()


def test_a_tread_that_bends_changes_its_rate_from_new_to_the_limit():
    # A quarter more or less: (8 / 2) ** q is 1.25 at q = 0.161.
    assert codes(q=0.162) == (NoteCode.SLOWING,)
    assert codes(q=0.160) == ()
    assert codes(q=-0.162) == (NoteCode.SPEEDING,)
    assert codes(q=0.162, bend=0.1) == ()
    # Over its new depth it is as new as it is; under its limit there is nothing ahead of it.
    assert codes(q=0.162, new_depth_mm=4.0) == codes(q=0.162, new_depth_mm=np.nan) == ()
    assert codes(q=0.25, new_depth_mm=4.0) == (NoteCode.SLOWING,)  # (5 / 2) ** 0.25 = 1.257
    assert codes(q=0.25, limit_mm=np.nan) == ()


def test_of_several_the_most_urgent_comes_first():
    both = codes(bend=0.3, visits=1, verdict=Verdict.NEAR, km_left_p50=0.0)
    assert both == (NoteCode.AT_LIMIT, NoteCode.READ_NEAR_LIMIT, NoteCode.SPEEDING, NoteCode.ONE_VISIT)


@pytest.mark.parametrize(
    ("end", "assumed", "date", "aged"),
    [
        (400, False, 400, True), (401, False, 400, False), (399, True, 400, True), (None, False, 400, False),
        (400, False, None, True), (400, True, None, False), (None, False, None, False),
    ],
)  # fmt: skip
def test_age_ends_a_tire_that_its_tread_would_not(end, assumed, date, aged):
    def day(days):
        return pd.NaT if days is None else TODAY + pd.Timedelta(days=days)

    limit, notes = said(age_end=day(end), age_assumed=assumed, date_p50=day(date))
    assert (limit == "age") is aged
    if aged:
        note = next(note for note in notes if note.code is NoteCode.AGE_FIRST)
        assert note.severity is Severity.WARNING
        assert dict(note.values) == {"years": 10.0, "by_date": day(end), "assumed": assumed}


def test_a_spare_that_lies_is_limited_by_age():
    nothing = {"km_left_p50": np.nan, "date_p50": pd.NaT, "date_p90": pd.NaT, "age_end": pd.NaT}
    assert said(position="SP", **nothing)[0] == "age"
    assert codes(position="SP", **nothing) == (NoteCode.SPARE,)
    assert codes(position="SP") == ()  # one that takes its turn


NOTHING = {"km_left_p50": np.nan, "date_p50": pd.NaT, "date_p90": pd.NaT, "age_assumed": True}


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({}, NoteCode.NO_WEAR),
        ({"mean_depth_mm": np.nan}, NoteCode.NO_BASIS),
        ({"log_wear": np.nan}, NoteCode.NO_BASIS),
        ({"limit_mm": np.nan}, NoteCode.NO_BASIS),
        ({"odometer_km": np.nan}, NoteCode.NO_ODOMETER),
        ({"odometer_km": np.nan, "mean_depth_mm": np.nan, "reason": "fit-x"}, NoteCode.NO_ODOMETER),
        ({"mean_depth_mm": np.nan, "reason": "fit-x"}, NoteCode.FIT_SAYS),
        ({"reason": "fit-x"}, NoteCode.NO_WEAR),
    ],
)
def test_of_a_tire_of_which_nothing_is_known_one_reason_is_given(changes, code):
    limit, notes = said(**NOTHING, **changes)
    assert limit == ""
    assert codes_of(notes) == (code,)
    assert dict(notes[0].values) == ({"reason": "fit-x"} if code is NoteCode.FIT_SAYS else {})


def test_a_tire_of_which_nothing_is_known_is_not_called_unread_or_stale():
    assert codes(**NOTHING, visits=0, last_date=pd.NaT, odometer_doubted=True) == (NoteCode.NO_WEAR,)
    assert codes(**NOTHING, visits=1, last_date=TODAY - pd.Timedelta(days=900)) == (NoteCode.NO_WEAR,)


@pytest.mark.parametrize(("on", "code"), [(1.0, NoteCode.COMES_OFF), (0.0, NoteCode.IN_STORE)])
def test_a_set_in_turn_says_when_it_is_changed_next(on, code):
    (note,) = said(turn_on=on, turn_first=40.0)[1]
    assert note.code is code
    assert dict(note.values) == {"on_date": TODAY + pd.Timedelta(days=40)}


def test_many_rows_keep_their_own_notes_and_their_order():
    one, two, three = {**STATE}, {**STATE, "visits": 1}, {**STATE, "age_end": TODAY}
    state = pd.DataFrame([two, three, one, two])
    limits, notes = limits_and_notes(state, pd.DataFrame([RESULT] * 4))
    assert limits.tolist() == ["inner", "age", "inner", "inner"]
    assert [codes_of(n) for n in notes] == [("one-visit",), ("age-first",), (), ("one-visit",)]
    assert notes.iloc[0] is notes.iloc[3]
    plain = plain_notes(pd.DataFrame({"tire_id": list("abcd"), "notes": notes}))
    assert plain.columns.tolist() == ["tire_id", "codes"]
    assert plain["codes"].tolist() == ["one-visit", "age-first", "", "one-visit"]
    both = plain_notes(pd.DataFrame({"notes": [said(visits=1, bend=0.3)[1]]}, index=[7]))
    assert both["codes"].to_dict() == {7: "wear-speeds-up; one-visit"}

"""Which tires go, how many together and by when: each rule at both sides of its limit."""

import pandas as pd
import pytest

from tirelife.advice import Facts, Settings, TireFacts
from tirelife.advice.record import Kind, Reason, Scope, Soon
from tirelife.advice.replacing import replacement
from tirelife.codes import Severity

DAY = pd.Timestamp("2026-09-30")
LOOK = 8046.72  # 5,000 miles; at 100 km a day they come before half a year
FAR = {"km_p10": 30_000.0, "km_p50": 40_000.0, "km_p90": 60_000.0, "depth_mm": 7.0, "new_depth_mm": 8.0}


def tire(**changes):
    return TireFacts(**{"read_mm": 7.0, **FAR, **changes})


def facts(drive="front", km_per_day=100.0, window=None, first=None, **tires):
    four = {place: tires.get(place, tire()) for place in ("LF", "RF", "LR", "RR")}
    return Facts("V1", drive, DAY, km_per_day, dict.fromkeys(four, 1.6), four, first or {}, window=window)


def one(known):
    (action,) = replacement(known, Settings())
    return action


def codes(action):
    return [note.code for note in action.reasons]


def test_deep_tires_stay():
    assert replacement(facts(), Settings()) == []


def test_at_its_limit_now_and_alone():
    action = one(facts(LF=tire(at_limit=True, read_mm=1.5)))
    assert (action.kind, action.severity, action.soon, action.scope) == (
        Kind.REPLACE, Severity.URGENT, Soon.NOW, Scope.ONE,
    )  # fmt: skip
    assert action.positions == ("LF",)
    assert action.by == DAY
    assert codes(action) == [Reason.AT_LIMIT]


@pytest.mark.parametrize(
    ("changes", "soon"),
    [
        ({"km_p50": 0.0, "km_p10": 0.0}, Soon.NOW),
        ({"km_p50": LOOK - 1, "km_p10": 100.0}, Soon.BEFORE_NEXT_LOOK),
        ({"km_p50": LOOK + 1, "km_p10": LOOK - 1}, Soon.PLAN),
        ({"km_p50": LOOK + 2, "km_p10": LOOK + 1}, None),
        ({"near_limit": True, "km_p10": LOOK - 1}, Soon.BEFORE_NEXT_LOOK),
        ({"near_limit": True, "km_p10": LOOK + 1}, Soon.PLAN),
        ({"near_limit": True, "km_p10": float("nan"), "km_p50": float("nan")}, Soon.BEFORE_NEXT_LOOK),
        ({"by_age": True, "date_p50": DAY + pd.Timedelta(days=183)}, Soon.PLAN),
        ({"by_age": True, "date_p50": DAY + pd.Timedelta(days=184)}, None),
        ({"by_age": False, "date_p50": DAY}, None),
    ],
)
def test_by_when(changes, soon):
    found = replacement(facts(LF=tire(**changes)), Settings())
    assert [action.soon for action in found] == ([] if soon is None else [soon])


def test_the_look_comes_after_half_a_year_where_that_is_sooner():
    slow = tire(km_p50=5000.0, km_p10=4000.0)  # 183 days at 20 km are 3,660 km
    assert replacement(facts(km_per_day=20.0, LF=slow), Settings()) == []
    assert one(facts(km_per_day=float("nan"), LF=slow)).soon is Soon.BEFORE_NEXT_LOOK


@pytest.mark.parametrize(("depth", "goes"), [(8 - 2.3, False), (8 - 2.5, True)])
def test_the_other_of_its_axle_goes_where_it_would_differ_by_more_than_3_32(depth, goes):
    # 3/32 in is 2.38 mm; it is new depth less today's.
    action = one(facts(LF=tire(at_limit=True), RF=tire(depth_mm=depth)))
    assert action.positions == (("LF", "RF") if goes else ("LF",))
    assert (Reason.MATCH_AXLE in codes(action)) is goes
    assert (Reason.DEEPER_TO_REAR in codes(action)) is goes
    assert action.scope is (Scope.PAIR if goes else Scope.ONE)


def test_what_is_read_stands_in_where_nothing_is_estimated():
    action = one(facts(LF=tire(at_limit=True), RF=tire(depth_mm=float("nan"), read_mm=4.0)))
    assert action.positions == ("LF", "RF")


@pytest.mark.parametrize(("drive", "scope"), [("all", Scope.SET), ("front", Scope.ONE)])
def test_all_four_of_an_all_wheel_drive_that_would_differ(drive, scope):
    action = one(facts(drive, LF=tire(at_limit=True), RR=tire(depth_mm=5.0)))
    assert action.scope is scope
    assert (Reason.MATCH_DRIVE in codes(action)) is (drive == "all")


@pytest.mark.parametrize(("km", "scope"), [(2 * LOOK - 1, Scope.SET), (2 * LOOK + 1, Scope.ONE)])
def test_all_go_where_each_is_due_within_one_more_service(km, scope):
    rest = tire(km_p50=km, km_p10=LOOK + 1)
    action = one(facts(LF=tire(at_limit=True), RF=rest, LR=rest, RR=rest))
    assert action.scope is scope
    assert (Reason.ALL_DUE in codes(action)) is (scope is Scope.SET)


def test_by_the_tires_own_window_or_the_sets_where_it_is_likeliest_first():
    low, high = DAY + pd.Timedelta(days=20), DAY + pd.Timedelta(days=90)
    due = tire(km_p50=5000.0, km_p10=1000.0, date_p10=low, date_p90=high)
    action = one(facts(LF=due))
    assert (action.window, action.by) == ((low, high), low)
    window = (DAY + pd.Timedelta(days=10), DAY + pd.Timedelta(days=80))
    assert one(facts(window=window, first={"LF": 0.6, "RR": 0.4}, LF=due)).window == window
    assert one(facts(window=window, first={"LF": 0.4, "RR": 0.6}, LF=due)).window == (low, high)
    past = tire(km_p50=5000.0, km_p10=1000.0, date_p10=DAY - pd.Timedelta(days=5), date_p90=high)
    assert one(facts(LF=past)).by == DAY


def test_the_soonest_of_several_says_how_urgent():
    action = one(facts(LF=tire(at_limit=True), RR=tire(km_p50=LOOK + 1, km_p10=LOOK - 1)))
    assert action.soon is Soon.NOW
    assert action.positions == ("LF", "RR")
    assert codes(action) == [Reason.AT_LIMIT, Reason.DUE_IN_WINDOW]

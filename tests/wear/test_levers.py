"""One lever a habit: over random profiles, and the same in the command, the page and Python."""

from dataclasses import asdict, replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tirelife.driving import combine, gentler, profile_from_answers, slower
from tirelife.driving.changes import LEVERS, marked_by_events
from tirelife.driving.profile import MOMENTS, DrivingProfile
from tirelife.wear import CAUSES, Change, Factors, Vehicle, causes_at_wheel, ratio_of, severity, walk_in

FRONT = np.array([True, True, False, False])


@st.composite
def profiles(draw):
    parts = np.array(draw(st.lists(st.floats(0.01, 1), min_size=5, max_size=5)))
    events = [draw(st.floats(0, most)) for most in (15, 25, 40)]
    return profile_from_answers(parts / parts.sum(), *events, distance_km=draw(st.floats(1, 20_000)))


@st.composite
def vehicles(draw):
    return Vehicle(
        draw(st.sampled_from(["front", "rear", "all"])),
        draw(st.floats(1000, 2600)),
        draw(st.floats(0.48, 0.65)),
        draw(st.floats(0.5, 1.2)),
        draw(st.floats(0.006, 0.013)),
        draw(st.floats(0.6, 0.8)),
    )


@st.composite
def learned(draw):
    return Factors(tuple(draw(st.floats(-1.5, 1.5)) for _ in CAUSES))


def wear(profile, vehicle, factors, **more):
    return severity(profile, vehicle, factors=factors, **more)["severity"].to_numpy()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(profiles(), vehicles(), learned(), st.floats(1.01, 1.6))
def test_a_harder_habit_never_lowers_the_wear_of_any_wheel(profile, vehicle, factors, f):
    now = wear(profile, vehicle, factors)
    enough = now * (1 - 1e-12)
    for lever in ("starts", "stops", "turns"):
        assert (wear(gentler(profile, **{lever: f}), vehicle, factors) >= enough).all(), lever
    for event in ("hard_starts", "hard_stops", "hard_turns"):
        rate = f"{event}_per_100km"
        events = {n: getattr(profile, f"{n}_per_100km") for n in ("hard_starts", "hard_stops", "hard_turns")}
        events[event] += 5 * f
        more = profile_from_answers(profile.shares, *events.values())
        assert (wear(more, vehicle, factors) >= enough).all(), rate
    for cap in (20.0, 26.0, 30.0):
        assert (wear(slower(profile, cap_mps=cap), vehicle, factors) <= now * (1 + 1e-12)).all(), cap
    assert (wear(replace(profile, slow_turn=profile.slow_turn * f), vehicle, factors) >= enough).all()
    assert (wear(profile, vehicle, factors, pressure=f) >= enough).all()
    assert (wear(profile, vehicle, factors, front_toe_mm=f, rear_toe_mm=f) >= enough).all()


@settings(max_examples=40, deadline=None, derandomize=True)
@given(profiles(), profiles(), vehicles(), learned())
def test_shares_sum_to_one_and_splitting_a_habit_changes_nothing(one, two, vehicle, factors):
    table = severity(one, vehicle, factors=factors)
    shares = table[list(CAUSES)].div(table["severity"], axis=0)
    assert shares.sum(axis=1).to_numpy() == pytest.approx(1.0, abs=1e-12)
    assert (shares >= 0).all().all()
    assert sum(one.shares) == pytest.approx(1.0, abs=1e-12)
    half = replace(one, distance_km=one.distance_km / 2)
    again = combine([half, half])
    assert [getattr(again, m) for m in MOMENTS] == pytest.approx(
        [getattr(one, m) for m in MOMENTS], rel=1e-12
    )
    assert wear(again, vehicle, factors) == pytest.approx(wear(one, vehicle, factors), rel=1e-12)
    # Wear of both, weighted by distance, is that of both combined.
    km = np.array([one.distance_km, two.distance_km])
    apart = km @ np.array([wear(p, vehicle, factors) for p in (one, two)]) / km.sum()
    assert wear(combine([one, two]), vehicle, factors) == pytest.approx(apart, rel=1e-9)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(profiles(), vehicles(), st.sampled_from(["starts", "stops", "turns"]), st.floats(0.3, 1.0))
def test_fewer_hard_events_and_gentler_ones_are_one_lever(profile, vehicle, lever, left):
    # A count put at a share of what it was is the factor on accelerations that saves as much; none is less hard than
    # fewer, and a factor beyond that is gentler still: one curve.
    rate, (moment, power) = f"hard_{lever}_per_100km", LEVERS[lever]
    count = getattr(profile, rate)
    mark = float(marked_by_events(profile)[rate])
    f = (1 - (1 - left) * count * mark / getattr(profile, moment)) ** (1 / power)
    eased = gentler(profile, **{lever: f})
    assert getattr(eased, rate) == pytest.approx(left * count, rel=1e-6, abs=1e-9)
    rates = ("hard_starts_per_100km", "hard_stops_per_100km", "hard_turns_per_100km")
    told = profile_from_answers(
        profile.shares, *(count * left if r == rate else getattr(profile, r) for r in rates)
    )
    assert wear(eased, vehicle, Factors()) == pytest.approx(wear(told, vehicle, Factors()), rel=1e-9)
    curve = [
        wear(gentler(profile, **{lever: g}), vehicle, Factors()).sum()
        for g in (1.1, 1.0, f, f * 0.9, f * 0.5)
    ]
    assert (np.diff(curve) <= 1e-12).all()
    now = walk_in(profile, vehicle)
    ratios = [ratio_of(now, now.after(Change("", **{lever: g})))["ratio"].to_numpy() for g in (0.9, 0.8, 0.6)]
    assert (np.diff(ratios, axis=0) <= 1e-12).all()


def test_a_frame_of_profiles_is_eased_as_each_of_them():
    from tirelife.driving import profile_from_row, profiles_to_frame

    held = [
        profile_from_answers((0.1, 0.2, 0.3, 0.2, 0.2), 4, 5, 6),
        replace(profile_from_answers((0.5, 0.2, 0.1, 0.1, 0.1), 1, 2, 30), thresholds=None),
    ]
    frame = gentler(profiles_to_frame(held), starts=0.9, turns=0.8)
    for row, profile in zip(frame.to_dict("records"), held, strict=True):
        want = asdict(gentler(profile, starts=0.9, turns=0.8))
        got = asdict(profile_from_row(row))
        for name in MOMENTS:
            assert got[name] == pytest.approx(want[name])
        assert got["hard_turns_per_100km"] == pytest.approx(want["hard_turns_per_100km"])
    assert isinstance(held[0], DrivingProfile)


def test_more_hard_starts_never_spare_the_rear():
    # Before: speed gained was speed lost, and what was lost was taken off the rear axle's braking.
    few, many = (profile_from_answers((0.11, 0.19, 0.26, 0.26, 0.18), n, 1.8, 5) for n in (0, 20))
    for drive in ("front", "rear", "all"):
        car = asdict(Vehicle.of_drive(drive))
        a, b = (pd.DataFrame(causes_at_wheel(asdict(p), car, FRONT)).sum(axis=1) for p in (few, many))
        assert (b >= a).all()
        assert (b > a).any()


def test_a_record_of_habits_written_as_two_halves_changes_nothing():
    from pathlib import Path

    from tirelife.logbook import read_logbook
    from tirelife.wear import stretch_severity, usual_moments

    book = read_logbook(Path(__file__).parents[2] / "data_synthetic" / "logbook")
    habits = book.tables["habits"]
    middle = habits["from_date"] + (habits["to_date"] - habits["from_date"]) // 2
    middle = middle.dt.normalize()
    halves = pd.concat(
        [habits.assign(to_date=middle), habits.assign(from_date=middle + pd.Timedelta(days=1))]
    ).sort_values(["vehicle_id", "from_date"], ignore_index=True)
    split = replace(book, tables={**book.tables, "habits": halves})
    assert usual_moments(split) == pytest.approx(usual_moments(book), rel=1e-9)
    factors = Factors(belief=0.6, usual=usual_moments(book))

    def run(one):
        parts = stretch_severity(one, factors)
        km = (parts["to_km"] - parts["from_km"]).to_numpy()
        return (parts["severity"] * km).groupby(parts["tire_id"]).sum()

    assert run(split).to_numpy() == pytest.approx(run(book).to_numpy(), rel=1e-9)

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.wear.books import DEPTHS, MOUNTS, TIRES, VEHICLES, make_book
from tests.wear.test_reference import ALIGNMENT, HABITS, PRESSURES, ROTATED
from tirelife.driving import default_profile, profile_from_answers
from tirelife.errors import InputError
from tirelife.inflation import pressure_wear
from tirelife.logbook import read_logbook
from tirelife.units import convert
from tirelife.wear import (
    ASSUMED,
    CAUSES,
    RECORDS,
    Change,
    Vehicle,
    causes,
    change_ratio,
    change_ratios,
    conditions_ahead,
    ratio_of,
    stretch_severity,
    walk_in,
)


def book_of(tmp_path):
    return make_book(tmp_path, mounts=ROTATED, habits=HABITS, pressures=PRESSURES, alignment=ALIGNMENT)


def test_no_change_is_exactly_one_and_sure(tmp_path):
    got = change_ratio(book_of(tmp_path), "A", Change("as now"))
    assert got["ratio"].tolist() == [1.0] * 4
    assert got["log_sd"].tolist() == [0.0] * 4
    assert got["position"].tolist() == ["LF", "RF", "LR", "RR"]


def test_conditions_ahead_are_the_latest(tmp_path):
    now = conditions_ahead(book_of(tmp_path), "A")
    assert now.profile.share_under_25mph == pytest.approx(0.6)
    assert now.front_toe_mm == pytest.approx(1.0)
    assert now.rear_toe_mm == 0.0
    # Left front was read low in May by the tire that has since gone to the left rear.
    assert now.pressure[0] > 1
    assert now.pressure[2] > 1
    assert now.pressure[1] == now.pressure[3] == 1


def test_gentler_driving_spares_the_cause_it_names(tmp_path):
    book = book_of(tmp_path)
    before = conditions_ahead(book, "A").severity()
    got = change_ratio(book, "A", Change("brake at half the g", stops=0.5)).set_index("position")
    # Only the a² of braking halves. Drag and rolling resistance brake as much as before, and brake force is
    # what is left to do: so more than half of the stops' wear goes, and not all of it.
    factor = 1 + before["pressure"] / (before["severity"] - before["pressure"])
    saved = (1 - got["ratio"]) * before["severity"] / factor
    assert ((saved > 0.5 * before["stops"]) & (saved < 0.8 * before["stops"])).all()
    turned = change_ratio(book, "A", Change("turn at 0.8 of the g", turns=0.8)).set_index("position")
    lost = (1 - turned["ratio"]) * before["severity"]
    assert lost.to_numpy() == pytest.approx((before["corners"] * 0.36 * factor).to_numpy())


def test_pressure_kept_and_alignment_set(tmp_path):
    book = book_of(tmp_path)
    before = conditions_ahead(book, "A").severity()
    kept = change_ratio(book, "A", Change("keep the pressure", pressure_kept=True)).set_index("position")
    expected = 1 - before["pressure"] / before["severity"]
    assert kept["ratio"].to_numpy() == pytest.approx(expected.to_numpy())
    assert (kept["log_sd"] > 0).tolist() == [True, False, True, False]
    toe = change_ratio(book, "A", Change("set toe", front_toe_mm=0.0)).set_index("position")
    assert toe.loc["LF", "ratio"] < 1
    assert toe.loc["LR", "ratio"] == 1.0


EVERYTHING = Change("all", by_mps=2.2, starts=0.8, stops=0.7, turns=0.9, pressure_kept=True, front_toe_mm=0.5)


@pytest.mark.parametrize(
    "change",
    [
        Change("capped", cap_mps=26.8),
        Change("harder", stops=1.2),
        Change("toe", front_toe_mm=0.0),
        EVERYTHING,
    ],
    ids=lambda change: change.name,
)
@pytest.mark.parametrize("small", [0, 5000])
def test_a_whole_fleet_at_once_as_vehicle_by_vehicle(change, small, monkeypatch):
    monkeypatch.setattr("tirelife.wear.ahead.SMALL", small)  # with the logbook cut, and whole
    book = read_logbook(Path(__file__).parents[2] / "data_synthetic" / "logbook")
    habits = book.tables["habits"]
    # Some vehicles of which nothing is known, so that what is taken instead is compared too.
    known = ~habits["vehicle_id"].isin(["V03", "V07"])
    book = replace(book, tables={**book.tables, "habits": habits[known]})
    got = change_ratios(book, change).set_index("vehicle_id")
    assert list(got.index.unique()) == book.vehicles["vehicle_id"].tolist()
    assert got["ratio"].nunique() > 4
    for vehicle in got.index.unique()[::3]:
        alone = change_ratio(book, vehicle, change)
        both = got.loc[vehicle].reset_index(drop=True)
        pd.testing.assert_frame_equal(both, alone, rtol=1e-12, atol=1e-15, check_dtype=False)
    some = change_ratios(book, change, ["V07", "V01"])
    pd.testing.assert_frame_equal(
        some.set_index("vehicle_id"), got.loc[["V01", "V07"]], rtol=1e-12, atol=1e-15
    )


def test_a_car_not_seen_for_a_year_goes_on_with_the_pressures_it_had(tmp_path):
    # The log goes on over a year after its last visit, with another car; what it ran low by is not forgotten.
    low = "date,odometer_mi,vehicle_id,position,pressure_psi,state\n" + "".join(
        f"{day},{miles},A,{place},25,cold\n"
        for day, miles in (("2024-01-01", 0), ("2025-01-01", 10000))
        for place in ("LF", "RF")
    )
    alone = make_book(tmp_path, pressures=low)
    longer = make_book(
        tmp_path,
        vehicles=VEHICLES + "B,front,35,30\n",
        tires=TIRES + "U1,Plain,10\n",
        mounts=MOUNTS + "2025-02-01,0,B,U1,LF\n",
        depths=DEPTHS + "2026-06-01,9000,B,LF,center,8\n",
        pressures=low,
    )
    assert longer.as_of > alone.as_of + pd.Timedelta(days=500)
    before, after = (conditions_ahead(book, "A").pressure for book in (alone, longer))
    assert before[0] == pytest.approx(pressure_wear(convert(25.0, "psi", "kpa"), convert(35.0, "psi", "kpa")))
    assert after.tolist() == before.tolist()
    assert conditions_ahead(longer, "B").pressure.tolist() == [1.0] * 4


def test_published_worth_of_pressure_for_a_walk_in():
    # FMVSS 138 FRIA: 1.78 % of life per psi, so 5 psi low costs 8.9 % of the life at 35 psi.
    low = float(pressure_wear(convert(30.0, "psi", "kpa"), convert(35.0, "psi", "kpa")))
    now = walk_in(default_profile(), Vehicle(), pressure=low)
    got = ratio_of(now, now.after(Change("keep the pressure", pressure_kept=True)))
    assert got["ratio"].to_numpy() == pytest.approx(1 - 5 * 0.32 / 18)


def test_walk_in_from_plain_answers():
    profile = profile_from_answers((0.1, 0.2, 0.2, 0.2, 0.3), 2, 4, 5)
    now = walk_in(profile, Vehicle())
    slow = ratio_of(now, now.after(Change("65 at most", cap_mps=65 * 0.44704)))
    assert (slow["ratio"] < 1).all()
    # Air drag is borne by the driven wheels.
    assert (1 - slow["ratio"][:2]).min() > 5 * (1 - slow["ratio"][2:]).max()
    assert (slow.loc[:1, "log_sd"] > 0).all()
    with pytest.raises(InputError, match="pressure factors"):
        walk_in(profile, Vehicle(), pressure=[1, 1, -1, 1])


def test_more_change_more_effect_and_more_doubt():
    now = walk_in(default_profile(), Vehicle())
    steps = [
        ratio_of(now, now.after(Change("", stops=f, starts=f, turns=f))).iloc[0] for f in (0.9, 0.7, 0.5)
    ]
    assert steps[0]["ratio"] > steps[1]["ratio"] > steps[2]["ratio"]
    assert steps[0]["log_sd"] < steps[1]["log_sd"] < steps[2]["log_sd"]


def test_log_sd_agrees_with_simulation():
    # First order against 20,000 draws, each cause wrong by its own lognormal factor, each habit by its record.
    from tirelife.wear import CAUSE_LOG_SD, RECORDS

    now = walk_in(default_profile(), Vehicle())
    changed = now.after(Change("", stops=0.7, starts=0.7, turns=0.8))
    got = ratio_of(now, changed).iloc[0]
    rng = np.random.default_rng(7)
    factor = np.exp(rng.normal(size=(20_000, len(CAUSES))) * [CAUSE_LOG_SD[c] for c in CAUSES])
    habit = np.array([cause.driver and cause.energy is not None for cause in RECORDS])
    own = np.exp(rng.normal(size=factor.shape) * default_profile().log_sd / np.sqrt(2) * habit)
    assert (
        ratio_of(replace(now, profile=replace(now.profile, log_sd=0.0)), changed).iloc[0]["log_sd"]
        < got["log_sd"]
    )
    factor *= own
    a, b = (factor @ c.severity().loc["LF", list(CAUSES)].to_numpy(float) for c in (now, changed))
    assert np.std(np.log(b / a)) == pytest.approx(got["log_sd"], rel=0.15)


def test_causes_of_each_tire_sum_to_the_whole(tmp_path):
    book = book_of(tmp_path)
    got = causes(book, "A")
    assert got.groupby("tire_id")["share"].sum().to_numpy() == pytest.approx(1.0)
    assert ((got["share_low"] <= got["share"]) & (got["share"] <= got["share_high"])).all()
    assert ((got["share_low"] >= 0) & (got["share_high"] <= 1)).all()
    assert got["position"].unique().tolist() == ["LF", "RF", "LR", "RR"]
    parts = stretch_severity(book)
    own = parts[parts["tire_id"] == "T1"]
    expected = ((own["to_km"] - own["from_km"]) * own["stops"]).sum()
    row = got[(got["tire_id"] == "T1") & (got["cause"] == "stops")].iloc[0]
    assert row["reference_km"] == pytest.approx(expected)


def test_share_range_agrees_with_simulation(tmp_path):
    from tirelife.wear import CAUSE_LOG_SD

    got = causes(book_of(tmp_path), "A")
    own = got[got["tire_id"] == "T1"]
    rng = np.random.default_rng(11)
    factor = np.exp(rng.normal(size=(20_000, len(CAUSES))) * [CAUSE_LOG_SD[c] for c in CAUSES])
    part = factor * own["share"].to_numpy()
    share = part / part.sum(axis=1, keepdims=True)
    assert own["share_low"].to_numpy() == pytest.approx(np.quantile(share, 0.1, axis=0), abs=0.02)
    assert own["share_high"].to_numpy() == pytest.approx(np.quantile(share, 0.9, axis=0), abs=0.02)


def test_unknown_vehicle(tmp_path):
    with pytest.raises(InputError, match="vehicle 'Z' is not in the vehicles table"):
        change_ratio(book_of(tmp_path), "Z", Change("as now"))
    with pytest.raises(InputError, match="vehicle 'Z' is not in the vehicles table"):
        causes(book_of(tmp_path), "Z")


def test_a_change_of_a_habit_carries_half_of_what_is_not_known_of_the_profile():
    added = np.diag(ASSUMED.of_change(0.4) - ASSUMED.covariance)
    habits = np.array([cause.driver and cause.energy is not None for cause in RECORDS])
    assert added == pytest.approx(np.where(habits, 0.4**2 / 2, 0.0))
    assert habits.any()
    assert not habits.all()

import numpy as np
import pandas as pd
import pytest

from tests.rates.made import frames
from tirelife.errors import InputError
from tirelife.rates import PUBLISHED, Belief, fit_logbook, fit_rates


def row(table, name, key="term"):
    return table.set_index(key).loc[name]


@pytest.fixture(scope="module")
def fleet():
    made = frames(vehicles=120, visits=8, groups=(0.0, 0.3), scatter=60.0, seed=2)
    return made, fit_rates(*made)


def test_the_fleet_comes_back(fleet):
    _, fit = fleet
    assert row(fit.checks, "converged", "check")["passed"]
    estimates = fit.estimates.set_index("term")
    ratio = estimates.loc["line Line B", "estimate"] / estimates.loc["line Line A", "estimate"]
    assert np.log(ratio) == pytest.approx(0.2, abs=0.12)  # vehicles carry one line each: sd 0.04
    ratio = estimates.loc["group G1", "estimate"] / estimates.loc["group G0", "estimate"]
    assert np.log(ratio) == pytest.approx(0.3, abs=0.12)
    axle = estimates.loc["front over rear, front drive"]
    assert axle["lower"] < np.exp(0.3) < axle["upper"]
    assert np.log(axle["estimate"]) == pytest.approx(0.3, abs=0.03)
    assert abs(estimates.loc["q", "estimate"]) < 3 * estimates.loc["q", "std_error"]


@pytest.mark.parametrize(
    ("term", "truth", "within"),
    [
        ("reading", 0.12, 0.01),
        ("visit", 0.12, 0.015),
        ("vehicle", 0.2, 0.04),
        ("tire", 0.08, 0.015),
        ("new-depth", 0.08, 0.02),
    ],
)
def test_spreads_come_back(fleet, term, truth, within):
    found = row(fleet[1].components, term)
    assert found["estimate"] == pytest.approx(truth, abs=within)
    assert found["lower"] < found["estimate"] < found["upper"]


def test_a_doubt_whose_a_reading_is_leaves_the_gauges_error_as_it_is():
    visits, tires, vehicles = frames(vehicles=40, visits=6, seed=2)
    doubted = visits.assign(
        whose_mm2=np.where(np.arange(len(visits)) % 2, 0.2, 0.0)
    )  # too much: all are right
    sure, open_ = (fit_rates(one, tires, vehicles) for one in (visits, doubted))
    truth = 0.12
    for name, most in (("reading", 1.15), ("scatter", 1.5)):
        said, held = (row(fit.components, name)["estimate"] for fit in (open_, sure))
        assert held / most < said < held * most
    assert row(sure.components, "reading")["estimate"] == pytest.approx(truth, abs=0.015)
    rate = [fit.tires["log_wear_sd"].mean() for fit in (sure, open_)]
    assert rate[1] > rate[0]


def test_wander_comes_back(fleet):
    # truth: a scatter of 60 km, sqrt(60 / 10,000) = 0.077 over 10,000 km, and no drift of the rate
    scatter, drift = (row(fleet[1].components, name)["estimate"] for name in ("scatter", "wander"))
    assert np.hypot(scatter, drift / np.sqrt(3)) == pytest.approx(0.077, abs=0.02)


def test_changed_habits_are_seen_as_such_and_not_as_visits_that_lean():
    visits, tires, vehicles = frames(vehicles=60, visits=9, seed=15, rotate=None)
    rng = np.random.default_rng(15)
    change = pd.Series(rng.normal(0, 0.35, 60), index=vehicles["vehicle_id"])
    late = visits["date"] > sorted(visits["date"].unique())[4]
    worn = visits.groupby("tire_id")["reference_km"].transform(lambda km: km.iloc[4])
    more = 5e-5 * (visits["reference_km"] - worn) * np.expm1(visits["vehicle_id"].map(change))
    changed = visits.assign(depth_mm=visits["depth_mm"] - more.where(late, 0.0))
    steady, fit = fit_rates(visits, tires, vehicles), fit_rates(changed, tires, vehicles)
    name = "vehicle-wander"
    assert row(steady.components, name)["estimate"] < 0.04
    # a step of sd 0.35 somewhere in 60,000 km is some 0.1 a 10,000 km
    assert 0.06 < row(fit.components, name)["estimate"] < 0.25
    assert row(fit.components, "visit")["estimate"] == pytest.approx(0.12, abs=0.02)
    check = "wander"
    assert row(steady.checks, check, "check")["passed"]
    assert not row(fit.checks, check, "check")["passed"]
    found = fit.tires.set_index("tire_id")
    now = tires.set_index("tire_id")["true_log_rate"] + change.reindex(tires["tire_id"].str[:5]).to_numpy()
    now += np.where(found["position"].str[1] == "F", 0.15, -0.15)
    off = (found["log_wear"] - now.reindex(found.index)) / found["log_wear_sd"]
    assert np.mean(np.abs(off) < 1.2816) > 0.7
    before = (steady.tires.set_index("tire_id")["log_wear"] - now.reindex(found.index)).std()
    assert (found["log_wear"] - now.reindex(found.index)).std() < 0.8 * before


def test_tires_are_where_the_fit_says(fleet):
    (_, tires, _), fit = fleet
    found = fit.tires.merge(tires, on="tire_id")
    off = (found["true_depth"] - found["depth_mm"]) / found["depth_sd_mm"]
    assert off.std() == pytest.approx(1.0, abs=0.12)
    assert off.mean() == pytest.approx(0.0, abs=0.25)  # visits lean together
    at_axle = np.where(found["position"].str[1] == "F", found["log_axle_front"], found["log_axle_rear"])
    own = (
        found["log_wear"]
        - at_axle
        - found["q"] * np.log(found["depth_mm"].clip(lower=0.3) / found["new_depth_mm_x"])
    )
    off = (found["true_log_rate"] - own) / found["log_wear_sd"]
    # a little wide: the rate may have wandered by now, and here it never does
    assert off.std() == pytest.approx(0.93, abs=0.13)
    assert np.mean(np.abs(off) < 1.2816) == pytest.approx(0.83, abs=0.07)


def test_each_tire_has_its_own_line_beside_it(fleet):
    (visits, _, _), fit = fleet
    for tire in ("V0003-1", "V0077-2"):
        mine = visits[visits["tire_id"] == tire]
        slope = np.polyfit(mine["tire_km"], mine["depth_mm"], 1)[0]
        assert row(fit.tires, tire, "tire_id")["straight_line_mm_per_1000km"] == pytest.approx(
            -1000 * slope, rel=1e-9
        )
    once = fit_rates(*frames(vehicles=2, visits=1)).tires
    assert once["straight_line_mm_per_1000km"].isna().all()
    assert once["reason"].str.contains("fit-no-line").all()


def test_vehicles_are_ranked(fleet):
    (_, _, vehicles), fit = fleet
    found = fit.vehicles.merge(vehicles, on="vehicle_id")
    assert np.corrcoef(found["log_effect"], found["true_effect"])[0, 1] > 0.9
    assert (found["visits"] == 8).all()
    assert (found["tires"] == 4).all()


def test_curvature_is_found_and_said():
    fit = fit_rates(*frames(vehicles=60, visits=9, q=0.6, rate=7e-5, seed=5))
    found = row(fit.estimates, "q")
    assert found["lower"] < 0.6 < found["upper"]
    check = row(fit.checks, "curvature", "check")
    assert not check["passed"]
    assert check["advice"] == "fit-bends-slows"


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_curvature_is_seen_where_there_is_none(seed):
    fit = fit_rates(*frames(vehicles=60, visits=8, seed=seed))
    assert row(fit.checks, "curvature", "check")["value"] < 3
    assert abs(fit.q) < 0.15


def test_gross_errors_are_flagged_kept_and_do_not_spoil_the_rates():
    visits, tires, vehicles = frames(vehicles=40, seed=6)
    clean = fit_rates(visits, tires, vehicles)
    hit = np.arange(11, len(visits), 40)
    spoiled = visits.copy()
    spoiled.loc[hit, "depth_mm"] += np.where(np.arange(len(hit)) % 2, 2.5, -2.5)
    fit = fit_rates(spoiled, tires, vehicles)
    flagged = fit.visits.merge(spoiled.loc[hit, ["tire_id", "date"]], on=["tire_id", "date"])
    assert flagged["outlier"].all()
    assert (flagged["weight"] < 0.1).all()
    assert len(fit.visits) == len(visits)
    assert fit.visits["outlier"].sum() <= len(hit) + 3
    assert not row(fit.checks, "outliers", "check")["passed"]
    change = (fit.tires["log_wear"] - clean.tires["log_wear"]) / clean.tires["log_wear_sd"]
    assert np.abs(change).median() < 0.3
    assert row(fit.components, "reading")["estimate"] == pytest.approx(0.12, abs=0.02)


def test_a_tire_that_does_not_belong_is_named():
    visits, tires, vehicles = frames(vehicles=40, seed=7)
    odd = visits["tire_id"] == "V0005-2"
    visits.loc[odd, "depth_mm"] = 8 - 2.2 * (8 - visits.loc[odd, "depth_mm"]).clip(lower=0)
    fit = fit_rates(visits, tires, vehicles)
    assert fit.tires.loc[~fit.tires["belongs"], "tire_id"].tolist() == ["V0005-2"]
    check = row(fit.checks, "odd-tires", "check")
    assert "V0005-2" in check["about"]
    assert "fit-odd" in row(fit.tires, "V0005-2", "tire_id")["reason"]


def test_early_leavers_that_wore_differently_are_noticed():
    visits, tires, vehicles = frames(vehicles=80, visits=4, seed=8, tire_sd=0.3)
    fast = tires["true_log_rate"] - tires.groupby("tire_line")["true_log_rate"].transform("mean") > 0.25
    same = fit_rates(visits, tires.assign(left=np.arange(len(tires)) % 4 == 0), vehicles)
    fit = fit_rates(visits, tires.assign(left=fast), vehicles)
    assert row(same.checks, "early-leavers", "check")["passed"]
    found = row(fit.checks, "early-leavers", "check")
    assert not found["passed"]
    assert found["advice"] == "fit-early-faster"


def one_tire(visits=1, **options):
    read, tires, vehicles = frames(vehicles=1, visits=visits, per_vehicle=1, seed=3, **options)
    return read, tires, vehicles


CASES = {
    "no visit at all": lambda: (frames(vehicles=1, visits=1)[0].head(0), *frames(vehicles=1, visits=1)[1:]),
    "one tire, one visit": lambda: one_tire(1),
    "one vehicle": lambda: frames(vehicles=1, visits=6),
    "one visit": lambda: frames(vehicles=12, visits=1),
    "no rotation": lambda: frames(vehicles=12, visits=5, rotate=None),
    "one tire line": lambda: frames(vehicles=12, lines=(0.0,)),
    "no new depth": lambda: (lambda a, b, c: (a, b.assign(new_depth_mm=np.nan), c))(*frames(vehicles=12)),
    "no new depth, one visit": lambda: (
        lambda a, b, c: (a, b.assign(new_depth_mm=np.nan), c)
    )(*frames(vehicles=3, visits=1)),
    "all readings alike": lambda: (lambda a, b, c: (a.assign(depth_mm=6.0), b, c))(*frames(vehicles=4, visits=3)),
    "read at no distance": lambda: (
        lambda a, b, c: (
            a.assign(reference_km=0.0, reference_front_km=0.0, reference_rear_km=0.0, tire_km=0.0), b, c
        )
    )(*frames(vehicles=2, visits=1)),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_every_admissible_logbook_fits(case):
    visits, tires, vehicles = CASES[case]()
    tires = tires.assign(
        vehicle_id=tires["tire_id"].str[:5], first_position="LF", first_date=pd.Timestamp("2024-01-01"),
        first_odometer_km=0.0,
    )  # fmt: skip
    fit = fit_rates(visits, tires, vehicles)
    assert row(fit.checks, "converged", "check")["passed"]
    assert len(fit.tires) == len(tires)
    for name in ("depth_mm", "depth_sd_mm", "log_wear", "log_wear_sd", "wear_mm_per_1000km", "q_sd"):
        assert np.isfinite(fit.tires[name]).all(), name
    assert (fit.tires["log_wear_sd"] > 0.05).all()
    assert (fit.tires["reason"].str.len() > 0).sum() >= (fit.tires["visits"] < 2).sum()
    assert np.isfinite(fit.estimates["std_error"]).all()
    assert str(fit).startswith("WearFit: ")


def test_with_no_data_the_prior_answers():
    visits, tires, vehicles = frames(vehicles=1, visits=1, lines=(0.0,))
    tires = tires.assign(vehicle_id=tires["tire_id"].str[:5])
    fit = fit_rates(visits.head(0), tires, vehicles)
    # mean life 45,000 miles from 10/32 to 2/32 (NHTSA, FMVSS 138 analysis): 6.35 mm over 72,420 km
    rate = np.exp(fit.tires["log_wear"] - np.where(fit.tires["position"].str[:1] == "L", 0, 0))
    spread = np.hypot(np.hypot(np.log(2) / 2.5631, np.log(151 / 82) / 3.47), 0.08)
    # 0.35 of the 35 % between axles, half up, half down, stays in the spread below
    assert np.log(6.35 / 72420.48) + spread**2 / 2 == pytest.approx(float(np.log(rate).iloc[0]), abs=0.02)
    assert fit.estimates.set_index("term").loc["wear", "source"] == "prior"
    assert not row(fit.checks, "identifiable: wear", "check")["passed"]
    assert 0.35 < fit.tires["log_wear_sd"].iloc[0] < 0.55


def test_some_data_shrink_and_much_data_speak():
    def rate(visits):
        read, tires, vehicles = one_tire(
            visits, rate=1.8e-4, km=2500.0, tire_sd=0.0, vehicle_sd=0.0, axle=0.0, rotate=None
        )
        fit = fit_rates(read, tires, vehicles)
        found = fit.tires.iloc[0]
        return found["log_wear"], found["log_wear_sd"]

    truth, prior = np.log(1.8e-4), PUBLISHED.log_rate.mean
    one, some, much = rate(1), rate(3), rate(16)
    assert prior < one[0] < some[0] < much[0] + 0.1
    assert much[0] == pytest.approx(truth, abs=0.15)
    assert one[1] > some[1] > much[1]


def test_a_saved_prior_answers_for_lines_and_drives_it_knows():
    fit = fit_rates(*frames(vehicles=60, lines=(0.0, 0.3), vehicle_sd=0.1, seed=9))
    visits, tires, vehicles = frames(vehicles=1, visits=1, lines=(0.0,), seed=10)
    tires = tires.assign(vehicle_id=tires["tire_id"].str[:5])
    guess = {}
    for line in ("Line A", "Line B", "Line never seen"):
        walk_in = fit_rates(visits.head(0), tires.assign(tire_line=line), vehicles, fit.posterior)
        guess[line] = walk_in.tires[["log_wear", "log_wear_sd"]].iloc[0]
    assert guess["Line B"]["log_wear"] - guess["Line A"]["log_wear"] == pytest.approx(0.3, abs=0.1)
    assert guess["Line never seen"]["log_wear_sd"] > guess["Line A"]["log_wear_sd"]
    rear = np.exp(guess["Line A"]["log_wear"])
    # front axle would wear exp(0.3) as fast: the drive's ratio was learned too
    assert fit.posterior.axle["front"].mean == pytest.approx(0.3, abs=0.05)
    assert rear == pytest.approx(5e-5 * np.exp(-0.15), rel=0.2)


def test_a_treadwear_grade_is_leaned_on_a_little():
    visits, tires, vehicles = frames(vehicles=1, visits=1, lines=(0.0,))
    tires = tires.assign(vehicle_id=tires["tire_id"].str[:5])
    low = fit_rates(visits.head(0), tires.assign(treadwear_grade=200.0), vehicles).tires["log_wear"].iloc[0]
    high = fit_rates(visits.head(0), tires.assign(treadwear_grade=600.0), vehicles).tires["log_wear"].iloc[0]
    # the prior's exponent -0.3, where -1 would take grades for lives (Grigoratos et al. 2018: they are not)
    assert high - low == pytest.approx(-0.3 * np.log(3), abs=1e-6)


def test_tires_that_came_part_worn_are_taken_as_such():
    visits, tires, vehicles = frames(vehicles=20, visits=5, seed=12)
    worn = visits["vehicle_id"] == "V0003"
    visits.loc[worn, "depth_mm"] -= 3.0
    fit = fit_rates(visits, tires, vehicles)
    mine = fit.tires[fit.tires["vehicle_id"] == "V0003"]
    assert mine["reason"].str.contains("fit-part-worn").all()
    truth = tires.set_index("tire_id").loc[mine["tire_id"], "true_log_rate"].to_numpy()
    assert np.abs(mine["log_wear"] - truth).max() < 0.45


def test_a_logbook_without_a_mounted_tire_is_refused():
    class Book:
        stretches = pd.DataFrame({"tire_id": [], "vehicle_id": [], "position": []})

    with pytest.raises((InputError, AttributeError)):
        fit_logbook(Book())


def test_frames_handed_out_are_copies(fleet):
    _, fit = fleet
    for name in ("estimates", "components", "tires", "vehicles", "visits", "checks"):
        table = getattr(fit, name)
        table.iloc[0, 0] = "spoiled"
        assert getattr(fit, name).iloc[0, 0] != "spoiled"
    with pytest.raises(AttributeError):
        fit.q = 1.0


def test_rows_and_their_order_do_not_matter():
    visits, tires, vehicles = frames(vehicles=10, seed=13)
    one = fit_rates(visits, tires, vehicles).tires
    mixed = fit_rates(visits.sample(frac=1, random_state=1), tires.iloc[::-1], vehicles.iloc[::-1]).tires
    assert mixed["log_wear"].to_numpy() == pytest.approx(one["log_wear"].to_numpy(), abs=1e-6)


def test_visits_without_a_tire_or_a_distance_are_counted():
    visits, tires, vehicles = frames(vehicles=6, seed=14)
    visits.loc[3, "tire_id"] = ""
    visits.loc[9, "reference_km"] = np.nan
    fit = fit_rates(visits, tires, vehicles)
    check = row(fit.checks, "left-out", "check")
    assert check["value"] == 2
    assert not check["passed"]


def test_a_prior_can_be_given_by_hand():
    from dataclasses import replace

    visits, tires, vehicles = frames(vehicles=1, visits=1)
    tires = tires.assign(vehicle_id=tires["tire_id"].str[:5])
    prior = replace(PUBLISHED, log_rate=Belief(np.log(2e-4), 0.1))
    fit = fit_rates(visits.head(0), tires, vehicles, prior)
    assert fit.prior is prior
    assert fit.tires["log_wear"].mean() == pytest.approx(np.log(2e-4), abs=1e-6)


@pytest.mark.parametrize(
    ("change", "lost"),
    [
        ({"depth_se_mm": 0.0}, 0),
        ({"depth_se_mm": np.nan}, 0),
        ({"odometer_km": np.nan}, 0),
        ({"position": "SP"}, 0),
        ({"reference_front_km": np.nan}, 30),
        ({"vehicle_id": "not in the table"}, 30),
        ({"depth_mm": np.nan}, 30),
    ],
    ids=str,
)
def test_odd_values_are_borne_or_counted(change, lost):
    visits, tires, vehicles = frames(vehicles=6, visits=5, seed=16)
    part = np.arange(len(visits)) % 4 == 0
    for name, value in change.items():
        old = visits[name] if name in visits else pd.Series(0.1, index=visits.index)
        visits[name] = old.where(~part, value)
    fit = fit_rates(visits, tires, vehicles)
    assert row(fit.checks, "converged", "check")["passed"]
    assert row(fit.checks, "left-out", "check")["value"] == lost
    assert len(fit.visits) == len(visits) - lost
    assert np.isfinite(fit.tires["log_wear_sd"]).all()


def test_readings_entered_twice_do_not_break_the_fit():
    visits, tires, vehicles = frames(vehicles=6, visits=5, seed=17)
    fit = fit_rates(pd.concat([visits, visits]), tires, vehicles)
    assert np.isfinite(fit.tires["log_wear_sd"]).all()
    assert len(fit.visits) == 2 * len(visits)


def test_tires_seen_once_are_not_taken_for_deeper_and_faster_than_they_are():
    # Invented data: linearized at the readings and no more, such fleets get starts 0.2 mm too high
    found = [fit_rates(*frames(vehicles=60, visits=1, km=30_000.0, seed=seed)) for seed in range(40, 44)]
    starts = [
        row(fit.estimates, f"new depth less stated, Line {line}")["estimate"]
        for fit in found
        for line in "AB"
    ]
    assert np.mean(starts) == pytest.approx(0.0, abs=0.07)
    level = [row(fit.estimates, "line Line A")["estimate"] for fit in found]
    assert np.mean(level) == pytest.approx(0.05, rel=0.04)

import shutil

import numpy as np
import pandas as pd
import pytest

from tirelife.advice import Kind, Reason, fleet_decisions
from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast
from tirelife.rates import fit_logbook
from tirelife.rotation import PATTERNS, Refusal, advise_set, compare_plans, pattern, simulate, vehicle_set
from tirelife.rotation.worth import USUAL_INTERVALS_KM
from tirelife.rotation.worth import Why as RotationWhy
from tirelife.tread import Verdict
from tirelife.wear import stretch_severity

ROAD = ["LF", "RF", "LR", "RR"]


@pytest.fixture(scope="module")
def book():
    return read_logbook("data_synthetic/logbook")


@pytest.fixture(scope="module")
def fit(book):
    return fit_logbook(book)


def test_set_is_what_the_mounts_say(book, fit):
    now = vehicle_set(book, "V03", fit)
    last = book.mounts[book.mounts["vehicle_id"] == "V03"].sort_values(["date", "row"])
    last = last.drop_duplicates("tire_id", keep="last")
    want = last[last["position"] != "OFF"].set_index("position")["tire_id"].to_dict()
    assert now.tires["tire_id"].to_dict() == want
    assert list(now.tires.index) == ROAD


def test_rate_where_a_tire_is_is_the_fits_times_the_recent_severity(book, fit):
    now = vehicle_set(book, "V03", fit)
    parts = stretch_severity(book, fit.factors)
    parts = parts[parts["vehicle_id"] == "V03"]
    for place in ROAD:
        tire = fit.tires.set_index("tire_id").loc[now.tires.loc[place, "tire_id"]]
        here = parts[parts["position"] == place]
        length = (here["to_km"] - np.maximum(here["from_km"], parts["to_km"].max() - 16_000)).clip(lower=0)
        severity = float((length * here["severity"]).sum() / length.sum())
        to = "front" if place in ("LF", "RF") else "rear"
        was = "front" if tire["position"] in ("LF", "RF") else "rear"
        log_rate = tire["log_wear"] - tire[f"log_axle_{was}"] + tire[f"log_axle_{to}"]
        # Of the shallowest groove, which wears a little faster than the mean.
        ratio = now.rates.loc[place, place] / (np.exp(log_rate) * severity)
        assert 1.0 - 1e-6 <= ratio < 1.1


def test_other_axle_differs_by_the_fitted_ratio(book, fit):
    now = vehicle_set(book, "V03", fit)
    parts = stretch_severity(book, fit.factors)
    parts = parts[parts["vehicle_id"] == "V03"]
    hard = {}
    for places in (["LF"], ["LF", "RF"], ["RR"], ["LR", "RR"]):
        here = parts[parts["position"].isin(places)]
        length = (here["to_km"] - np.maximum(here["from_km"], parts["to_km"].max() - 16_000)).clip(lower=0)
        hard[" ".join(places)] = float((length * here["severity"]).sum() / length.sum())
    # A wheel is its own where the tire is, and one of two on the other axle.
    for row, front, rear in (("LF", "LF", "LR RR"), ("RR", "LF RF", "RR")):
        tire = fit.tires.set_index("tire_id").loc[now.tires.loc[row, "tire_id"]]
        ratio = np.exp(tire["log_axle_front"] - tire["log_axle_rear"]) * hard[front] / hard[rear]
        assert now.rates.loc[row, "LF"] / now.rates.loc[row, "LR"] == pytest.approx(ratio, rel=1e-6)


def test_draws_have_the_mean_and_spread_that_the_set_shows(book, fit):
    now = vehicle_set(book, "V03", fit)
    depth, rates = now.drawn_depths, now.drawn_rates
    assert depth.mean(axis=0) == pytest.approx(now.depths.to_numpy(), abs=0.01)
    assert depth.std(axis=0) == pytest.approx(now.tires["depth_sd_mm"].to_numpy(), rel=0.05)
    here = rates[:, np.arange(4), np.arange(4)]
    assert np.median(here, axis=0) == pytest.approx(np.diag(now.rates), rel=0.02)
    assert np.log(here).std(axis=0) == pytest.approx(now.tires["wear_log_sd"].to_numpy(), rel=0.1)


def test_depth_today_is_the_forecasts(book, fit):
    table = forecast(book, fit).set_index(["vehicle_id", "position"])["depth_now_mm"]
    for vehicle in ("V01", "V03", "V08", "V15", "V24"):
        now = vehicle_set(book, vehicle, fit)
        over = now.tires["verdict"] != Verdict.AT_OR_UNDER
        assert now.depths[over].to_numpy() == pytest.approx(table[vehicle][now.depths.index[over]].to_numpy())


def test_plans_side_by_side_agree_with_the_simulation(book, fit):
    now = vehicle_set(book, "V03", fit)
    table = compare_plans(now, 1.5875, 8000.0).set_index("plan")
    alone = simulate(now.depths, now.rates, pattern("X", 8000.0), 1.5875, 0.0)
    assert table.loc["X", "life_km"] == pytest.approx(alone.life_km, rel=0.05)
    assert table.loc["X", "of_bound"] == pytest.approx(alone.of_bound, abs=0.06)
    assert (table["life_km_p10"] < table["life_km_p50"]).all()
    assert table.loc["X", "life_km_p50"] == pytest.approx(alone.life_km, rel=0.05)
    assert "five-tire forward cross" not in table.index


def test_one_advice_over_the_same_draws(book, fit):
    now = vehicle_set(book, "V03", fit)
    found = advise_set(now, 1.5875, "front")
    assert found.plan.name == found.usual.name or found.better >= 0.05
    table = compare_plans(now, 1.5875, found.plan.interval_km, plans=[found.plan])
    own = found.table[
        (found.table["plan"] == found.plan.name)
        & np.isclose(found.table["interval_km"], found.plan.interval_km)
    ].iloc[0]
    assert table["life_km"].iloc[0] == pytest.approx(own["life_km_mean"])
    assert table["life_km_p50"].iloc[0] == pytest.approx(own["life_km_p50"])
    one_way = advise_set(now, 1.5875, "front", directional=True)
    assert set(one_way.table["plan"]) == {"front-to-rear", "LF>LR,LR>LF", "RF>RR,RR>RF"}


def test_a_plan_that_cannot_be_told_from_the_longest_says_so(book, fit):
    even = compare_plans(vehicle_set(book, "V20", fit), 1.5875, 8000.0).set_index("plan")
    assert even.loc["X", "chance_shorter"] == 0
    assert 0.1 < even.loc["no rotation", "chance_shorter"] < 0.9
    now = vehicle_set(book, "V15", fit)  # new fronts, old rears: side-to-side moves no tread between axles
    table = compare_plans(now, 1.5875, 8000.0).set_index("plan")
    longest = table["life_km_p50"].idxmax()
    assert table.loc[longest, "chance_shorter"] == 0
    assert table.loc["X", "chance_shorter"] == pytest.approx(1.0, abs=0.01)
    assert (table.loc[["no rotation", "side-to-side"], "chance_shorter"] == 0).all()
    late = compare_plans(now, 1.5875, 8000.0, first_km=8000.0).set_index("plan")
    assert late.loc["X", "life_km_p50"] > table.loc["X", "life_km_p50"]
    found = advise_set(now, 1.5875, "front", first_km=8000.0, intervals_km=[8000.0])
    own = found.table.set_index("plan").loc["X", "life_km_p50"]
    assert own == pytest.approx(late.loc["X", "life_km_p50"])


def test_plans_that_are_not_allowed_say_why(book, fit):
    now = vehicle_set(book, "V03", fit)
    table = compare_plans(now, 1.5875, 8000.0, directional=True).set_index("plan")
    assert not table.loc["X", "allowed"]
    assert np.isnan(table.loc["X", "life_km"])
    assert [note.code for note in table.loc["X", "refusals"]] == [Refusal.DIRECTIONAL]
    assert table.loc["front-to-rear", "allowed"]


@pytest.mark.parametrize(
    ("one_way", "reason"), [("no", Reason.SIZES_DIFFER), ("yes", Reason.SIZES_AND_DIRECTION)]
)
def test_sizes_front_and_rear_leave_no_rotation_that_changes_axles(book, fit, tmp_path, one_way, reason):
    # Sides alone may be changed where the tires are not directional: no rotation of those that a decision prices.
    folder = shutil.copytree("data_synthetic/logbook", tmp_path / "log")
    tires = pd.read_csv(folder / "tires.csv", dtype=str)
    on = book.stretches[book.stretches["open"] & (book.stretches["vehicle_id"] == "V03")]
    here = tires["tire_id"].map(on.set_index("tire_id")["position"]).fillna("")
    tires.loc[here.str.endswith("F"), "size"] = "225/45R18"
    tires.loc[here.str.endswith("R"), "size"] = "255/40R18"
    tires["directional"] = np.where(here != "", one_way, "")
    tires.to_csv(folder / "tires.csv", index=False)
    turned = read_logbook(folder)
    facts = fleet_decisions(turned, fit, ["V03"])
    assert facts.facts["V03"].rotation.refused.code is reason
    assert facts.decisions["V03"].of(Kind.LEAVE)[0].has(reason)


def test_the_demo_cars_are_given_usual_patterns_unless_a_tire_lags(book, fit):
    # 15 of 24 were given permutations without a name, 12 at intervals over 8,000 miles, for a median gain of 0.2 %.
    drive = book.vehicles.set_index("vehicle_id")["drive"]
    for vehicle in ("V01", "V03", "V06", "V15", "V19", "V24"):
        now = vehicle_set(book, vehicle, fit)
        found = advise_set(now, 1.5875, str(drive[vehicle]))
        if found.plan is None:
            assert found.notes[0].code is RotationWhy.NONE_ALLOWED
            assert {n.code for n in found.notes[1:]} <= set(Refusal)
            assert len(found.notes) > 1
            continue
        assert found.plan.interval_km in USUAL_INTERVALS_KM
        named = found.plan.name in PATTERNS
        assert named == (found.notes[0].code is not RotationWhy.BETTER)
        assert named or (found.better >= 0.05 and found.chance_better >= 0.9)
        usual = found.table[found.table["usual"]]["life_km_mean"].max()
        mine = found.table["plan"].eq(found.plan.name) & np.isclose(
            found.table["interval_km"], found.plan.interval_km
        )
        assert found.table.loc[mine, "life_km_mean"].iloc[0] >= 0.99 * usual


def test_unknown_vehicle_is_refused(book, fit):
    with pytest.raises(InputError, match="no vehicle is called 'V99'"):
        vehicle_set(book, "V99", fit)


def test_a_tire_read_at_its_limit_keeps_its_estimate_and_has_no_distance_in_any_plan(book, fit):
    usual = vehicle_set(book, "V03", fit).tires
    limit = float(usual["read_mm"].min())
    now = vehicle_set(book, "V03", fit, limit)
    at_limit = now.tires["verdict"] == Verdict.AT_OR_UNDER
    assert at_limit.any()
    assert not at_limit.all()
    # Estimated depth is one number, whatever is asked of it: the forecast's.
    assert now.tires["depth_mm"].equals(usual["depth_mm"])
    ahead = forecast(book, fit, removal_depth_mm=limit).set_index("tire_id")["depth_now_mm"]
    assert np.allclose(now.tires["depth_mm"], ahead.loc[now.tires["tire_id"]])
    assert (now.tires.loc[at_limit, "depth_mm"] > limit).any()
    assert (now.drawn_depths[:, at_limit.to_numpy()] <= limit).all()
    plans = compare_plans(now, limit, 8000.0)
    assert (plans.loc[plans["allowed"], ["life_km_p10", "life_km_p90"]] == 0).all(axis=None)

from itertools import combinations

import numpy as np
import pandas as pd
import pytest

from tests.groups.simulate import Groups, rates, write_fleet
from tirelife.errors import InputError
from tirelife.groups import compare_groups, compare_rates
from tirelife.groups.advice import Apart
from tirelife.groups.design import adjust_columns
from tirelife.groups.fitting import detectable_ratio, fit_groups, group_ratio
from tirelife.logbook import read_logbook
from tirelife.sheet.group_tables import pair_words

NULL = Groups(effects=(0.0, 0.0, 0.0, 0.0), vehicles=6)


def truth(fleet, pair):
    return float(
        np.exp(
            fleet.effects["ABCDEFGH".index(pair["group"])] - fleet.effects["ABCDEFGH".index(pair["other"])]
        )
    )


def fits(fleet, count, seed):
    """Only the fit, for speed; that a comparison reports these numbers is tested below."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        tires = rates(rng, fleet)
        yield fit_groups(tires, "driver_group", adjust_columns(tires, "driver_group", None)), tires


def each_pair(fitted):
    return [(a, b, fitted.design.contrast(a, b)) for a, b in combinations(fitted.design.groups, 2)]


def test_ranges_cover_the_true_ratio_where_routes_cars_and_lines_confound():
    inside, off, rough = [], [], []
    fleet = Groups()
    for fitted, tires in fits(fleet, 90, 3):
        mean = tires.groupby("driver_group")["log_rate"].mean()
        for a, b, contrast in each_pair(fitted):
            real = truth(fleet, {"group": a, "other": b})
            value, low, high, *_ = group_ratio(fitted, contrast, None, 0.95)
            inside.append(low <= real <= high)
            off.append(np.log(value / real))
            rough.append(mean[a] - mean[b] - np.log(real))
    # 95 % asked for, 93 to 97 % wanted; 1,000 fleets of each kind gave 94.6 to 95.6 % (benchmark groups).
    assert 0.93 <= np.mean(inside) <= 0.97
    assert abs(np.mean(off)) < 0.025
    assert abs(np.mean(rough)) > 0.05  # unadjusted, the confounding shows


def test_with_no_effect_hardly_a_fleet_of_four_groups_has_a_pair_called_different():
    from statsmodels.stats.libqsturng import qsturng

    false = 0
    for fitted, _ in fits(NULL, 90, 4):
        found = [fitted.fit.contrast(contrast) for *_, contrast in each_pair(fitted)]
        false += any(abs(v) > qsturng(0.95, 4, df) / np.sqrt(2) * se for v, se, df in found if np.isfinite(v))
    # family-wise 5 % asked for, at most 6 % wanted; 1,000 fleets of each kind gave 3.7 to 6.0 %.
    assert false / 90 <= 0.06


def test_a_comparison_reports_the_fits_numbers():
    tires = rates(np.random.default_rng(1))
    out = compare_rates(tires, "driver_group")
    fitted = fit_groups(tires, "driver_group", out.adjusted_for)
    for pair in out.pairs.to_dict("records"):
        value, low, high, _, df = group_ratio(
            fitted, fitted.design.contrast(pair["group"], pair["other"]), None, 0.95
        )
        assert [pair[c] for c in ("ratio", "lower", "upper", "df")] == pytest.approx([value, low, high, df])


def test_ranges_for_all_pairs_at_once_are_wider():
    out = compare_rates(rates(np.random.default_rng(5), NULL), "driver_group")
    assert (out.pairs["family_lower"] < out.pairs["lower"]).all()
    assert (out.pairs["family_upper"] > out.pairs["upper"]).all()


def test_simultaneous_ranges_are_those_of_the_studentized_range():
    from scipy.stats import studentized_range, t

    out = compare_rates(rates(np.random.default_rng(1)), "driver_group")
    for pair in out.pairs.to_dict("records"):
        se = np.log(pair["upper"] / pair["lower"]) / 2 / t.ppf(0.975, pair["df"])
        wide = np.log(pair["family_upper"] / pair["family_lower"]) / 2 / se
        assert wide == pytest.approx(studentized_range.ppf(0.95, 3, pair["df"]) / np.sqrt(2), rel=2e-3)
        assert (pair["p_value"] < 0.05) == pair["different"]


def test_range_and_p_value_agree_at_their_edge():
    out = compare_rates(rates(np.random.default_rng(1)), "driver_group")
    again = compare_rates(rates(np.random.default_rng(1)), "driver_group", level=1 - out.pairs["p_value"][0])
    assert min(abs(np.log(again.pairs[c][0])) for c in ("family_lower", "family_upper")) < 2e-3


def test_two_groups_need_no_widening():
    out = compare_rates(rates(np.random.default_rng(2), Groups(effects=(0.0, 0.2))), "driver_group")
    assert out.pairs["family_lower"][0] == out.pairs["lower"][0]


def test_raw_stands_beside_adjusted_and_is_what_nothing_adjusted_gives():
    tires = rates(np.random.default_rng(6))
    out, plain = compare_rates(tires, "driver_group"), compare_rates(tires, "driver_group", adjust=[])
    assert out.pairs["raw_ratio"].tolist() == pytest.approx(plain.pairs["ratio"].tolist())
    assert plain.adjusted_for == ()
    assert set(out.adjusted_for) == {"tire_line", "drive", "mass_kg", "site", "axle", "season"}


def test_what_stands_behind_each_group_is_counted():
    tires = rates(np.random.default_rng(7))
    out = compare_rates(tires, "driver_group").groups.set_index("group")
    for name, mine in tires.groupby("driver_group"):
        assert out.loc[name, "tires"] == len(mine)
        assert out.loc[name, "vehicles"] == mine["vehicle_id"].nunique()
        assert out.loc[name, "distance_km"] == pytest.approx(40_000 * len(mine))


def test_ratio_to_the_mean_of_the_groups_multiplies_to_one():
    out = compare_rates(rates(np.random.default_rng(7)), "driver_group").groups
    assert np.log(out["ratio"]).sum() == pytest.approx(0, abs=1e-9)
    pair = compare_rates(rates(np.random.default_rng(7)), "driver_group").pairs.iloc[0]
    by = out.set_index("group")["ratio"]
    assert by[pair["group"]] / by[pair["other"]] == pytest.approx(pair["ratio"])


def test_axle_effects_come_back():
    tires = pd.concat([rates(np.random.default_rng(s)).assign(s=s) for s in range(6)])
    tires["vehicle_id"] = tires["vehicle_id"] + "-" + tires["s"].astype(str)
    found = compare_rates(tires.reset_index(drop=True), "driver_group").components.set_index("component")[
        "value"
    ]
    assert found["log_front_over_rear, front drive"] == pytest.approx(0.6, abs=0.04)
    assert found["log_front_over_rear, rear drive"] == pytest.approx(-0.3, abs=0.04)
    assert found["vehicle_log_sd"] == pytest.approx(0.15, abs=0.03)
    assert found["tire_log_sd"] == pytest.approx(0.08, abs=0.02)


def test_detectable_ratio_would_have_been_shown_as_often_as_it_says():
    from scipy.stats import t

    se, df = 0.08, 15.0
    critical = float(t.ppf(0.975, df))
    least = detectable_ratio(se, df, critical, 0.8)
    rng = np.random.default_rng(8)
    found = (np.log(least) + se * rng.normal(size=200_000)) / (se * np.sqrt(rng.chisquare(df, 200_000) / df))
    assert (np.abs(found) > critical).mean() == pytest.approx(0.8, abs=0.005)


def test_no_difference_is_said_plainly_with_what_could_have_been_shown():
    out = compare_rates(rates(np.random.default_rng(9), NULL), "driver_group")
    quiet = out.pairs[~out.pairs["different"] & out.pairs["told_apart"]].iloc[0]
    words = pair_words(quiet.to_frame().T)[0]
    assert words.startswith(f"No difference shown between {quiet['group']} and {quiet['other']} (range ")
    assert f"a difference of {quiet['detectable_ratio'] - 1:.0%} or more 80% of the time" in words


def test_groups_with_a_drive_of_their_own_are_not_told_apart():
    for seed in range(5):
        out = compare_rates(rates(np.random.default_rng(seed), Groups(own_drive=True)), "driver_group")
        assert not out.pairs["told_apart"].any()
        assert out.pairs["ratio"].isna().all()
        assert not out.pairs["different"].any()
        assert all(
            "cannot be told apart: each has its own drive layout" in one for one in pair_words(out.pairs)
        )
        checks = out.checks.set_index("check")
        assert not checks.loc["own-kind: drive", "passed"]
        assert checks.loc["own-kind: drive", "value"] == 3


def test_groups_of_one_car_are_not_told_apart_from_it():
    fleet = Groups(effects=(0.0, 0.3, 0.0), own_cars=True)
    out = compare_rates(
        rates(np.random.default_rng(1), fleet), "driver_group", adjust=["axle"], min_vehicles=1
    )
    assert out.pairs["ratio"].isna().all()
    assert out.pairs["reasons"].str.contains(Apart.ONE_CAR.value).all()
    assert not out.checks.set_index("check").loc["one-car", "passed"]


def test_own_cars_by_mass_are_found_though_drives_are_shared():
    tires = rates(np.random.default_rng(3), Groups(effects=(0.0, 0.0)))
    heavy = tires["driver_group"] == "B"
    tires["mass_kg"] = np.where(heavy, 2500, 1300) + tires["mass_kg"] / 100
    out = compare_rates(tires, "driver_group")
    assert not out.pairs["told_apart"][0]
    assert "each has its own vehicle mass" in pair_words(out.pairs)[0]


def test_own_roads_are_found():
    tires = rates(np.random.default_rng(3), Groups(effects=(0.0, 0.0)))
    town = np.where(tires["driver_group"] == "B", 0.8, 0.3)
    jitter = tires["vehicle_id"].map({v: i / 1000 for i, v in enumerate(tires["vehicle_id"].unique())})
    out = compare_rates(tires.assign(slow_road_share=town + jitter), "driver_group")
    assert not out.pairs["told_apart"][0]
    assert "each has its own roads" in pair_words(out.pairs)[0]


def test_shared_cars_and_roads_are_told_apart():
    out = compare_rates(rates(np.random.default_rng(4), Groups(vehicles=12)), "driver_group")
    assert out.pairs["told_apart"].all()
    rows = out.checks[out.checks["check"].str.startswith(("own-kind", "one-car", "inflation"))]
    assert rows["passed"].all()
    assert len(rows) >= 6


def test_small_groups_are_fitted_but_not_shown():
    tires = rates(np.random.default_rng(4), Groups(effects=(0.0, 0.1)))
    two = tires["vehicle_id"].isin(["V00", "V01"])
    tires.loc[two, "driver_group"] = "night pair"
    out = compare_rates(tires, "driver_group")
    assert out.groups["group"].tolist() == ["A", "B"]
    assert out.hidden == 1
    assert "night pair" not in out.pairs[["group", "other"]].to_numpy()
    assert "night pair" not in " ".join(pair_words(out.pairs))
    assert not out.checks.set_index("check").loc["groups-hidden", "passed"]
    every = compare_rates(tires, "driver_group", min_vehicles=1)
    assert "night pair" in every.groups["group"].tolist()


def test_a_difference_that_rests_on_one_vehicle_is_said():
    calm = Groups(effects=(0.0, 0.0), vehicles=12, vehicle_sd=0.03)
    check = "one-vehicle"
    tires = rates(np.random.default_rng(12), calm)
    tires.loc[tires["driver_group"] == "B", "log_rate"] += 0.3
    wide = compare_rates(tires, "driver_group")
    assert wide.pairs["different"][0]
    assert wide.checks.set_index("check").loc[check, "passed"]
    tires.loc[tires["driver_group"] == "B", "log_rate"] -= 0.16
    assert compare_rates(tires, "driver_group").pairs["different"][0]
    while compare_rates(tires, "driver_group").pairs["different"][
        0
    ]:  # down to a difference that is just shown
        tires.loc[tires["driver_group"] == "B", "log_rate"] -= 0.01
    tires.loc[tires["driver_group"] == "B", "log_rate"] += 0.01
    narrow = compare_rates(tires, "driver_group")
    assert narrow.pairs["different"][0]
    assert not narrow.checks.set_index("check").loc[check, "passed"]


def test_tires_without_a_group_are_kept_and_say_so():
    tires = rates(np.random.default_rng(4))
    tires.loc[:3, "driver_group"] = ""
    out = compare_rates(tires, "driver_group")
    assert len(out.tires) == len(tires)
    assert out.tires.loc[:3, "note"].tolist() == ["no-group"] * 4
    assert out.groups["tires"].sum() == len(tires) - 4


def test_any_column_groups():
    tires = rates(np.random.default_rng(5))
    lines = compare_rates(tires, "tire_line")
    assert lines.groups["group"].tolist() == ["Line A", "Line B", "Line C"]
    assert "driver_group" in lines.adjusted_for
    pair = lines.pairs.set_index(["group", "other"]).loc[("Line A", "Line C")]
    assert pair["lower"] < np.exp(-0.3) < pair["upper"]
    assert compare_rates(tires, "site").groups["group"].tolist() == ["hill", "plain"]


def test_frames_handed_out_are_copies():
    found = compare_rates(rates(np.random.default_rng(6), Groups()), "driver_group")
    for name in ("groups", "pairs", "checks", "components", "tires"):
        frame = getattr(found, name)
        assert len(frame)
        frame.iloc[0, -1] = None
        frame["extra"] = 1
        assert getattr(found, name).equals(found.frames[name])
        assert "extra" not in getattr(found, name)


def test_frames_handed_in_are_not_changed():
    tires = rates(np.random.default_rng(5))
    before = tires.copy()
    compare_rates(tires, "driver_group")
    pd.testing.assert_frame_equal(tires, before)


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ({"by": "colour"}, "cannot group by 'colour'"),
        ({"by": "driver_group", "adjust": ["shoe"]}, "cannot adjust for shoe: no such column"),
        ({"by": "driver_group", "level": 1.0}, "level 1.0 is not between"),
    ],
)
def test_what_cannot_be_compared_is_refused(words, part):
    with pytest.raises(InputError, match=part):
        compare_rates(rates(np.random.default_rng(5)), **words)


def test_one_group_is_refused():
    with pytest.raises(InputError, match="driver_group has 1 group among"):
        compare_rates(rates(np.random.default_rng(5), Groups(effects=(0.0,))), "driver_group")


def test_why_nothing_can_be_compared_is_said():
    tires = rates(np.random.default_rng(5))
    with pytest.raises(InputError, match="no driver_group is recorded"):
        compare_rates(tires.assign(driver_group=""), "driver_group")
    with pytest.raises(InputError, match="no tire has readings far enough apart"):
        compare_rates(tires.assign(used=False), "driver_group")
    with pytest.raises(InputError, match="0 of the 3 groups of driver_group have 50 vehicles or more"):
        compare_rates(tires, "driver_group", min_vehicles=50)


def test_a_small_fleet_is_adjusted_for_less_and_told_so():
    tires = rates(np.random.default_rng(4), Groups(effects=(0.0, 0.0), vehicles=4))
    out = compare_rates(tires, "driver_group", min_vehicles=1)
    row = out.checks.set_index("check").loc["not-adjusted"]
    assert "mass_kg" not in out.adjusted_for
    assert not row["passed"]
    assert (row["advice"], row["about"][:7]) == ("group-not-adjusted", "mass_kg")
    assert np.isfinite(out.pairs["ratio"][0])
    asked = compare_rates(tires, "driver_group", adjust=["mass_kg", "tire_line"], min_vehicles=1)
    assert set(asked.adjusted_for) == {"mass_kg", "tire_line"}


def test_cars_are_not_taken_for_habits(tmp_path):
    # drives differ and nobody recorded habits: none of the difference between drives is put down to them
    write_fleet(tmp_path, np.random.default_rng(2), Groups(vehicles=8))
    out = compare_groups(read_logbook(tmp_path), by="drive")
    together = out.why[out.why["part"] == "habits together"]
    assert together["ratio"].to_numpy() == pytest.approx(1.0, abs=0.05)


def test_from_logbooks_the_true_ratios_are_covered(tmp_path):
    rng = np.random.default_rng(21)
    fleet = Groups(vehicles=7)
    inside = total = 0
    for k in range(4):
        out = compare_groups(read_logbook(write_fleet(tmp_path / str(k), rng, fleet)))
        for pair in out.pairs.to_dict("records"):
            inside += pair["lower"] <= truth(fleet, pair) <= pair["upper"]
            total += 1
    # 120 fleets gave 94.5 % of 310 pairs; of so few as here, 2 or 3 misses are the rule
    assert inside / total >= 0.8
    assert total >= 10


def test_roads_that_are_recorded_are_adjusted_for():
    off = {"by default": [], "without": []}
    for seed in range(6):
        rng = np.random.default_rng(seed)
        tires = rates(rng, Groups(effects=(0.0, 0.0), vehicles=14, vehicle_sd=0.05))
        cars = tires["vehicle_id"].unique()
        town = {v: rng.uniform(0.2, 0.7) + 0.2 * v.startswith("V1") for v in cars}
        tires["slow_road_share"] = tires["vehicle_id"].map(town)
        tires["log_rate"] += 0.8 * tires["slow_road_share"]
        out = compare_rates(tires, "driver_group")
        assert "slow_road_share" in out.adjusted_for
        off["by default"].append(np.log(out.pairs["ratio"][0]))
        others = [c for c in out.adjusted_for if c != "slow_road_share"]
        off["without"].append(np.log(compare_rates(tires, "driver_group", adjust=others).pairs["ratio"][0]))
    assert abs(np.mean(off["by default"])) < 0.04
    assert np.mean(off["without"]) < -0.10  # A over B: B's roads would be put down to B

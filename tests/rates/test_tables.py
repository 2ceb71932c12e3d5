"""Frames of a fit made from numbers by hand: which number goes where, in which unit, with which range."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.rates.advice import Says
from tirelife.rates.blocks import VARIANCES
from tirelife.rates.curvature import PRIOR_SD
from tirelife.rates.prior import PUBLISHED
from tirelife.rates.tables import (
    component_table,
    estimate_table,
    last_seen_of,
    learned,
    tire_table,
    vehicle_table,
    visit_table,
)

DAY = pd.Timestamp("2026-01-01")
Z = 1.959963984540054  # 97.5 % of a normal law
TERMS = [
    "wear",
    "line Alder",
    "line Brook",
    "group night",
    "axle front",
    "start Alder",
    "treadwear grade",
    "q",
]
VALUES = np.array([-9.2, 0.1, -0.1, 0.05, 0.2, -0.15, -0.3, 0.0])


def covariance():
    root = np.random.default_rng(5).normal(size=(len(TERMS), len(TERMS))) * 0.04
    return root @ root.T


def made(q=0.0, **changes):
    """Two cars: V1 with A, read twice, and B, read once; V2 with C, never read. Nothing is known but a little."""
    rows = 3
    joint = np.zeros((3, 9, 9))
    for unit in range(3):
        root = np.random.default_rng(unit).normal(size=(9, 9)) * 0.02
        joint[unit] = root @ root.T
    values = {
        "units": SimpleNamespace(
            start=np.array([0.1, -0.2, 0.0]), rate=np.array([-9.2, -9.0, -9.1]), axle=np.array([0.4, -0.2]),
            effect=np.array([0.15, -0.05]), effect_var=np.array([0.01, -1e-9]), own=np.array([0.02, 0.5, 0.0]),
            own_var=np.array([0.003, 0.003, 0.01]), joint=joint,
            wander=np.array([[500.0, 0.05], [0.0, 0.0], [0.0, 0.0]]),
            shared=np.arange(9.0).reshape(3, 3) / 1000, habit=np.array([[0.1, 0.02, -0.01], [0.0, 0.0, 0.0]]),
            residual=np.array([0.1, -0.9, 0.02]), residual_var=np.array([0.04, 0.05, 0.04]),
        ),
        "columns": SimpleNamespace(
            axle=np.array([-0.3, -0.6, -0.2, 9.0]), bend=np.array([0.05, 0.2, 0.01, 9.0]),
            slope=np.array([1e-4, 1.1e-4, 1e-4, 9.0]), clock=np.zeros(4), noise_ratio=np.array([1.0, 4.0, 1.0, 1.0]),
            habit=np.vstack([np.arange(12.0).reshape(3, 4) / 50]),
        ),
        "blocks": SimpleNamespace(
            row_unit=np.array([0, 0, 1]), row_occasion=np.array([1, 2, 2]), unit_block=np.array([0, 0, 1]),
            bend_fixed=len(TERMS) - 1,
        ),
        "data": SimpleNamespace(
            response=np.array([7.0, 5.5, 7.4]), front_km=np.array([10e3, 18e3, 6e3]), rear_km=np.array([0.0, 4e3, 0.0]),
            noise=np.array([1.0, 2.0, 1.0]), start=np.array([8.0, 8.0, 7.5]),
        ),
        "names": SimpleNamespace(
            terms=TERMS, part_worn=[False, True, False], place=np.array([0.5, 1.0, 0.8]),
            table=pd.DataFrame({"tire_id": ["A", "B", "C"], "tire_line": ["Alder", "Brook", "Alder"],
                                "new_depth_mm": [8.0, 8.0, np.nan], "first_position": ["RR", "RR", "LR"],
                                "first_date": DAY, "first_odometer_km": 100.0}),
            fleet=pd.DataFrame({"vehicle_id": ["V1", "V2"], "drive": ["front", "all"], "driver_group": ["night", ""]}),
        ),
        "used": pd.DataFrame(
            {"tire_id": ["A", "A", "B"], "vehicle_id": "V1", "position": ["LF", "RR", "LF"],
             "date": DAY + pd.to_timedelta([30, 90, 90], unit="D"), "odometer_km": [10e3, 22e3, 22e3],
             "reference_km": [10e3, 22e3, 6e3], "tire_km": [9e3, 21e3, 5e3], "depth_mm": [7.0, 5.5, 7.4]}
        ),
        "estimate": SimpleNamespace(
            variances=np.array([0.04, 0.01, 90.0, 4e-8, 0.0025, 0.01, 0.09, 0.16, 1e-8]),
            log_sd=np.array([0.2, 0.4, 1.0, 1.0, 0.5, 0.6, 0.3, 0.8, np.nan]), groups=np.array([0.04]),
            priors=SimpleNamespace(precision=np.full(len(TERMS), 1.0), log_variance_sd=np.full(9, 1.1),
                                   groups=((np.array([1, 2]), 0.09, 3.0),)),
        ),
        "result": SimpleNamespace(mean=np.append(VALUES[:-1], q), cov=covariance()), "prior": PUBLISHED, "bend_sd_ratio": 0.5,
    }  # fmt: skip
    assert rows == len(values["used"])
    for name, value in changes.items():
        part, _, field = name.partition("__")
        setattr(values[part], field, value) if field else values.update({part: value})
    return SimpleNamespace(**values)


def test_effects_are_rates_ratios_or_themselves_with_their_ranges():
    cov = covariance()
    table = estimate_table(made()).set_index("term")
    assert table.index.tolist() == [
        "wear", "line Alder", "line Brook", "group night", "front over rear, front drive", "new depth less stated, Alder",
        "treadwear grade", "q",
    ]  # fmt: skip
    assert table["unit"].tolist() == [*["mm per 1000 km"] * 3, "ratio", "ratio", "mm", "exponent", "exponent"]
    wear = table.loc["wear"]
    assert wear["estimate"] == pytest.approx(1000 * np.exp(-9.2))
    assert wear["std_error"] == pytest.approx(wear["estimate"] * np.sqrt(cov[0, 0]))
    # A line's rate is the level and its own effect; both vary, and together.
    sd = np.sqrt(cov[0, 0] + cov[1, 1] + 2 * cov[0, 1])
    line = table.loc["line Alder"]
    assert line["estimate"] == pytest.approx(1000 * np.exp(-9.1))
    assert line["lower"] == pytest.approx(1000 * np.exp(-9.1 - Z * sd))
    assert line["upper"] == pytest.approx(1000 * np.exp(-9.1 + Z * sd))
    assert table.loc["front over rear, front drive", "estimate"] == pytest.approx(np.exp(0.2))
    start = table.loc["new depth less stated, Alder"]
    assert start[["estimate", "lower", "upper"]].tolist() == pytest.approx(
        [-0.15, -0.15 - Z * np.sqrt(cov[5, 5]), -0.15 + Z * np.sqrt(cov[5, 5])]
    )
    assert table.loc["treadwear grade", "std_error"] == pytest.approx(np.sqrt(cov[6, 6]))


def test_a_term_is_fitted_where_its_variance_fell_by_a_fifth():
    cov = np.diag([0.80, 0.82, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5])
    table = estimate_table(made(result__cov=cov))
    assert table["source"].tolist()[:3] == ["fitted", "prior", "fitted"]
    # The curvature was held while the rest was fitted: what it was told says so.
    assert estimate_table(made(bend_sd_ratio=0.89))["source"].tolist()[-1] == "fitted"
    assert estimate_table(made(bend_sd_ratio=0.91))["source"].tolist()[-1] == "prior"
    flat = estimate_table(made(estimate__priors=SimpleNamespace(precision=np.zeros(8))))
    assert set(flat["source"]) == {"fitted"}


def test_a_variance_that_could_not_be_found_gives_no_range():
    cov = covariance()
    cov[0, 0] = cov[5, 5] = -1e-12
    table = estimate_table(made(result__cov=cov)).set_index("term")
    assert table.loc["wear", ["std_error", "lower", "upper"]].isna().all()
    assert table.loc["new depth less stated, Alder", ["std_error", "lower", "upper"]].isna().all()
    huge = estimate_table(made(result__cov=np.diag(np.full(8, 1e9)))).set_index("term")
    assert np.isfinite(huge.loc["wear", "upper"])


def test_spreads_are_in_units_that_can_be_read():
    table = component_table(made()).set_index("term")
    assert table["estimate"].to_dict() == pytest.approx(
        {"reading": 0.2, "visit": 0.1, "scatter": np.sqrt(90) / 100, "wander": 2e-4 * 100, "new-depth": 0.05,
         "tire": 0.1, "vehicle": 0.3, "axle": 0.4, "vehicle-wander": 1e-4 * 100, "line": 0.2}
    )  # fmt: skip
    # A log variance known to 0.4 is a log spread known to 0.2.
    assert table.loc["visit", ["lower", "upper"]].tolist() == pytest.approx(
        [0.1 * np.exp(-Z * 0.2), 0.1 * np.exp(Z * 0.2)]
    )
    assert table["unit"].to_dict()["scatter"] == "share"
    assert table.loc["scatter", "source"] == "prior"  # no surer than it was held
    assert table.loc["axle", "source"] == "fitted"
    held = made(estimate__log_sd=np.full(9, 1.0))
    assert set(component_table(held)["source"][:9]) == {"prior"}
    assert set(component_table(made(estimate__log_sd=np.full(9, 0.98)))["source"][:9]) == {"fitted"}


def test_what_lines_vary_by_is_known_by_their_number_and_what_was_held():
    # Two lines, held as worth three: a variance of five values, log-sd sqrt(2 / 5); the prior has more of a say.
    row = component_table(made()).set_index("term").loc["line"]
    sd = np.sqrt(2 / 5) / 2
    assert row[["lower", "upper"]].tolist() == pytest.approx([0.2 * np.exp(-Z * sd), 0.2 * np.exp(Z * sd)])
    assert row["source"] == "prior"
    many = made()
    many.estimate.priors.groups = ((np.array([1, 2]), 0.09, 1.9),)
    assert component_table(many).set_index("term").loc["line", "source"] == "fitted"


def test_where_a_tire_stands_is_its_path_with_what_it_walked():
    seen = last_seen_of(made())
    assert seen.row.tolist() == [1, 2, 3]
    # A: 18,000 km at the front and 4,000 at the rear, wear at the front exp(0.2) times the mean's.
    run = 18e3 * np.exp(0.2) + 4e3 * np.exp(-0.2)
    walked = np.array([1, 5, 9]) / 50 @ [0.1, 0.02, -0.01]
    assert seen.start.tolist() == pytest.approx([8.1, 7.8, 7.5])
    assert seen.depth[0] == pytest.approx(8.1 - np.exp(-9.2) * run - 1.1e-4 * 500 + walked)
    # Karhunen and Loeve's terms at the end of the way: sqrt(2) sin(c) / c.
    c = (np.arange(3) + 0.5) * np.pi
    assert seen.log_wear[0] == pytest.approx(
        -9.2 + 0.05 + np.array([0.1, 0.02, -0.01]) @ (np.sqrt(2) * np.sin(c) / c)
    )
    # Never read, C stands where it started.
    assert (seen.depth[2], seen.log_wear[2]) == (7.5, -9.1)


@pytest.mark.parametrize("q", [0.0, 0.6, -0.5])
def test_derivatives_are_the_slopes_of_depth_and_rate(q):
    found = made(q)
    by = last_seen_of(found).by
    tire = 0

    def moved(change):
        """Depth and log rate after a change of one of the numbers, up less down, over twice the step."""
        step, both = 1e-5, []
        for sign in (1, -1):
            other = made(q)
            change(other, sign * step)
            seen = last_seen_of(other)
            both.append(np.array([seen.depth[tire], seen.log_wear[tire]]))
        return (both[0] - both[1]) / (2 * step)

    def on(name):
        def change(other, step):
            getattr(other.units, name)[tire] += step

        return change

    def wandered(column):
        def change(other, step):
            other.units.wander[tire, column] += step * (1e3 if column == 0 else 1)

        return change

    def walked(term):
        def change(other, step):
            other.units.habit[0, term] += step

        return change

    np.testing.assert_allclose(by[tire, :2, 0], moved(on("start")), rtol=1e-5, atol=1e-8)
    np.testing.assert_allclose(by[tire, :2, 1], moved(on("rate")), rtol=1e-5, atol=1e-8)
    np.testing.assert_allclose(by[tire, :2, 7] * 1e3, moved(wandered(0)), rtol=1e-5, atol=1e-8)
    np.testing.assert_allclose(by[tire, :2, 8], moved(wandered(1)), rtol=1e-5, atol=1e-8)
    for term in range(3):
        np.testing.assert_allclose(by[tire, :2, 4 + term], moved(walked(term)), rtol=1e-5, atol=1e-8)
    # By the axles' ratio and the curvature the depth has the columns of the model; the rate goes with the depth.
    seen = last_seen_of(found)
    assert by[tire, 0, 2:4].tolist() == [-0.6, 0.2]
    assert by[tire, 1, 2] == pytest.approx(q / seen.depth[0] * -0.6)
    assert by[tire, 1, 3] == pytest.approx(q / seen.depth[0] * 0.2 + np.log(seen.depth[0] / 8.1))
    assert by[tire, 2].tolist() == [0, 0, 0, 1, 0, 0, 0, 0, 0]


def test_a_tires_posterior_is_on_the_axle_that_it_was_on_last():
    found = made()
    table = tire_table(found).set_index("tire_id")
    seen = last_seen_of(found)
    assert table["position"].tolist() == ["RR", "LF", "LR"]
    assert table["log_wear"].tolist() == pytest.approx(
        seen.log_wear + np.array([-0.5, 0.5, -0.5]) * [0.4, 0.4, -0.2]
    )
    assert table["wear_mm_per_1000km"].tolist() == pytest.approx(1000 * np.exp(table["log_wear"]))
    assert table["std_error"].tolist() == pytest.approx(table["wear_mm_per_1000km"] * table["log_wear_sd"])
    assert table["log_axle_front"].tolist() == pytest.approx([0.2, 0.2, -0.1])
    assert table["log_axle_rear"].tolist() == pytest.approx([-0.2, -0.2, 0.1])
    # On the rear wear goes slower by half the log ratio: a walk of so many km there is one of fewer at the mean.
    clock = np.exp(np.array([-0.5, 0.5, -0.5]) * [0.4, 0.4, -0.2])
    assert table["wander_var_per_km"].tolist() == pytest.approx((4e-8 + 1e-8) * clock)
    assert table["scatter_km"].tolist() == pytest.approx(90 / clock)


def test_its_covariance_is_that_of_depth_rate_axles_and_curvature_by_first_order():
    found = made(0.4)
    table, by, joint = tire_table(found), last_seen_of(found).by.copy(), found.units.joint
    by[:, 1, 2] += [-0.5, 0.5, -0.5]
    axle = np.eye(9)[2]
    for i in range(3):
        four = (
            np.vstack([by[i], axle]) @ joint[i] @ np.vstack([by[i], axle]).T
        )  # depth, rate, curvature, axles
        sds = table.loc[i, ["depth_sd_mm", "log_wear_sd", "q_sd", "axle_sd"]].astype(float)
        assert sds.tolist() == pytest.approx(np.sqrt(np.diag(four)))
        pairs = [
            "depth_log_wear_cov",
            "depth_q_cov",
            "log_wear_q_cov",
            "depth_axle_cov",
            "log_wear_axle_cov",
            "axle_q_cov",
        ]
        want = [four[0, 1], four[0, 2], four[1, 2], four[0, 3], four[1, 3], four[2, 3]]
        assert table.loc[i, pairs].astype(float).tolist() == pytest.approx(want)
    assert table["q"].tolist() == [0.4] * 3
    assert table["new_depth_sd_mm"].tolist() == pytest.approx(np.sqrt(joint[:, 0, 0]))
    assert table[["shared_cov", "shared_both_mm", "shared_depth_mm2"]].to_numpy().ravel() == pytest.approx(
        np.arange(9) / 1000
    )


def test_its_last_visit_is_told_and_one_never_read_stands_on_the_day_it_was_mounted():
    table = tire_table(made()).set_index("tire_id")
    assert table["visits"].tolist() == [2, 1, 0]
    assert table["last_date"].tolist() == [DAY + pd.Timedelta(days=90)] * 2 + [DAY]
    assert table["last_odometer_km"].tolist() == [22e3, 22e3, 100.0]
    assert table["reference_km"].tolist() == [22e3, 6e3, 0.0]
    assert table["vehicle_id"].tolist() == ["V1", "V1", "V2"]
    bare = made()
    bare.names.table = bare.names.table.drop(columns=["first_position", "first_date", "first_odometer_km"])
    never = tire_table(bare).set_index("tire_id").loc["C"]
    assert never["position"] == ""
    assert pd.isna(never["last_date"])
    assert np.isnan(never["last_odometer_km"])


def test_its_own_line_is_least_squares_over_what_it_ran_on_the_road():
    table = tire_table(made()).set_index("tire_id")["straight_line_mm_per_1000km"]
    assert table["A"] == pytest.approx((7.0 - 5.5) / 12)
    assert table[["B", "C"]].isna().all()
    other = made()
    other.used = other.used.drop(columns="tire_km").assign(reference_km=[10e3, 10e3, 6e3])
    assert np.isnan(tire_table(other).set_index("tire_id").loc["A", "straight_line_mm_per_1000km"])


def test_a_tire_that_wears_unlike_its_vehicle_and_line_does_not_belong():
    # What is left of its own is 0.5 of sqrt(0.01 - 0.003) log: six standard deviations.
    table = tire_table(made()).set_index("tire_id")
    assert table["belongs"].tolist() == [True, False, True]
    limit = 3.5 * np.sqrt(0.007)
    for own, belongs in (
        (0.999 * limit, True),
        (-0.999 * limit, True),
        (1.001 * limit, False),
        (-1.001 * limit, False),
    ):
        assert tire_table(made(units__own=np.array([own, 0.0, 0.0])))["belongs"][0] == belongs


def test_reasons_say_what_is_missing_and_what_leans_on_the_prior():
    table = tire_table(made()).set_index("tire_id")["reason"]
    assert table["A"] == ""
    assert table["B"] == "; ".join([Says.READ_ONCE, Says.NO_LINE, Says.PART_WORN, Says.ODD])
    assert table["C"] == "; ".join([Says.NEVER_READ, Says.NO_LINE, Says.NEW_DEPTH_UNKNOWN])
    wild = made()
    wild.units.joint[0] = np.eye(9) * 1e4
    lost = tire_table(wild).set_index("tire_id").loc["A"]
    assert lost["reason"] == Says.RANGE_LOST
    assert np.isnan(lost["depth_sd_mm"])
    assert np.isnan(lost["log_wear_sd"])
    assert lost["q_sd"] == pytest.approx(100.0)
    # Known to 3 mm of 8 it is a poor answer, and an answer.
    poor = made()
    poor.units.joint[0] = 0.0
    poor.units.joint[0, 0, 0] = 9.0
    assert tire_table(poor).set_index("tire_id").loc["A", "depth_sd_mm"] == pytest.approx(3.0, rel=0.1)


def test_vehicles_say_how_they_wear_their_tires_and_from_how_many_visits():
    table = vehicle_table(made())
    assert table["vehicle_id"].tolist() == ["V1", "V2"]
    assert table["tires"].tolist() == [2, 1]
    assert table["visits"].tolist() == [2, 0]
    assert table["log_effect"].tolist() == [0.15, -0.05]
    assert table["log_effect_sd"][0] == pytest.approx(0.1)
    assert np.isnan(table["log_effect_sd"][1])  # and never 0 for what could not be found
    bare = made()
    bare.names.fleet = bare.names.fleet.drop(columns="driver_group")
    assert vehicle_table(bare)["driver_group"].tolist() == ["", ""]


def test_a_visit_stands_beside_what_all_others_predict_for_it():
    table = visit_table(made())
    assert table["tire_id"].tolist() == ["A", "A", "B"]
    assert table["fitted_mm"].tolist() == pytest.approx([6.9, 6.4, 7.38])
    assert table["residual_mm"].tolist() == [0.1, -0.9, 0.02]
    # The second counts half, as its error was raised to twice what was stated: judged by that stated.
    assert table["weight"].tolist() == [1.0, 0.5, 1.0]
    plain = np.sqrt(1e-12)  # 0.05 less a reading's 2 * 0.04
    assert table["standardized"].tolist() == pytest.approx([0.5, -0.9 / plain, 0.1])
    wide = visit_table(made(units__residual_var=np.array([0.04, 0.12, 0.04])))
    assert wide["standardized"][1] == pytest.approx(-0.9 / np.sqrt(0.12 - 1.0 * 2 * 0.04))
    assert wide["outlier"].tolist() == [False, True, False]
    near = visit_table(made(units__residual=np.array([3.5 * 0.2, -0.9, 3.51 * 0.2])))
    assert near["outlier"].tolist() == [False, True, True]


def test_visits_go_by_the_names_of_tires_and_then_by_date():
    other = made()
    other.names.table = other.names.table.assign(tire_id=["B", "A", "C"])
    other.used = other.used.assign(tire_id=["B", "B", "A"])
    table = visit_table(other)
    assert table["tire_id"].tolist() == ["A", "B", "B"]
    assert table["residual_mm"].tolist() == [0.02, 0.1, -0.9]


def test_what_a_fit_learned_is_the_level_of_the_average_tire_and_effects_about_it():
    found = made()
    cov = covariance()
    prior = learned(found)
    # The level and half of each of two lines and the one group; an effect less the mean of its kind.
    level = np.array([1, 0.5, 0.5, 1, 0, 0, 0, 0])
    apart = np.array([0, 0.5, -0.5, 0, 0, 0, 0, 0])
    assert prior.log_rate.mean == -9.2
    assert prior.log_rate.sd == pytest.approx(max(np.sqrt(level @ cov @ level), 0.03))
    assert prior.lines["Alder"].mean == 0.1
    assert prior.lines["Alder"].sd == pytest.approx(np.sqrt(apart @ cov @ apart))
    assert prior.groups["night"].sd == pytest.approx(0.02)  # the only one is its mean: never surer than this
    assert (prior.axle["front"].mean, prior.axle["front"].sd) == (0.2, pytest.approx(np.sqrt(cov[4, 4])))
    assert prior.axle["rear"] == PUBLISHED.axle["rear"]
    assert prior.starts["Alder"].mean == -0.15
    assert (prior.grade.mean, prior.grade.sd) == (-0.3, pytest.approx(np.sqrt(cov[6, 6])))
    assert prior.bend.sd == pytest.approx(np.sqrt(cov[7, 7]) / PRIOR_SD)
    assert prior.lives == ()
    assert prior.source == "fit(visits=3, tires=3)"
    sure = learned(made(result__cov=np.zeros((8, 8))))
    assert (sure.log_rate.sd, sure.bend.sd) == (pytest.approx(0.03), pytest.approx(0.02 / PRIOR_SD))


def test_spreads_are_learned_as_far_as_another_fleet_can_be_like_this_one():
    prior = learned(made())
    assert prior.spreads["noise"].mean == pytest.approx(np.log(0.2))
    assert prior.spreads["noise"].sd == 0.15  # known to 0.1 here
    assert prior.spreads["visit"].sd == pytest.approx(0.2)
    assert prior.spreads["axle"].sd == pytest.approx(min(0.4, PUBLISHED.spreads["axle"].sd))
    assert prior.spreads["habit"] == PUBLISHED.spreads["habit"]  # not found
    assert prior.spreads["line"].mean == pytest.approx(np.log(0.2))
    assert prior.spreads["line"].sd == pytest.approx(min(np.sqrt(0.5 / 5), PUBLISHED.spreads["line"].sd))
    assert set(prior.spreads) == set(PUBLISHED.spreads) >= set(VARIANCES)


def test_without_grades_what_was_held_of_them_stays():
    found = made()
    found.names.terms = [*TERMS[:6], "other", "q"]
    assert learned(found).grade == PUBLISHED.grade

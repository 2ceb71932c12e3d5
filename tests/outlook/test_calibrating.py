"""Factor on the ranges against the same law integrated by SciPy, and what it does to a fit."""

import importlib
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, stats

from tests.rates.standing import stands
from tirelife.outlook.calibrating import LEAST, UNBIASED, Calibration, calibrate, carried, cut_day, visit_days
from tirelife.rates import PUBLISHED, Posterior, WearFit

MODULE = importlib.import_module("tirelife.outlook.calibrating")
DAY = pd.Timestamp("2026-01-01")


def book(*visits, vehicles=None):
    """A logbook of visits: (vehicle, day)."""
    depths = pd.DataFrame(visits, columns=["vehicle_id", "day"])
    depths["date"] = DAY + pd.to_timedelta(depths.pop("day"), unit="D")
    names = sorted(set(depths["vehicle_id"])) if vehicles is None else vehicles
    return SimpleNamespace(tables={"depths": depths}, vehicles=pd.DataFrame({"vehicle_id": names}))


def test_the_student_law_leaves_ranges_that_are_right_as_they_are():
    # The scale at which normal errors of variance 1 give a mean score of nought, by quadrature.
    def score(z):
        return 7 * z**2 / (6 * UNBIASED + z**2) * stats.norm.pdf(z)

    assert integrate.quad(score, -np.inf, np.inf)[0] == pytest.approx(1.0, abs=1e-9)


def test_a_day_of_a_vehicle_is_one_visit():
    days = visit_days(book(("A", 0), ("A", 0), ("B", 0), ("A", 9)))
    assert days.to_numpy().tolist() == [["A", DAY], ["B", DAY], ["A", DAY + pd.Timedelta(days=9)]]


def test_the_cut_is_where_most_vehicles_are_read_on_both_sides():
    # Six cars read every 100 days: any day between serves, and that with six in ten of the visits over is taken.
    even = [(f"V{i}", 100 * j) for i in range(6) for j in range(10)]
    assert cut_day(book(*even)) == DAY + pd.Timedelta(days=500)
    # Six more with many visits on the first days alone: past them fewer are read after.
    assert cut_day(book(*even, *[(f"W{i}", j) for i in range(6) for j in range(9)])) is not None
    late = [(f"V{i}", day) for i in range(6) for day in (0, 10, 20, 700)]
    assert cut_day(book(*late)) == DAY + pd.Timedelta(days=20)


def test_under_five_vehicles_read_before_and_after_there_is_no_cut():
    assert LEAST == 5
    some = [(f"V{i}", day) for i in range(5) for day in (0, 100, 200)]
    assert cut_day(book(*some)) == DAY + pd.Timedelta(days=100)
    assert cut_day(book(*[row for row in some if row[0] != "V4"])) is None
    assert cut_day(book(*[(f"V{i}", 0) for i in range(9)])) is None  # once each
    assert cut_day(book()) is None


@pytest.fixture
def found(monkeypatch):
    """Calibration of made-up misses: vehicle, miss [mm], and the variance of its reading, with and by the factor."""

    def of(rows, read_sd=0.2):
        table = pd.DataFrame(
            rows, columns=["vehicle_id", "miss_mm", "read_var_mm2", "ahead_cov_mm2", "ahead_var_mm2"]
        )
        later = pd.DataFrame({"vehicle_id": table["vehicle_id"], "depth_mm": 5.0 + table["miss_mm"]})
        kept = table.drop(columns=["vehicle_id", "miss_mm"]).assign(depth_mm=5.0)
        for name in ("known_on", "fit_logbook", "present_state", "depths_over"):
            monkeypatch.setattr(MODULE, name, lambda *a, **k: None)
        monkeypatch.setattr(MODULE, "later_visits", lambda *a: later)
        monkeypatch.setattr(MODULE, "carried", lambda state: kept)
        monkeypatch.setattr(MODULE, "reading_sd", lambda fit: read_sd)
        return MODULE.calibration(book(*[(f"V{i}", day) for i in range(6) for day in (0, 100, 200)]))

    return of


def law(rows, read_sd=0.2):
    """Mean and sd of the log factor, by quadrature: each vehicle counts once, errors Student's with 6 degrees."""
    name, (miss, read, once, twice) = [row[0] for row in rows], np.array([row[1:] for row in rows]).T
    share = np.array([1 / name.count(one) for one in name])
    nodes, weights = np.polynomial.legendre.leggauss(200)
    g = 0.25 + 1.25 * nodes[:, None]  # from -1 to 1.5
    var = np.maximum(read + read_sd**2 + np.exp(g) * once + np.exp(2 * g) * twice, 1e-4)
    logs = (share * stats.t.logpdf(miss, 6, scale=np.sqrt(var * UNBIASED))).sum(axis=1)
    density = weights * np.exp(logs - logs.max()) * stats.norm.pdf(g[:, 0], 0, 0.25)
    mean = density @ g[:, 0] / density.sum()
    return mean, np.sqrt(density @ (g[:, 0] - mean) ** 2 / density.sum())


@pytest.mark.parametrize("size", [0.1, 0.4, 2.0])
def test_the_factor_is_that_of_the_misses(found, size):
    rng = np.random.default_rng(4)
    rows = [(f"V{i % 8}", size * rng.normal(), 0.01, -0.02, 0.3) for i in range(20)]
    got = found(rows)
    mean, sd = law(rows)
    assert np.log(got.factor) == pytest.approx(mean, abs=2e-3)
    assert got.log_sd == pytest.approx(sd, rel=0.01)
    assert (got.vehicles, got.readings) == (8, 20)
    assert (got.factor > 1) == (size > 1)


def test_a_vehicle_read_often_counts_no_more_than_one_read_once(found):
    once = [(f"V{i}", 1.5, 0.01, 0.0, 0.2) for i in range(6)]
    assert found(once * 3).factor == pytest.approx(found(once).factor)


def test_too_few_vehicles_with_a_known_miss_leave_the_ranges(found):
    rows = [(f"V{i}", 3.0, 0.01, 0.0, 0.2) for i in range(5)]
    assert found(rows).factor > 1.2
    for gap in ((1, np.nan), (2, np.nan), (4, np.nan)):
        worse = list(rows[0])
        worse[gap[0]] = gap[1]
        assert found([tuple(worse), *rows[1:]]) == Calibration(1.0, 0.25, 0, 0)


def test_a_large_log_is_calibrated_on_some_of_its_vehicles(monkeypatch):
    asked = []
    monkeypatch.setattr(MODULE, "of_vehicles", lambda whole, names: asked.append(names) or book())
    names = [f"V{i}" for i in range(401)]
    assert MODULE.calibration(book(vehicles=names)).factor == 1.0
    assert len(asked[0]) == 400
    assert asked[0] < set(names)
    MODULE.calibration(book(vehicles=names[:400]))
    assert len(asked) == 1


def test_what_a_factor_makes_of_the_variance_ahead():
    # Straight, 20,000 km at 1e-4 mm/km: the depth less 2 mm times the rate's log; depth 0.2 mm, rate 5 %, correlation 1/2.
    both = 0.5 * 0.2 * 0.05
    state = stands(at_cov_depth_depth=0.04, at_cov_log_wear_log_wear=0.0025, at_cov_depth_log_wear=both,
                   since_front_km=20_000.0, shared_cov=np.nan, shared_both_mm=np.nan)  # fmt: skip
    table = carried(state).iloc[0]
    assert table["depth_mm"] == pytest.approx(4.0, abs=0.005)
    assert table["read_var_mm2"] == pytest.approx(0.04, rel=1e-3)
    assert table["ahead_cov_mm2"] == pytest.approx(-2 * 2 * both, rel=0.02)
    assert table["ahead_var_mm2"] == pytest.approx(4 * 0.0025, rel=0.02)


def fit():
    root = np.random.default_rng(1).normal(size=(4, 4)) * 0.05
    state = stands(2, position=["LF", "RR"])
    posterior = Posterior(
        np.tile([6.0, -9.0, 0.2, 0.1], (2, 1)), np.tile(root @ root.T, (2, 1, 1)), np.full(2, 1e-7), np.full(2, 4.0),
        np.array([0.5, -0.5]),
    )  # fmt: skip
    tires = posterior.to_tires().assign(
        position=state["position"], depth_mm=6.0, log_wear=-9.0, log_axle_front=0.1, log_axle_rear=-0.1, q=0.1,
        shared_cov=0.001, shared_both_mm=0.002, shared_depth_mm2=0.003,
    )  # fmt: skip
    estimates = pd.DataFrame([{"term": "wear", "estimate": 0.1}])
    return WearFit({"tires": tires, "estimates": estimates}, "REML", 0.1, PUBLISHED, PUBLISHED)


def test_a_calibrated_fit_has_wider_ranges_of_all_but_the_depth_and_says_so():
    before, after = fit().tires, calibrate(fit(), Calibration(2.0, 0.1, 7, 30))
    tires = after.tires
    for name, times in (
        ("depth_sd_mm", 1), ("log_wear_sd", 2), ("axle_sd", 2), ("q_sd", 2), ("depth_log_wear_cov", 2),
        ("log_wear_q_cov", 4), ("wander_var_per_km", 4), ("scatter_km", 4), ("shared_cov", 4), ("shared_both_mm", 2),
        ("shared_depth_mm2", 1), ("depth_mm", 1), ("log_wear", 1),
    ):  # fmt: skip
        np.testing.assert_allclose(tires[name], times * before[name], rtol=1e-9, err_msg=name)
    row = after.estimates.set_index("term").loc["calibration of ranges"]
    assert row[["estimate", "std_error"]].tolist() == pytest.approx([2.0, 0.2])
    assert row[["lower", "upper"]].tolist() == pytest.approx([2 * np.exp(-0.196), 2 * np.exp(0.196)])
    assert (row["unit"], row["source"]) == ("ratio", "later-readings")
    assert after.frames["calibration"].to_dict("records") == [
        {"factor": 2.0, "log_sd": 0.1, "vehicles": 7, "readings": 30}
    ]


def test_a_fit_that_could_not_be_calibrated_says_that_too_few_came_later():
    after = calibrate(fit(), Calibration(1.0, 0.25, 0, 0))
    assert after.estimates["source"].tolist()[-1] == "too-few-later"
    pd.testing.assert_frame_equal(after.tires, fit().tires)

import importlib
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.fleets import WELL, simulate
from tests.outlook.folders import one_car
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.logbook import known_on, read_logbook
from tirelife.outlook import (
    Held,
    backtest,
    calibrate,
    calibrated_fit,
    calibration,
    forecast,
    present_state,
    reliability,
    score_predictions,
    set_outlook,
)
from tirelife.outlook.backtests import LEVELS, origin_days
from tirelife.outlook.calibrating import carried, cut_day
from tirelife.outlook.later import (
    depths_after,
    depths_over,
    later_visits,
    reading_quantiles,
    reading_sd,
    worn_out,
)
from tirelife.rates import fit_logbook
from tirelife.rotation import vehicle_set
from tirelife.tread import tire_visits

PERCENTS = (0.1, 0.25, 0.5, 0.75, 0.9)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("fleet")
    simulate(path, replace(WELL, vehicles=25, days=1350), 3)
    return path


@pytest.fixture(scope="module")
def book(folder):
    return read_logbook(folder)


@pytest.fixture(scope="module")
def result(book):
    return backtest(book, 2)


def of(result, target, origin=None, method="tirelife"):
    some = result.predictions.query("target == @target and method == @method")
    return some if origin is None else some[some["origin"] == origin]


def test_distances_and_dates_are_the_forecasts_of_the_logbook_cut_on_that_day(book, result):
    day = result.origins["origin"].iloc[0]
    known = read_logbook(book.source, as_of=day)  # read again: nothing of a later day was ever in it
    fit = calibrated_fit(known)
    table = forecast(known, fit).set_index("tire_id")
    mine = of(result, "distance", day).query("removal_mm < 2")
    wide = mine.pivot_table("value", "tire_id", "quantile")
    assert len(wide) > 80
    want = table.loc[wide.index, [f"km_left_p{round(100 * p)}" for p in PERCENTS]].to_numpy()
    np.testing.assert_allclose(wide[list(PERCENTS)].to_numpy(), want, rtol=1e-9)
    days = of(result, "date", day).query("removal_mm < 2").pivot_table("value", "tire_id", "quantile")
    due = table.loc[days.index, "date_p50"]
    told = day + pd.to_timedelta(np.floor(days[0.5].to_numpy() + 1e-9), unit="D")
    assert (due.to_numpy()[due.notna()] == told.to_numpy()[due.notna()]).all()
    first = of(result, "first", day).query("removal_mm < 2").pivot_table("value", "vehicle_id", "quantile")
    sets = set_outlook(present_state(known, fit)).query("group == 'set'").set_index("vehicle_id")
    np.testing.assert_allclose(first[0.5], sets.loc[first.index, "km_left_p50"], rtol=1e-9)


def test_depth_today_is_one_number_by_forecast_back_test_and_planner(tmp_path):
    simulate(tmp_path, replace(WELL, vehicles=6, gap_days=400), 3)  # moved since they were read
    book = read_logbook(tmp_path)
    fit = fit_logbook(book)
    state = present_state(book, fit)
    moved = fit.tires.set_index("tire_id").loc[state["tire_id"], "position"].to_numpy() != state["position"]
    assert moved.sum() > 6
    here = state.assign(date=book.as_of, row=np.arange(len(state)))
    last = here["odometer_km"] - here["unread_km"]
    now = depths_after(state.assign(unread_km=0.0))
    read = depths_after(state, here.assign(odometer_km=last))
    over = depths_after(depths_over(book, fit, state, here.assign(odometer_km=last)))
    # Draws are in single precision: what a micrometre is of some millimetres.
    np.testing.assert_allclose(read, now, rtol=1e-5, atol=1e-5)
    np.testing.assert_allclose(over, now, rtol=1e-5, atol=1e-5)
    np.testing.assert_allclose(carried(state.assign(unread_km=0.0))["depth_mm"], now.mean(axis=1), rtol=1e-6)
    for vehicle in state["vehicle_id"].unique():
        own = state[state["vehicle_id"] == vehicle]
        planned = vehicle_set(book, vehicle, fit)
        for row in own.itertuples():
            assert planned.depths[row.position] == pytest.approx(row.depth_now_mm, rel=1e-12)
        new, draws = own["new_depth_mm"].to_numpy()[:, None], depths_after(own)
        ratio = (
            (own["new_depth_mm"] - own["depth_now_mm"]) / (own["new_depth_mm"] - own["mean_depth_mm"])
        ).to_numpy()
        shown = np.maximum(new - ratio[:, None] * (new - draws), 0.0)
        order = [list(planned.tires.index).index(p) for p in own["position"]]
        np.testing.assert_allclose(planned.drawn_depths[:, order].T, shown, rtol=1e-5, atol=1e-5)


def test_depths_ahead_are_worn_over_the_rotations_that_the_distance_left_is(book):
    """At the distance left that a draw has, its depth is at the limit: two ways through the same worlds."""
    from tirelife.outlook.ahead import Course

    fit = fit_logbook(book)
    state = present_state(book, fit)
    # Without what is drawn for the distance alone, every draw of a tire must agree with itself.
    state = state.assign(at_scatter_km=0.0, at_wander_per_km=0.0, limit_sd_mm=0.0, unread_km=0.0)
    course = Course(state)
    km = course.distance(course.stays(), course.turns())
    open_ = (km > 1000).all(axis=1)
    depth = course.depth_after(km)
    np.testing.assert_allclose(
        depth[open_], np.broadcast_to(state["limit_mm"].to_numpy()[:, None], depth.shape)[open_], atol=0.02
    )


def test_quantiles_of_a_reading_are_those_of_depth_and_gauge():
    rng = np.random.default_rng(4)
    draws = 5 + 0.3 * rng.normal(size=(3, 256))
    got = reading_quantiles(draws, 0.2, (0.1, 0.5, 0.9))
    for row, mine in zip(draws, got, strict=True):
        want = np.quantile(np.repeat(row, 400) + 0.2 * rng.normal(size=256 * 400), [0.1, 0.5, 0.9])
        np.testing.assert_allclose(mine, want, atol=0.006)


def test_worn_out_is_where_a_noiseless_log_passes_the_limit(tmp_path):
    visits = [(f"2024-{m:02d}-01", 20_000 + 1000 * m, 9.0 - 0.5 * m) for m in range(1, 13)]
    book = read_logbook(one_car(tmp_path, visits))
    known = known_on(book, "2024-04-15")
    state = present_state(known, fit_logbook(known), 4.25 * 25.4 / 32)
    came = worn_out(book, state)
    assert not came["censored"].any()
    unit = 1.609344 if book.units == "us" else 1.0
    depths = tire_visits(book).query("position == 'LF'")
    x, y = depths["odometer_km"].to_numpy(), depths["depth_mm"].to_numpy()
    passed = float(np.interp(-4.25 * 25.4 / 32, -y, x))
    start = float(
        np.interp(
            pd.Timestamp("2024-04-15").value, depths["date"].astype("datetime64[ns]").astype("int64"), x
        )
    )
    np.testing.assert_allclose(came["km"], passed - start, rtol=0.03)
    still = worn_out(book, present_state(known, fit_logbook(known), 1.0))
    assert still["censored"].all()
    np.testing.assert_allclose(still["km"], x[-1] - start, rtol=1e-6)
    assert unit


def test_worn_out_by_a_gauge_is_where_the_treads_truly_passed(tmp_path):
    # The same fleet read without any error gives the truth: its generator wears treads whatever is read of them.
    noisy = replace(WELL, vehicles=24, days=1100, visit_days=60.0, rotation=None)
    exact = replace(noisy, gauge_sd_32nds=0.0, visit_sd_32nds=0.0, step_32nds=0.001)
    books = []
    for name, fleet in (("read", noisy), ("true", exact)):
        simulate(tmp_path / name, fleet, 31)
        books.append(read_logbook(tmp_path / name))
    known = known_on(books[0], "2024-09-01")
    state = present_state(known, fit_logbook(known), 4 * 25.4 / 32)
    came = worn_out(books[0], state)
    visits, odometer = tire_visits(books[1]), books[1].odometer.groupby("vehicle_id")
    true = np.full(len(state), np.nan)
    for i, row in enumerate(state.itertuples()):
        own, far = visits[visits["tire_id"] == row.tire_id], odometer.get_group(row.vehicle_id)
        begun = np.interp(
            known.as_of.value, far["date"].astype("datetime64[ns]").astype("int64"), far["odometer_km"]
        )
        if own["depth_mm"].min() <= row.removal_depth_mm:
            true[i] = np.interp(-row.removal_depth_mm, -own["depth_mm"], own["odometer_km"]) - begun
    assert (came["censored"] == np.isnan(true)).mean() > 0.9
    off = (came["km"] - true)[~came["censored"] & (true > 0)]
    # A visit's mean is 0.2 mm off where some 0.1 mm is worn in 1,000 km: 2,000 km, and less for the visit after too.
    assert len(off) >= 30
    assert abs(off.mean()) < 600
    assert off.std() < 1500


def test_one_low_reading_wears_no_tire_out(tmp_path):
    visits = [(f"2024-{m:02d}-01", 20_000 + 1000 * m, 9.0 - 0.5 * m) for m in range(1, 13)]
    visits[5] = (*visits[5][:2], 4.2)  # 6.0 was due, and the next reads 5.5
    book = read_logbook(one_car(tmp_path, visits))
    known = known_on(book, "2024-04-15")
    came = worn_out(book, present_state(known, fit_logbook(known), 4.25 * 25.4 / 32))
    assert (came["km"] > 4000 * 1.6).all()


def test_tires_not_worn_out_are_censored_at_their_last_reading(book, result):
    some = of(result, "distance").drop_duplicates("case")
    assert 0 < some["censored"].sum() < len(some)
    assert (some["horizon"] >= some["observed"] - 1e-6).all()
    gone = some[some["censored"]]
    assert (gone["horizon"] == gone["observed"]).all()
    last = tire_visits(book).groupby("tire_id")["odometer_km"].max()
    from tirelife.logbook import odometer_at

    at = odometer_at(book.odometer, gone["vehicle_id"], gone["origin"])
    want = np.maximum(last.reindex(gone["tire_id"]).to_numpy() - at, 0.0)
    np.testing.assert_allclose(gone["observed"], np.nan_to_num(want), rtol=1e-9)


def test_a_set_is_as_far_as_its_first_tire(result):
    tires = of(result, "distance").query("removal_mm < 2").drop_duplicates("case")
    sets = of(result, "first").query("removal_mm < 2").drop_duplicates("case")
    both = sets.merge(tires.groupby(["origin", "vehicle_id"])["observed"].min().rename("least").reset_index())
    assert len(both) == len(sets)
    np.testing.assert_allclose(both["observed"], both["least"])


def test_ranges_hold_and_it_beats_the_simple_rules(result):
    rows = result.scores[result.scores["part"] == "all"].set_index(["target", "method"])
    own = rows.loc[("depth", "tirelife")]
    for level in (50, 80, 90):
        assert own[f"cover_{level}"] == pytest.approx(level / 100, abs=0.12)
    assert own["weighted_interval"] < rows.loc[("depth", "straight-line"), "weighted_interval"]
    assert own["weighted_interval"] < rows.loc[("depth", "fleet-mean"), "weighted_interval"]
    assert abs(own["bias"]) < 0.1
    assert result.held is Held.HELD
    assert rows.loc[("distance", "tirelife"), "cover_80"] == pytest.approx(0.8, abs=0.15)
    # Mounts that are known leave less open.
    known = rows.loc[("depth-known-mounts", "tirelife")]
    assert known["sharpness"] < own["sharpness"]


def test_scores_are_those_of_the_predictions_and_parts_are_parts(result):
    long = of(result, "depth")
    assert all(tuple(part) == LEVELS for _, part in long.groupby("case")["quantile"])
    wide = long.pivot_table("value", "case", "quantile")
    seen = long.groupby("case")["observed"].first()
    got = result.scores.query("target == 'depth' and method == 'tirelife'").set_index("part")
    assert got.loc["all", "cover_80"] == pytest.approx(((seen >= wide[0.1]) & (seen <= wide[0.9])).mean())
    miss = long["observed"] - long["value"]
    loss = np.maximum(long["quantile"] * miss, (long["quantile"] - 1) * miss)
    assert got.loc["all", "weighted_interval"] == pytest.approx(2 * loss.mean())
    assert got.loc["all", "sharpness"] == pytest.approx((wide[0.9] - wide[0.1]).median())
    for parts in (
        [part for part in got.index if part.startswith("ahead-")],
        [part for part in got.index if part.startswith("origin-")],
        ["same-axle", "other-axle"],
        [part for part in got.index if part.startswith("visits-")],
    ):
        assert got.loc[parts, "forecasts"].sum() == got.loc["all", "forecasts"] == len(wide)
    pd.testing.assert_frame_equal(score_predictions(result.predictions.sample(frac=1, random_state=1)).sort_values(
        ["target", "method", "part"], ignore_index=True), result.scores.sort_values(["target", "method", "part"], ignore_index=True))  # fmt: skip


def test_reliability_lies_in_its_band_and_lives_on_their_ranges(result):
    table = reliability(result.predictions).query("target == 'depth' and method == 'tirelife'")
    assert len(table) == 19
    assert table["found"].is_monotonic_increasing
    assert ((table["found"] >= table["lower"]) & (table["found"] <= table["upper"])).all()
    lives = result.lives()
    assert len(lives) == of(result, "distance").query("not censored")["case"].nunique()
    assert (lives["km_left_p10"] <= lives["km_left_p50"]).all()


def test_the_straight_line_is_the_line_through_new_depth_and_readings(book, result):
    row = of(result, "depth", method="straight-line").query("quantile == 0.5").iloc[0]
    visits = tire_visits(known_on(book, row["origin"]))
    own = visits[visits["tire_id"] == row["tire_id"]]
    new = float(book.tires.set_index("tire_id").loc[row["tire_id"], "new_depth_mm"])
    slope, at = np.polyfit([0, *own["tire_km"]], [new, *own["depth_mm"]], 1)
    run = tire_visits(book).query("tire_id == @row.tire_id and date == @row['at']")["tire_km"].iloc[0]
    assert row["value"] == pytest.approx(at + slope * run, abs=1e-6)


def test_too_little_to_cut_is_said(tmp_path):
    book = read_logbook(one_car(tmp_path, [("2025-01-01", 20_000, 8.0)]))
    with pytest.raises(InputError, match="two visits"):
        backtest(book)
    with pytest.raises(InputError, match="1 or more"):
        backtest(book, 0)
    with pytest.raises(InputError, match="give an earlier day"):
        backtest(book, ["2030-01-01"])
    assert calibration(book).factor == 1.0
    assert cut_day(book) is None


def test_origins_are_spread_over_the_visits(book):
    days = origin_days(book, 3)
    seen = book.depths[["vehicle_id", "date"]].drop_duplicates()["date"]
    shares = [(seen <= day).mean() for day in days]
    np.testing.assert_allclose(shares, [0.4, 0.6, 0.8], atol=0.02)
    assert origin_days(book, 1)[0] == pytest.approx(days[1], abs=pd.Timedelta("1D"))


def test_calibration_widens_what_is_too_narrow_and_leaves_what_holds(book):
    assert calibration(book).factor == pytest.approx(1.0, abs=0.35)
    found = replace(calibration(book), factor=2.0)
    fit = fit_logbook(book)
    wide = calibrate(fit, found)
    ratio = wide.tires["log_wear_sd"] / fit.tires["log_wear_sd"]
    assert ratio.tolist() == pytest.approx([2.0] * len(ratio))
    row = wide.estimates.set_index("term").loc["calibration of ranges"]
    assert row["estimate"] == 2.0
    assert row["source"] == "later-readings"
    assert "calibration of ranges" not in fit.estimates["term"].tolist()


def test_calibration_sees_nothing_of_a_later_day(book):
    """Its fit is that of the logbook read as of the cut: readings after it are only scored."""
    module = importlib.import_module("tirelife.outlook.calibrating")
    seen = []
    fit_it = module.fit_logbook
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            module, "fit_logbook", lambda known, prior=None: seen.append(known) or fit_it(known, prior)
        )
        calibration(book)
    (known,) = seen
    read = read_logbook(book.source, as_of=cut_day(book))
    for name in ("depths", "mounts", "odometer", "tires"):
        mine, theirs = (one.tables[name].drop(columns=["doubt", "codes"]) for one in (known, read))
        pd.testing.assert_frame_equal(mine, theirs, check_dtype=False)


def test_calibration_finds_ranges_that_are_far_too_narrow(monkeypatch, book):
    module = importlib.import_module("tirelife.outlook.calibrating")  # the room has a function of that name

    def narrow(state):
        table = carried(state)
        table[["ahead_var_mm2", "ahead_cov_mm2"]] /= 50
        table["read_var_mm2"] /= 4
        return table

    honest = calibration(book).factor
    monkeypatch.setattr(module, "carried", narrow)
    monkeypatch.setattr(module, "reading_sd", lambda fit: 0.5 * reading_sd(fit))
    assert calibration(book).factor > 1.1 * honest


def test_what_a_factor_does_to_the_variance_is_what_widened_draws_have(book):
    fit = fit_logbook(known_on(book, cut_day(book)))
    state = present_state(known_on(book, cut_day(book)), fit)
    over = depths_over(book, fit, state, later_visits(book, state))
    table = carried(over)
    from tirelife.rates.posterior import Posterior

    k = 1.5
    wider = Posterior.of_frame(over).widened(k).to_frame().set_axis(over.index)
    draws = depths_after(over.assign(**wider, shared_cov=over["shared_cov"] * k**2))
    got = table["read_var_mm2"] + k * table["ahead_cov_mm2"] + k**2 * table["ahead_var_mm2"]
    np.testing.assert_allclose(
        got, draws.var(axis=1), rtol=0.08
    )  # square but for the bend and the floor of a path


@pytest.mark.long
def test_command(folder, capsys, tmp_path):
    assert main(["backtest", str(folder), "--origins", "1", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert {"held", "verdict", "origins", "scores", "calibration"} == set(answer)
    assert {row["target"] for row in answer["scores"]} >= {"depth", "distance", "date", "first"}
    assert {row["unit"] for row in answer["scores"]} == {"32nds", "miles", "days"}
    assert main(["backtest", str(folder), "--origins", "0"]) == 2
    out = tmp_path / "predictions.csv"
    day = answer["origins"][0]["origin"]
    assert main(["backtest", str(folder), "--origin", day, "--out", str(out)]) == 0
    table = pd.read_csv(out, low_memory=False)
    assert set(table["origin"]) == {day}
    assert {"target", "quantile", "value", "observed", "censored"} <= set(table)
    capsys.readouterr()
    assert main(["backtest", str(folder), "--origins", "1"]) == 0
    said = capsys.readouterr().out
    assert "later readings" in said
    assert "not yet" in said
    assert main(["backtest", str(folder), "--out", str(Path(tmp_path) / "x.txt")]) == 2

import importlib
import json
from dataclasses import replace

import numpy as np
import pytest

from tests.fleets import WELL, simulate
from tests.outlook.folders import one_car
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.outlook import backtest, calibrate, calibration, present_state
from tirelife.outlook.backtest import hidden_forecasts, hide_visits
from tirelife.rates import fit_logbook


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("fleet")
    simulate(path, replace(WELL, vehicles=25), 3)
    return path


@pytest.fixture(scope="module")
def book(folder):
    return read_logbook(folder)


@pytest.fixture(scope="module")
def result(book):
    return backtest(book, hide=2)


def test_hidden_visits_are_the_last_and_one_is_left(book):
    known, hidden = hide_visits(book, 2)
    days = known.depths.groupby("vehicle_id")["date"].max()
    first = hidden.groupby("vehicle_id")["date"].min()
    assert (first > days.reindex(first.index)).all()
    assert set(known.depths["vehicle_id"]) == set(book.depths["vehicle_id"])
    assert hidden.groupby("vehicle_id")["date"].nunique().max() == 2
    assert len(known.mounts) == len(book.mounts)


def test_ranges_hold_and_it_beats_the_simple_rules(result):
    of = result.scores[result.scores["ahead"] == "all"].set_index("method")
    # 40 hidden visits of 4 tires that lean alike: three standard errors are 0.18.
    for level in (50, 80, 90):
        assert of.loc["tirelife", f"cover_{level}"] == pytest.approx(level / 100, abs=0.18)
    assert of.loc["tirelife", "crps_mm"] < of.loc["straight line", "crps_mm"]
    assert of.loc["tirelife", "crps_mm"] < of.loc["fleet mean", "crps_mm"]
    assert abs(of.loc["tirelife", "bias_mm"]) < 0.1


def test_scores_are_those_of_the_predictions(result):
    from scipy.special import ndtri

    table = result.predictions
    z = np.abs(table["depth_mm"] - table["tirelife_mm"]) / table["tirelife_sd_mm"]
    got = result.scores.set_index(["method", "ahead"]).loc[("tirelife", "all")]
    assert got["cover_80"] == pytest.approx(float((z <= ndtri(0.9)).mean()))
    assert got["readings"] == len(table)
    assert "hidden readings" in result.verdict
    bands = result.scores[(result.scores["method"] == "tirelife") & (result.scores["ahead"] != "all")]
    far = bands["ahead"].str.contains("km")
    assert bands.loc[far, "readings"].sum() == bands.loc[~far, "readings"].sum() == len(table)


def test_the_straight_line_is_the_line_through_new_depth_and_readings(book, result):
    from tirelife.tread import tire_visits

    known, _ = hide_visits(book, 2)
    visits = tire_visits(known)
    row = result.predictions.iloc[0]
    own = visits[visits["tire_id"] == row["tire_id"]]
    new = float(book.tires.set_index("tire_id").loc[row["tire_id"], "new_depth_mm"])
    slope, at = np.polyfit([0, *own["tire_km"]], [new, *own["depth_mm"]], 1)
    run = tire_visits(book).query("tire_id == @row.tire_id and date == @row.date")["tire_km"].iloc[0]
    assert row["straight_line_mm"] == pytest.approx(at + slope * run, abs=1e-6)


def test_too_little_to_hide_is_said(tmp_path):
    book = read_logbook(one_car(tmp_path, [("2025-01-01", 20_000, 8.0)]))
    with pytest.raises(InputError, match="two visits"):
        backtest(book)
    with pytest.raises(InputError, match="1 or more"):
        backtest(book, hide=0)
    assert calibration(book).factor == 1.0


def test_calibration_widens_what_is_too_narrow_and_leaves_what_holds(book):
    assert calibration(book).factor == pytest.approx(1.0, abs=0.35)
    found = replace(calibration(book), factor=2.0)
    fit = fit_logbook(book)
    wide = calibrate(fit, found)
    ratio = wide.tires["log_wear_sd"] / fit.tires["log_wear_sd"]
    assert ratio.tolist() == pytest.approx([2.0] * len(ratio))
    row = wide.estimates.set_index("term").loc["calibration of ranges"]
    assert row["estimate"] == 2.0
    assert "hidden readings" in row["source"]
    assert "calibration of ranges" not in fit.estimates["term"].tolist()


def test_calibration_finds_ranges_that_are_far_too_narrow(monkeypatch, book):
    module = importlib.import_module("tirelife.outlook.calibrate")  # the room has a function of that name

    def narrow(known, fit, hidden):
        table = hidden_forecasts(known, fit, hidden)
        table["ahead_var_mm2"] /= 50
        table["ahead_cov_mm2"] /= 50
        table["read_var_mm2"] /= 4
        return table

    hidden_forecasts = module.hidden_forecasts
    honest = calibration(book).factor
    monkeypatch.setattr(module, "hidden_forecasts", narrow)
    assert calibration(book).factor > 1.1 * honest


def test_command(folder, capsys):
    assert main(["backtest", str(folder), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert {"verdict", "scores", "calibration"} == set(answer)
    assert "crps_32nds" in answer["scores"][0]
    assert main(["backtest", str(folder), "--hide", "0"]) == 2


def test_depth_today_by_the_back_test_is_the_forecasts(tmp_path):
    simulate(tmp_path, replace(WELL, vehicles=8, gap_days=400), 3)  # moved since they were read
    book = read_logbook(tmp_path)
    fit = fit_logbook(book)
    state = present_state(book, fit)
    moved = fit.tires.set_index("tire_id").loc[state["tire_id"], "position"].to_numpy() != state["position"]
    assert moved.sum() > 8
    visits = state[["tire_id", "vehicle_id", "position", "odometer_km", "removal_depth_mm"]].assign(
        date=book.as_of, depth_mm=5.0
    )
    table = hidden_forecasts(book, fit, visits).set_index("tire_id")
    now = state.set_index("tire_id").loc[table.index]
    np.testing.assert_allclose(table["tirelife_mm"], now["mean_depth_mm"], rtol=1e-9)
    spread = fit.components.set_index("term")["estimate"]
    noise = spread["one reading"] ** 2 + spread["visit, shared by its readings"] ** 2
    total = table[["read_var_mm2", "ahead_var_mm2", "ahead_cov_mm2"]].sum(axis=1) - noise
    np.testing.assert_allclose(total, now["mean_depth_sd_mm"] ** 2, rtol=1e-6)


def test_the_long_frame_gives_the_scores_again(result):
    table = result.quantiles().query("method == 'tirelife'")
    assert table["quantile"].nunique() == 7
    miss = table["observed_mm"] - table["value_mm"]
    loss = np.maximum(table["quantile"] * miss, (table["quantile"] - 1) * miss)
    of = result.scores.set_index(["method", "ahead"]).loc[("tirelife", "all")]
    assert 2 * loss.mean() == pytest.approx(of["weighted_interval_mm"])
    wide = table.pivot_table("value_mm", ["tire_id", "date"], "quantile")
    read = table.groupby(["tire_id", "date"])["observed_mm"].first()
    assert ((read >= wide[0.1]) & (read <= wide[0.9])).mean() == pytest.approx(of["cover_80"])
    bands = result.scores.query("method == 'tirelife'").set_index("ahead")["readings"]
    parts = ["at the wheel of the last reading", "moved since the last reading"]
    assert bands.reindex(parts).sum() == bands["all"]

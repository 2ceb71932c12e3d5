"""Ranges on simulated fleets, reduced: 20 to 30 vehicles a fleet, few seeds. The full run is a benchmark.

The generator (tests/fleets.py) imports nothing from the package. Bounds are wider than the 76 to 84 % and 72 to 88 %
that the benchmark holds to: 24 vehicles whose tires lean together give a standard error of 6 points.
"""

import numpy as np
import pandas as pd
import pytest

from tests.benchmarks.projection import KINDS, UNLIKE, beside_reference, score, share
from tests.fleets import BENT, PLAIN, coverage, line_errors, simulate, smaller
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast
from tirelife.rates import fit_logbook


def run(folder, fleet, seeds):
    scores, ours, lines = [], [], []
    for seed in seeds:
        truth = simulate(folder / str(seed), fleet, seed)
        book = read_logbook(folder / str(seed))
        table = forecast(book, fit_logbook(book))
        scores.append(coverage(table, truth))
        both = table.merge(truth, on="tire_id")
        ours += (both["km_left_p50"] - both["true_km_left"]).abs().tolist()
        lines += line_errors(folder / str(seed), truth)
    return pd.DataFrame(scores).mean(), float(np.median(ours)), float(np.median(lines))


@pytest.mark.parametrize("name", ["well", "no rotation", "sparse"])
def test_well_specified_fleets(tmp_path, name):
    score, ours, line = run(tmp_path, smaller(PLAIN[name], 24), (11,))
    assert 0.68 < score["cover_80"] < 0.95
    assert 0.35 < score["cover_50"] < 0.68
    assert 0.7 < score["date_80"] <= 0.98
    assert abs(score["log_bias"]) < 0.1
    # Without rotation, eight visits and a known new depth, a tire's own line is hard to beat: not worse, then.
    assert ours < 1.1 * line


@pytest.mark.parametrize("name", ["slowing", "gross errors", "one visit", "seasons"])
def test_bent_fleets(tmp_path, name):
    score, ours, line = run(tmp_path, smaller(BENT[name], 24), (12,))
    assert 0.62 < score["cover_80"] < 0.97
    assert ours < line


def test_slowing_wear_is_found_and_beats_straight_lines_by_far(tmp_path):
    truth = simulate(tmp_path, smaller(BENT["slowing"], 20), 3)
    book = read_logbook(tmp_path)
    fit = fit_logbook(book)
    assert 0.25 < fit.q < 0.75  # 0.5 in truth
    both = forecast(book, fit).merge(truth, on="tire_id")
    ours = np.median((both["km_left_p50"] - both["true_km_left"]).abs())
    assert ours < 0.5 * np.median(line_errors(tmp_path, truth))


def test_fleets_seen_once_keep_their_curvature_straight(tmp_path):
    # Differences between tires are not a bend: this once gave q = -0.8 and half the distance.
    simulate(tmp_path, smaller(BENT["one visit"], 30), 1)
    assert abs(fit_logbook(read_logbook(tmp_path)).q) < 0.15


def test_distances_dates_and_firsts_of_sets_hold_over_kinds_of_fleets():
    # Eight fleets of 24 vehicles together; standard errors clustered by vehicle, 2 and 3 points. The benchmark, six
    # seeds of each kind, has small fleets at 79 to 89 %: what a fleet does not tell is held wide.
    names = ("gap 20 days", "gap 300 days", "half rotate", "70 % of visits without depths")
    parts = [score(smaller(KINDS[name], 24), (101, 102)) for name in names]
    tires, sets = (
        pd.concat([part.assign(vehicle_id=f"{i}" + part["vehicle_id"]) for i, part in enumerate(kind)])
        for kind in zip(*parts, strict=True)
    )
    for frame, what in ((tires, "km"), (tires, "date"), (sets, "first")):
        held, error = share(frame, what)
        assert error < 4
        assert 80 - 3 * error < held < 84 + 3 * error


def test_dates_hold_where_paces_drift():
    # A drift of 0.2 a year, held at 0.08 whatever the log says, gave 61 % with these seeds.
    tires, _ = score(smaller(UNLIKE["unlike: pace drifts"], 24), (101, 102, 103))
    held, error = share(tires, "date")
    assert error < 6
    assert held > 80 - 2 * error


def test_loss_is_near_a_reference_posterior_with_the_true_variances():
    ratio = beside_reference(smaller(KINDS["gap 20 days"], 24), (101, 102))
    assert 0.7 < ratio["held"] < 0.9  # 192 tires of 48 vehicles: standard error 0.04
    assert ratio["km"] < 1.2
    assert ratio["first"] < 1.2


def test_one_fleets_chance_bend_is_not_taken_for_its_tires():
    # Curvature by a rule that did not know what visits lean stood five errors from nought: 1.20 and 1.44 times.
    ratio = beside_reference(KINDS["none rotate"], (102,))
    assert ratio["km"] < 1.12
    assert ratio["first"] < 1.25

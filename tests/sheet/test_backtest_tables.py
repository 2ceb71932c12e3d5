"""A back-test in words and tables: units, rounding, and which sentence goes with which score."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.outlook import ORIGIN, Held
from tirelife.sheet.backtest_tables import (
    backtest_words,
    in_shown_units,
    method_words,
    part_words,
    score_words,
)

MI, N32 = 1.609344, 0.79375


def score(target="depth", method="tirelife", unit="mm", **changes):
    return {
        "part": "all", "target": target, "method": method, "unit": unit, "forecasts": 1234, "vehicles": 20, "worth": 300,
        "cover_80": 0.812, "weighted_interval": 0.4 * N32, "sharpness": 1.0 * N32, "bias": 0.1 * N32, "median_error": 0.333 * N32,
        "log_score": 1.0,
    } | changes  # fmt: skip


def result(*rows, held=Held.HELD):
    return SimpleNamespace(scores=pd.DataFrame(list(rows)), held=held)


def test_depths_and_distances_are_shown_in_their_units_and_a_log_density_moves_with_them():
    far = score("first", unit="km", weighted_interval=1000 * MI, log_score=2.0)
    shown = in_shown_units(pd.DataFrame([score(), far, score(unit="days", weighted_interval=7.0)]), "us")
    assert shown["weighted_interval"].tolist() == pytest.approx([0.4, 1000, 7])
    assert shown["sharpness"].iloc[0] == pytest.approx(1)
    assert shown["bias"].iloc[0] == pytest.approx(0.1)
    # A density per mm is 0.79375 of one per 32nd: its negative log is larger by the log of 32nds in a mm.
    assert shown["log_score"].tolist() == pytest.approx([1 - math.log(N32), 2 - math.log(MI), 1])
    assert shown["unit"].tolist() == ["32nds", "miles", "days"]
    metric = in_shown_units(pd.DataFrame([score()]), "metric")
    assert metric["weighted_interval"].iloc[0] == pytest.approx(0.4 * N32)
    assert metric["log_score"].iloc[0] == 1.0


def test_a_back_test_says_whether_ranges_held_how_near_it_was_and_what_simpler_rules_did():
    worse = score(method="straight-line", median_error=12.6 * N32, weighted_interval=0.5 * N32)
    mean = score(method="fleet-mean", median_error=0.0451 * N32, weighted_interval=0.45 * N32)
    said = backtest_words(result(score(), worse, mean, score(part="ahead-short", median_error=9.0)), "us")
    assert "81 %" in said
    assert "1,234" in said
    assert "They are of 20 vehicles and worth about 300 that are independent." in said
    assert (
        "Half of the forecasts were within 0.33 32nds of the reading; straight line: 13; fleet mean: 0.045."
        in said
    )
    assert said.endswith("By the weighted interval score it does better than both.")
    beaten = backtest_words(result(score(), worse, mean | {"weighted_interval": 0.4 * N32}), "us")
    assert beaten.endswith("a simpler rule did as well.")


def test_without_other_rules_or_forecasts_nothing_is_said_of_them():
    alone = backtest_words(result(score(median_error=0.0)), "us")
    assert alone.endswith("Half of the forecasts were within - 32nds of the reading.")
    none = backtest_words(result(score("first"), held=Held.FEW), "us")
    assert "vehicles and worth" not in none


def test_scores_are_rounded_to_a_tenth_of_the_interval_score():
    # A score of 0.4: a tenth is 0.04, so steps of 0.02.
    rows = [score(), score(target="first", cover_80=np.nan, forecasts=3), score(part="ahead-short")]
    table = score_words(pd.DataFrame(rows), "us")
    assert len(table) == 2
    assert table.iloc[0].tolist()[2:] == ["1,234", "300", "81", "0.34", "0.4", "32nds"]
    assert table.iloc[1].tolist()[4] == "too few"


@pytest.mark.parametrize(
    ("part", "units", "words"),
    [
        ("ahead-short", "us", "0 to 5,000 miles"),
        ("ahead-some", "metric", "8,000 to 16,000 km"),
        ("ahead-farthest", "us", "over 20,000 miles"),
        ("limit-mm-3.2", "us", "to 4/32 inch"),
        ("limit-mm-1.6", "metric", "to 1.6 mm"),
        ("same-axle", "us", "on the axle of the last reading"),
        ("visits-none", "us", "never read before"),
    ],
)
def test_parts_are_bands_of_distance_limits_or_words(part, units, words):
    assert part_words(part, units) == words


def test_a_day_to_forecast_from_is_in_the_order_of_the_units():
    assert part_words(f"{ORIGIN}2026-03-14", "us") == "from March 14, 2026"
    assert part_words(f"{ORIGIN}2026-03-14", "metric") == "from 14 March 2026"
    assert method_words("tirelife") == "tirelife"
    assert method_words("straight-line") == "straight line"

"""A back-test in lines: which scores are shown, in which units, and how they are rounded."""

import pandas as pd
import pytest

from tirelife.outlook import BacktestResult, Calibration
from tirelife.terminal.backtest import backtest_answer, backtest_scores, backtest_text

ONE = {
    "target": "depth", "method": "tirelife", "part": "all", "unit": "mm", "forecasts": 1200, "vehicles": 9,
    "worth": 40, "censored": 0, "cover_50": 0.5, "cover_80": 0.81, "cover_90": 0.9, "cover_80_error": 0.04,
    "weighted_interval": 0.26, "log_score": 1.0, "sharpness": 1.234, "pit_off": 0.02, "pit_inside": True,
    "bias": -0.123, "median_error": 0.3,
}  # fmt: skip


def result(*changes):
    scores = pd.DataFrame([ONE | change for change in changes or ({},)])
    origins = pd.DataFrame(
        {"origin": [pd.Timestamp("2026-01-18"), pd.Timestamp("2026-03-04")], "vehicles": 9}
    )
    return BacktestResult(pd.DataFrame(), scores, origins)


def rows(said):
    """Rows of the table: what follows its headings, up to the blank line."""
    table = said.split("\n\n")[2]
    return [line for line in table.splitlines() if "mm" in line or "km" in line or "days" in line]


FOUND = Calibration(1.256, 0.1, 12, 80)


def test_values_are_rounded_to_a_tenth_of_the_interval_score():
    (row,) = rows(backtest_text(result(), FOUND, "metric"))
    # A tenth of 0.26 is 0.026: steps of 0.02, so 0.26, 1.24 (61.7 steps, 62) and -0.12.
    assert row.split()[-3:] == ["0.26", "1.24", "-0.12"]
    assert "1,200" in row
    assert "81 ± 4" in row
    assert "curve outside" not in row


def test_parts_are_shown_when_they_are_asked_for():
    found = result({}, {"part": "same-axle", "forecasts": 300})
    assert len(rows(backtest_text(found, FOUND, "metric"))) == 1
    both = rows(backtest_text(found, FOUND, "metric", parts=True))
    assert len(both) == 2
    assert "on the axle of the last reading" in both[1]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"cover_80": float("nan"), "cover_80_error": float("nan")}, "too few"),
        ({"cover_80_error": float("nan")}, "81   "),
        ({"pit_inside": False}, "81 ± 4, curve outside"),
        ({"censored": 1500}, "1,200, 1,500 not yet worn out"),
    ],
)
def test_what_is_doubtful_of_a_score_stands_in_its_row(change, words):
    assert words in rows(backtest_text(result(change), FOUND, "metric"))[0]


def test_calibration_is_told_or_that_there_was_too_little():
    said = backtest_text(result(), FOUND, "metric")
    assert said.endswith("multiply the spread of wear ahead by 1.26, from 80 later readings of 12 vehicles.")
    assert "Forecast from 18 January 2026; 4 March 2026:" in said
    assert backtest_text(result(), Calibration(1.0, 0.3, 0, 0), "us").endswith("they stay as fitted.")


def test_scores_and_answer_are_in_the_logbooks_units():
    found = result({"weighted_interval": 0.79375}, {"target": "distance", "unit": "km", "bias": 16.09344})
    scores = backtest_scores(found, "us")
    assert scores["unit"].tolist() == ["32nds", "miles"]
    assert scores.loc[0, "weighted_interval"] == pytest.approx(1.0)
    assert scores.loc[1, "bias"] == pytest.approx(10.0)
    answer = backtest_answer(found, FOUND, "us")
    assert answer["held"] == "held"
    assert answer["calibration"] == {"factor": 1.256, "vehicles": 12, "readings": 80}
    assert answer["origins"][1]["origin"] == "2026-03-04"
    assert answer["scores"][0]["weighted_interval"] == pytest.approx(1.0)

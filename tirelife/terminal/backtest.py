"""A back-test, as an object for a program and in lines for people."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from tirelife.sheet import backtest_words, in_shown_units, method_words, part_words, rounded, target_words
from tirelife.terminal.table import Column, day_words, table
from tirelife.terminal.values import rows_of

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.outlook import BacktestResult, Calibration

__all__ = ["backtest_answer", "backtest_scores", "backtest_text"]


def backtest_answer(result: BacktestResult, found: Calibration, units: str) -> dict[str, Any]:
    """The answer for a program: verdict, scores in the logbook's units, and calibration."""
    return {
        "held": result.held.value,
        "verdict": backtest_words(result, units),
        "origins": rows_of(result.origins),
        "scores": rows_of(backtest_scores(result, units)),
        "calibration": {"factor": found.factor, "vehicles": found.vehicles, "readings": found.readings},
    }


def backtest_scores(result: BacktestResult, units: str) -> pd.DataFrame:
    """Scores in the logbook's units."""
    return in_shown_units(result.scores, units)


def backtest_text(result: BacktestResult, found: Calibration, units: str, *, parts: bool = False) -> str:
    """The answer in lines for people; ``parts``: with the scores of every part of the forecasts."""
    scores = backtest_scores(result, units)
    days = "; ".join(day_words(day, units) for day in result.origins["origin"])
    told = _score_table(scores if parts else scores[scores["part"] == "all"], units)
    rests = f"{found.readings} later readings of {found.vehicles} vehicles"
    calibrated = (
        f"Forecasts multiply the spread of wear ahead by {found.factor:.2f}, from {rests}."
        if found.readings
        else "Too few readings came later to calibrate the ranges; they stay as fitted."
    )
    return f"{backtest_words(result, units)}\n\nForecast from {days}:\n\n{told}\n\n{calibrated}"


def _score_table(scores: pd.DataFrame, units: str) -> str:
    """Scores for a reader, in the units they are in, rounded to a tenth of the weighted interval score."""
    rows = [{str(k): v for k, v in row.items()} for row in scores.to_dict("records")]

    def told(name: str) -> list[str]:
        return [_plain(rounded(row[name], row["weighted_interval"])) for row in rows]

    cover = []
    for row in rows:
        share, error = 100 * row["cover_80"], 100 * row["cover_80_error"]
        plus = f" ± {error:.0f}" if math.isfinite(error) else ""
        cover.append(f"{share:.0f}{plus}" if math.isfinite(share) else "too few")
    what = [
        target_words(row["target"]) + ("" if row["part"] == "all" else f", {part_words(row['part'], units)}")
        for row in rows
    ]
    many = [
        f"{row['forecasts']:,}" + (f", {row['censored']:,} not yet worn out" if row["censored"] else "")
        for row in rows
    ]
    return table(
        [
            Column("forecast of", [f"{w}, {row['unit']}" for w, row in zip(what, rows, strict=True)]),
            Column("by", [method_words(row["method"]) for row in rows]),
            Column("how many", many),
            Column("worth", [f"{row['worth']:,}" for row in rows], right=True),
            Column(
                "in 80 %\nrange, %",
                [
                    f"{c}{'' if row['pit_inside'] else ', curve outside'}"
                    for c, row in zip(cover, rows, strict=True)
                ],
            ),
            Column("interval\nscore", told("weighted_interval"), right=True),
            Column("width of\n80 % range", told("sharpness"), right=True),
            Column("seen less\nforecast", told("bias"), right=True),
        ]
    )


def _plain(value: float) -> str:
    """A rounded value without trailing zeros."""
    if not math.isfinite(value):
        return ""
    return f"{value:,.0f}" if abs(value) >= 10 or value == 0 else f"{value:,.6f}".rstrip("0").rstrip(".")

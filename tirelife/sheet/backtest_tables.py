"""A back-test in words and tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.outlook import BANDS_KM, LIMIT_MM, ORIGIN, Held
from tirelife.sheet.days import in_order
from tirelife.sheet.language import say, texts
from tirelife.sheet.quantities import depth, far_within, rounded
from tirelife.sheet.words import full_date
from tirelife.units import LABELS, SHOWN, convert

if TYPE_CHECKING:
    from tirelife.outlook import BacktestResult

__all__ = ["backtest_words", "in_shown_units", "method_words", "part_words", "score_words", "target_words"]

_KINDS: Final = {"mm": "depth", "km": "distance"}
_VALUES: Final = ("weighted_interval", "sharpness", "bias", "median_error")
_METHODS: Final = {"straight-line": "straight line", "fleet-mean": "fleet mean"}
_BAND_KM: Final = 8_000.0
"""Width that the ends of bands of distance are rounded by."""
_PARTS: Final = {
    "same-axle": "on the axle of the last reading",
    "other-axle": "moved to the other axle",
    "visits-none": "never read before",
    "visits-few": "read once or twice before",
    "visits-more": "read three times or more before",
}


def target_words(target: str) -> str:
    """What is forecast, in words.

    Examples
    --------
    >>> target_words("first-date")
    'date of the first'
    """
    return texts()[f"chart-target-{target}"]


def method_words(method: str) -> str:
    """By what it is forecast, in words.

    Examples
    --------
    >>> method_words("fleet-mean")
    'fleet mean'
    """
    return _METHODS.get(method, method)


def part_words(part: str, units: str) -> str:
    """Which forecasts a score is of, in words.

    Examples
    --------
    >>> part_words("ahead-some", "us"), part_words("limit-mm-3.2", "us"), part_words("visits-none", "us")
    ('5,000 to 10,000 miles', 'to 4/32 inch', 'never read before')
    >>> part_words("ahead-short", "metric"), part_words("ahead-farthest", "metric")
    ('0 to 8,000 km', 'over 32,000 km')
    """
    if part in BANDS_KM:
        low, high = BANDS_KM[part]
        near, end = (far_within(km, units, _BAND_KM) for km in (max(low, 0.0), high))
        unit = LABELS[SHOWN[units]["distance"]]
        return f"{near} to {end} {unit}" if end else f"over {near} {unit}"
    if part.startswith(LIMIT_MM):
        return f"to {depth(float(part.removeprefix(LIMIT_MM)), units)}"
    if part.startswith(ORIGIN):
        return f"from {full_date(pd.Timestamp(part.removeprefix(ORIGIN)), in_order(units))}"
    return _PARTS[part]


def backtest_words(result: BacktestResult, units: str) -> str:
    """Say whether the ranges held, how far off the middles were, and what simpler rules would have done.

    Parameters
    ----------
    result : BacktestResult
    units : str
        ``"us"`` or ``"metric"``.
    """
    shown = in_shown_units(result.scores, units)
    rows = {(r["target"], r["method"]): r for r in _records(shown[shown["part"] == "all"])}
    own = rows.get(("depth", "tirelife"), {"forecasts": 0, "cover_80": math.nan})
    cover = f"{own['cover_80']:.0%}".replace("%", " %")
    values = (("cover", cover), ("forecasts", f"{own['forecasts']:,}"))
    severity = Severity.DOUBT if result.held in (Held.NARROW, Held.FEW) else Severity.NOTE
    said = [say(Note(result.held, severity, values), units)]
    if "vehicles" in own:
        said.append(
            f"They are of {own['vehicles']} vehicles and worth about {own['worth']} that are independent."
        )
        said.append(
            f"Half of the forecasts were within {_two(own['median_error'])} {own['unit']} of the reading"
        )
        others = [(m, rows["depth", m]) for m in _METHODS if ("depth", m) in rows]
        said[-1] += "".join(f"; {_METHODS[m]}: {_two(row['median_error'])}" for m, row in others) + "."
        if others:
            least = min(row["weighted_interval"] for _, row in others)
            better = own["weighted_interval"] < least
            said.append(
                "By the weighted interval score it does better than both."
                if better
                else "By the weighted interval score a simpler rule did as well."
            )
    return " ".join(said)


def score_words(scores: pd.DataFrame, units: str) -> pd.DataFrame:
    """Scores of whole back-tests as a table of words, rounded to a tenth of the weighted interval score."""
    shown = in_shown_units(scores, units)
    rows = []
    for row in _records(shown[shown["part"] == "all"]):
        near, score = (
            f"{rounded(row[name], row['weighted_interval']):,.4g}"
            for name in ("median_error", "weighted_interval")
        )
        share = row["cover_80"]
        held = "too few" if math.isnan(share) else f"{100 * share:.0f}"
        many, worth = f"{row['forecasts']:,}", f"{row['worth']:,}"
        names = target_words(row["target"]), method_words(row["method"])
        rows.append((*names, many, worth, held, near, score, row["unit"]))
    heads = ["Forecast of", "By", "How many", "Worth", "In the 80 % range, %", "Half are within",
             "Interval score", "Unit"]  # fmt: skip
    return pd.DataFrame(rows, columns=heads)


def in_shown_units(scores: pd.DataFrame, units: str) -> pd.DataFrame:
    """Scores in the logbook's units: depths and distances, and the unit's name."""
    out = scores.copy()
    for unit, kind in _KINDS.items():
        to = SHOWN[units][kind]
        rows = (scores["unit"] == unit).to_numpy(dtype=bool)
        for name in _VALUES:
            out.loc[rows, name] = convert(scores.loc[rows, name], unit, to)
        # A density is per unit: its log moves with it.
        out.loc[rows, "log_score"] += math.log(float(convert(1.0, unit, to)))
        out.loc[rows, "unit"] = LABELS[to]
    return out


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in frame.to_dict("records")]


def _two(value: float) -> str:
    """A value to two figures."""
    if not math.isfinite(value) or value == 0:
        return "-"
    power = math.floor(math.log10(abs(value)))
    return f"{round(value, 1 - power):,.{max(1 - power, 0)}f}"

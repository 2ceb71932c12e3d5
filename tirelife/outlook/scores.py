"""Predictions in one long frame, scored part by part."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook.score import (
    coverage,
    effective_count,
    grouped_error,
    log_score,
    pit,
    pit_band,
    pit_curve,
    sharpness,
    weighted_interval_score,
)

__all__ = ["BANDS_KM", "LIMIT_MM", "ORIGIN", "Held", "Target", "held", "reliability", "score_predictions"]

BANDS_KM: Final = {
    "ahead-short": (-np.inf, 8_046.72),
    "ahead-some": (8_046.72, 16_093.44),
    "ahead-far": (16_093.44, 32_186.88),
    "ahead-farthest": (32_186.88, np.inf),
}
"""Distances ahead that scores of depths are given for, by part: to 5,000, 10,000 and 20,000 miles, and on."""
ORIGIN, LIMIT_MM = "origin-", "limit-mm-"
"""What parts by origin (then its day) and by removal depth (then that, in mm) begin with."""
_SHARES: Final = (0.5, 0.8, 0.9)
_POINTS: Final = 20
_FEW: Final = 20
"""Forecasts under which ranges are not judged."""
_SLACK: Final = 0.04
"""Coverage off by so much is held to be right, however surely it is known; our choice."""


class Target(StrEnum):
    """What is forecast."""

    DEPTH = "depth"
    """Mean depth that will be read at an odometer, over the rotations that the forecast assumes."""
    WEAR = "depth-known-mounts"
    """The same over the mounts as they turned out: what the wear alone is worth."""
    DISTANCE = "distance"
    """Distance left."""
    DATE = "date"
    """Days left."""
    FIRST = "first"
    """Distance left of the first of a vehicle's four."""
    FIRST_DATE = "first-date"
    """Days left of it."""


class Held(StrEnum):
    """How the 80 % ranges held."""

    HELD = "held"
    NARROW = "narrow"
    WIDE = "wide"
    FEW = "few"


def held(scores: pd.DataFrame, target: str = "depth") -> Held:
    """Judge the forecast's 80 % ranges of a target: off by more than two standard errors, or not."""
    own = scores[(scores["target"] == target) & (scores["method"] == "tirelife") & (scores["part"] == "all")]
    if own.empty or own["forecasts"].iloc[0] < _FEW or not np.isfinite(own["cover_80"].iloc[0]):
        return Held.FEW
    off, error = float(own["cover_80"].iloc[0]) - 0.8, float(own["cover_80_error"].iloc[0])
    if abs(off) <= max(2 * error if np.isfinite(error) else 0.0, _SLACK):
        return Held.HELD
    return Held.NARROW if off < 0 else Held.WIDE


def score_predictions(predictions: pd.DataFrame) -> pd.DataFrame:
    """Score forecasts by target, method and part.

    Parameters
    ----------
    predictions : DataFrame
        As :attr:`tirelife.outlook.BacktestResult.predictions`: the same quantiles of every case.

    Returns
    -------
    DataFrame
        One row a target, method and part (codes: ``all``; an origin, ``origin-2026-01-18``; a removal depth,
        ``limit-mm-1.6``; depths by distance ahead, :data:`BANDS_KM`; ``same-axle`` as when last read, or
        ``other-axle``; ``visits-none``, ``visits-few`` or ``visits-more`` before): target, method, part,
        unit, forecasts, vehicles, worth (how many independent ones they are worth), censored, cover_50,
        cover_80, cover_90, cover_80_error (standard error, forecasts of a vehicle leaning together),
        weighted_interval,
        log_score, sharpness (median width of the 80 % range), pit_off (largest distance of the curve of
        probability integral transforms from even), pit_inside (whether the curve is inside its simultaneous
        90 % band), bias (observed less median) and median_error of what was observed.
    """
    cases, values, levels = _wide(predictions)
    rows = []
    for (target, method), group in cases.groupby(["target", "method"], sort=False):
        for part, chosen in _parts(group, str(target)):
            index = group.index.to_numpy()[chosen]
            if len(index):
                named = {"target": target, "method": method, "part": part}
                rows.append(named | _one(cases.loc[index], values[index], levels))
    return pd.DataFrame(rows)


def reliability(predictions: pd.DataFrame, points: int = _POINTS) -> pd.DataFrame:
    """How often what was observed lay under the forecasts' quantiles, beside how often it should have.

    Parameters
    ----------
    predictions : DataFrame
    points : int
        Levels are 1/points, 2/points and so on.

    Returns
    -------
    DataFrame
        target, method, promised, found (NaN where too few went far enough to tell), lower and upper (the
        simultaneous 90 % band of an even forecast of as many independent ones), forecasts.
    """
    cases, values, levels = _wide(predictions)
    at = np.arange(1, points) / points
    out = []
    for (target, method), group in cases.groupby(["target", "method"], sort=False):
        ranks = pit(group["observed"], values[group.index], levels)
        found = pit_curve(ranks, at, group["censored"])
        lower, upper = pit_band(_worth(group, ranks), points)
        out.append(
            pd.DataFrame(
                {
                    "target": target, "method": method, "promised": at, "found": found,
                    "lower": lower, "upper": upper, "forecasts": len(group),
                }
            )
        )  # fmt: skip
    return pd.concat(out, ignore_index=True)


def _wide(predictions: pd.DataFrame) -> tuple[pd.DataFrame, NDArray[np.float64], NDArray[np.float64]]:
    """A row a case, its quantiles, and their levels."""
    order = predictions.sort_values(["case", "quantile"], kind="stable")
    levels = np.sort(predictions["quantile"].unique()).astype(float)
    values = order["value"].to_numpy(dtype=float).reshape(-1, len(levels))
    cases = order.drop(columns=["quantile", "value"]).iloc[:: len(levels)].reset_index(drop=True)
    return cases, values, levels


def _parts(group: pd.DataFrame, target: str) -> list[tuple[str, NDArray[np.bool_]]]:
    parts = [("all", np.ones(len(group), dtype=bool))]
    for day in group["origin"].drop_duplicates():
        parts.append((f"{ORIGIN}{day:%Y-%m-%d}", (group["origin"] == day).to_numpy()))
    if group["removal_mm"].notna().any():
        for depth in group["removal_mm"].drop_duplicates():
            parts.append((f"{LIMIT_MM}{depth:.1f}", (group["removal_mm"] == depth).to_numpy()))
    if target in (Target.DEPTH, Target.WEAR):
        ahead = group["ahead_km"].to_numpy(dtype=float)
        parts += [(name, (ahead >= low) & (ahead < high)) for name, (low, high) in BANDS_KM.items()]
    if group["tire_id"].ne("").any():
        moved = group["moved"].to_numpy(dtype=bool)
        parts += [("same-axle", ~moved), ("other-axle", moved)]
        visits = group["visits_before"].to_numpy(dtype=int)
        parts += [
            ("visits-none", visits == 0),
            ("visits-few", (visits == 1) | (visits == 2)),
            ("visits-more", visits > 2),
        ]
    return parts


def _worth(cases: pd.DataFrame, ranks: NDArray[np.float64]) -> int:
    """Independent forecasts, of those that were seen to the end: at least one."""
    seen = ~cases["censored"].to_numpy(dtype=bool)
    if not seen.any():
        return 1
    return max(round(effective_count(ranks[seen], cases["vehicle_id"].to_numpy(object)[seen])), 1)


def _one(cases: pd.DataFrame, values: NDArray[np.float64], levels: NDArray[np.float64]) -> dict[str, object]:
    observed, horizon = (cases[name].to_numpy(dtype=float) for name in ("observed", "horizon"))
    censored = cases["censored"].to_numpy(dtype=bool)
    vehicle = cases["vehicle_id"].to_numpy(object)
    ranks = pit(observed, values, levels)
    worth = _worth(cases, ranks)
    out: dict[str, object] = {
        "unit": cases["unit"].iloc[0], "forecasts": len(cases), "vehicles": len(set(vehicle)), "worth": worth,
        "censored": int(censored.sum()),
    }  # fmt: skip
    for share in _SHARES:
        out[f"cover_{share * 100:.0f}"] = coverage(observed, values, levels, share, censored)
    out["cover_80_error"] = grouped_error(
        lambda some: coverage(observed[some], values[some], levels, 0.8, censored[some]), vehicle
    )
    out["weighted_interval"] = float(weighted_interval_score(observed, values, levels, horizon).mean())
    out["log_score"] = float(log_score(observed, values, levels, censored).mean())
    out["sharpness"] = sharpness(values, levels)
    found = pit_curve(ranks, np.arange(1, _POINTS) / _POINTS, censored)
    lower, upper = pit_band(worth, _POINTS)
    known = np.isfinite(found)
    off = np.abs(found - np.arange(1, _POINTS) / _POINTS)[known]
    out["pit_off"] = float(off.max()) if known.any() else np.nan
    inside = (found >= lower - 1e-12) & (found <= upper + 1e-12)
    out["pit_inside"] = bool(inside[known].all())
    median = values[:, int(np.argmin(np.abs(levels - 0.5)))]
    # What could be observed at all: those that were are the short ones of the rest.
    out["bias"] = float((np.minimum(observed, horizon) - np.minimum(median, horizon)).mean())
    miss = np.abs(observed - median)[~censored]
    out["median_error"] = float(np.median(miss)) if len(miss) else np.nan
    return out
